"""nothing-to-make: a drawing in which nothing is cut, scored or engraved."""

from collections.abc import Iterator, Sequence

from scantling.judge import Example, Fault, page
from scantling.plan.model import Plan
from scantling.read.drawing import Remark

id = "nothing-to-make"
level = "warning"
title = "a drawing in which nothing is cut, scored or engraved"
why = """
A wrong export, an empty layer or a job sheet that makes guides of everything leaves nothing for the
machine, and looks like a drawing without a fault.
"""
remedy = """
Export the drawing again, or look at what the job sheet assigns to `guide`.
"""
source = "common practice, no source"
passes = (Example(page('<rect x="5" y="5" width="30" height="30"/>')),)
fails = (
    Example(page("<defs/>"), note="an empty page"),
    Example(
        page('<rect x="5" y="5" width="30" height="30" fill="#00f"/>'),
        job='[[assign]]\ncolour = "#00f"\noperation = "guide"\n',
        note="guides alone",
    ),
)


def check(plan: Plan, remarks: Sequence[Remark]) -> Iterator[Fault]:
    """What cannot be made for another reason, other rules tell."""
    if not plan.sheets and not plan.unassigned and not remarks:
        yield Fault(message="nothing in this drawing is cut, scored or engraved")
