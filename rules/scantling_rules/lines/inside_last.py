"""inside-last: an inner cut that comes after the outline around it."""

from collections.abc import Iterator, Sequence

from scantling.judge import Example, Fault, page
from scantling.measure.model import Late, Piece
from scantling_rules.causes import Causes, cause

id = "inside-last"
level = "note"
title = "an inner cut that comes after the outline around it"
why = """
Once its outline is cut a part may drop, tilt or shift, and what is cut inside it afterwards lands
in the wrong place. Many machines follow the order of the drawing.
"""
remedy = """
Put inner outlines before outer ones, or let the machine's program sort the cuts from inside out.
"""
source = "common practice, no source"
_OUTER, _INNER = "M5 5H35V35H5Z", "M15 15H25V25H15Z"
_BODY = '<path fill-rule="evenodd" d="{}{}"/>'
passes = (Example(page(_BODY.format(_INNER, _OUTER))),)
fails = (Example(page(_BODY.format(_OUTER, _INNER))),)
facts = (cause,)


def check(
    order: Sequence[Late],
    pieces: Sequence[Piece],
    cause: Causes,
) -> Iterator[Fault]:
    """One finding a sheet: the order of its lines has one cause. A stray fragment is not a cut."""
    if not order:
        return
    stray = cause.stray
    cuts = [(late, [s for s in late.inner if s.contour not in stray]) for late in order]
    cuts = [(late, inner) for late, inner in cuts if inner]
    if not cuts:
        return
    first = cuts[0][0]
    inner = [spot for _, spots in cuts for spot in spots]
    parts = f" of {len(cuts)} parts" if len(cuts) > 1 else ""
    what = f"{len(inner)} inner cuts{parts} come" if len(inner) > 1 else "an inner cut comes"
    yield Fault(
        message=f"{what} after the outline around {'them' if len(inner) > 1 else 'it'}",
        on=inner[0],
        part=next((p.name for p in pieces if p.number == first.piece), ""),
        others=(
            ("the outline around it", first.outer),
            *(("another inner cut", spot) for spot in inner[1:]),
        ),
    )
