"""Draws sheets for the tests of the measuring room, straight from points in millimetres.

sketch = Sketch()
sketch.ring(circle(20))                       # a filled outline, a shape of its own
sketch.shape(square(10), square(4)[::-1])     # one shape with two contours
sketch.line([(0, 0), (5, 0)])                 # an open stroke
facts = sketch.facts(reach=5)
facts["pieces"]
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from types import SimpleNamespace
from typing import Any

import numpy as np
from hypothesis import settings
from numpy.typing import ArrayLike, NDArray

from scantling.measure.facts import Facts, facts_of
from scantling.measure.pairs import LIMITS
from scantling.plan.model import CUT, OPERATIONS, Lines, Tolerances
from scantling.read.drawing import Colour, Paint, Shape
from scantling.read.tree import Node

Points = NDArray[np.float64]
BLACK = Paint(Colour(0, 0, 0))
steady = settings(deadline=None, derandomize=True)
"""For properties: the same examples every time, however busy the machine."""


def circle(
    radius: float, centre: tuple[float, float] = (0.0, 0.0), chord: float = 0.01, turn: float = 0.0
) -> Points:
    """(n, 2) corners of a circle flattened to the chord tolerance, with positive signed area."""
    n = max(8, int(np.ceil(np.pi / np.arccos(1.0 - min(chord / radius, 0.5)))))
    angle = turn + 2.0 * np.pi * np.arange(n) / n
    return np.column_stack([np.cos(angle), np.sin(angle)]) * radius + centre


def square(side: float, centre: tuple[float, float] = (0.0, 0.0)) -> Points:
    """(4, 2) corners of a square, with positive signed area."""
    return box(side, side, centre)


def box(width: float, height: float, centre: tuple[float, float] = (0.0, 0.0)) -> Points:
    """(4, 2) corners of a rectangle, with positive signed area."""
    corners = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) / 2.0
    return corners * (width, height) + centre


def rings_of(polygon: Any) -> list[Points]:
    """The rings of a shapely Polygon without their closing points, the outer first."""
    return [np.asarray(ring.coords)[:-1, :2] for ring in (polygon.exterior, *polygon.interiors)]


class Sketch:
    """Lines and the shapes that drew them, added one by one."""

    def __init__(self) -> None:
        self.contours: list[Points] = []
        self.closed: list[bool] = []
        self.of_shape: list[int] = []
        self.operation: list[int] = []
        self.filled: list[bool] = []
        self.width: list[float] = []
        self.shapes: list[Shape] = []

    def shape(
        self,
        *contours: ArrayLike,
        closed: bool | Sequence[bool] = True,
        filled: bool = True,
        rule: str = "nonzero",
        operation: str = CUT,
        name: str = "",
        tag: str = "path",
        width: float = 0.0,
    ) -> Sketch:
        """One shape of any number of contours; `closed` for all or for each."""
        number = len(self.shapes)
        flags = [closed] * len(contours) if isinstance(closed, bool) else list(closed)
        first = len(self.contours)
        for points, is_closed in zip(contours, flags, strict=True):
            self.contours.append(np.asarray(points, float).reshape(-1, 2))
            self.closed.append(is_closed)
            self.of_shape.append(number)
            self.operation.append(OPERATIONS.index(operation))
            self.filled.append(filled)
            self.width.append(width)
        self.shapes.append(
            Shape(
                index=number,
                node=Node(tag, {"id": name} if name else {}, None, number),
                contours=range(first, len(self.contours)),
                fill=BLACK if filled else None,
                stroke=None if filled else BLACK,
                stroke_width=0.0 if filled else 1.0,
                fill_rule=rule,
            )
        )
        return self

    def ring(self, points: ArrayLike, **more: Any) -> Sketch:
        """A closed contour, a shape of its own; filled unless told otherwise."""
        return self.shape(points, **more)

    def outline(self, points: ArrayLike, **more: Any) -> Sketch:
        """A closed contour that is only stroked."""
        return self.shape(points, filled=False, **more)

    def line(self, points: ArrayLike, **more: Any) -> Sketch:
        """An open contour that is only stroked."""
        return self.shape(points, filled=False, closed=False, **more)

    def polygons(self, polygons: Iterable[Any], **more: Any) -> Sketch:
        """Each shapely Polygon as a shape with its holes."""
        for polygon in polygons:
            self.shape(*rings_of(polygon), **{"rule": "evenodd", **more})
        return self

    @property
    def lines(self) -> Lines:
        sizes = [len(points) for points in self.contours]
        first = np.concatenate([[0], np.cumsum(sizes, dtype=np.int64)]).astype(np.int64)
        return Lines(
            xy=np.concatenate([np.zeros((0, 2)), *self.contours]),
            first=first,
            closed=np.array(self.closed, bool),
            shape=np.array(self.of_shape, np.int64),
            operation=np.array(self.operation, np.int8),
            filled=np.array(self.filled, bool),
            width=np.array(self.width, float),
            segment=np.arange(first[-1], dtype=np.int64),
        )

    def facts(self, reach: float = 5.0, **tolerances: float) -> Facts:
        """The facts of a sheet with these lines."""
        sheet = SimpleNamespace(
            lines=self.lines,
            tolerances=Tolerances(**tolerances),
            reach=reach,
            drawing=SimpleNamespace(shapes=self.shapes, limits=LIMITS),
        )
        return facts_of(sheet)
