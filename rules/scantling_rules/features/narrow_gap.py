"""narrow-gap: empty space too narrow between two outlines."""

from collections.abc import Iterator, Sequence
from functools import partial

from scantling.judge import Example, Fault, page
from scantling.judge.limits import mm, short
from scantling.measure.model import Narrow
from scantling.plan.model import Minimums, Stock, Tolerances

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
source = "the stock's minimum.gap, with the source that the stock table or the job sheet gives"
_BODY = '<path fill-rule="evenodd" d="{}"/>'
passes = (Example(page(_BODY.format("M5 5H27V35H5ZM33 5H55V35H33Z"), 60)),)
fails = (
    Example(
        page(_BODY.format("M5 5H29.9V35H5ZM30.1 5H55V35H30.1Z"), 60),
        note="0.2 mm between two parts",
    ),
    Example(page(_BODY.format("M5 5H30V25H30.2V5H55V35H5Z"), 60), note="a slot 0.2 mm wide"),
)


def check(
    gaps: Sequence[Narrow], stock: Stock, minimum: Minimums, tolerances: Tolerances
) -> Iterator[Fault]:
    limit = minimum.gap - stock.slot
    for gap in gaps:
        finished = gap.width + stock.slot
        if gap.kind == "tip" or not short(finished, minimum.gap, tolerances):
            continue
        yield Fault(
            message=f"gap {mm(finished)} finished, {stock.name} needs {mm(minimum.gap)}",
            on=gap.p,
            at=gap.at,
            measured=finished,
            required=minimum.gap,
            extent=partial(gap.length_below, limit),
            drawn=gap.width,
            needed=limit,
            others=(("the other side of the gap", gap.q),),
            mark=partial(gap.lines_below, limit),
        )
