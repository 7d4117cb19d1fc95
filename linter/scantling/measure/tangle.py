"""Cut lines that meet each other, noded into faces."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from scantling.measure.crossings import following
from scantling.measure.joins import Joined
from scantling.plan.model import Tolerances

Points = NDArray[np.float64]
Index = NDArray[np.int64]
Flags = NDArray[np.bool_]
Shapes = NDArray[Any]

GRID = 1e-6
"""mm; the grid on which lines that meet are noded"""


class Tangle:
    """The edges of all chains that are tied up in knots.

    place  (e,)  where in Joined.edge each edge stands
    """

    def __init__(self, joined: Joined, knot: Index, ring: Flags) -> None:
        """knot (r,): the knot of each chain, -1: none; ring (r,): True where a chain closes, if
        only by its fill."""
        import shapely

        chain = joined.of_point
        there = (knot[chain] >= 0) & ((joined.edge >= 0) | ring[chain])
        self.place = np.flatnonzero(there)
        self.knot = knot[chain[self.place]]
        self.closed = ring[chain[self.place]]
        after = following(joined)
        self.start = joined.xy[joined.point[self.place]]
        self.end = joined.xy[joined.point[after[self.place]]]
        self.edges = shapely.linestrings(np.stack([self.start, self.end], axis=1))
        self._tree = shapely.STRtree(self.edges)

    def faces(self, tolerances: Tolerances) -> tuple[Shapes, Index, Flags]:
        """The faces of the knots: their outer rings as shapely Polygons, the knot of each, and
        True where an edge of a chain that does not close bounds it."""
        import shapely

        if not len(self.edges):
            return np.zeros(0, object), np.zeros(0, np.int64), np.zeros(0, bool)
        noded = shapely.union_all(self.edges, grid_size=self._grid())
        found = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
        shape = shapely.polygons(shapely.get_exterior_ring(found))
        xy, of = shapely.get_coordinates(shape, return_index=True)
        inner = of[1:] == of[:-1]
        place, _ = self._nearest(xy[:-1][inner], xy[1:][inner])
        of = of[1:][inner]
        first = np.searchsorted(of, np.arange(len(shape)))
        open_ = np.bincount(of, ~self.closed[place], len(shape)) > 0
        return shape, self.knot[place[first]], open_

    def _grid(self) -> float:
        """The grid, coarser where coordinates are so large that doubles no longer hold it."""
        return max(GRID, float(np.abs(self.start).max()) * 2.0**-44)

    def source(self, start: Points, end: Points) -> tuple[Index, Flags]:
        """Where in Joined.edge the edge stands that each noded edge is part of, and True where
        it is that edge from end to end."""
        if not len(start):
            return np.zeros(0, np.int64), np.zeros(0, bool)
        k, whole = self._nearest(start, end)
        return self.place[k], whole

    def _nearest(self, start: Points, end: Points) -> tuple[Index, Flags]:
        import shapely

        middle = shapely.points((start + end) / 2.0)
        (_, k) = self._tree.query_nearest(middle, all_matches=False)
        slack = 2.0 * self._grid()

        def same(a: Points, b: Points) -> Flags:
            return np.asarray((np.abs(a - b) <= slack).all(axis=1))

        ahead = same(start, self.start[k]) & same(end, self.end[k])
        back = same(start, self.end[k]) & same(end, self.start[k])
        return k, ahead | back
