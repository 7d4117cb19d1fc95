"""Edges in bulk: crosses, distances and stretches of one edge near another, all vectorised."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from scantling.arrays import Lengths, Points


def cross(u: Points, v: Points) -> Lengths:
    """z of the cross product of (k, 2) vectors."""
    return np.asarray(u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0])


def dot(u: Points, v: Points) -> Lengths:
    """Dot product of (k, 2) vectors."""
    return np.asarray(u[..., 0] * v[..., 0] + u[..., 1] * v[..., 1])


def length(v: Points) -> Lengths:
    """Lengths of (k, 2) vectors."""
    return np.hypot(v[..., 0], v[..., 1])


def foot(point: Points, start: Points, end: Points) -> Lengths:
    """Where on each edge its point nearest to `point` lies: 0 at its start, 1 at its end."""
    along = end - start
    square = dot(along, along)
    t = dot(point - start, along) / np.where(square > 0.0, square, 1.0)
    return np.asarray(np.clip(t, 0.0, 1.0))


def distance_to(point: Points, start: Points, end: Points) -> Lengths:
    """Distance of each point to its edge."""
    t = foot(point, start, end)
    return length(start + t[..., None] * (end - start) - point)


def _between(offset: Lengths, slope: Lengths, low: Lengths, high: Lengths) -> tuple[Lengths, ...]:
    """The s for which low <= offset + slope s <= high; low > high where there is none."""
    flat = np.abs(slope) < 1e-12
    safe = np.where(flat, 1.0, slope)
    a, b = (low - offset) / safe, (high - offset) / safe
    inside = (offset >= low) & (offset <= high)
    first = np.where(flat, np.where(inside, -np.inf, np.inf), np.minimum(a, b))
    last = np.where(flat, np.where(inside, np.inf, -np.inf), np.maximum(a, b))
    return first, last


def beside(
    start: Points, end: Points, other_start: Points, other_end: Points, within: float
) -> tuple[Lengths, Lengths]:
    """The stretch of each edge that runs beside another: within the distance of it, and with
    its foot on the other edge itself. (low, high) from the edge's start, mm; low > high: none.
    """
    along, across = end - start, other_end - other_start
    size, other = length(along), length(across)
    u = along / size[:, None]
    v = across / other[:, None]
    apart = start - other_start
    limit = np.full(len(size), within)
    near = _between(cross(v, apart), cross(v, u), -limit, limit)
    foot_on = _between(dot(v, apart), dot(v, u), np.zeros(len(size)), other)
    low = np.maximum(np.maximum(near[0], foot_on[0]), 0.0)
    high = np.minimum(np.minimum(near[1], foot_on[1]), size)
    return low, high


def around(start: Points, end: Points, point: Points, within: float) -> tuple[Lengths, Lengths]:
    """The stretch of each edge within a distance of its point. As `beside`."""
    along = end - start
    size = length(along)
    u = along / size[:, None]
    apart = point - start
    middle = dot(apart, u)
    half = within**2 - cross(u, apart) ** 2
    reach = np.sqrt(np.maximum(half, 0.0))
    low = np.where(half >= 0.0, np.maximum(middle - reach, 0.0), np.inf)
    high = np.where(half >= 0.0, np.minimum(middle + reach, size), -np.inf)
    return low, high


def near_stretch(
    start: Points, end: Points, other_start: Points, other_end: Points, within: float
) -> tuple[Lengths, Lengths]:
    """The stretch of each edge within a distance of another edge: one interval, for what lies
    that near to an edge (a capsule) is convex. As `beside`."""
    low = np.full(len(start), np.inf)
    high = np.full(len(start), -np.inf)
    for first, last in (
        beside(start, end, other_start, other_end, within),
        around(start, end, other_start, within),
        around(start, end, other_end, within),
    ):
        there = first <= last
        low = np.where(there, np.minimum(low, first), low)
        high = np.where(there, np.maximum(high, last), high)
    return low, high
