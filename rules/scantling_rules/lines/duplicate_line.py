"""duplicate-line: the same line made twice."""

from collections.abc import Iterator, Sequence

from scantling.judge import Example, Fault, page
from scantling.measure.model import Overlap

id = "duplicate-line"
level = "error"
title = "lines of one stock and operation that run on top of each other"
why = """
The tool follows both. The second pass widens the slot, chars or melts its edges, and may set fire
to what the first one loosened; a blade drags the freed piece along.
"""
remedy = """
Delete one of the two lines. Where two shapes share an edge, keep one line for both of them.
"""
source = "common practice, no source"
_BODY = '<g fill="none" stroke="#000" stroke-width="0.1">{}</g>'
_LEFT = '<rect x="5" y="5" width="30" height="30"/>'
_RIGHT = '<rect x="{}" y="5" width="30" height="30"/>'
_ARCS = '<path d="M35 20A15 15 0 0 0 5 20A15 15 0 0 0 35 20Z"/>'
passes = (Example(page(_BODY.format(_LEFT + _RIGHT.format(40)), 80)),)
fails = (
    Example(page(_BODY.format(_LEFT + _LEFT)), note="the same twice"),
    Example(page(_BODY.format(_LEFT + _RIGHT.format(35)), 80), note="a shared edge"),
    Example(
        page(_BODY.format('<circle cx="20" cy="20" r="15"/>' + _ARCS)),
        note="a circle, and the same as two arcs",
    ),
)


def check(overlaps: Sequence[Overlap]) -> Iterator[Fault]:
    for overlap in overlaps:
        yield Fault(
            message=f"{overlap.length:.2f} mm of line lie on top of another line "
            f"of the same stock and operation",
            on=overlap.second,
            measured=overlap.length,
            required=0.0,
            extent=overlap.length,
            others=(("the line below it", overlap.first),),
            mark=(overlap.run,),
        )
