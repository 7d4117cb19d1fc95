"""One shape of a drawing as its element writes it, ready to be drawn otherwise."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cached_property
from itertools import pairwise
from math import atan2, cos, degrees, hypot, pi, sin, sqrt

from scantling.mend.edit import Edit
from scantling.mend.elements import as_path, rewritten
from scantling.mend.numbers import Manner, manner_of
from scantling.mend.path import Changes, Op, Point, Step, Unwritable, redrawn, steps_of, values
from scantling.read.drawing import ARC, CUBIC, LINE, Drawing, Shape
from scantling.read.locate import attribute_range, inside
from scantling.read.shapes import point_places
from scantling.read.transforms import Matrix, invert
from scantling.read.tree import Node
from scantling.records import NamedTuple

EXACT = 2e-10
"""Pixels of the page by which a number that is written again may be off."""


class Bit(NamedTuple):
    """One curve of a contour in the element's own coordinates.

    pen, op   where it begins, and its command: L, C, Q or A
    step      its number in the path data; -1 where the element has none
    """

    pen: Point
    op: Op
    step: int


class Drawn:
    """A shape, its element, and the way its numbers are written.

    exact   further factor on the size at which the drawing is made: numbers are written so that
            they are off by no more than EXACT pixels, nor mm
    """

    def __init__(self, drawing: Drawing, shape: Shape, exact: float = 1.0) -> None:
        self.drawing = drawing
        self.shape = shape
        self.node: Node = shape.node
        inverse = invert(shape.matrix)
        if inverse is None:
            raise Unwritable("its transform flattens it")
        self._inverse = inverse
        written = self.node.attrib.get("d") or self.node.attrib.get("points") or ""
        self.manner: Manner = manner_of(written, EXACT / (_stretch(shape.matrix) * max(1.0, exact)))

    def coarse(self, within: float) -> None:
        """Write numbers no more exactly than this from now on: where all is redrawn."""
        self.manner = replace(self.manner, within=max(within, self.manner.within))

    @property
    def is_path(self) -> bool:
        """Whether it is drawn by path data in its own attribute."""
        return (
            self.node.tag == "path"
            and attribute_range(self.drawing.source, self.node, "d") is not None
            and not self._styled
        )

    @cached_property
    def _styled(self) -> bool:
        """Whether a style sheet gives the path data."""
        curves, contours = self.drawing.curves, self.shape.contours
        if self.node.tag != "path" or not len(contours):
            return False
        return bool(curves.ordinal[curves.first[contours.start]] < 0)

    @cached_property
    def steps(self) -> Sequence[Step]:
        """The segments of its path data."""
        if not self.is_path:
            raise Unwritable("it has no path data of its own")
        return steps_of(self.node.attrib["d"])

    def user(self, point: Iterable[float]) -> Point:
        """From pixels of the page to its own coordinates."""
        a, b, c, d, e, f = self._inverse
        x, y = point
        return a * x + c * y + e, b * x + d * y + f

    def ends(self, contour: int) -> tuple[Point, Point]:
        """Where a contour begins and ends, in pixels of the page."""
        import numpy as np

        from scantling.read.flatten import points_at

        curves = self.drawing.curves
        first, last = int(curves.first[contour]), int(curves.first[contour + 1]) - 1
        at = points_at(
            curves.kind, curves.data, np.array([first, last]), np.array([0.0, 1.0])
        ).tolist()
        return tuple(at[0]), tuple(at[1])

    def bits(self, contour: int) -> list[Bit]:
        """All curves of a contour, in order."""
        return [bit for bits in self.curves(contour) for bit in bits]

    def curves(self, contour: int) -> Sequence[tuple[Bit, ...]]:
        """The curves of a contour, for each of its segments in Curves: one, or several of the
        same share of it (a whole turn is two)."""
        if contour not in self._curves:
            self._curves[contour] = self._curves_of(contour)
        return self._curves[contour]

    @cached_property
    def _curves(self) -> dict[int, Sequence[tuple[Bit, ...]]]:
        return {}

    def _curves_of(self, contour: int) -> list[tuple[Bit, ...]]:
        curves = self.drawing.curves
        span = range(int(curves.first[contour]), int(curves.first[contour + 1]))
        if not self.is_path:
            return [self._from_page(int(curves.kind[k]), curves.data[k].tolist()) for k in span]
        bits: list[tuple[Bit, ...]] = []
        for k in span:
            number = int(curves.ordinal[k])
            step = self.steps[number]
            op = Op("L", step.home) if step.op.letter == "Z" else step.op
            bits.append((Bit(step.pen, op, number),))
        return bits

    def _from_page(self, kind: int, data: Sequence[float]) -> tuple[Bit, ...]:
        if kind == LINE:
            return (Bit(self.user(data[:2]), Op("L", self.user(data[2:4])), -1),)
        if kind == CUBIC:
            points = [self.user(data[k : k + 2]) for k in (0, 2, 4, 6)]
            values = tuple(v for point in points[1:] for v in point)
            return (Bit(points[0], Op("C", values), -1),)
        assert kind == ARC
        return tuple(self._arcs(data))

    def _arcs(self, data: Sequence[float]) -> Iterable[Bit]:
        """An arc by its ends; a whole turn is two."""
        a, b, c, d, _, _ = self._inverse
        cx, cy = self.user(data[:2])
        ux, uy = a * data[2] + c * data[3], b * data[2] + d * data[3]
        vx, vy = a * data[4] + c * data[5], b * data[4] + d * data[5]
        rx, ry, turn = _axes(ux, uy, vx, vy)
        t0, t1 = data[6:8]
        many = 2 if abs(t1 - t0) > 1.5 * pi else 1
        sweep = float((ux * vy - uy * vx > 0.0) == (t1 > t0))
        ends = [t0 + (t1 - t0) * k / many for k in range(many + 1)]
        at = [(cx + ux * cos(t) + vx * sin(t), cy + uy * cos(t) + vy * sin(t)) for t in ends]
        large = float(abs(t1 - t0) / many > pi)
        for begin, finish in pairwise(at):
            yield Bit(begin, Op("A", (rx, ry, turn, large, sweep, *finish)), -1)

    # Edits

    def redrawn(self, changes: Changes) -> list[Edit]:
        """The edits of the text that change steps of its path data."""
        source, node = self.drawing.source, self.node
        value = attribute_range(source, node, "d")
        if value is None:
            raise Unwritable("its path data is written elsewhere")
        edits = redrawn(node.attrib["d"], self.steps, changes, self.manner)
        return [Edit(*inside(source, value, e.start, e.end), e.text) for e in edits]

    def drawn_as(self, ops: Sequence[Op]) -> list[Edit]:
        """The edits that make it a path of these commands, whatever it was."""
        d = "".join(op.letter + values(op, self.manner) for op in ops)
        if self.is_path:
            return [rewritten(self.drawing.source, self.node, "d", d)]
        if self.node.tag == "path":
            raise Unwritable("its path data is written elsewhere")
        return as_path(self.drawing.source, self.node, d)

    def point_added(self, point: Point, *, last: bool) -> Edit:
        """One more point at the end of a polyline, or at its beginning."""
        source, node = self.drawing.source, self.node
        value = attribute_range(source, node, "points")
        if value is None:
            raise Unwritable("its points are written elsewhere")
        places = point_places(node.attrib["points"])
        new = self.manner.numbers(point)
        if last:
            at = inside(source, value, places[-1][1], places[-1][1])[0]
            return Edit(at, at, " " + new)
        at = inside(source, value, places[0][0], places[0][0])[0]
        return Edit(at, at, new + " ")

    def end_moved(self, point: Point, *, last: bool) -> list[Edit]:
        """One end of a line put elsewhere."""
        source, node = self.drawing.source, self.node
        edits = []
        for name, value in zip(("x2", "y2") if last else ("x1", "y1"), point, strict=True):
            new = self.manner.number(value)
            there = attribute_range(source, node, name)
            if there is not None:
                edits.append(Edit(*there, new))
            elif value:
                raise Unwritable(f"its {name} is not written")
        return edits


def _stretch(matrix: Matrix) -> float:
    """The largest factor by which a matrix makes a length longer."""
    a, b, c, d, _, _ = matrix
    sum_, det = a * a + b * b + c * c + d * d, a * d - b * c
    return sqrt((sum_ + sqrt(max(sum_ * sum_ - 4.0 * det * det, 0.0))) / 2.0) or 1.0


def _axes(ux: float, uy: float, vx: float, vy: float) -> tuple[float, float, float]:
    """Half axes of the ellipse c + u cos t + v sin t, and the turn of the first in degrees."""
    along = ux * vx + uy * vy
    if abs(along) <= 1e-12 * (ux * ux + uy * uy + vx * vx + vy * vy):
        return hypot(ux, uy), hypot(vx, vy), _tidy(degrees(atan2(uy, ux)))
    # conjugate half axes to the principal ones: where |u cos t + v sin t| is at its largest
    t = atan2(2.0 * along, ux * ux + uy * uy - vx * vx - vy * vy) / 2.0
    px, py = ux * cos(t) + vx * sin(t), uy * cos(t) + vy * sin(t)
    qx, qy = vx * cos(t) - ux * sin(t), vy * cos(t) - uy * sin(t)
    return hypot(px, py), hypot(qx, qy), _tidy(degrees(atan2(py, px)))


def _tidy(angle: float) -> float:
    whole = round(angle)
    return float(whole) if abs(angle - whole) < 1e-9 else angle
