"""odd-length: a chime whose length is no whole number of steps. It fails by itself for a step of
0, which its parameters do not rule out."""

from collections.abc import Iterator, Sequence

from scantling.judge import Example, Fault, page
from scantling.measure.model import Piece

id = "odd-length"
level = "note"
title = "a part whose length is no whole number of steps"
why = "The workshop tunes its chimes by steps of length."
remedy = "Lengthen or shorten it to the next step."
source = "common practice, no source"
parameters = {
    "step": {"type": "number", "x-unit": "mm", "default": 5.0, "description": "one step of length"}
}
passes = (Example(page('<rect x="5" y="5" width="10" height="30"/>')),)
fails = (Example(page('<rect x="5" y="5" width="10" height="32"/>')),)


def check(pieces: Sequence[Piece], options: dict[str, float]) -> Iterator[Fault]:
    step = options["step"]
    for piece in pieces:
        over = piece.sides[0] % step
        if piece.kept and min(over, step - over) > 0.1:
            yield Fault(
                message=f"length {piece.sides[0]:.2f} mm is no multiple of {step:.2f} mm",
                on=piece.outer,
                at=piece.centre,
                part=piece.name,
            )
