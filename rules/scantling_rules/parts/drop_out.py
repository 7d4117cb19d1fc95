"""drop-out: loose waste that can tip up or fall through."""

from collections.abc import Iterator, Sequence

from scantling.judge import Example, Fault, page
from scantling.measure.model import Piece
from scantling.plan.model import Stock

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
source = "common practice, no source; the bed's opening is the stock's bed-opening"
parameters = {
    "tips-below": {
        "type": "number",
        "default": 3.0,
        "minimum": 1,
        "description": "a drop-out whose shorter side is below so many times the bed's opening "
        "can tip up",
    }
}
_JOB = """
[[stock]]
name = "ply"
material = "plywood"
thickness = "3 mm"
process = "laser"
bed-opening = "8 mm"

[[assign]]
colour = "#000"
stock = "ply"
operation = "cut"
"""
_BODY = '<path fill-rule="evenodd" d="M2 2H38V38H2ZM6 6V{0}H{0}V6Z"/>'
passes = (Example(page(_BODY.format(34)), _JOB, "28 mm on openings of 8 mm lies flat"),)
fails = (Example(page(_BODY.format(18)), _JOB, "12 mm on openings of 8 mm"),)


def check(pieces: Sequence[Piece], stock: Stock, options: dict[str, float]) -> Iterator[Fault]:
    opening = stock.bed_opening
    if opening is None:
        return
    loose = [piece for piece in pieces if not piece.kept]
    through = [piece for piece in loose if piece.sides[0] < opening]
    tipping = [
        piece
        for piece in loose
        if piece.sides[0] >= opening and piece.sides[1] < opening * options["tips-below"]
    ]
    for group, one, many in (
        (tipping, "can tip up", "can tip up"),
        (through, "falls through", "fall through"),
    ):
        if not group:
            continue
        worst = max(group, key=lambda piece: piece.sides)
        size = f"{worst.sides[0]:.2f} x {worst.sides[1]:.2f} mm"
        what = f"drop-out {size} {one}"
        if len(group) > 1:
            what = f"{len(group)} drop-outs, the largest {size}, {many}"
        yield Fault(
            message=f"{what} on a bed with openings of {opening:.2f} mm",
            on=worst.outer,
            at=worst.centre,
            measured=worst.sides[1],
            required=opening * options["tips-below"],
            others=tuple(
                ("another drop-out", piece.outer) for piece in group if piece is not worst
            ),
        )
