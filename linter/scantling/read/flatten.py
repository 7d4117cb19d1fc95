"""Curves to points, and their exact extents: the whole drawing at once.

How finely a curve is cut is decided from its own shape, so that no chord is further from the
curve than the tolerance; all points lie on the curve.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scantling.read.drawing import ARC, CUBIC, LINE, Curves
from scantling.records import dataclass

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scantling.arrays import Array, Index
    from scantling.read.pathdata import Outline


SAME_POINT = 1e-9
"""Points nearer than this (pixels) are one: rounding, not drawing."""

_MOST = 1_000_000
"""Most edges of one segment, however fine the tolerance."""

_FAR = 1e30
"""Numbers from here on are no drawing; their squares are still numbers."""


@dataclass(frozen=True, slots=True)
class Flat:
    """Polylines: n points in m contours.

    xy       (n, 2)  pixels; a closed contour does not repeat its first point at the end
    first    (m+1,)  contour k is points first[k]:first[k+1]
    contour  (m,)    index of the contour in Curves
    segment  (n,)    index into Curves of the segment that the edge starting at this point comes
                     from (the last point of an open contour starts none, and has the last one)
    """

    xy: Array
    first: Index
    contour: Index
    segment: Index


def flatten(curves: Curves, tolerance: float, contours: NDArray[np.bool_] | None = None) -> Flat:
    """Flatten all contours, or those where `contours` (m,) is True, to a chord tolerance in
    pixels above 0.

    Neighbouring points that are the same are dropped, but for one of a contour of no length.
    """
    if not tolerance > 0.0:
        raise ValueError("the chord tolerance must be above 0")
    chosen = np.arange(len(curves.closed)) if contours is None else np.flatnonzero(contours)
    lengths = np.diff(curves.first)[chosen]
    first = np.concatenate(([0], np.cumsum(lengths))).astype(np.int64)
    total = int(first[-1])
    if not total:
        return Flat(np.empty((0, 2)), first, chosen, np.empty(0, np.int64))
    own = np.arange(total) + np.repeat(curves.first[chosen] - first[:-1], lengths)
    kind, data = curves.kind[own], curves.data[own]

    edges = edge_counts(kind, data, tolerance)
    points = edges.copy()
    is_open = ~curves.closed[chosen]
    points[first[1:][is_open] - 1] += 1  # an open contour shows its last point too

    begin = np.concatenate(([0], np.cumsum(points)))
    segment = np.repeat(np.arange(total), points)
    step = np.arange(len(segment)) - begin[:-1][segment]
    xy = points_at(kind, data, segment, step / edges[segment])
    return _without_repeats(xy, begin[first], chosen, own[segment], is_open)


def edge_counts(kind: NDArray[np.int8], data: Array, tolerance: float) -> Index:
    """How many chords each segment needs (n,) so that none is off by more than the tolerance."""
    counts = np.ones(len(kind), np.int64)
    cubics = np.flatnonzero(kind == CUBIC)
    if len(cubics):
        bend = _bend(data[cubics].reshape(-1, 4, 2))
        # chord error of a piece of parameter length h is at most h²/8 · max|B''|, and
        # |B''| is at most 6 times the larger second difference of the control points
        counts[cubics] = np.ceil(np.sqrt(np.minimum(0.75 * bend / tolerance, _MOST**2)))
    arcs = np.flatnonzero(kind == ARC)
    if len(arcs):
        radius = _long_axis(data[arcs])
        # an arc of a circle of this radius has the sagitta r (1 - cos(h/2)); an ellipse is such
        # a circle squeezed, which only lessens it
        share = np.minimum(tolerance / np.maximum(radius, 1e-300), 0.2929)
        step = 2.0 * np.arccos(1.0 - share)  # at most a quarter turn
        turn = np.abs(data[arcs, 7] - data[arcs, 6])
        counts[arcs] = np.ceil(np.minimum(turn / np.maximum(step, 1e-300) - 1e-9, _MOST))
    return np.clip(counts, 1, _MOST)


def _bend(p: Array) -> Array:
    """The larger second difference of each cubic (k, 4, 2), as far as it bends the curve away
    from its chords. What runs along a chord only changes the speed. A chord of any piece leaves
    the whole chord's direction by at most the angle of the steepest control leg."""
    legs = np.diff(p, axis=1)
    second = np.hypot(*np.moveaxis(np.diff(legs, axis=1), 2, 0))
    chord = p[:, 3] - p[:, 0]
    length = np.hypot(chord[:, 0], chord[:, 1])
    along = chord / np.maximum(length, 1e-300)[:, None]
    size = np.hypot(legs[:, :, 0], legs[:, :, 1])
    forward = np.einsum("kij,kj->ki", legs, along)
    sideways = np.abs(legs[:, :, 0] * along[:, None, 1] - legs[:, :, 1] * along[:, None, 0])
    steep = np.where(size > 0.0, sideways / np.maximum(size, 1e-300), 0.0).max(axis=1)
    turned = np.diff(legs, axis=1)
    across = np.abs(turned[:, :, 0] * along[:, None, 1] - turned[:, :, 1] * along[:, None, 0])
    gentle = across + second * steep[:, None]
    straight_on = ((forward > 0.0) | (size == 0.0)).all(axis=1) & (length > 0.0)
    bend: Array = np.where(straight_on[:, None], np.minimum(gentle, second), second).max(axis=1)
    return bend


def _long_axis(data: Array) -> Array:
    """The longer half axis of each arc's ellipse: the larger singular value of [u v]."""
    ux, uy, vx, vy = data[:, 2:6].T
    sum_ = ux * ux + uy * uy + vx * vx + vy * vy
    det = ux * vy - uy * vx
    root = np.sqrt(np.maximum(sum_ * sum_ - 4.0 * det * det, 0.0))
    axis: Array = np.sqrt((sum_ + root) / 2.0)
    return axis


def points_at(kind: NDArray[np.int8], data: Array, segment: Index, t: Array) -> Array:
    """Points (k, 2) at the parameters t (k,) in 0..1 of the given segments (k,)."""
    xy = np.empty((len(segment), 2))
    kinds = kind[segment]
    for one, evaluate in ((LINE, _on_lines), (CUBIC, _on_cubics), (ARC, _on_arcs)):
        at = np.flatnonzero(kinds == one)
        if len(at):
            xy[at] = evaluate(data[segment[at]], t[at, None])
    return xy


def _on_lines(data: Array, t: Array) -> Array:
    return data[:, 0:2] * (1.0 - t) + data[:, 2:4] * t


def _on_cubics(data: Array, t: Array) -> Array:
    s = 1.0 - t
    return (
        data[:, 0:2] * (s * s * s)
        + data[:, 2:4] * (3.0 * s * s * t)
        + data[:, 4:6] * (3.0 * s * t * t)
        + data[:, 6:8] * (t * t * t)
    )


def _on_arcs(data: Array, t: Array) -> Array:
    angle = data[:, 6:7] + (data[:, 7:8] - data[:, 6:7]) * t
    return data[:, 0:2] + data[:, 2:4] * np.cos(angle) + data[:, 4:6] * np.sin(angle)


def _without_repeats(
    xy: Array, first: Index, contour: Index, segment: Index, is_open: NDArray[np.bool_]
) -> Flat:
    """Drop each point that its follower repeats: of edges of no length, the later one stays."""
    last = first[1:] - 1
    follower = np.arange(1, len(xy) + 1)
    follower[last] = first[:-1]
    gap = np.abs(xy[follower] - xy).max(axis=1)
    keep = gap > SAME_POINT
    keep[last[is_open]] = True
    kept = np.add.reduceat(keep, first[:-1])
    keep[last[kept == 0]] = True  # a contour of no length
    if keep.all():
        return Flat(xy, first, contour, segment)
    places = np.concatenate(([0], np.cumsum(keep)))
    return Flat(xy[keep], places[first], contour, segment[keep])


def bounds(curves: Curves) -> Array:
    """The exact extents of each contour (m, 4): x0 y0 x1 y1 in pixels, without stroke widths."""
    if not len(curves.closed):
        return np.empty((0, 4))
    low, high = _extents(curves.kind, curves.data)
    first = curves.first[:-1]
    return np.hstack((np.minimum.reduceat(low, first), np.maximum.reduceat(high, first)))


def _extents(kind: NDArray[np.int8], data: Array) -> tuple[Array, Array]:
    """Least and greatest x and y of each segment, (n, 2) each."""
    start, end = data[:, 0:2].copy(), data[:, 2:4].copy()
    cubics, arcs = np.flatnonzero(kind == CUBIC), np.flatnonzero(kind == ARC)
    if len(cubics):
        end[cubics] = data[cubics, 6:8]
    if len(arcs):
        start[arcs] = _on_arcs(data[arcs], np.zeros((len(arcs), 1)))
        end[arcs] = _on_arcs(data[arcs], np.ones((len(arcs), 1)))
    low, high = np.minimum(start, end), np.maximum(start, end)
    for at, turns in ((cubics, _turns_of_cubics), (arcs, _turns_of_arcs)):
        if len(at):
            values = turns(data[at])
            low[at] = np.minimum(low[at], values.min(axis=0))
            high[at] = np.maximum(high[at], values.max(axis=0))
    return low, high


def _turns_of_cubics(data: Array) -> Array:
    """x and y (2, k, 2) where a cubic's x or y turns, at the roots of its derivative; where it
    does not, those of its start."""
    p0, p1, p2, p3 = data.reshape(-1, 4, 2).transpose(1, 0, 2)
    d0, d1, d2 = p1 - p0, p2 - p1, p3 - p2
    a, b, c = d0 - 2.0 * d1 + d2, 2.0 * (d1 - d0), d0
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        # the form that does not cancel (Numerical Recipes in C, 2nd edition, section 5.6)
        q = -0.5 * (b + np.copysign(np.sqrt(np.maximum(b * b - 4.0 * a * c, 0.0)), b))
        t = np.stack((q / a, c / q))
        t[~((t > 0.0) & (t < 1.0))] = 0.0
    s = 1.0 - t
    found: Array = s * s * (s * p0 + 3.0 * t * p1) + t * t * (3.0 * s * p2 + t * p3)
    return found


def _turns_of_arcs(data: Array) -> Array:
    """x and y (3, k, 2) where an arc's x or y turns: tan t = v/u, every half turn of it in range;
    where it does not, those of its start."""
    centre, u, v = data[:, 0:2], data[:, 2:4], data[:, 4:6]
    t0, t1 = data[:, 6:7], data[:, 7:8]
    base = np.arctan2(v, u)
    first = base + np.ceil((np.minimum(t0, t1) - base) / np.pi) * np.pi
    angle = first + np.pi * np.arange(3.0)[:, None, None]
    inside = (angle > np.minimum(t0, t1)) & (angle < np.maximum(t0, t1))
    angle = np.where(inside, angle, t0)
    found: Array = centre + u * np.cos(angle) + v * np.sin(angle)
    return found


def outline_box(outline: Outline) -> tuple[float, float, float, float]:
    """x, y, width and height of an outline in its own coordinates; none where it has none, or
    leaves all bounds (and will be refused)."""
    kind, data = _arrays(outline)
    if not len(kind):
        return 0.0, 0.0, 0.0, 0.0
    low, high = _extents(kind, data)
    x, y = low.min(axis=0)
    x1, y1 = high.max(axis=0)
    return float(x), float(y), float(x1 - x), float(y1 - y)


def outline_start(outline: Outline) -> tuple[float, float] | None:
    """The first point of an outline in its own coordinates; None where it has none."""
    kind, data = _arrays(outline)
    if not len(kind):
        return None
    x, y = points_at(kind, data, np.zeros(1, np.int64), np.zeros(1))[0].tolist()
    return x, y


def outline_length(outline: Outline) -> float:
    """The length of an outline in its own coordinates, to better than 1 in 10,000."""
    kind, data = _arrays(outline)
    if not len(kind):
        return 0.0
    box = outline_box(outline)
    counts = edge_counts(kind, data, max(box[2:]) * 1e-5 + 1e-12)
    segment = np.repeat(np.arange(len(kind)), counts)
    step = np.arange(len(segment)) - (np.cumsum(counts) - counts)[segment]
    start = points_at(kind, data, segment, step / counts[segment])
    end = points_at(kind, data, segment, (step + 1) / counts[segment])
    return float(np.hypot(*(end - start).T).sum())


def _arrays(outline: Outline) -> tuple[NDArray[np.int8], Array]:
    kind = np.frombuffer(outline.kind, np.int8)
    data = np.frombuffer(outline.data, np.float64).reshape(-1, 8)
    if not (np.abs(data) < _FAR).all():
        return kind[:0], data[:0]
    return kind, data
