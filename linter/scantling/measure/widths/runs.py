"""Discs between two edges that face each other over some length: a run.

Along a run the middle and the touching points of its disc move in straight lines, and its radius
grows or shrinks in proportion. So the disc in the middle of it and those at both ends tell all of
it. Where an end is not empty, since a wall closes it, or a corner cut off or rounded lies in the
way, the disc moves on into the run to where it just touches what was inside it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.widths.discs import NONE, TOUCH, Discs, concatenated
from scantling.measure.widths.emptiness import Emptiness
from scantling.measure.widths.facing import BEND, FACING
from scantling.measure.widths.outline import BX, DUST, LENGTH, TX, TY, Outline
from scantling.records import NamedTuple

if TYPE_CHECKING:
    from scantling.arrays import Array, Flags, Index

LEAST_OPPOSED = -np.cos(FACING)
INWARD = np.array([[1.0], [1.0], [-1.0], [-1.0]])
"""The way into a run from its first and its last corner, on either edge."""
BEFORE = np.array([True, False, False, True])
"""Whether the edge round each of these corners comes before it on its ring."""
SHARP = np.tan(BEND / 2.0)
"""Tangent of half the turn at a corner from which on an outline goes on in no way as before."""
ROUNDS = 8
"""A disc that has cleared what was inside it may meet with something else so many times."""


class Runs(NamedTuple):
    """Discs of runs, and how each of them may move along its run.

    discs       (k,)
    growth      (k,)  by how much the radius changes for a unit of length along edge i
    pace        (k,)  by how much the place along edge j does: minus 1, but for the tilt
    inward      (k,)  1 at the first end, -1 at the last; 0 in the middle: either way
    room        (k,)  how far it may move; 0 where others of the same run do
    """

    discs: Discs
    growth: Array
    pace: Array
    inward: Array
    room: Array

    def take(self, which: Flags | Index) -> Runs:
        return Runs(self.discs.take(which), *(some[which] for some in self[1:]))

    def with_ways(self) -> Runs:
        """Those that can move at all, each once for each way that it may go."""
        can = self.room > 0.0
        either = (can & (self.inward == 0.0)).nonzero()[0]
        both = self.take(np.concatenate((can.nonzero()[0], either)))
        back = len(both.room) - len(either)
        both.inward[both.inward == 0.0] = 1.0
        both.inward[back:] = -1.0
        return both


def runs(o: Outline, i: Index, j: Index, reach: float, chord: float) -> Runs:
    """Discs tangent to two edges that face each other: in the middle of the length over which they
    do, and at both ends of it where it is long for the width; or where it stops at a sharp corner
    and is narrower at one end by more than the chord tolerance."""
    i, j, table = _facing(o, i, j, reach)
    if len(i) == 0:
        return Runs(NONE, *[NONE.radius] * 4)
    low, high, walled = _clear_of_corners(o, i, j, table)
    r0, r1, f0, f1, li, lj, side = table[:7]
    whole = high - low
    s = 0.5 * (low + high)
    inward, room = np.zeros(len(i)), whole / 2.0
    # (measured along both edges, so that it does not matter which is called i)
    long = whole * (1.0 - f1) > r0 + s * r1
    ends = (long | (walled & (whole * np.abs(r1) > chord))).nonzero()[0]
    if len(ends):
        all_three = np.concatenate((np.arange(len(i)), ends, ends))
        inward = np.concatenate((inward, np.ones(len(ends)), np.full(len(ends), -1.0)))
        room[ends] = 0.0
        room = np.concatenate((room, whole[ends], whole[ends]))
        s = np.concatenate((s, low[ends], high[ends]))
        i, j = i[all_three], j[all_three]
        r0, r1, f0, f1, li, lj, side = table[:7, all_three]
    r0 = r0 + s * r1
    f0 = f0 + s * f1
    good = (r0 > TOUCH) & (r0 <= 0.5 * reach * (1.0 + 1e-9))
    good &= (s >= -DUST) & (s <= li + DUST) & (f0 >= -DUST) & (f0 <= lj + DUST)
    pick = good.nonzero()[0]
    i, j, s, f0, side, r1 = i[pick], j[pick], s[pick], f0[pick], side[pick], r1[pick]
    e, f = o.rows[:LENGTH, i], o.rows[:LENGTH, j]
    rows = np.empty((8, len(i)))
    rows[0] = r0[pick]
    np.abs(2.0 * r1, out=rows[7])
    rows[3:5] = e[:BX] + s * e[TX:]
    rows[5:7] = f[:BX] + f0 * f[TX:]
    rows[1:3] = rows[3:5] + _aside(e, side * rows[0])
    return Runs(Discs(rows, i, j, side > 0.0), r1, f1[pick], inward[pick], room[pick])


def moved_on(o: Outline, full: Runs, empty: Emptiness) -> Discs:
    """Discs with something inside them, each moved along its run to where it has nothing. Without
    those of which there is no such place."""
    moving = full.with_ways()
    found = []
    for _ in range(ROUNDS):
        if len(moving.room) == 0:
            break
        d, edge = empty.inside(moving.discs)
        full_still = np.zeros(len(moving.room), bool)
        full_still[d] = True
        found.append(moving.discs.take(~full_still))
        rate = _rate(o, moving)
        step = np.zeros(len(moving.room))
        np.maximum.at(step, d, _cleared(o, moving.discs.rows[:3, d], rate[:3, d], edge))
        moving.discs.rows[...] += step * rate
        moving.room[...] -= step
        moving = moving.take(full_still & (moving.room >= 0.0))
    return concatenated(found)


def _rate(o: Outline, runs: Runs) -> Array:
    """(8, k) by how much the rows of discs change for a unit of length along edge i."""
    e, f = o.rows[:, runs.discs.i], o.rows[:, runs.discs.j]
    rate = np.empty((8, len(runs.room)))
    rate[0] = runs.growth
    rate[3:5] = e[TX:LENGTH]
    rate[1:3] = rate[3:5] + _aside(e, np.where(runs.discs.web, runs.growth, -runs.growth))
    rate[5:7] = runs.pace * f[TX:LENGTH]
    rate[7] = 0.0
    rate *= runs.inward
    return rate


def _aside(e: Array, depth: Array) -> Array:
    """(2, k) from edges to the places at a depth on their left."""
    return np.stack((-depth * e[TY], depth * e[TX]))


def _cleared(o: Outline, discs: Array, rate: Array, edge: Index) -> Array:
    """How far discs (radius, x, y; m), each with an edge inside it, have to move on at a `rate` to
    have it outside.

    The radius changes by less than the middle moves, so an edge is inside for one stretch of the
    way. That ends where the disc touches one of the edge's ends, or the edge between them.
    """
    e = o.rows[:, edge]
    r, growth, v = discs[0], rate[0], rate[1:3]
    far = np.zeros(len(edge))
    for end in (e[:BX], e[BX:TX]):
        np.maximum(far, _leaves(discs[1:3] - end, v, r, growth), out=far)
    x, y = discs[1:3] - e[:BX]
    tx, ty, length = e[TX:]
    off, closing = tx * y - ty * x, tx * v[1] - ty * v[0]
    along, ahead = x * tx + y * ty, v[0] * tx + v[1] * ty
    for side in (1.0, -1.0):
        speed = side * closing - growth
        s = (r - side * off) / np.where(speed == 0.0, np.inf, speed)
        foot = along + s * ahead
        meets = (foot >= 0.0) & (foot <= length) & (r + s * growth >= 0.0)
        np.maximum(far, s, out=far, where=meets)
    return far


def _leaves(w: Array, v: Array, r: Array, growth: Array) -> Array:
    """How far discs move on, at a rate v (2, k) and growing, until a point that their middles are w
    (2, k) from is outside them; minus infinity where it never is inside."""
    # |w + s v|² = (r + s growth)², and |v|² = 1 + growth²
    half = w[0] * v[0] + w[1] * v[1] - r * growth
    root = half * half - w[0] * w[0] - w[1] * w[1] + r * r
    return np.where(root >= 0.0, np.sqrt(np.maximum(root, 0.0)) - half, -np.inf)


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


def _clear_of_corners(o: Outline, i: Index, j: Index, table: Array) -> tuple[Array, Array, Flags]:
    """From where to where along i a disc stays clear of the edges beyond the ends of both: it is
    pulled back from each corner so far that it just touches the edge round it, or the far end of
    that edge where it is too short to be touched between its ends. Then, where one of the corners
    is sharp and convex."""
    r0, r1, _, f1, li, _, side, low_j, high_j, since, until = table
    k = len(i)
    corner, vertex, speed = np.empty((4, k)), np.empty((4, k), np.int64), np.ones((4, k))
    beyond = np.empty((4, k), np.int64)
    corner[0], corner[1], corner[2], corner[3] = 0.0, low_j, li, high_j
    vertex[0], vertex[1], vertex[2], vertex[3] = i, o.next[j], o.next[i], j
    beyond[0], beyond[1], beyond[2], beyond[3] = o.prev[i], vertex[1], vertex[2], o.prev[j]
    np.negative(f1, out=speed[1::2])
    cross, dot = o.turn[:, vertex]
    half = side * cross
    half /= np.maximum(1.0 + dot, 1e-12)
    np.maximum(half, 0.0, out=half)  # tangent of half the turn, where it is convex
    slope = INWARD * r1
    back = (r0 + corner * r1) * half
    back /= np.maximum(speed - slope * half, 1e-3)
    # it touches both edges as far from their corner: the one round it may be shorter than that
    which, pair = (back * speed > o.rows[LENGTH, beyond]).nonzero()
    if len(which):
        short = beyond[which, pair]
        far = np.where(BEFORE[which], o.rows[:BX, short], o.rows[BX:TX, short])
        at, s = o.rows[:, i[pair]], corner[which, pair]
        inward = INWARD[which, 0]
        r = (r0 + corner * r1)[which, pair]
        middle = at[:BX] + s * at[TX:LENGTH] + _aside(at, side[pair] * r)
        v = inward * (at[TX:LENGTH] + _aside(at, side[pair] * r1[pair]))
        back[which, pair] = np.maximum(0.0, _leaves(middle - far, v, r, inward * r1[pair]))
    corner += INWARD * back
    low = np.maximum(np.maximum(corner[0], corner[1]), since)
    high = np.minimum(np.minimum(corner[2], corner[3]), until)
    return low, high, half.max(axis=0) > SHARP
