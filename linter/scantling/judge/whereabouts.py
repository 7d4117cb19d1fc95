"""From the subject of a fault to its place on the page, in mm at finished size.

A spot of a sheet says its place itself. A shape's place is where its outline starts, and its mark
the outline; an element's are those of all that is drawn from it or from inside of it, through `use`
or not, lettering and pictures among it. What draws nothing has no place, nor has the whole drawing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import isfinite, nan
from typing import TYPE_CHECKING

import numpy as np

from scantling.judge.finding import ESTIMATED, UNDRAWN, WHOLE, Fault
from scantling.judge.places import Subject, spot_at
from scantling.plan.model import Plan
from scantling.read.drawing import Drawing, Remark, Shape
from scantling.read.flatten import flatten, points_at
from scantling.read.tree import Node
from scantling.records import dataclass

if TYPE_CHECKING:
    from numpy.typing import NDArray

Point = tuple[float, float]
Lines = tuple[tuple[Point, ...], ...]

CHORD = 0.05
"""mm that a mark may be off the line that it marks: less than it is wide at any zoom."""
MOST_SEGMENTS = 250
"""Of an outline with more, the box is marked."""
MOST_FRAMES = 40
"""Boxes that one finding marks; of more, the one around them all."""


class Whereabouts:
    """Places of subjects on the page of one plan."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self._table: _Table | None = None
        self._inside: dict[Node, Sequence[Shape | Remark]] = {}
        self._outlines: dict[int, Lines] = {}
        """by the index of a shape"""

    def prepare(self, subjects: Iterable[Subject]) -> None:
        """Flatten the outlines of some subjects at once: one by one takes long."""
        things = [thing for subject in subjects for thing in self._things(subject)]
        new = {
            thing.index: thing
            for thing in things
            if isinstance(thing, Shape) and thing.index not in self._outlines
        }
        self._flatten([s for s in new.values() if self._segments(s) <= MOST_SEGMENTS])

    def at(self, subject: Subject, fault: Fault | None = None) -> Point | None:
        """Where a subject is; as the fault says, if that knows better."""
        known = spot_at(subject, fault)
        if known is None:
            starts = map(self._start, self._things(subject))
            known = next(filter(_finite, starts), None)
        return known

    def mark(self, subject: Subject) -> Lines:
        """The outline of a subject that a rule has not marked: lines, each of which ends where it
        starts if it closes. Empty for spots, and for what has no place."""
        things = self._things(subject)
        shapes = [thing for thing in things if isinstance(thing, Shape)]
        frames = [
            self._ring(frame)
            for thing in things
            if isinstance(thing, Remark)
            for frame in thing.frames
        ]
        lines: list[tuple[Point, ...]] = []
        if sum(map(self._segments, shapes)) > MOST_SEGMENTS:
            frames += map(self._box, shapes)
        else:
            lines += [line for shape in shapes for line in self._outline(shape)]
        if len(frames) > MOST_FRAMES:
            x, y = np.array([point for line in (*lines, *frames) for point in line]).T
            lines, frames = [], [_rectangle(*map(float, (x.min(), y.min(), x.max(), y.max())))]
        return tuple(line for line in (*lines, *frames) if all(map(_finite, line)))

    def scope(self, subject: Subject, at: Point | None) -> str:
        """What `at` and `mark` of a subject say, as in Finding.scope."""
        if at is None:
            return WHOLE if subject in (None, self.plan.drawing.root) else UNDRAWN
        things = self._things(subject)
        lettering = [isinstance(one, Remark) and one.kind == "text" for one in things]
        return ESTIMATED if lettering and all(lettering) else ""

    def _things(self, subject: Subject) -> Sequence[Shape | Remark]:
        if isinstance(subject, Shape):
            return (subject,) if subject.contours else ()
        if not isinstance(subject, Node) or subject is self.plan.drawing.root:
            return ()
        if subject not in self._inside:
            if self._table is None:
                self._table = _Table.of(self.plan.drawing)
            self._inside[subject] = self._table.inside(subject)
        return self._inside[subject]

    def _range(self, shape: Shape) -> range:
        """Segments of a shape."""
        first = self.plan.drawing.curves.first
        return range(int(first[shape.contours.start]), int(first[shape.contours.stop]))

    def _segments(self, shape: Shape) -> int:
        return len(self._range(shape))

    def _start(self, thing: Shape | Remark) -> Point:
        """In mm, as far as that is a number."""
        if isinstance(thing, Remark):
            x, y = thing.spot or (nan, nan)
        elif thing.index in self._outlines:
            return self._outlines[thing.index][0][0]
        else:
            curves = self.plan.drawing.curves
            segment = np.array([self._range(thing).start])
            x, y = points_at(curves.kind, curves.data, segment, np.zeros(1))[0].tolist()
        return x * self.plan.scale, y * self.plan.scale

    def _ring(self, frame: Sequence[Point]) -> tuple[Point, ...]:
        scale = self.plan.scale
        return tuple((x * scale, y * scale) for x, y in (*frame, frame[0]))

    def _box(self, shape: Shape) -> tuple[Point, ...]:
        boxes = self.plan.boxes[shape.contours.start : shape.contours.stop] * self.plan.scale
        return _rectangle(*boxes[:, :2].min(axis=0).tolist(), *boxes[:, 2:].max(axis=0).tolist())

    def _outline(self, shape: Shape) -> Lines:
        if shape.index not in self._outlines:
            self._flatten([shape])
        return self._outlines[shape.index]

    def _flatten(self, shapes: Sequence[Shape]) -> None:
        curves, scale = self.plan.drawing.curves, self.plan.scale
        wanted = np.zeros(len(curves.closed), np.bool_)
        for shape in shapes:
            wanted[shape.contours.start : shape.contours.stop] = True
        flat = flatten(curves, CHORD / scale, wanted)
        points = list(map(tuple, (flat.xy * scale).tolist()))
        first, closed = flat.first.tolist(), curves.closed[flat.contour].tolist()
        lines = {
            contour: (*points[start:stop], *(points[start : start + 1] if closes else ()))
            for contour, start, stop, closes in zip(
                flat.contour.tolist(), first[:-1], first[1:], closed, strict=True
            )
        }
        for shape in shapes:
            self._outlines[shape.index] = tuple(lines[contour] for contour in shape.contours)


@dataclass(frozen=True, slots=True)
class _Table:
    """What is drawn, by where its elements stand in the text.

    things   shapes, then remarks with a place of their own
    offset   (n,) of elements: of each thing, and of each `use` that a shape came through
    thing    (n,) index into things
    """

    things: tuple[Shape | Remark, ...]
    offset: NDArray[np.int64]
    thing: NDArray[np.int64]

    @classmethod
    def of(cls, drawing: Drawing) -> _Table:
        shapes = [shape for shape in drawing.shapes if shape.contours]
        remarks = [remark for remark in drawing.remarks if remark.spot is not None]
        things: tuple[Shape | Remark, ...] = (*shapes, *remarks)
        pairs = [(thing.node.offset, k) for k, thing in enumerate(things)]
        pairs += [(use.offset, k) for k, shape in enumerate(shapes) for use in shape.uses]
        table = np.array(pairs, np.int64).reshape(-1, 2)
        return cls(things, table[:, 0], table[:, 1])

    def inside(self, node: Node) -> list[Shape | Remark]:
        """What is drawn from an element or from what stands inside of it: shapes first."""
        last = node
        while last.children:
            last = last.children[-1]
        found = (self.offset >= node.offset) & (self.offset <= last.offset)
        return [self.things[k] for k in np.unique(self.thing[found]).tolist()]


def _rectangle(x0: float, y0: float, x1: float, y1: float) -> tuple[Point, ...]:
    return (x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)


def _finite(point: Point) -> bool:
    return isfinite(point[0]) and isfinite(point[1])
