"""An arrangement's edges as flat arrays: what the width engine computes with."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.model import Arrangement

if TYPE_CHECKING:
    from scantling.arrays import Array, Flags, Index


AX, AY, BX, BY, TX, TY, LENGTH = range(7)
"""Rows of Outline.rows: ends of an edge, its unit direction, its length."""
DUST = 1e-9
"""mm: shorter edges are none. Beyond ten metres from the origin, doubles tell no less apart."""


class Outline:
    """n edges in r closed rings, solid on the left of each (in the sense of a positive shoelace
    sum), seen from `origin` (2,): far from their own origin coordinates lose their last digits.

    arrangement  what the edges are of, without dust
    rows         (7, n)  see above. One array of rows, so that what is needed of some edges is
                 taken with one call: sheets are small, and calls cost more than numbers
    prev, next   (n,)    the edges before and after each on its ring
    first        (r+1,)  as in Arrangement
    turn         (2, n)  sine and cosine of the turn at the edge's START, from `prev` to the
                 edge: a positive sine where the solid's corner is convex
    """

    __slots__ = (
        "_along",
        "_ring",
        "_round",
        "arrangement",
        "first",
        "next",
        "origin",
        "prev",
        "rows",
        "turn",
    )

    def __init__(self, arrangement: Arrangement) -> None:
        self._lay_out(arrangement)
        if self.rows[LENGTH].min() <= DUST:
            self._lay_out(kept(arrangement, self.rows[LENGTH] > DUST))
        turn = self.turn = np.empty((2, len(self)))
        t = self.rows[TX : TY + 1]
        p = t[:, self.prev]
        np.multiply(p[0], t[1], out=turn[0])
        turn[0] -= p[1] * t[0]
        np.multiply(p[0], t[0], out=turn[1])
        turn[1] += p[1] * t[1]
        self._along: Array | None = None
        self._ring: Index | None = None
        self._round: Array | None = None

    def _lay_out(self, arrangement: Arrangement) -> None:
        self.arrangement = arrangement
        first = self.first = arrangement.first
        n = len(arrangement.xy)
        self.next = np.arange(1, n + 1)
        self.next[first[1:] - 1] = first[:-1]
        self.prev = np.arange(-1, n - 1)
        self.prev[first[:-1]] = first[1:] - 1
        self.origin = np.floor(arrangement.xy[:1].sum(axis=0))
        rows = self.rows = np.empty((7, n))
        np.subtract(arrangement.xy.T, self.origin[:, None], out=rows[:BX])
        rows[BX:TX] = rows[:BX, self.next]
        t = rows[TX:LENGTH]
        np.subtract(rows[BX:TX], rows[:BX], out=t)
        np.sqrt(t[0] * t[0] + t[1] * t[1], out=rows[LENGTH])
        t /= np.maximum(rows[LENGTH], DUST)

    def shared(self) -> Flags:
        """(n,) True for edges that are there twice, once for each of two faces that share a
        line: what lies on their other side is not void."""
        n = len(self)
        at = self.rows[:BX] / DUST
        order = np.lexsort(np.rint(at[::-1]))
        apart = (np.abs(np.diff(at[:, order])) > 1.5).any(axis=0)
        point = np.empty(n, np.int64)
        point[order] = np.concatenate(([0], apart.cumsum()))
        end = point[self.next]
        key, back = point * n + end, end * n + point
        return np.isin(key, back)

    def __len__(self) -> int:
        return len(self.next)

    @property
    def ring(self) -> Index:
        """(n,) the ring of each edge."""
        if self._ring is None:
            self._ring = np.arange(len(self.first) - 1).repeat(self.first[1:] - self.first[:-1])
        return self._ring

    @property
    def along(self) -> Array:
        """(n,) distance from the first point of the edge's ring to the edge's start."""
        if self._along is None:
            total = self.rows[LENGTH].cumsum()
            total -= self.rows[LENGTH]
            self._along = total - total[self.first[:-1]][self.ring]
        return self._along

    @property
    def round(self) -> Array:
        """(r,) length of each ring."""
        if self._round is None:
            self._round = np.add.reduceat(self.rows[LENGTH], self.first[:-1])
        return self._round


def kept(arrangement: Arrangement, keep: Flags) -> Arrangement:
    """The arrangement with only those of its points (n,) that are kept."""
    first = arrangement.first
    # what is left of a ring of one place or two encloses nothing
    size = np.add.reduceat(keep.astype(np.int64), first[:-1])
    stay = size > 2
    return _only(arrangement, keep & np.repeat(stay, np.diff(first)), stay, size)


def of_faces(arrangement: Arrangement, faces: Flags) -> Arrangement:
    """The arrangement with some of its faces (f,) alone; they keep their numbers."""
    rings = faces[arrangement.face]
    size = np.diff(arrangement.first)
    return _only(arrangement, np.repeat(rings, size), rings, size)


def _only(arrangement: Arrangement, points: Flags, rings: Flags, size: Index) -> Arrangement:
    """Some points (n,) of some rings (r,), of each of which `size` (r,) are left."""
    return replace(
        arrangement,
        xy=arrangement.xy[points],
        first=np.concatenate(([0], np.cumsum(size[rings]))),
        face=arrangement.face[rings],
        outer=arrangement.outer[rings],
        slit=None if arrangement.slit is None else arrangement.slit[points],
        contour=arrangement.contour[points],
        segment=arrangement.segment[points],
        edge=arrangement.edge[points],
    )
