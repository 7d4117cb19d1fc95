"""drop-out: loose waste that can tip up or fall through."""

from collections.abc import Iterator, Sequence

from scantling.judge import Example, Fault, assigned, page, stocked
from scantling.measure.model import Piece
from scantling.plan.model import Stock
from scantling_rules.causes import Causes, cause

id = "drop-out"
level = "note"
title = "loose waste that can tip up into the cutting head, or fall through the bed"
why = """
A drop-out not much larger than the bed's opening rests on too little: it tips up, the head runs
into it and shifts the job. One smaller than the opening falls through and may lie burning below.
"""
remedy = """
Tape the sheet, tack large drop-outs with a small bridge, put a backing sheet below, or cut the
inner outlines first and clear them away with the machine stopped. Never leave it running alone.
"""
source = (
    "common practice, no source; the bed's opening is the stock's bed-opening, and sizes are what "
    "the kerf leaves"
)
parameters = {
    "tips-below": {
        "type": "number",
        "default": 3.0,
        "minimum": 1,
        "description": "a drop-out whose shorter side is below this many times the bed's opening "
        "can tip up",
    }
}
_JOB = stocked("ply", "plywood", 'bed-opening = "8 mm"') + assigned("#000", "ply")
_BODY = '<path fill-rule="evenodd" d="M2 2H38V38H2ZM6 6V{0}H{0}V6Z"/>'
passes = (Example(page(_BODY.format(34)), _JOB, "28 mm on openings of 8 mm lies flat"),)
fails = (Example(page(_BODY.format(18)), _JOB, "12 mm on openings of 8 mm"),)
facts = (cause,)


def check(
    pieces: Sequence[Piece],
    stock: Stock,
    options: dict[str, float],
    cause: Causes,
) -> Iterator[Fault]:
    """One finding each for what falls through and for what tips up, on a sheet. They pass at the
    size at which nothing tips up any more. Another stock does not help: the bed is the machine's.
    What is left narrower than the slot itself is dust.
    """
    opening = stock.bed_opening
    if opening is None:
        return
    # Where outlines are compensated the slot lies within the drop-out, else half of it does.
    lost = 2.0 * stock.kerf - stock.slot
    lies = opening * options["tips-below"]
    loose = [
        (piece.sides[0] - lost, piece.sides[1] - lost, piece)
        for piece in pieces
        if not piece.kept and not cause.of_piece(piece)
    ]
    left = [one for one in loose if one[1] > stock.kerf]
    through = [one for one in left if one[0] < opening]
    tipping = [one for one in left if one[0] >= opening and one[1] < lies]
    for group, one, many in (
        (tipping, "can tip up", "can tip up"),
        (through, "falls through", "fall through"),
    ):
        if not group:
            continue
        long, short_side, worst = max(group, key=lambda one: one[0] * one[1])
        size = f"{long:.2f} x {short_side:.2f} mm"
        what = f"drop-out {size} {one}"
        if len(group) > 1:
            what = f"{len(group)} drop-outs, the largest {size}, {many}"
        yield Fault(
            message=f"{what} on a bed with openings of {opening:.2f} mm: "
            f"{lies:.2f} mm across would lie flat",
            on=worst.outer,
            at=worst.centre,
            measured=short_side,
            required=lies,
            drawn=min(piece.sides[1] for _, _, piece in loose),
            needed=lies + lost,
            by_stock=False,
            others=tuple(
                ("another drop-out", piece.outer) for *_, piece in group if piece is not worst
            ),
        )
