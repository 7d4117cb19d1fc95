"""narrow-gap: empty space too narrow between two outlines."""

from collections.abc import Iterator, Sequence
from functools import partial

from scantling.judge import Example, Fault, page
from scantling.judge.limits import below, mm, passing, short
from scantling.measure.model import Hole, Narrow
from scantling.plan.model import Minimums, Stock, Tolerances
from scantling_rules.causes import Causes, cause, is_slit

id = "narrow-gap"
level = "error"
title = "a gap narrower than the stock's minimum"
why = """
In a gap this narrow the two cuts run into each other: the edges melt or char together, the slot
cannot be weeded or cleaned, and the sliver of waste stays in it. What counts is its finished
width: the drawn width plus the kerf.
"""
remedy = """
Widen the gap, make the whole design larger, or close the gap altogether.
"""
source = (
    "the stock's minimum.gap, with the source that the stock table or the job sheet gives; the "
    "kerf where that is more and outlines are compensated for it, since the tool must go in"
)
_BODY = '<path fill-rule="evenodd" d="{}"/>'
passes = (Example(page(_BODY.format("M5 5H27V35H5ZM33 5H55V35H33Z"), 60)),)
fails = (
    Example(
        page(_BODY.format("M5 5H29.9V35H5ZM30.1 5H55V35H30.1Z"), 60),
        note="0.2 mm between two parts",
    ),
    Example(page(_BODY.format("M5 5H30V25H30.2V5H55V35H5Z"), 60), note="a slot 0.2 mm wide"),
)
facts = (cause,)


def check(
    gaps: Sequence[Narrow],
    holes: Sequence[Hole],
    stock: Stock,
    minimum: Minimums,
    tolerances: Tolerances,
    cause: Causes,
) -> Iterator[Fault]:
    """One finding for each connected place that is too narrow, at its least width. Of a hole that
    is small all round small-hole speaks, of a slit this rule."""
    limit = minimum.gap - stock.slot
    small = [
        hole.spot
        for hole in holes
        if not is_slit(hole) and short(hole.diameter + stock.slot, minimum.hole, tolerances)
    ]
    for gap in below(gaps, limit):
        finished = gap.width + stock.slot
        if not short(finished, minimum.gap, tolerances) or cause.at_graze(gap, tolerances):
            continue
        told_by = cause.of_narrow(gap, limit)
        if cause.same_outline(gap.p, gap.q) and any(
            cause.same_outline(gap.p, spot) for spot in small
        ):
            told_by = told_by or "small-hole"
        found = f"gap {mm(finished)} finished"
        needed = passing(gap.width, limit, tolerances)
        if needed is None:
            found = f"outlines all but touch: {found}"
        yield Fault(
            message=f"{found}, {stock.name} needs {mm(minimum.gap)}",
            on=gap.p,
            at=gap.at,
            measured=finished,
            required=minimum.gap,
            extent=partial(gap.length_below, limit),
            drawn=gap.width,
            needed=needed,
            by_stock=True,
            told_by=told_by,
            others=(("the other side of the gap", gap.q),),
            mark=gap.lines,
        )
