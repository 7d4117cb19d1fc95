"""The table of near edges: which edges of a sheet's lines may be nearer than the reach.

Two edges are near when their boxes, grown by half the reach on every side, meet. That is
cheap to find in bulk and never misses a pair nearer than the reach; how near two edges really
are is for those to say who use the table.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scantling.plan.model import Lines

Points = NDArray[np.float64]
Index = NDArray[np.int64]


class Table(NamedTuple):
    """The edges of a sheet's lines and the pairs of them that are near.

    start, end  (n, 2)  ends of the edges in drawing order; edges of no length are left out
    edge        (n,)    index of the edge's first point in Lines.xy
    contour     (n,)    index into Lines.first
    i, j        (k,)    the near pairs, indices into the arrays above, i < j; sorted by i, then j
    """

    start: Points
    end: Points
    edge: Index
    contour: Index
    i: Index
    j: Index


def near_pairs(start: Points, end: Points, reach: float) -> tuple[Index, Index]:
    """Indices i < j of the edges whose boxes, grown by reach/2, meet; sorted by i, then j.

    start, end: (n, 2), mm. Boxes that just touch count as meeting.
    """
    import shapely

    if len(start) < 2:
        none = np.zeros(0, np.int64)
        return none, none.copy()
    low = np.minimum(start, end) - reach / 2.0
    high = np.maximum(start, end) + reach / 2.0
    boxes = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
    i, j = shapely.STRtree(boxes).query(boxes)
    keep = i < j
    i, j = i[keep], j[keep]
    order = np.lexsort((j, i))
    return i[order].astype(np.int64), j[order].astype(np.int64)


def edges_of(lines: Lines) -> tuple[Points, Points, Index, Index]:
    """Start, end, index of the first point and contour of every edge that has a length."""
    n = len(lines.xy)
    if n == 0:
        return np.zeros((0, 2)), np.zeros((0, 2)), np.zeros(0, np.int64), np.zeros(0, np.int64)
    sizes = np.diff(lines.first)
    contour = np.repeat(np.arange(len(sizes)), sizes)
    following = np.arange(1, n + 1)
    filled = sizes > 0
    last = lines.first[1:][filled] - 1
    following[last] = lines.first[:-1][filled]
    there = np.ones(n, bool)
    there[last] = lines.closed[filled]
    start, end = lines.xy, lines.xy[following]
    there &= (start != end).any(axis=1)
    edge = np.flatnonzero(there)
    return start[edge], end[edge], edge, contour[edge]


def table(lines: Lines, reach: float) -> Table:
    """Fact: the edges of the sheet's lines, all operations, and the pairs within the reach."""
    start, end, edge, contour = edges_of(lines)
    i, j = near_pairs(start, end, reach)
    return Table(start, end, edge, contour, i, j)
