"""Curves through points: as few Bézier curves and lines as stay within a tolerance.

Source of the method: P. J. Schneider, "An algorithm for automatically fitting digitized curves",
Graphics Gems (1990): least squares with the tangents at both ends given, better parameters by
Newton's method, and a split where the fit is worst. Two-sided here: neither a point may be off
the curve by more than the tolerance, nor the curve off the line through the points.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import pairwise
from math import ceil, cos, log10, radians
from typing import TYPE_CHECKING

import numpy as np

from scantling.mend.path import Op

if TYPE_CHECKING:
    from scantling.arrays import Array


CORNER = cos(radians(35.0))
"""Cosine of the turn from which on a point is a corner and stays one."""
ROUNDS = 6
"""of better parameters"""
SAMPLES = 24
"""Places at which a curve is compared with the line through the points."""


def fitted(points: Array, tolerance: float) -> list[Op]:
    """Commands from the first of n points (n, 2) to the last, through corners, within the
    tolerance of all the others and of the line through them. Neighbours must differ."""
    return list(_kept(np.ascontiguousarray(points).tobytes(), tolerance))


@lru_cache(maxsize=4096)
def _kept(points: bytes, tolerance: float) -> tuple[Op, ...]:
    """The same, kept: mending asks again for most stretches in every round."""
    xy = np.frombuffer(points).reshape(-1, 2)
    return tuple(op for run in _runs(xy) for op in _fitted(run, tolerance))


def rounded(ops: Sequence[Op], within: float) -> list[Op]:
    """The commands with numbers no longer than exactness within `within` asks for, but for where
    the last one ends."""
    places = max(ceil(-log10(within)), 0)
    done = [Op(op.letter, tuple(round(v, places) for v in op.values)) for op in ops]
    if done:
        last = done.pop()
        done.append(Op(last.letter, (*last.values[:-2], *ops[-1].values[-2:])))
    return done


def _runs(points: Array) -> Iterator[Array]:
    """The stretches between corners."""
    steps = np.diff(points, axis=0)
    unit = steps / np.hypot(steps[:, 0], steps[:, 1])[:, None]
    corners = np.flatnonzero((unit[1:] * unit[:-1]).sum(axis=1) < CORNER) + 1
    ends = [0, *corners.tolist(), len(points) - 1]
    for a, b in pairwise(ends):
        yield points[a : b + 1]


def _fitted(points: Array, tolerance: float) -> Iterator[Op]:
    """One stretch without corners. The parts still to be fitted are on a stack, with the
    tangents at their ends."""
    stack = [(points, _tangent(points), _tangent(points[::-1]))]
    while stack:
        run, start, end = stack.pop()
        if _straight(run, tolerance):
            yield Op("L", tuple(run[-1].tolist()))
            continue
        curve, worst = _curve(run, start, end, tolerance)
        if curve is not None:
            yield Op("C", tuple(curve[1:].ravel().tolist()))
            continue
        worst = min(max(worst, 1), len(run) - 2)
        across = run[worst + 1] - run[worst - 1]
        size = np.hypot(*across)
        across = across / size if size else _tangent(run[worst:])
        stack.append((run[worst:], across, end))
        stack.append((run[: worst + 1], start, -across))


def _tangent(points: Array) -> Array:
    """The direction in which a row of points sets out: of the parabola through the first three."""
    if len(points) == 2:
        way = points[1] - points[0]
    else:
        a, b = points[1] - points[0], points[2] - points[0]
        t = np.hypot(*a)
        s = t + np.hypot(*(b - a))
        way = a * s / t - b * t / s
    size = np.hypot(*way)
    return np.asarray(way / size if size else way)


def _straight(points: Array, tolerance: float) -> bool:
    """Whether the points lie along their chord, in order."""
    if len(points) == 2:
        return True
    chord = points[-1] - points[0]
    size = np.hypot(*chord)
    if not size:
        return False
    off = points[1:-1] - points[0]
    away = np.abs(off[:, 0] * chord[1] - off[:, 1] * chord[0]) / size
    along = np.concatenate(([0.0], off @ chord / size, [size]))
    return bool(away.max() <= tolerance and (np.diff(along) >= -tolerance).all())


def _curve(points: Array, start: Array, end: Array, tolerance: float) -> tuple[Array | None, int]:
    """A cubic (4, 2) within the tolerance, or None and the point where it is worst."""
    sizes = np.hypot(*np.diff(points, axis=0).T)
    t = np.concatenate(([0.0], np.cumsum(sizes)))
    t /= t[-1]
    worst = len(points) // 2
    for _ in range(ROUNDS):
        curve = _least(points, t, start, end)
        off = np.hypot(*(_at(curve, t) - points).T)
        worst = int(off.argmax())
        if off[worst] <= tolerance and _near(curve, points, tolerance):
            return curve, worst
        if off[worst] > 16.0 * tolerance:
            break
        t = _better(curve, points, t)
        if (np.diff(t) <= 0.0).any():
            break
    return None, worst


def _least(points: Array, t: Array, start: Array, end: Array) -> Array:
    """The cubic with given ends and tangents that is nearest to the points by least squares."""
    s = 1.0 - t
    b1, b2 = 3.0 * s * s * t, 3.0 * s * t * t
    fixed = points[0] * (s**3 + b1)[:, None] + points[-1] * (b2 + t**3)[:, None]
    a1, a2 = b1[:, None] * start, b2[:, None] * end
    rest = points - fixed
    c11, c12, c22 = (a1 * a1).sum(), (a1 * a2).sum(), (a2 * a2).sum()
    x1, x2 = (a1 * rest).sum(), (a2 * rest).sum()
    det = c11 * c22 - c12 * c12
    size = float(np.hypot(*(points[-1] - points[0])))
    if abs(det) > 1e-12 * c11 * c22:
        one, other = (x1 * c22 - x2 * c12) / det, (c11 * x2 - c12 * x1) / det
    else:
        one = other = 0.0
    if one <= 1e-6 * size or other <= 1e-6 * size:  # the textbook's way out: thirds
        one = other = size / 3.0
    return np.array([points[0], points[0] + start * one, points[-1] + end * other, points[-1]])


def _at(curve: Array, t: Array) -> Array:
    s = (1.0 - t)[:, None]
    u = t[:, None]
    value: Array = (
        curve[0] * s**3 + curve[1] * 3 * s * s * u + curve[2] * 3 * s * u * u + curve[3] * u**3
    )
    return value


def _better(curve: Array, points: Array, t: Array) -> Array:
    """Each parameter moved towards the foot of its point: one step of Newton's method."""
    s, u = (1.0 - t)[:, None], t[:, None]
    d = 3.0 * np.diff(curve, axis=0)
    dd = 2.0 * np.diff(d, axis=0)
    off = _at(curve, t) - points
    first = d[0] * s * s + d[1] * 2 * s * u + d[2] * u * u
    second = dd[0] * s + dd[1] * u
    top = (off * first).sum(axis=1)
    bottom = (first * first).sum(axis=1) + (off * second).sum(axis=1)
    step = np.where(bottom > 0.0, top / np.where(bottom > 0.0, bottom, 1.0), 0.0)
    moved = np.clip(t - step, 0.0, 1.0)
    moved[0], moved[-1] = 0.0, 1.0
    return np.asarray(moved)


def _near(curve: Array, points: Array, tolerance: float) -> bool:
    """Whether the curve stays within the tolerance of the line through the points."""
    import shapely

    on = _at(curve, np.linspace(0.0, 1.0, SAMPLES))
    away = shapely.distance(shapely.points(on), shapely.linestrings(points))
    return bool(away.max() <= tolerance)
