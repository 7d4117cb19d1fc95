"""off-sheet: a part larger than the usable sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.judge import Example, Fault, Level, assigned, page, stocked
from scantling.judge.limits import greatest_factor
from scantling.measure.model import Piece
from scantling.measure.pieces.extents import fits_into
from scantling.plan.model import Lines, Stock, Tolerances

if TYPE_CHECKING:
    from numpy.typing import NDArray

id = "off-sheet"
level = "error"
title = "a part, or the layout as drawn, larger than the usable sheet"
why = """
What does not fit the sheet, or the bed, is cut off at its edge. A part that fits only at another
place or angle must be moved before the job is sent.
"""
remedy = """
Make the design smaller, split the part, or take a larger sheet; a layout larger than the sheet is
cut in several goes.
"""
source = "the stock's sheet, as the job sheet gives it; a part may lie on it at any angle"
_JOB = stocked("ply", "plywood", 'sheet = ["30 mm", "20 mm"]') + assigned("#000", "ply")
_BODY = '<rect x="2" y="2" width="{}" height="{}"/>'
_TWO = '<rect x="2" y="2" width="14" height="14"/><rect x="2" y="{}" width="14" height="14"/>'
passes = (
    Example(page(_BODY.format(18, 28)), _JOB, "turned by 90 degrees it fits"),
    Example(page(_TWO.format(17)), _JOB, "so does a layout"),
)
fails = (
    Example(page(_BODY.format(35, 15)), _JOB),
    Example(page(_TWO.format(24)), _JOB, "each part fits, all of them as drawn do not: a note"),
)


def check(
    pieces: Sequence[Piece], lines: Lines, stock: Stock, tolerances: Tolerances
) -> Iterator[Fault]:
    """A larger sheet of the same stock helps; which sizes another comes in is not known."""
    if stock.sheet is None:
        return
    import shapely

    sheet = stock.sheet
    size = f"{sheet[0]:g} x {sheet[1]:g} mm"
    slack = 2.0 * tolerances.chord
    too_large = False
    for piece in pieces:
        straight = all(np.subtract(sorted(piece.sides), sorted(sheet)) <= slack)
        if not piece.kept or straight:
            continue
        corners = shapely.get_coordinates(piece.polygon)
        if not fits_into(corners, sheet, slack):
            too_large = True
            yield Fault(
                message=f"part {piece.sides[0]:.2f} x {piece.sides[1]:.2f} mm does not fit the "
                f"usable sheet of {size} at any angle",
                on=piece.outer,
                at=piece.centre,
                measured=piece.sides[0],
                required=max(sheet),
                **_largest(corners, sheet),
                part=piece.name,
            )
    if too_large or not len(lines.xy) or fits_into(lines.xy, sheet, slack):
        return
    kept = [piece for piece in pieces if piece.kept]
    wide, high = np.ptp(lines.xy, axis=0).tolist()
    yield Fault(
        message=f"the layout as drawn is {wide:.2f} x {high:.2f} mm and does not fit the usable "
        f"sheet of {size} at any angle; its parts do, one by one",
        on=kept[0].outer if kept else None,
        at=kept[0].centre if kept else None,
        measured=max(wide, high),
        required=max(sheet),
        **_largest(lines.xy, sheet),
        level=Level.NOTE,
    )


def _largest(xy: NDArray[np.float64], sheet: tuple[float, float]) -> dict[str, Any]:
    """How large points may be drawn to fit a sheet."""
    size = float(np.ptp(xy, axis=0).max())
    factor = greatest_factor(lambda k: fits_into(k * xy, sheet))
    return {
        "drawn": size,
        "needed": None if factor is None else factor * size,
        "by_stock": False,
    }
