"""Saddles of the distance between two places of the outline: where it is shortest across.

The segment p q between the nearest points of two edges is normal to the outline at both feet, by
the edges before and after a foot that is a corner. The side it leaves p from tells web from gap,
and a convex corner cannot be a foot.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.widths.discs import NONE, TOUCH, Discs
from scantling.measure.widths.outline import BX, LENGTH, TX, TY, Outline

if TYPE_CHECKING:
    from scantling.arrays import Array, Flags, Index

NOISE = 1e-7
"""Sine of the turn at a point of a straight line: its sign says nothing."""


def saddles(o: Outline, i: Index, j: Index, reach: float) -> Discs:
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
