"""Parts of single curves, exactly: a part of a line, a Bézier curve or an arc is one again."""

from __future__ import annotations

from itertools import pairwise
from math import cos, hypot, pi, sin

from scantling.mend.path import Op, Point
from scantling.read.pathdata import arc_through


def point(pen: Point, op: Op, t: float) -> Point:
    """Where a curve from `pen` is at t, 0 to 1."""
    if t <= 0.0:
        return pen
    if t >= 1.0:
        return op.to
    if op.letter == "A":
        arc = _arc(pen, op)
        if arc is not None:
            return _on_arc(arc, arc[6] + (arc[7] - arc[6]) * t)
        return _between(pen, op.to, t)
    points = [pen, *zip(op.values[::2], op.values[1::2], strict=True)]
    while len(points) > 1:
        points = [_between(p, q, t) for p, q in pairwise(points)]
    return points[0]


def nearest(pen: Point, op: Op, at: Point) -> float:
    """Where on a curve, 0 to 1, it is nearest to a point: the best of some places, then by
    halving the stretch around it."""
    if op.letter == "L":
        dx, dy = op.to[0] - pen[0], op.to[1] - pen[1]
        size = dx * dx + dy * dy
        share = ((at[0] - pen[0]) * dx + (at[1] - pen[1]) * dy) / size if size else 0.0
        return min(max(share, 0.0), 1.0)

    def off(t: float) -> float:
        x, y = point(pen, op, t)
        return hypot(x - at[0], y - at[1])

    best = min((k / PLACES for k in range(PLACES + 1)), key=off)
    low, high = max(best - 1.0 / PLACES, 0.0), min(best + 1.0 / PLACES, 1.0)
    while high - low > 1e-12:
        a, b = low + (high - low) / 3.0, high - (high - low) / 3.0
        if off(a) <= off(b):
            high = b
        else:
            low = a
    return (low + high) / 2.0


PLACES = 64


def part(pen: Point, op: Op, start: float, end: float) -> tuple[Point, Op]:
    """The part of a curve from `start` to `end`, 0 to 1: where it begins, and its command."""
    if start <= 0.0 and end >= 1.0:
        return pen, op
    begin, finish = point(pen, op, start), point(pen, op, end)
    if op.letter == "A":
        arc = _arc(pen, op)
        if arc is not None:
            turn = (arc[7] - arc[6]) * (end - start)
            radii = hypot(arc[2], arc[3]), hypot(arc[4], arc[5])
            flags = float(abs(turn) > pi), op.values[4]
            return begin, Op("A", (*radii, op.values[2], *flags, *finish))
    if op.letter in "LA":
        return begin, Op("L", finish)
    points = [pen, *zip(op.values[::2], op.values[1::2], strict=True)]
    if end < 1.0:
        points = _split(points, end)[0]
    if start > 0.0:
        points = _split(points, start / end)[1]
    return begin, Op(op.letter, tuple(v for p in points[1:] for v in p))


def turned(pen: Point, op: Op) -> tuple[Point, Op]:
    """The same curve the other way round."""
    if op.letter == "A":
        rx, ry, turn, large, sweep = op.values[:5]
        return op.to, Op("A", (rx, ry, turn, large, 0.0 if sweep else 1.0, *pen))
    points = [pen, *zip(op.values[::2], op.values[1::2], strict=True)]
    return points[-1], Op(op.letter, tuple(v for p in reversed(points[:-1]) for v in p))


def _arc(
    pen: Point, op: Op
) -> tuple[float, float, float, float, float, float, float, float] | None:
    rx, ry, turn, large, sweep, x, y = op.values
    return arc_through(*pen, rx, ry, turn, bool(large), bool(sweep), x, y)


def _on_arc(arc: tuple[float, ...], angle: float) -> Point:
    cx, cy, ux, uy, vx, vy = arc[:6]
    c, s = cos(angle), sin(angle)
    return cx + ux * c + vx * s, cy + uy * c + vy * s


def _between(p: Point, q: Point, t: float) -> Point:
    return p[0] * (1.0 - t) + q[0] * t, p[1] * (1.0 - t) + q[1] * t


def _split(points: list[Point], t: float) -> tuple[list[Point], list[Point]]:
    """De Casteljau: the control points of a Bézier curve up to t, and from there on."""
    first, second = [points[0]], [points[-1]]
    while len(points) > 1:
        points = [_between(p, q, t) for p, q in pairwise(points)]
        first.append(points[0])
        second.append(points[-1])
    return first, second[::-1]
