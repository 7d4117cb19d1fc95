"""small-part: a part too small to be found, held and glued."""

from collections.abc import Callable, Iterator, Sequence

from scantling.judge import Example, Fault, assigned, page, stocked
from scantling.judge.limits import least_factor, mm, short
from scantling.measure.model import Piece
from scantling.plan.model import Minimums, Stock, Tolerances
from scantling.records import NamedTuple
from scantling_rules.causes import Causes, cause

id = "small-part"
level = "error"
title = "a kept part too small to handle, or one that falls through the bed"
why = """
A small part is lost on the bed, tips up into the cutting head, burns because nothing carries the
heat away, and cannot be held to be glued. Small parts are a choking hazard for young children.
"""
remedy = """
Merge it with its neighbour, engrave it instead, make the design larger, or cut it on a carrier
sheet. A long narrow strip is not a small part: slender parts and thin webs have rules of their own.
Where a hole is meant: a filled shape on top of another is a part in an opening of its own size,
whatever its colour; cut it out of the shape around it, so that it is a hole there.
"""
source = (
    "the stock's minimum.part, part-area and bed-opening, with the source that the stock table or "
    "the job sheet gives"
)
_BODY = '<rect x="5" y="5" width="30" height="30"/><rect x="45" y="5" width="{}" height="{}"/>'
passes = (
    Example(page(_BODY.format(8, 8), 60)),
    Example(page(_BODY.format(3, 25), 60), note="a strip is not a small part"),
)
_JOB = stocked(
    "ply", "plywood", 'kerf = "0.2 mm"', 'minimum = { part = "6 mm", part-area = 63 }'
) + assigned("#000", "ply")
fails = (
    Example(page(_BODY.format(4, 4), 60)),
    Example(page(_BODY.format(8, 8), 60), _JOB, "64.0 mm² drawn, 60.8 mm² finished"),
)
facts = (cause,)


def check(
    pieces: Sequence[Piece],
    stock: Stock,
    minimum: Minimums,
    tolerances: Tolerances,
    cause: Causes,
) -> Iterator[Fault]:
    """One finding a part. It passes at the size at which the part is large enough in every way."""
    for piece in pieces:
        if piece.kept and (lack := _lack(piece, stock, minimum, tolerances)):
            yield Fault(
                message=lack.message,
                on=piece.outer,
                at=piece.centre,
                measured=lack.measured,
                required=lack.required,
                unit=lack.unit,
                part=piece.name,
                told_by=cause.of_piece(piece),
                drawn=piece.sides[0],
                needed=_drawn_side(
                    piece, stock.slot, _least_side(stock, minimum), minimum.part_area
                ),
            )


class _Lack(NamedTuple):
    """What a part measures, and what it should."""

    message: str | Callable[[], str]
    measured: float
    required: float
    unit: str = "mm"


def _lack(piece: Piece, stock: Stock, minimum: Minimums, tolerances: Tolerances) -> _Lack | None:
    """What a part lacks to be handled, the worst of it; None where it is large enough."""
    slot, opening, least = stock.slot, stock.bed_opening, minimum.part_area
    long, short_side = _finished_sides(piece, slot)
    falls = opening is not None and short(long, opening, tolerances)
    small = short(long, minimum.part, tolerances)
    if not falls and not small and least is None:
        return None
    needed = _least_side(stock, minimum)
    if short_side <= 0.0:
        return _Lack(
            f"part {piece.sides[0]:.2f} x {piece.sides[1]:.2f} mm as drawn: "
            f"the kerf of {mm(slot)} leaves nothing of it",
            0.0,
            needed,
        )
    if opening is not None and falls:
        # It is too small to handle as well, perhaps: one part, one finding, what is needed
        # is the larger of the two.
        says = (
            f"it falls through the bed's openings of {mm(opening)}; "
            f"its longer side needs {mm(needed)} in {stock.name}"
        )
        return _Lack(_sized(piece, slot, says), long, needed)
    if small:
        says = (
            f"its longer side is below the {mm(minimum.part)} that {stock.name} needs to be handled"
        )
        return _Lack(_sized(piece, slot, says), long, minimum.part)
    if least is not None and (area := _finished_area(piece, slot)) < least:
        says = f"its area is below the {least:.1f} mm² that {stock.name} needs to be handled"
        return _Lack(_sized(piece, slot, says), area, least, "mm2")
    return None


def _least_side(stock: Stock, minimum: Minimums) -> float:
    """How long a part must be to be handled, and not to fall through."""
    return max(stock.bed_opening or 0.0, minimum.part)


def _finished_sides(piece: Piece, slot: float) -> tuple[float, float]:
    """The longer and the shorter side that the kerf leaves."""
    long, short_side = piece.sides
    return max(long - slot, 0.0), max(short_side - slot, 0.0)


def _sized(piece: Piece, slot: float, what: str) -> Callable[[], str]:
    def said() -> str:
        long, short_side = _finished_sides(piece, slot)
        area = _finished_area(piece, slot)
        left = f"{area:.{1 if area >= 1.0 else 2}f} mm²"
        if area < LEAST_AREA:
            left = "of which the kerf leaves next to nothing"
        return f"part {long:.2f} x {short_side:.2f} mm, {left}: {what}"

    return said


LEAST_AREA = 0.005
"""mm²: less is written as 0.00."""


def _finished_area(piece: Piece, slot: float, scale: float = 1.0) -> float:
    """What the kerf leaves of a part that is so many times larger: half a slot is taken all round,
    and round its holes."""
    import shapely

    return scale**2 * float(shapely.area(shapely.buffer(piece.polygon, -slot / scale / 2.0)))


def _drawn_side(piece: Piece, slot: float, side: float, area: float | None) -> float | None:
    """The longer side, as drawn, at the size at which a part has a finished side and area."""
    drawn = piece.sides[0]
    scale = (side + slot) / drawn
    if area is None or _finished_area(piece, slot, scale) >= area:
        return drawn * scale
    more = least_factor(lambda k: _finished_area(piece, slot, max(k * scale, 1e-9)) >= area)
    return None if more is None else drawn * scale * more
