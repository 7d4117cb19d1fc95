"""Spacing: how near the parts of a sheet lie to each other."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from itertools import compress
from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.measure.model import Piece
from scantling.records import dataclass

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scantling.arrays import Array


@dataclass(frozen=True, slots=True)
class Near:
    """Two parts and the shortest way between them.

    distance   mm, as drawn
    way        (2, 2) from the one to the other
    """

    first: Piece
    second: Piece
    distance: float
    way: Array

    @property
    def middle(self) -> tuple[float, float]:
        """Halfway between the two."""
        (x, y), (u, v) = self.way.tolist()
        return ((x + u) / 2.0, (y + v) / 2.0)


@dataclass(frozen=True)
class Spacing:
    """The kept parts of a sheet, to be asked which of them are nearer than any distance."""

    parts: tuple[Piece, ...]

    @cached_property
    def _polygons(self) -> NDArray[Any]:
        import shapely

        polygons = np.array([part.polygon for part in self.parts], dtype=object)
        shapely.prepare(polygons)
        return polygons

    def nearer(self, than: float, apart: float = 0.0) -> tuple[Near, ...]:
        """The pairs of parts less than a distance apart, nearest first. Where a third part lies
        between two, these are not neighbours.

        apart   pairs that lie no further apart than this are left out: they touch, and the cut
                between them is one
        """
        if (than, apart) not in self._known:
            self._known[than, apart] = self._nearer(than, apart)
        return self._known[than, apart]

    @cached_property
    def _known(self) -> dict[tuple[float, float], tuple[Near, ...]]:
        """What has been asked before: stocks of one kerf ask for the same."""
        return {}

    def _nearer(self, than: float, apart: float) -> tuple[Near, ...]:
        import shapely

        if len(self.parts) < 2 or than <= apart:
            return ()
        polygons = self._polygons
        a, b = self._within(than)
        one, other = polygons[a], _near_to(polygons[b], polygons[a], than)
        distance = shapely.distance(one, other)
        keep = (distance > apart) & (distance < than)
        a, b, distance, one, other = (column[keep] for column in (a, b, distance, one, other))
        order = np.lexsort((np.maximum(a, b), np.minimum(a, b), np.round(distance, 6)))
        a, b, distance = a[order], b[order], distance[order]
        ways = shapely.get_coordinates(shapely.shortest_line(one[order], other[order]))
        ways = ways.reshape(-1, 2, 2)
        free = self._free(a, b, ways).tolist()
        return tuple(
            _pair(self.parts[i], self.parts[j], float(d), way)
            for i, j, d, way in compress(zip(a, b, distance, ways, strict=True), free)
        )

    def _free(self, a: NDArray[np.int64], b: NDArray[np.int64], ways: Array) -> NDArray[np.bool_]:
        """Whether no third part lies on the way from part a to part b."""
        import shapely

        inner = np.array([[INNER, 1.0 - INNER], [1.0 - INNER, INNER]]) @ ways
        way, part = shapely.STRtree(self._polygons).query(
            shapely.linestrings(inner), predicate="intersects"
        )
        free = np.ones(len(ways), bool)
        free[way[(part != a[way]) & (part != b[way])]] = False
        return free

    def _within(self, than: float) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Pairs of parts within a distance, each once, the one with fewer corners first. The
        other is prepared: it knows its edges by place."""
        import shapely

        low_x, low_y, high_x, high_y = shapely.bounds(self._polygons).T
        windows = shapely.box(low_x - than, low_y - than, high_x + than, high_y + than)
        a, b = shapely.STRtree(self._polygons).query(windows)
        corners = shapely.get_num_coordinates(self._polygons)
        once = (corners[a] < corners[b]) | ((corners[a] == corners[b]) & (a < b))
        a, b = a[once], b[once]
        near = shapely.dwithin(self._polygons[b], self._polygons[a], than)
        return a[near], b[near]


INNER = 0.95
"""The middle of a way, without a twentieth at either end: there it meets the two parts."""
MANY = 500
"""From so many corners on it is quicker to measure to the near end of a part alone."""


def _near_to(parts: NDArray[Any], those: NDArray[Any], than: float) -> NDArray[Any]:
    """Of large parts only what lies within a distance of the box around another."""
    import shapely

    near = parts.copy()
    large = np.flatnonzero(shapely.get_num_coordinates(parts) >= MANY)
    windows = shapely.bounds(those[large]) + np.array([-than, -than, than, than])
    # an overlay with each window would take fifteen times as long
    for k, window in zip(large.tolist(), windows.tolist(), strict=True):
        near[k] = shapely.clip_by_rect(parts[k], *window)
    return near


def _pair(one: Piece, other: Piece, distance: float, way: Array) -> Near:
    if one.number < other.number:
        return Near(one, other, distance, way)
    return Near(other, one, distance, way[::-1])


def spacing(pieces: Sequence[Piece]) -> Spacing:
    """Fact: the parts of the sheet by where they lie."""
    return Spacing(tuple(piece for piece in pieces if piece.kept))
