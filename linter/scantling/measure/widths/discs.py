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

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.measure.distinct import distinct
from scantling.measure.pairs import BLOCK, LIMITS
from scantling.measure.widths.facing import (
    FACING,
    Stretches,
    facing_pairs,
    tree_of,
    within,
    within_tree,
)
from scantling.measure.widths.outline import BX, DUST, LENGTH, TX, TY, Outline
from scantling.read.limits import Limits

if TYPE_CHECKING:
    from scantling.arrays import Array, Flags, Index

LEAST_OPPOSED = -np.cos(FACING)
INWARD = np.array([[1.0], [1.0], [-1.0], [-1.0]])
"""The way into a run from its first and its last corner, on either edge."""
NOISE = 1e-7
"""Sine of the turn at a point of a straight line: its sign says nothing."""
CROWDED = 8
"""With so many pairs to an edge, details are small for the reach and most discs are full."""
TOUCH = 1e-6
"""mm: places nearer than twice this touch, and have no disc between them."""


class Discs:
    """k discs, each touching edge i at p and edge j at q (i < j), in the outline's coordinates.

    rows   (8, k)  radius; x, y of the middle, of p and of q; slope: by how much the width changes
                   for a unit of length along the edges, 0 at a saddle
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

    @property
    def slope(self) -> Array:
        slope: Array = self.rows[7]
        return slope

    def take(self, which: Flags | Index) -> Discs:
        return Discs(self.rows[:, which], self.i[which], self.j[which], self.web[which])


NONE = Discs(np.zeros((8, 0)), np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0, bool))


def discs_of(o: Outline, reach: float, chord: float, limits: Limits = LIMITS) -> Discs:
    """The discs of diameter up to `reach` that the outline's edges make. Raises Unreadable beyond
    the limit for pairs."""
    i, j, stretches = facing_pairs(o, reach, limits)
    if len(i) == 0:
        return NONE
    crowded = len(i) > CROWDED * len(o)
    sought = (tree_of(stretches), Cells(o)) if crowded else None
    found = []
    for first in range(0, len(i), BLOCK // 8):
        part = slice(first, first + BLOCK // 8)
        made = [make(o, i[part], j[part], reach) for make in (_saddles, _runs)]
        discs = concatenated([d for d in made if len(d)])
        if len(discs):
            found.append(discs.take(_empty(o, discs, stretches, chord, sought)))
    return concatenated(found)


def concatenated(some: Sequence[Discs]) -> Discs:
    """All discs of several rows, one row after the other."""
    if len(some) < 2:
        return some[0] if some else NONE
    return Discs(
        np.concatenate([d.rows for d in some], axis=1),
        np.concatenate([d.i for d in some]),
        np.concatenate([d.j for d in some]),
        np.concatenate([d.web for d in some]),
    )


def _saddles(o: Outline, i: Index, j: Index, reach: float) -> Discs:
    """Discs on the shortest segment between two edges, where it is normal at both feet."""
    apart = o.next[i] != j
    apart &= o.next[j] != i
    i, j = i[apart], j[apart]
    k = len(i)
    if k == 0:
        return NONE
    e, f = o.rows[:, i], o.rows[:, j]
    # the four pairs of an end and its nearest point on the other edge: ends of j on i, of i on j
    line, v = np.empty((7, 4, k)), np.empty((2, 4, k))
    line[:, :2], line[:, 2:] = e[:, None], f[:, None]
    v[:, 0], v[:, 1], v[:, 2], v[:, 3] = f[:BX], f[BX:TX], e[:BX], e[BX:TX]
    v -= line[:BX]
    tx, ty = line[TX], line[TY]
    s = v[0] * tx
    s += v[1] * ty
    np.maximum(s, 0.0, out=s)
    np.minimum(s, line[LENGTH], out=s)
    v[0] -= s * tx
    v[1] -= s * ty
    d = v[0] * v[0]
    d += v[1] * v[1]
    best = d.argmin(axis=0)
    near = (d.min(axis=0) <= reach * reach).nonzero()[0]
    if len(near) == 0:
        return NONE
    i, j, best = i[near], j[near], best[near]
    v, s = v[:, best, near], s[best, near]
    d = np.sqrt(d[best, near])
    of_j = best >= 2  # the foot is on j, the end is one of i
    v *= np.where(of_j, -1.0, 1.0)  # from i to j
    # place of both feet along their edges; -1 and infinity stand for the ends themselves
    other = np.where(best & 1, np.inf, -1.0)
    both = np.concatenate((i, j))
    foot = np.concatenate((np.where(of_j, other, s), np.where(of_j, s, other)))
    side, good = _normal(o, both, foot, np.concatenate((v, -v), axis=1), np.concatenate((d, d)))
    k = len(i)
    good = good[:k] & good[k:]
    good &= side[:k] == side[k:]
    good &= d > 2.0 * TOUCH
    pick = good.nonzero()[0]
    i, j, v, s, of_j = i[pick], j[pick], v[:, pick], s[pick], of_j[pick]
    foot = o.rows[:, np.where(of_j, j, i)]
    rows = np.empty((8, len(i)))
    rows[7] = 0.0
    np.multiply(d[pick], 0.5, out=rows[0])
    on = foot[:BX] + s * foot[TX:LENGTH]
    rows[3:5] = np.where(of_j, on - v, on)
    rows[5:7] = rows[3:5] + v
    v *= 0.5
    rows[1:3] = rows[3:5] + v
    return Discs(rows, i, j, side[pick])


def _normal(o: Outline, edge: Index, s: Array, v: Array, d: Array) -> tuple[Flags, Flags]:
    """Whether v leaves an edge at s into the solid, and whether it is normal there."""
    row = o.rows[:, edge]
    end = s >= row[LENGTH]
    inside = row[TX] * v[1] - row[TY] * v[0] > 0.0
    good = np.ones(len(edge), bool)
    corner = (end | (s <= 0.0)).nonzero()[0]
    if len(corner):
        edge, end = edge[corner], end[corner]
        vertex = np.where(end, o.next[edge], edge)
        before = np.where(end, edge, o.prev[edge])
        t, u = o.rows[TX:LENGTH, before], o.rows[TX:LENGTH, vertex]
        vx, vy = v[:, corner]
        slack = 1e-9 * d[corner]
        fits = vx * t[0] + vy * t[1] >= -slack
        fits &= vx * u[0] + vy * u[1] <= slack
        good[corner] = fits
        # the direction may be nearly along the edge: the turn decides, but not one that is noise
        cross, dot = o.turn[:, vertex]
        straight = np.abs(cross) < np.where(dot > 0.0, NOISE, 1e-300)
        inside[corner] = np.where(straight, inside[corner], cross < 0.0)
    return inside, good


def _runs(o: Outline, i: Index, j: Index, reach: float) -> Discs:
    """Discs tangent to two edges that face each other: at both ends of the length over which
    they do and in the middle of it."""
    i, j, table = _facing(o, i, j, reach)
    if len(i) == 0:
        return NONE
    low, high = _clear_of_corners(o, i, j, table)
    r0, r1, f0, f1, li, lj, side = table[:7]
    s = 0.5 * (low + high)
    # (measured along both edges, so that it does not matter which is called i)
    ends = ((high - low) * (1.0 - f1) > r0 + s * r1).nonzero()[0]
    if len(ends):
        all_three = np.concatenate((np.arange(len(i)), ends, ends))
        s = np.concatenate((s, low[ends], high[ends]))
        i, j = i[all_three], j[all_three]
        r0, r1, f0, f1, li, lj, side = table[:7, all_three]
    r0 = r0 + s * r1
    f0 = f0 + s * f1
    good = (r0 > TOUCH) & (r0 <= 0.5 * reach * (1.0 + 1e-9))
    good &= (s >= -DUST) & (s <= li + DUST) & (f0 >= -DUST) & (f0 <= lj + DUST)
    pick = good.nonzero()[0]
    i, j, s, f0, side = i[pick], j[pick], s[pick], f0[pick], side[pick]
    e, f = o.rows[:LENGTH, i], o.rows[:LENGTH, j]
    rows = np.empty((8, len(i)))
    rows[0] = r0[pick]
    np.abs(2.0 * r1[pick], out=rows[7])
    rows[3:5] = e[:BX] + s * e[TX:]
    rows[5:7] = f[:BX] + f0 * f[TX:]
    inward = side * rows[0]
    rows[1] = rows[3] - inward * e[TY]
    rows[2] = rows[4] + inward * e[TX]
    return Discs(rows, i, j, side > 0.0)


def _facing(o: Outline, i: Index, j: Index, reach: float) -> tuple[Index, Index, Array]:
    """The pairs of edges that face each other within the reach, and for each of them (11, n):

    r0 r1       radius of the disc that touches i at s along it: r0 + s r1
    f0 f1       where it touches j: f0 + s f1 along it, falling
    li lj       lengths of both
    side        1 in the solid, -1 in the void
    low high    the places along i that face the ends of j
    since until from where to where along i the radius is between touching and half the reach
    """
    e, f = o.rows[:, i], o.rows[:, j]
    along = e[TX] * f[TX] + e[TY] * f[TY]
    opposed = (along <= LEAST_OPPOSED).nonzero()[0]
    if len(opposed) < len(i):
        i, j, along = i[opposed], j[opposed], along[opposed]
        if len(opposed) == 0:
            return i, j, np.empty((11, 0))
        e, f = e[:, opposed], f[:, opposed]
    tx, ty, li = e[TX:]
    ux, uy, lj = f[TX:]
    wx, wy = e[:BX] - f[:BX]
    tilt = tx * uy - ty * ux
    # signed radius: positive in the solid, negative in the void
    depth = 1.0 - along
    r0 = (ux * wy - uy * wx) / depth
    r1 = -tilt / depth
    f0 = wx * ux + wy * uy + r0 * tilt
    f1 = along + r1 * tilt
    low_j, high_j = (lj - f0) / f1, -f0 / f1
    low, high = np.maximum(low_j, 0.0), np.minimum(high_j, li)
    # the side by the middle, then only what is within the reach
    side = np.where(r0 + (low + high) * (0.5 * r1) >= 0.0, 1.0, -1.0)
    r0 *= side
    r1 *= side
    steep = np.where(np.abs(r1) < 1e-100, 1e-100, r1)
    zero, full = (2.0 * TOUCH - r0) / steep, (0.5 * reach - r0) / steep
    since, until = np.minimum(zero, full), np.maximum(zero, full)
    low, high = np.maximum(low, since), np.minimum(high, until)
    keep = high > low
    keep &= r0 + (low + high) * (0.5 * r1) <= 0.5 * reach
    pick = keep.nonzero()[0]
    table = np.empty((11, len(i)))
    for row, values in enumerate((r0, r1, f0, f1, li, lj, side, low_j, high_j, since, until)):
        table[row] = values
    return i[pick], j[pick], table[:, pick]


def _clear_of_corners(o: Outline, i: Index, j: Index, table: Array) -> tuple[Array, Array]:
    """From where to where along i a disc stays clear of the edges beyond the ends of both: it is
    pulled back from each corner so far that it just touches the edge round it."""
    r0, r1, _, f1, li, _, side, low_j, high_j, since, until = table
    k = len(i)
    corner, vertex, speed = np.empty((4, k)), np.empty((4, k), np.int64), np.ones((4, k))
    corner[0], corner[1], corner[2], corner[3] = 0.0, low_j, li, high_j
    vertex[0], vertex[1], vertex[2], vertex[3] = i, o.next[j], o.next[i], j
    np.negative(f1, out=speed[1::2])
    cross, dot = o.turn[:, vertex]
    half = side * cross
    half /= np.maximum(1.0 + dot, 1e-12)
    np.maximum(half, 0.0, out=half)  # tangent of half the turn, where it is convex
    slope = INWARD * r1
    back = (r0 + corner * r1) * half
    back /= np.maximum(speed - slope * half, 1e-3)
    corner += INWARD * back
    low = np.maximum(np.maximum(corner[0], corner[1]), since)
    high = np.minimum(np.minimum(corner[2], corner[3]), until)
    return low, high


def _empty(
    o: Outline,
    discs: Discs,
    stretches: Stretches,
    chord: float,
    sought: tuple[Any, Cells] | None,
) -> Flags:
    """Which discs have no edge inside them, but for the chord tolerance. `sought`: a tree of the
    stretches and cells of the corners, where most discs are full."""
    if sought is None:
        near = within(o, stretches, discs.i, discs.p, discs.at, discs.radius)
        return _clear(o, discs, *near, chord)
    tree, cells = sought
    free = ~_full(cells, discs, chord)
    left = free.nonzero()[0]
    discs = discs.take(left)
    free[left] = _clear(o, discs, *within_tree(stretches, tree, discs.at, discs.radius), chord)
    return free


class Cells:
    """The corners of an outline, sorted into square cells: of each size once, however many blocks
    of discs are looked at."""

    def __init__(self, o: Outline) -> None:
        self.corners = o.rows[:BX]
        self.low = self.corners.min(axis=1)[:, None]
        self._sorted: dict[int, tuple[Index, Array, int]] = {}

    def of(self, power: int) -> tuple[Index, Array, int]:
        """Of cells of the size 2 to that power: the sorted keys of those that hold any corner, one
        corner (2, k) of each, and by how much keys differ from one column to the next."""
        if power not in self._sorted:
            cell = self.at(self.corners, power)
            across = int(cell[1].max()) + 3
            keys, some = np.unique(cell[0] * across + cell[1], return_index=True)
            self._sorted[power] = keys, self.corners[:, some], across
        return self._sorted[power]

    def at(self, places: Array, power: int) -> Index:
        """(2, k) column and row of the cell that each place (2, k) is in."""
        cell: Index = ((places - self.low) / 2.0**power).astype(np.int64)
        cell += 1
        return cell


def _full(cells: Cells, discs: Discs, chord: float) -> Flags:
    """Which discs have a corner of the outline near their middles: most of them, where details
    are small for the reach, and cheaper to tell than which have not.

    The corners are in cells of an eighth to a quarter of the radius, of which the nine about the
    middle are looked into.
    """
    full = np.zeros(len(discs), bool)
    octave = np.floor(np.log2(np.maximum(discs.radius, 1e-3))).astype(np.int64)
    for power in distinct(octave).tolist():
        mine = (octave == power).nonzero()[0]
        keys, (x, y), across = cells.of(power - 2)
        at, radius = discs.at[:, mine], discs.radius[mine]
        middle = cells.at(at, power - 2)
        key = middle[0] * across + middle[1]
        least = radius - np.minimum(chord, 0.25 * radius)
        least *= least
        for aside in (0, -1, 1, -across, across, -across - 1, 1 - across, across - 1, across + 1):
            place = np.minimum(keys.searchsorted(key + aside), len(keys) - 1)
            dx, dy = x[place] - at[0], y[place] - at[1]
            full[mine] |= (keys[place] == key + aside) & (dx * dx + dy * dy < least)
    return full


def _clear(o: Outline, discs: Discs, d: Index, edge: Index, chord: float) -> Flags:
    """Which discs have none of the edges (disc d[k] and edge[k]) inside them."""
    r = discs.radius
    free = np.ones(len(r), bool)
    e = o.rows[:, edge]
    x, y = discs.at[:, d] - e[:BX]
    tx, ty, length = e[TX:]
    s = x * tx
    s += y * ty
    np.maximum(s, 0.0, out=s)
    np.minimum(s, length, out=s)
    x -= s * tx
    y -= s * ty
    x *= x
    y *= y
    x += y
    least = r - np.minimum(chord, 0.25 * r)
    least *= least
    free[d[x < least[d]]] = False
    return free
