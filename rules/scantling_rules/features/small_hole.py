"""small-hole: an inner outline too small to come out clean."""

from collections.abc import Iterator, Sequence

from scantling.judge import Example, Fault, page
from scantling.judge.limits import mm, short
from scantling.measure.model import Hole, Piece
from scantling.plan.model import Minimums, Stock, Tolerances

id = "small-hole"
level = "error"
title = "a hole smaller than the stock's minimum"
why = """
In a hole this small the heat has nowhere to go and the blade cannot turn: it comes out as a
charred blob, or its slug stays in. What counts is the largest disc that it holds, plus the kerf.
"""
remedy = """
Enlarge the hole, score or drill a mark instead of cutting it, or leave it out.
"""
source = "the stock's minimum.hole, with the source that the stock table or the job sheet gives"
_BODY = (
    '<path fill-rule="evenodd" d="M5 5H35V35H5ZM{0} 20A{1} {1} 0 1 0 {2} 20'
    'A{1} {1} 0 1 0 {0} 20Z"/>'
)
passes = (Example(page(_BODY.format(18, 2, 22))),)
fails = (Example(page(_BODY.format(19.7, 0.3, 20.3)), note="0.6 mm across"),)


def check(
    holes: Sequence[Hole],
    pieces: Sequence[Piece],
    stock: Stock,
    minimum: Minimums,
    tolerances: Tolerances,
) -> Iterator[Fault]:
    names = {piece.number: piece.name for piece in pieces}
    for hole in holes:
        finished = hole.diameter + stock.slot
        if not short(finished, minimum.hole, tolerances):
            continue
        yield Fault(
            message=f"hole {mm(finished)} across finished, {stock.name} needs {mm(minimum.hole)}",
            on=hole.spot,
            at=hole.at,
            measured=finished,
            required=minimum.hole,
            drawn=hole.diameter,
            needed=minimum.hole - stock.slot,
            part=names.get(hole.piece, ""),
        )
