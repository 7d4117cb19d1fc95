"""self-crossing: an outline that crosses itself."""

from collections.abc import Iterator, Sequence

from scantling.judge import Example, Fault, page
from scantling.judge.grouping import by_outline
from scantling.measure.model import Crossing
from scantling.plan.model import Lines

id = "self-crossing"
level = "error"
title = "an outline that crosses itself"
why = """
Where an outline crosses itself it cuts one part into several, joined at a point that falls apart.
A fill does not show it.
"""
remedy = """
Unite the shape with itself in the drawing program (one outline around what is filled), or take
the loop out.
"""
source = "common practice, no source"
_BODY = '<path d="{}"/>'
passes = (Example(page(_BODY.format("M5 5H35V35H5Z"))),)
fails = (
    Example(page(_BODY.format("M5 5L35 35V5L5 35Z")), note="a bow tie"),
    Example(page(_BODY.format("M5 5H30V35H20V25H35V30H5Z")), note="a corner that overshoots"),
)


def check(crossings: Sequence[Crossing], lines: Lines) -> Iterator[Fault]:
    for first, *more in by_outline((c for c in crossings if c.own), lines):
        times = f"{1 + len(more)} times" if more else "once"
        yield Fault(
            message=f"outline crosses itself {times}",
            on=first.first,
            others=(
                ("the line it crosses", first.second),
                *(("another crossing", other.first) for other in more),
            ),
        )
