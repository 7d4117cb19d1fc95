"""small-part: a part too small to be found, held and glued."""

from collections.abc import Iterator, Sequence
from functools import partial

from scantling.judge import Example, Fault, page
from scantling.judge.limits import mm, short
from scantling.measure.model import Piece
from scantling.plan.model import Minimums, Stock, Tolerances

id = "small-part"
level = "error"
title = "a kept part too small to handle, or one that falls through the bed"
why = """
A small part is lost on the bed, tips up into the cutting head, burns because nothing carries the
heat away, and cannot be held to be glued. Small parts are a choking hazard for young children.
"""
remedy = """
Merge it with its neighbour, engrave it instead, make the design larger, or cut it on a carrier
sheet. A long narrow strip is no small part: slender parts and thin webs have rules of their own.
"""
source = (
    "the stock's minimum.part, part-area and bed-opening, with the source that the stock table or "
    "the job sheet gives"
)
_BODY = '<rect x="5" y="5" width="30" height="30"/><rect x="45" y="5" width="{}" height="{}"/>'
passes = (
    Example(page(_BODY.format(8, 8), 60)),
    Example(page(_BODY.format(3, 25), 60), note="a strip is no small part"),
)
fails = (Example(page(_BODY.format(4, 4), 60)),)


def check(
    pieces: Sequence[Piece], stock: Stock, minimum: Minimums, tolerances: Tolerances
) -> Iterator[Fault]:
    for piece in pieces:
        if not piece.kept:
            continue
        long, short_side = (max(side - stock.slot, 0.0) for side in piece.sides)
        size = f"part {long:.2f} x {short_side:.2f} mm, {piece.area:.1f} mm²"
        fault = partial(Fault, on=piece.outer, at=piece.centre, part=piece.name)
        opening = stock.bed_opening
        if opening is not None and short(long, opening, tolerances):
            # It is too small to handle as well, perhaps: one part, one finding, what is needed
            # is the larger of the two.
            needed = max(opening, minimum.part)
            yield fault(
                message=f"{size}: both sides are below the bed's opening of {mm(opening)}, "
                f"it falls through; {stock.name} needs {mm(needed)}",
                measured=long,
                required=needed,
                drawn=piece.sides[0],
                needed=needed + stock.slot,
            )
        elif short(long, minimum.part, tolerances):
            yield fault(
                message=f"{size}: its longer side is below the {mm(minimum.part)} "
                f"that {stock.name} needs to be handled",
                measured=long,
                required=minimum.part,
                drawn=piece.sides[0],
                needed=minimum.part + stock.slot,
            )
        elif minimum.part_area is not None and piece.area < minimum.part_area:
            yield fault(
                message=f"{size}: its area is below the {minimum.part_area:.1f} mm² "
                f"that {stock.name} needs to be handled",
                measured=piece.area,
                required=minimum.part_area,
                unit="mm2",
                drawn=piece.area**0.5,
                needed=minimum.part_area**0.5,
            )
