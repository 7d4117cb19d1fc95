"""sharp-tip: a taper that stays thin for too long."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from scantling.judge import Example, Fault, page
from scantling.judge.limits import mm
from scantling.measure.model import Tip
from scantling.plan.model import Minimums, Stock, Tolerances
from scantling_rules.causes import Causes, cause

if TYPE_CHECKING:
    from numpy.typing import NDArray

id = "sharp-tip"
level = "warning"
title = "a tip that is thin for longer than the allowance"
why = """
Every sharp corner ends in nothing, and that is not a fault. A long slender tip is one: its end
chars, curls or breaks off, and what breaks off leaves the part blunt at some random place. Making
the design larger does not help a straight taper: at any size it is as long below the minimum.
"""
remedy = """
Round the tip, cut it off where it reaches the minimum, or widen the taper.
"""
source = "common practice, no source: the stock's minimum.web, and an allowance in multiples of it"
parameters = {
    "allowance": {
        "type": "number",
        "default": 3.0,
        "exclusiveMinimum": 0,
        "description": "how long a tip may stay below the minimum, in multiples of the minimum; "
        "a straight taper of 19 degrees has 3",
    }
}
_BODY = '<path d="{}"/>'
passes = (
    Example(page(_BODY.format("M20 3L24 15L37 15L26 22L30 35L20 27L10 35L14 22L3 15L16 15Z"))),
    Example(page(_BODY.format("M5 35H35L20 5Z")), note="a corner of 53 degrees"),
)
fails = (
    Example(page(_BODY.format("M16 36H24L20 4Z")), note="a taper of 14 degrees"),
    Example(
        page(_BODY.format("M20 5A15 15 0 0 1 20 35A15.3 15.3 0 0 0 20 5Z")),
        note="a crescent's horns",
    ),
)
facts = (cause,)


def check(
    tips: Sequence[Tip],
    names: Mapping[int, str],
    stock: Stock,
    minimum: Minimums,
    tolerances: Tolerances,
    options: Mapping[str, float],
    cause: Causes,
) -> Iterator[Fault]:
    """A straight taper is as long as it is below any width: only one that widens faster towards
    its end, or has a blunt one, passes at a larger size."""
    allowed = options["allowance"] * minimum.web
    for tip in tips:
        needed = minimum.web + stock.slot
        if tip.length_below(needed - 2.0 * tolerances.chord) <= allowed:
            continue
        thin, whole = tip.length_below(needed), tip.length_below(np.inf)
        yield Fault(
            message=f"tip is thinner than {mm(minimum.web)} finished for {mm(thin)} as drawn, "
            f"{stock.name} allows {mm(allowed)}",
            on=tip.spot,
            measured=thin,
            required=allowed,
            extent=thin,
            drawn=whole,
            needed=partial(_drawn, tip, needed, allowed, whole),
            by_stock=True,
            told_by=cause.of_end(tip.spot),
            part=names.get(tip.piece, ""),
            mark=(tip.path,),
        )


def _drawn(tip: Tip, needed: float, allowed: float, whole: float) -> float | None:
    """The length of a tip, as drawn, with which it passes."""
    scale = passing_scale(tip, needed, allowed)
    return None if scale is None else scale * whole


def passing_scale(tip: Tip, needed: float, allowed: float) -> float | None:
    """The least factor by which a design must be enlarged for a tip's length below a width, both
    in mm, to be within what is allowed; None where none helps.

    Made k times larger, a tip is thinner than `needed` for k times as long as it is now thinner
    than needed / k. That length is a chain of straight lines over the width, with a step where the
    tip holds a width; sought is the first place, from `needed` down, where it is on or below the
    straight line from zero to what is allowed.
    """
    low = np.minimum(tip.widths[:-1], tip.widths[1:])
    high = np.maximum(tip.widths[:-1], tip.widths[1:])
    steps = np.hypot(*np.diff(tip.path, axis=0).T)
    knots = np.unique(np.concatenate(([0.0, needed], tip.widths[tip.widths < needed])))

    def over(width: NDArray[np.float64], above: bool) -> NDArray[np.float64]:
        """By how much it is too long below each width, or just above it."""
        w = width[:, None]
        level = np.where((low <= w) if above else (low < w), 1.0, 0.0)
        slant = np.clip((w - low) / np.where(high > low, high - low, 1.0), 0.0, 1.0)
        length = (np.where(high > low, slant, level) * steps).sum(axis=1)
        return np.asarray(length - allowed / needed * width)

    top, bottom = over(knots[1:], False), over(knots[:-1], True)
    good = np.flatnonzero((top <= 0.0) | (bottom < 0.0))
    if not len(good):
        return None
    k = int(good[-1])
    if top[k] <= 0.0:
        return needed / float(knots[k + 1])
    share = bottom[k] / (bottom[k] - top[k])
    return needed / float(knots[k] + share * (knots[k + 1] - knots[k]))
