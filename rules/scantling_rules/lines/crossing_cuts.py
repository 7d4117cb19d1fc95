"""crossing-cuts: cut outlines of different shapes that cross."""

from collections.abc import Iterator, Sequence

from scantling.judge import Example, Fault, page
from scantling.judge.grouping import by_outline
from scantling.measure.model import Crossing
from scantling.plan.model import Lines

id = "crossing-cuts"
level = "error"
title = "cut outlines of different shapes that cross"
why = """
Both outlines are cut, so each cuts the other's part to pieces, whatever the fills show on screen.
"""
remedy = """
Unite the two shapes, subtract one from the other, or give them different stocks.
"""
source = "common practice, no source"
_BODY = '<rect x="5" y="5" width="20" height="20"/>{}'
_TILES = (
    '<g fill="none" stroke="#000" stroke-width="0.1"><rect x="5" y="5" width="30" height="30"/>'
    '<path d="M5 20H35"/><path d="M20 5V35"/></g>'
)
passes = (
    Example(page(_BODY.format('<rect x="28" y="15" width="8" height="20"/>'))),
    Example(page(_TILES), note="lines from edge to edge divide it, as those of a jigsaw do"),
)
fails = (Example(page(_BODY.format('<rect x="15" y="15" width="20" height="20"/>'))),)


def check(crossings: Sequence[Crossing], lines: Lines) -> Iterator[Fault]:
    for first, *more in by_outline((c for c in crossings if not c.own), lines):
        times = f" at {1 + len(more)} places" if more else ""
        yield Fault(
            message=f"cut outline crosses another cut outline of the same stock{times}",
            on=first.second,
            others=(
                ("the outline it crosses", first.first),
                *(("another crossing", other.second) for other in more),
            ),
        )
