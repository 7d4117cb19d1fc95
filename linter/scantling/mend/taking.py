"""Taking whole lines out of a drawing: contours of a shape, or its element."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np

from scantling.mend.edit import Edit
from scantling.mend.elements import taken_out
from scantling.mend.path import Changes, Unwritable
from scantling.mend.repair import Case
from scantling.read.drawing import Shape
from scantling.read.tree import Node


def free(case: Case, shape: Shape) -> None:
    """Raise Unwritable for a shape that is made in other ways too, which it must stay for."""
    ways = {
        (k, int(operation))
        for k, sheet in enumerate(case.plan.sheets)
        for operation in np.unique(sheet.lines.operation[sheet.lines.shape == shape.index])
    }
    if len(ways) > 1:
        raise Unwritable("its line is made in another way too")


def taken(case: Case, shape: Shape, contours: Collection[int]) -> tuple[Node, list[Edit]]:
    """The element that changes, and the edits that take some of a shape's contours (those of the
    sheet) out of it. Raises Unwritable."""
    if len(contours) == len(shape.contours):
        return whole(case, shape)
    if not case.drawn_once(shape):
        raise Unwritable("its element is drawn in other places too")
    drawn = case.drawn(shape)
    gone = {drawn.steps[drawn.bits(case.curve(c))[0].step].subpath for c in contours}
    instead = {k: () for k, step in enumerate(drawn.steps) if step.subpath in gone}
    return shape.node, drawn.redrawn(Changes(dict(instead)))


def whole(case: Case, shape: Shape) -> tuple[Node, list[Edit]]:
    """The element that draws a shape, and the edit that takes it out. Raises Unwritable."""
    node = _element(case, shape)
    return node, [taken_out(case.drawing.source, node)]


def _element(case: Case, shape: Shape) -> Node:
    """The element that draws a shape and nothing else."""
    for use in shape.uses:
        if sum(use in other.uses for other in case.drawing.shapes) == 1:
            return use
    if shape.uses or not case.drawn_once(shape):
        raise Unwritable("its element is drawn in other places too")
    return shape.node
