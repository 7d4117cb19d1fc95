"""unreadable-value: a value in the drawing that is not what its standard allows."""

from collections.abc import Iterator, Sequence

import numpy as np

from scantling.judge import Example, Fault, page
from scantling.plan.model import Plan
from scantling.read.drawing import Remark
from scantling.read.flatten import points_at
from scantling.read.tree import Node

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


def check(remarks: Sequence[Remark], plan: Plan) -> Iterator[Fault]:
    for remark in remarks:
        if remark.kind == "value":
            yield Fault(
                message=remark.message,
                on=remark.node,
                offset=remark.offset,
                at=_read_up_to(plan, remark.node) if remark.word in ("d", "points") else None,
            )


def _read_up_to(plan: Plan, node: Node) -> tuple[float, float] | None:
    """Where the line of a path ends that was read up to an error, in mm; None where it has none."""
    drawing = plan.drawing
    for shape in drawing.shapes:
        if shape.node is node and shape.contours:
            last = drawing.curves.first[[shape.contours.stop]] - 1
            end = points_at(drawing.curves.kind, drawing.curves.data, last, np.ones(1))[0]
            x, y = (end * plan.scale).tolist()
            return x, y
    return None
