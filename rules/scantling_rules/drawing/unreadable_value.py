"""unreadable-value: a value in the drawing that is not what its standard allows."""

from collections.abc import Iterator, Sequence

from scantling.judge import Example, Fault, page
from scantling.read.drawing import Remark

id = "unreadable-value"
level = "warning"
title = "a value that cannot be read as its standard says"
why = """
Programs repair a broken value each in its own way, so the drawing differs from screen to machine.
What was used instead is said in the finding.
"""
remedy = """
Correct the value in the drawing, or export it again.
"""
source = (
    "SVG 2, section 9.5.4 (error handling in path data) and CSS Syntax Level 3: what is not in "
    "the grammar is not used"
)
passes = (Example(page('<rect x="5" y="5" width="30" height="30"/>')),)
fails = (
    Example(page('<path d="M5 5H35V35H5Zoops"/>'), note="path data is read up to the error"),
    Example(page('<rect x="5" y="5" width="30furlong" height="30"/>'), note="no such unit"),
)


def check(remarks: Sequence[Remark]) -> Iterator[Fault]:
    for remark in remarks:
        if remark.kind == "value":
            yield Fault(message=remark.message, on=remark.node, offset=remark.offset)
