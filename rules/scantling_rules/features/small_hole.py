"""small-hole: an inner outline too small to come out clean."""

from collections.abc import Iterator, Mapping, Sequence

from scantling.judge import Example, Fault, page
from scantling.judge.limits import mm, short
from scantling.measure.model import Hole, Narrow
from scantling.plan.model import Minimums, Stock, Tolerances
from scantling_rules.causes import Causes, cause, is_slit

id = "small-hole"
level = "error"
title = "a hole smaller than the stock's minimum"
why = """
In a hole this small the heat has nowhere to go and the blade cannot turn: it comes out as a
charred blob, or its slug stays in. What counts is the largest disc that it holds, plus the kerf.
A slit, several times as long as wide, is judged as a gap.
"""
remedy = """
Enlarge the hole, score or drill a mark instead of cutting it, or leave it out.
"""
source = (
    "the stock's minimum.hole, with the source that the stock table or the job sheet gives; the "
    "kerf where that is more and outlines are compensated for it, since the tool must go in"
)
_BODY = (
    '<path fill-rule="evenodd" d="M5 5H35V35H5ZM{0} 20A{1} {1} 0 1 0 {2} 20'
    'A{1} {1} 0 1 0 {0} 20Z"/>'
)
_SLIT = '<path fill-rule="evenodd" d="M5 5H35V35H5ZM10 20H30V20.6H10Z"/>'
passes = (
    Example(page(_BODY.format(18, 2, 22))),
    Example(page(_SLIT), note="a slit 0.8 mm wide finished is judged as a gap"),
)
fails = (Example(page(_BODY.format(19.7, 0.3, 20.3)), note="0.6 mm across"),)
facts = (cause,)


def check(
    holes: Sequence[Hole],
    names: Mapping[int, str],
    stock: Stock,
    minimum: Minimums,
    tolerances: Tolerances,
    gaps: Sequence[Narrow],
    cause: Causes,
) -> Iterator[Fault]:
    """A slit is not a hole but a gap, and narrow-gap reports it where it is too narrow."""
    for hole in holes:
        finished = hole.diameter + stock.slot
        if not short(finished, minimum.hole, tolerances):
            continue
        told_by = cause.of_hole(hole)
        if is_slit(hole):
            if not short(finished, minimum.gap, tolerances):
                continue
            here = (gap for gap in gaps if gap.width <= hole.diameter + 2.0 * tolerances.chord)
            if any(
                cause.same_outline(gap.p, gap.q) and cause.same_outline(gap.p, hole.spot)
                for gap in here
            ):
                told_by = told_by or "narrow-gap"
        yield Fault(
            message=f"hole {mm(finished)} across finished, {stock.name} needs {mm(minimum.hole)}",
            on=hole.spot,
            at=hole.at,
            measured=finished,
            required=minimum.hole,
            drawn=hole.diameter,
            needed=minimum.hole - stock.slot,
            told_by=told_by,
            part=names.get(hole.piece, ""),
        )
