"""Spacing: how near the parts of a sheet lie to each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scantling.measure.model import Array, Piece


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
        """The pairs of parts less than a distance apart, nearest first.

        apart   pairs that lie no further apart than this are left out: they touch, and the cut
                between them is one
        """
        import shapely

        if len(self.parts) < 2 or than <= apart:
            return ()
        polygons = self._polygons
        a, b = shapely.STRtree(polygons).query(polygons, "dwithin", distance=than)
        a, b = a[a < b], b[a < b]
        distance = shapely.distance(polygons[a], polygons[b])
        keep = (distance > apart) & (distance < than)
        a, b, distance = a[keep], b[keep], distance[keep]
        order = np.lexsort((b, a, np.round(distance, 6)))
        a, b, distance = a[order], b[order], distance[order]
        ways = shapely.get_coordinates(shapely.shortest_line(polygons[a], polygons[b]))
        return tuple(
            Near(self.parts[i], self.parts[j], float(d), way)
            for i, j, d, way in zip(a, b, distance, ways.reshape(-1, 2, 2), strict=True)
        )


def spacing(pieces: Sequence[Piece]) -> Spacing:
    """Fact: the parts of the sheet by where they lie."""
    return Spacing(tuple(piece for piece in pieces if piece.kept))
