"""What hides what on screen, for repairs that keep one of two shapes at the same place."""

from __future__ import annotations

from collections.abc import Iterator

from scantling.mend.repair import Case
from scantling.read.drawing import Shape
from scantling.read.flatten import bounds

Box = tuple[float, float, float, float]


def opaque(shape: Shape) -> bool:
    """Whether nothing is seen through a shape's fill, as its colour goes; of a gradient or pattern
    as the colour goes that the drawing gives for where it is missing."""
    fill = shape.fill
    if fill is None or fill.colour is None:
        return False
    return shape.opacity * fill.colour.alpha >= 1.0


def parted(case: Case, lower: Shape, upper: Shape) -> bool:
    """Whether anything may be seen at a shape's place that is painted between two shapes: by the
    boxes around what is painted, pictures and text that is no outline among it."""
    x0, y0, x1, y1 = _box(case, upper)
    return any(
        a0 < x1 and x0 < a1 and b0 < y1 and y0 < b1
        for a0, b0, a1, b1 in _between(case, lower, upper)
    )


def _between(case: Case, lower: Shape, upper: Shape) -> Iterator[Box]:
    drawing = case.drawing
    for shape in drawing.shapes[lower.index + 1 : upper.index]:
        if not shape.hidden and len(shape.contours):
            yield _box(case, shape)
    first, last = _turn(lower), _turn(upper)
    for remark in drawing.remarks:
        if first < remark.node.offset < last:
            for frame in remark.frames:
                x, y = zip(*frame, strict=True)
                yield min(x), min(y), max(x), max(y)


def _turn(shape: Shape) -> int:
    """Where in the text it stands that a shape is painted."""
    return (shape.uses[0] if shape.uses else shape.node).offset


def _box(case: Case, shape: Shape) -> Box:
    """Around what a shape paints, in pixels."""
    boxes = bounds(case.drawing.curves)[shape.contours.start : shape.contours.stop]
    reach = 0.0
    if shape.stroke is not None:
        reach = shape.stroke_width / 2.0 * max(1.0, shape.miterlimit)
    low, high = boxes[:, :2].min(axis=0) - reach, boxes[:, 2:].max(axis=0) + reach
    return (*low.tolist(), *high.tolist())
