"""Discs that touch the outline on two opposite sides, with nothing else inside them.

The local width of a web or a gap is the diameter of the largest disc inside it. Where it is
thin such a disc touches two places that face each other: the radii to them are opposed within
`FACING`. Two kinds of pairs of edges make these discs:

- the saddles of the distance between two places: the segment p q between their nearest points
  is normal to the outline at both feet, by the edges before and after a foot that is a corner.
  The side it leaves p from tells web from gap, and a convex corner cannot be a foot;
- edges that face each other over some length. Their discs are needed besides the saddles
  because a bar whose sides are not exactly parallel has no saddle at all. The radius varies
  linearly along the pair, so three discs tell all of it.

A disc counts if no edge comes nearer to its middle than its radius, less the chord tolerance.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scantling.measure.facing import FACING, Stretches, facing_pairs, within
from scantling.measure.outline import Array, Index, Outline

TOUCH = 1e-6
"""mm: places nearer than twice this touch, and have no disc between them."""


@dataclass(frozen=True, slots=True)
class Discs:
    """k discs, each touching edge i at p and edge j at q (i < j).

    radius    (k,)
    at, p, q  (k, 2)
    i, j      (k,)  indices of edges of the Outline
    web       (k,)  True inside the solid, False in the void
    """

    radius: Array
    at: Array
    p: Array
    q: Array
    i: Index
    j: Index
    web: NDArray[np.bool_]

    def take(self, which: NDArray[np.bool_] | Index) -> Discs:
        return Discs(
            self.radius[which],
            self.at[which],
            self.p[which],
            self.q[which],
            self.i[which],
            self.j[which],
            self.web[which],
        )


def discs_of(o: Outline, reach: float, chord: float) -> Discs:
    """The discs of diameter up to `reach` that the outline's edges make."""
    i, j, stretches = facing_pairs(o, reach)
    saddles = _saddles(o, i, j, reach)
    runs = _runs(o, i, j, reach)
    found = Discs(
        *(np.concatenate((getattr(saddles, name), getattr(runs, name))) for name in Discs.__slots__)
    )
    return found.take(_empty(o, found, stretches, chord))


def _saddles(o: Outline, i: Index, j: Index, reach: float) -> Discs:
    """Discs on the shortest segment between two edges, where it is normal at both feet."""
    apart = (o.next[i] != j) & (o.next[j] != i)
    i, j = i[apart], j[apart]
    ax, ay, bx, by = o.ax[i], o.ay[i], o.bx[i], o.by[i]
    cx, cy, dx, dy = o.ax[j], o.ay[j], o.bx[j], o.by[j]
    tx, ty, li = o.tx[i], o.ty[i], o.length[i]
    ux, uy, lj = o.tx[j], o.ty[j], o.length[j]
    # parameters of the four pairs of an end and its nearest point on the other edge
    s0 = np.clip((cx - ax) * tx + (cy - ay) * ty, 0.0, li)
    s1 = np.clip((dx - ax) * tx + (dy - ay) * ty, 0.0, li)
    r0 = np.clip((ax - cx) * ux + (ay - cy) * uy, 0.0, lj)
    r1 = np.clip((bx - cx) * ux + (by - cy) * uy, 0.0, lj)
    zero = np.zeros_like(li)
    s = np.stack((s0, s1, zero, li))
    r = np.stack((zero, lj, r0, r1))
    vx = cx + r * ux - ax - s * tx
    vy = cy + r * uy - ay - s * ty
    d = vx * vx + vy * vy
    best = d.argmin(axis=0)
    row = np.arange(len(i))
    s, r, vx, vy = s[best, row], r[best, row], vx[best, row], vy[best, row]
    d = np.sqrt(d[best, row])
    side_i, good_i = _normal(o, i, s, vx, vy, d)
    side_j, good_j = _normal(o, j, r, -vx, -vy, d)
    good = good_i & good_j & (side_i == side_j) & (d <= reach) & (d > 2.0 * TOUCH)
    i, j, s, r, d = i[good], j[good], s[good], r[good], d[good]
    p = np.stack((o.ax[i] + s * o.tx[i], o.ay[i] + s * o.ty[i]), axis=1)
    q = np.stack((o.ax[j] + r * o.tx[j], o.ay[j] + r * o.ty[j]), axis=1)
    return Discs(d / 2.0, (p + q) / 2.0, p, q, i, j, side_i[good] > 0)


def _normal(
    o: Outline, i: Index, s: Array, vx: Array, vy: Array, d: Array
) -> tuple[NDArray[np.int8], NDArray[np.bool_]]:
    """Side (+1 solid, -1 void) that v leaves edge i on at s, and whether it is normal there."""
    slack = 1e-9 * d
    start, end = s <= 0.0, s >= o.length[i]
    corner = start | end
    vertex = np.where(end, o.next[i], i)
    before = o.prev[vertex]
    beyond = vx * o.tx[before] + vy * o.ty[before]
    short = vx * o.tx[vertex] + vy * o.ty[vertex]
    good = ~corner | ((beyond >= -slack) & (short <= slack))
    inside = o.tx[i] * vy - o.ty[i] * vx > 0.0
    # at a corner the direction may be nearly along the edge: the turn decides
    side = np.where(corner & (o.cross[vertex] != 0.0), o.cross[vertex] < 0.0, inside)
    return np.where(side, 1, -1).astype(np.int8), good


def _runs(o: Outline, i: Index, j: Index, reach: float) -> Discs:
    """Discs tangent to two edges that face each other: at both ends of the length over which
    they do and in the middle of it."""
    opposed = o.tx[i] * o.tx[j] + o.ty[i] * o.ty[j] <= -np.cos(FACING)
    i, j = i[opposed], j[opposed]
    tx, ty, ux, uy = o.tx[i], o.ty[i], o.tx[j], o.ty[j]
    wx, wy = o.ax[i] - o.ax[j], o.ay[i] - o.ay[j]
    # signed radius at s along i: r0 + s r1, positive in the solid, negative in the void
    depth = 1.0 - (tx * ux + ty * uy)
    r0 = (ux * wy - uy * wx) / depth
    r1 = (ux * ty - uy * tx) / depth
    # place of the touching point on j at s along i: f0 + s f1, falling
    nu = tx * uy - ty * ux
    f0 = wx * ux + wy * uy + r0 * nu
    f1 = tx * ux + ty * uy + r1 * nu
    lj = o.length[j]
    low_j, high_j = (lj - f0) / f1, -f0 / f1
    low = np.maximum(low_j, 0.0)
    high = np.minimum(high_j, o.length[i])
    # side by the middle, then keep what is within the reach
    side = np.where(r0 + (low + high) / 2.0 * r1 >= 0.0, 1.0, -1.0)
    r0, r1 = side * r0, side * r1
    with np.errstate(divide="ignore", invalid="ignore"):
        full = (reach / 2.0 - r0) / r1
        zero = -r0 / r1
    upto = np.where(r1 > 0.0, full, np.where(r1 < 0.0, zero, np.inf))
    since = np.where(r1 > 0.0, zero, np.where(r1 < 0.0, full, -np.inf))
    # pull back from a corner so far that the disc just touches the edge round it
    low = np.maximum(low, since)
    high = np.minimum(high, upto)
    keep = (high > low) & (r0 + (low + high) / 2.0 * r1 <= reach / 2.0)
    pick = np.flatnonzero(keep)
    i, j, side, r0, r1 = i[pick], j[pick], side[pick], r0[pick], r1[pick]
    f0, f1, low, high = f0[pick], f1[pick], low[pick], high[pick]
    at_i, at_j = low <= 0.0, low <= low_j[pick]
    t = _half_turn(o, side, np.where(at_i, i, np.where(at_j, o.next[j], -1)))
    low = low + _back(r0 + low * r1, r1, t)
    at_i, at_j = high >= o.length[i], high >= high_j[pick]
    t = _half_turn(o, side, np.where(at_i, o.next[i], np.where(at_j, j, -1)))
    high = high - _back(r0 + high * r1, -r1, t)
    middle = (low + high) / 2.0
    ends = np.flatnonzero(high - low > 0.5 * (r0 + middle * r1))
    rows = np.concatenate((np.arange(len(i)), ends, ends))
    s = np.concatenate((middle, low[ends], high[ends]))
    i, j, side = i[rows], j[rows], side[rows]
    radius = r0[rows] + s * r1[rows]
    f = f0[rows] + s * f1[rows]
    p = np.stack((o.ax[i] + s * o.tx[i], o.ay[i] + s * o.ty[i]), axis=1)
    q = np.stack((o.ax[j] + f * o.tx[j], o.ay[j] + f * o.ty[j]), axis=1)
    at = np.stack((p[:, 0] - side * radius * o.ty[i], p[:, 1] + side * radius * o.tx[i]), axis=1)
    good = (
        (radius > TOUCH)
        & (s >= 0.0)
        & (s <= o.length[i])
        & (f >= 0.0)
        & (f <= o.length[j])
        & (2.0 * radius <= reach * (1.0 + 1e-9))
    )
    return Discs(radius, at, p, q, i, j, side > 0.0).take(good)


def _half_turn(o: Outline, side: Array, vertex: Index) -> Array:
    """Tangent of half the turn at a corner that is convex seen from the disc's side, else 0."""
    cross = side * o.cross[vertex]
    t = np.where(cross > 0.0, cross / np.maximum(1.0 + o.dot[vertex], 1e-12), 0.0)
    return np.where(vertex < 0, 0.0, t)


def _back(radius: Array, slope: Array, t: Array) -> Array:
    """How far from a corner the disc sits that touches both its edges, if the radius is
    `radius` at the corner and changes by `slope` along the edge away from it."""
    return radius * t / np.maximum(1.0 - slope * t, 1e-3)


def _empty(o: Outline, discs: Discs, stretches: Stretches, chord: float) -> NDArray[np.bool_]:
    """Which discs have no edge inside them, but for the chord tolerance."""
    free = np.ones(len(discs.radius), bool)
    if len(free) == 0:
        return free
    x, y, r = discs.at[:, 0], discs.at[:, 1], discs.radius
    i = discs.i
    along = (discs.p[:, 0] - o.ax[i]) * o.tx[i] + (discs.p[:, 1] - o.ay[i]) * o.ty[i]
    along = np.clip(along, 0.0, o.length[i] * (1.0 - 1e-12))
    d, e = within(stretches, i, along, x, y, r)
    wx, wy = x[d] - o.ax[e], y[d] - o.ay[e]
    s = np.clip(wx * o.tx[e] + wy * o.ty[e], 0.0, o.length[e])
    wx -= s * o.tx[e]
    wy -= s * o.ty[e]
    near = np.sqrt(wx * wx + wy * wy)
    blocked = near < r[d] - np.minimum(chord, 0.25 * r[d])
    free[d[blocked]] = False
    return free
