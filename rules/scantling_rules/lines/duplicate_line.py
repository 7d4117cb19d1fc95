"""duplicate-line: the same line made twice."""

from collections.abc import Iterator, Sequence

from scantling.judge import Example, Fault
from scantling.measure.model import Overlap
from scantling.plan.model import Stock

id = "duplicate-line"
level = "error"
title = "lines of one stock and operation that run on top of each other"
why = """
The tool follows both. The second pass widens the slot, chars or melts its edges, and may set
fire to what the first one loosened; a blade drags the freed piece along.
"""
remedy = """
Delete one of the two lines. Where two shapes share an edge, keep one line for both of them.
"""
source = "common practice, no source"
_SVG = ('<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="40mm" viewBox="0 0 80 40">'
        '<g fill="none" stroke="#000" stroke-width="0.1">{}</g></svg>')
passes = (
    Example(_SVG.format('<rect x="5" y="5" width="30" height="30"/>'
                        '<rect x="40" y="5" width="30" height="30"/>')),
)
fails = (
    Example(_SVG.format('<rect x="5" y="5" width="30" height="30"/>'
                        '<rect x="5" y="5" width="30" height="30"/>'), note="the same twice"),
    Example(_SVG.format('<rect x="5" y="5" width="30" height="30"/>'
                        '<rect x="35" y="5" width="30" height="30"/>'), note="a shared edge"),
    Example(_SVG.format('<circle cx="20" cy="20" r="15"/><path d="M35 20A15 15 0 0 0 5 20'
                        'A15 15 0 0 0 35 20Z"/>'), note="a circle and the same as two arcs"),
)


def check(overlaps: Sequence[Overlap], stock: Stock) -> Iterator[Fault]:
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
