"""viewBox and preserveAspectRatio. Source: SVG 2, sections 8.2, 8.6 and 8.7."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import cast

from scantling.late import pattern
from scantling.read.lengths import parse_number
from scantling.read.transforms import Matrix
from scantling.read.units import WHITE
from scantling.records import NamedTuple

_GAP = f"[{WHITE}]+,?[{WHITE}]*|,[{WHITE}]*"
_ratio = pattern(
    r"[ \t\n\r\f]*(none|x(Min|Mid|Max)Y(Min|Mid|Max))(?:[ \t\n\r\f]+(meet|slice))?[ \t\n\r\f]*"
)
_SHARES = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}


class ViewBox(NamedTuple):
    """The attribute viewBox: a rectangle in user units."""

    x: float
    y: float
    width: float
    height: float


class Ratio(NamedTuple):
    """preserveAspectRatio: where the box sits in what is left over, and whether it covers the
    viewport (`slice`) or fits into it. `keep` False: stretched."""

    x: float = 0.5
    y: float = 0.5
    slice: bool = False
    keep: bool = True


@lru_cache(maxsize=256)
def parse_viewbox(text: str) -> ViewBox | None:
    """None where it is not four numbers, or a size is negative."""
    numbers = [parse_number(word) for word in re.split(_GAP, text.strip(WHITE))]
    if len(numbers) != 4 or None in numbers:
        return None
    x, y, width, height = cast("list[float]", numbers)
    if not (0.0 <= width < 1e300 and 0.0 <= height < 1e300 and abs(x) < 1e300 and abs(y) < 1e300):
        return None
    return ViewBox(x, y, width, height)


@lru_cache(maxsize=256)
def parse_ratio(text: str) -> Ratio | None:
    """None where it cannot be read."""
    found = _ratio.fullmatch(text)
    if not found:
        return None
    if found[1] == "none":
        return Ratio(keep=False)
    return Ratio(_SHARES[found[2]], _SHARES[found[3]], found[4] == "slice")


def fitted(box: ViewBox, ratio: Ratio, x: float, y: float, width: float, height: float) -> Matrix:
    """The matrix that puts a view box (of a size above 0) into a viewport."""
    sx, sy = width / box.width, height / box.height
    if ratio.keep:
        sx = sy = max(sx, sy) if ratio.slice else min(sx, sy)
    return (
        sx, 0.0, 0.0, sy,
        x - box.x * sx + (width - box.width * sx) * ratio.x * ratio.keep,
        y - box.y * sy + (height - box.height * sy) * ratio.y * ratio.keep,
    )  # fmt: skip
