"""An arrangement's edges as flat arrays: what the width engine computes with."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from scantling.measure.model import Arrangement

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Flags = NDArray[np.bool_]

AX, AY, BX, BY, TX, TY, LENGTH = range(7)
"""Rows of Outline.rows: ends of an edge, its unit direction, its length."""


DUST = 1e-9
"""mm: shorter edges are none. Beyond ten metres from the origin, doubles tell no less apart."""


def without_dust(arrangement: Arrangement) -> Arrangement:
    """The arrangement without edges that are too short to have a direction."""
    xy, first = arrangement.xy, arrangement.first
    following = np.arange(1, len(xy) + 1)
    following[first[1:] - 1] = first[:-1]
    step = xy[following] - xy
    keep = np.einsum("ij,ij->i", step, step) > DUST * DUST
    if keep.all():
        return arrangement
    # what is left of a ring of one place or two encloses nothing
    size = np.add.reduceat(keep.astype(np.int64), first[:-1])
    stay = size > 2
    keep &= np.repeat(stay, np.diff(first))
    return replace(
        arrangement,
        xy=xy[keep],
        first=np.concatenate(([0], np.cumsum(size[stay]))),
        face=arrangement.face[stay],
        outer=arrangement.outer[stay],
        contour=arrangement.contour[keep],
        segment=arrangement.segment[keep],
        edge=arrangement.edge[keep],
    )


class Outline:
    """n edges in r closed rings, solid on the left of each (in the sense of a positive shoelace
    sum), with `origin` (2,) as the origin of coordinates.

    rows         (7, n)  see above. One array of rows, so that what is needed of some edges is
                 taken with one call: sheets are small, and calls cost more than numbers
    prev, next   (n,)    the edges before and after each on its ring
    ring         (n,)    its ring; `first` (r+1,) as in Arrangement
    turn         (2, n)  sine and cosine of the turn at the edge's START, from `prev` to the
                 edge: a positive sine where the solid's corner is convex
    """

    __slots__ = ("_along", "_ring", "first", "next", "origin", "prev", "rows", "turn")

    def __init__(self, arrangement: Arrangement, origin: Array) -> None:
        first = arrangement.first
        n = len(arrangement.xy)
        self.origin = origin
        self.first = first
        self.next = np.arange(1, n + 1)
        self.next[first[1:] - 1] = first[:-1]
        self.prev = np.arange(-1, n - 1)
        self.prev[first[:-1]] = first[1:] - 1
        rows = self.rows = np.empty((7, n))
        rows[:2] = arrangement.xy.T
        rows[:2] -= origin[:, None]
        rows[2:4] = rows[:2, self.next]
        t = rows[2:4] - rows[:2]
        np.sqrt(np.einsum("ij,ij->j", t, t), out=rows[LENGTH])
        np.divide(t, rows[LENGTH], out=rows[4:6])
        t = rows[4:6]
        p = t[:, self.prev]
        self.turn = np.stack((p[0] * t[1] - p[1] * t[0], np.einsum("ij,ij->j", p, t)))
        self._along: Array | None = None
        self._ring: Index | None = None

    def __len__(self) -> int:
        return len(self.next)

    @property
    def ring(self) -> Index:
        if self._ring is None:
            self._ring = np.repeat(np.arange(len(self.first) - 1), np.diff(self.first))
        return self._ring

    @property
    def along(self) -> Array:
        """(n,) distance from the first point of the edge's ring to the edge's start."""
        if self._along is None:
            total = np.cumsum(self.rows[LENGTH])
            total -= self.rows[LENGTH]
            self._along = total - total[self.first[:-1]][self.ring]
        return self._along

    @property
    def round(self) -> Array:
        """(r,) length of each ring."""
        return np.add.reduceat(self.rows[LENGTH], self.first[:-1])
