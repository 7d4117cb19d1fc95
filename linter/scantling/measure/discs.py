"""Discs that touch the outline on two opposite sides, with nothing else inside them.

The local width of a web or a gap is the diameter of the largest disc inside it. Where it is
thin such a disc touches two places that face each other: the radii to them are opposed within
`facing.FACING`. Two kinds of pairs of edges make these discs:

- the saddles of the distance between two places: the segment p q between their nearest points
  is normal to the outline at both feet, by the edges before and after a foot that is a corner.
  The side it leaves p from tells web from gap, and a convex corner cannot be a foot;
- edges that face each other over some length. Their discs are needed besides the saddles
  because a bar whose sides are not exactly parallel has no saddle at all. The radius varies
  linearly along the pair, so three discs tell all of it.

A disc counts if no edge comes nearer to its middle than its radius, less the chord tolerance.
"""

from __future__ import annotations

import numpy as np

from scantling.measure.facing import FACING, Stretches, facing_pairs, within
from scantling.measure.outline import DUST, LENGTH, Array, Flags, Index, Outline

TOUCH = 1e-6
"""mm: places nearer than twice this touch, and have no disc between them."""


class Discs:
    """k discs, each touching edge i at p and edge j at q (i < j), in the outline's coordinates.

    rows   (7, k)  radius; x, y of the middle, of p and of q
    i, j   (k,)    edges of the Outline
    web    (k,)    True inside the solid, False in the void
    """

    __slots__ = ("i", "j", "rows", "web")

    def __init__(self, rows: Array, i: Index, j: Index, web: Flags) -> None:
        self.rows, self.i, self.j, self.web = rows, i, j, web

    def __len__(self) -> int:
        return len(self.i)

    @property
    def radius(self) -> Array:
        radius: Array = self.rows[0]
        return radius

    @property
    def at(self) -> Array:
        return self.rows[1:3]

    @property
    def p(self) -> Array:
        return self.rows[3:5]

    @property
    def q(self) -> Array:
        return self.rows[5:7]

    def take(self, which: Flags | Index) -> Discs:
        return Discs(self.rows[:, which], self.i[which], self.j[which], self.web[which])


NONE = Discs(np.zeros((7, 0)), np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0, bool))


def discs_of(o: Outline, reach: float, chord: float) -> Discs:
    """The discs of diameter up to `reach` that the outline's edges make."""
    i, j, stretches = facing_pairs(o, reach)
    if len(i) == 0:
        return NONE
    found = [d for d in (_saddles(o, i, j, reach), _runs(o, i, j, reach)) if len(d)]
    if not found:
        return NONE
    discs = found[0]
    if len(found) > 1:
        discs = Discs(
            np.concatenate([d.rows for d in found], axis=1),
            np.concatenate([d.i for d in found]),
            np.concatenate([d.j for d in found]),
            np.concatenate([d.web for d in found]),
        )
    return discs.take(_empty(o, discs, stretches, chord))


def _saddles(o: Outline, i: Index, j: Index, reach: float) -> Discs:
    """Discs on the shortest segment between two edges, where it is normal at both feet."""
    apart = (o.next[i] != j) & (o.next[j] != i)
    i, j = i[apart], j[apart]
    if len(i) == 0:
        return NONE
    e, f = o.rows[:, i], o.rows[:, j]
    # the four pairs of an end and its nearest point on the other edge: ends of j on i, of i on j
    line = np.stack((e, e, f, f), axis=1)
    end = np.stack((f[:2], f[2:4], e[:2], e[2:4]), axis=1)
    v = end - line[:2]
    s = np.einsum("ijk,ijk->jk", v, line[4:6])
    np.maximum(s, 0.0, out=s)
    np.minimum(s, line[LENGTH], out=s)
    v -= s * line[4:6]
    d = np.einsum("ijk,ijk->jk", v, v)
    best = d.argmin(axis=0)
    row = np.arange(len(i))
    near = np.flatnonzero(d[best, row] <= reach * reach)
    if len(near) == 0:
        return NONE
    i, j, best = i[near], j[near], best[near]
    v, s = v[:, best, near], s[best, near]
    d = np.sqrt(d[best, near])
    of_j = best >= 2  # the foot is on j, the end is one of i
    v[:, of_j] *= -1.0  # from i to j
    # place of both feet along their edges; -1 and infinity stand for the ends themselves
    other = np.where(best % 2 == 0, -1.0, np.inf)
    side_i, good_i = _normal(o, i, np.where(of_j, other, s), v, d)
    side_j, good_j = _normal(o, j, np.where(of_j, s, other), -v, d)
    good = np.flatnonzero(good_i & good_j & (side_i == side_j) & (d > 2.0 * TOUCH))
    i, j, best, v, s, of_j = i[good], j[good], best[good], v[:, good], s[good], of_j[good]
    foot = np.where(of_j, j, i)
    rows = np.empty((7, len(i)))
    rows[0] = d[good] / 2.0
    on = o.rows[:2, foot] + s * o.rows[4:6, foot]
    rows[3:5] = np.where(of_j, on - v, on)
    rows[5:7] = rows[3:5] + v
    rows[1:3] = rows[3:5] + v / 2.0
    return Discs(rows, i, j, side_i[good])


def _normal(o: Outline, edge: Index, s: Array, v: Array, d: Array) -> tuple[Flags, Flags]:
    """Whether v leaves an edge at s into the solid, and whether it is normal there."""
    t = o.rows[4:6, edge]
    start, end = s <= 0.0, s >= o.rows[LENGTH, edge]
    inside = t[0] * v[1] - t[1] * v[0] > 0.0
    corner = np.flatnonzero(start | end)
    good = np.ones(len(edge), bool)
    if len(corner):
        vertex = np.where(end[corner], o.next[edge[corner]], edge[corner])
        u, slack = v[:, corner], 1e-9 * d[corner]
        beyond = np.einsum("ij,ij->j", u, o.rows[4:6, o.prev[vertex]])
        short = np.einsum("ij,ij->j", u, o.rows[4:6, vertex])
        good[corner] = (beyond >= -slack) & (short <= slack)
        # the direction may be nearly along the edge: the turn decides
        cross = o.turn[0, vertex]
        inside[corner] = np.where(cross == 0.0, inside[corner], cross < 0.0)
    return inside, good


def _runs(o: Outline, i: Index, j: Index, reach: float) -> Discs:
    """Discs tangent to two edges that face each other: at both ends of the length over which
    they do and in the middle of it."""
    t, u = o.rows[4:6, i], o.rows[4:6, j]
    along = np.einsum("ij,ij->j", t, u)
    opposed = np.flatnonzero(along <= -np.cos(FACING))
    if len(opposed) == 0:
        return NONE
    i, j, t, u, along = i[opposed], j[opposed], t[:, opposed], u[:, opposed], along[opposed]
    w = o.rows[:2, i] - o.rows[:2, j]
    tilt = t[0] * u[1] - t[1] * u[0]
    # signed radius at s along i: r0 + s r1, positive in the solid, negative in the void
    depth = 1.0 - along
    r0 = (u[0] * w[1] - u[1] * w[0]) / depth
    r1 = -tilt / depth
    # place of the touching point on j at s along i: f0 + s f1, falling
    f0 = np.einsum("ij,ij->j", w, u) + r0 * tilt
    f1 = along + r1 * tilt
    li, lj = o.rows[LENGTH, i], o.rows[LENGTH, j]
    low_j, high_j = (lj - f0) / f1, -f0 / f1
    low, high = np.maximum(low_j, 0.0), np.minimum(high_j, li)
    # the side by the middle, then only what is within the reach
    middle = (low + high) / 2.0
    side = np.where(r0 + middle * r1 >= 0.0, 1.0, -1.0)
    r0, r1 = side * r0, side * r1
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        zero, full = -r0 / r1, (reach / 2.0 - r0) / r1
    rising, falling = r1 > 0.0, r1 < 0.0
    since = np.where(rising, zero, np.where(falling, full, -np.inf))
    until = np.where(rising, full, np.where(falling, zero, np.inf))
    low, high = np.maximum(low, since), np.minimum(high, until)
    keep = (high > low) & (r0 + (low + high) / 2.0 * r1 <= reach / 2.0)
    keep = np.flatnonzero(keep)
    if len(keep) == 0:
        return NONE
    table = np.stack((r0, r1, f0, f1, li, lj, side, low_j, high_j, since, until))[:, keep]
    r0, r1, f0, f1, li, lj, side, low_j, high_j, since, until = table
    i, j = i[keep], j[keep]
    # pull back from each corner so far that the disc just touches the edge round it
    corner = np.stack((np.zeros_like(li), low_j, li, high_j))
    vertex = np.stack((i, o.next[j], o.next[i], j))
    inward = np.array([[1.0], [1.0], [-1.0], [-1.0]])
    speed = np.stack((np.ones_like(f1), -f1, np.ones_like(f1), -f1))
    cross, dot = o.turn[:, vertex]
    half = np.maximum(side * cross / np.maximum(1.0 + dot, 1e-12), 0.0)  # tan of half the turn
    back = (r0 + corner * r1) * half / np.maximum(speed - inward * r1 * half, 1e-3)
    corner += inward * back
    low = np.maximum(np.maximum(corner[0], corner[1]), since)
    high = np.minimum(np.minimum(corner[2], corner[3]), until)
    middle = (low + high) / 2.0
    # (measured along both edges, so that it does not matter which is called i)
    ends = np.flatnonzero((high - low) * (1.0 - f1) > r0 + middle * r1)
    s = middle
    if len(ends):
        pick = np.concatenate((np.arange(len(i)), ends, ends))
        s = np.concatenate((middle, low[ends], high[ends]))
        i, j, (r0, r1, f0, f1, li, lj, side) = i[pick], j[pick], table[:7, pick]
    radius, f = r0 + s * r1, f0 + s * f1
    good = (radius > TOUCH) & (2.0 * radius <= reach * (1.0 + 1e-9))
    good &= (s >= -DUST) & (s <= li + DUST) & (f >= -DUST) & (f <= lj + DUST)
    good = np.flatnonzero(good)
    i, j, s, f, side = i[good], j[good], s[good], f[good], side[good]
    rows = np.empty((7, len(i)))
    rows[0] = radius[good]
    e, g = o.rows[:, i], o.rows[:, j]
    rows[3:5] = e[:2] + s * e[4:6]
    rows[5:7] = g[:2] + f * g[4:6]
    inward = side * rows[0]
    rows[1] = rows[3] - inward * e[5]
    rows[2] = rows[4] + inward * e[4]
    return Discs(rows, i, j, side > 0.0)


def _empty(o: Outline, discs: Discs, stretches: Stretches, chord: float) -> Flags:
    """Which discs have no edge inside them, but for the chord tolerance."""
    r, i = discs.radius, discs.i
    along = np.einsum("ij,ij->j", discs.p - o.rows[:2, i], o.rows[4:6, i])
    along = np.clip(along, 0.0, o.rows[LENGTH, i] * (1.0 - 1e-12))
    d, e = within(stretches, i, along, discs.at, r)
    edge = o.rows[:, e]
    w = discs.at[:, d] - edge[:2]
    s = np.einsum("ij,ij->j", w, edge[4:6])
    np.maximum(s, 0.0, out=s)
    np.minimum(s, edge[LENGTH], out=s)
    w -= s * edge[4:6]
    least = r - np.minimum(chord, 0.25 * r)
    blocked = np.einsum("ij,ij->j", w, w) < (least * least)[d]
    free = np.ones(len(r), bool)
    free[d[blocked]] = False
    return free
