"""no-hanger: a chime that nothing can hang from."""

from collections.abc import Iterator, Sequence

from scantling.judge import Example, Fault, page
from scantling.measure.model import Piece

id = "no-hanger"
level = "warning"
title = "a part without a hole for its cord"
why = "A chime hangs from a cord. One without a hole is found out when the sheet is cut."
remedy = "Add a round hole near one end, at least 2 mm across."
source = "common practice, no source"
_PLATE = '<path fill-rule="evenodd" d="M5 5H35V35H5Z{}"/>'
passes = (Example(page(_PLATE.format("M18 8H22V12H18Z"))),)
fails = (Example(page(_PLATE.format(""))),)


def check(pieces: Sequence[Piece]) -> Iterator[Fault]:
    for piece in pieces:
        if piece.kept and not piece.polygon.interiors:
            yield Fault(
                message="nothing to hang it by: it has no hole",
                on=piece.outer,
                at=piece.centre,
                part=piece.name,
            )
