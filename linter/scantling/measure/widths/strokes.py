"""Scored and engraved strokes, and the narrowest places of engraved areas.

A stroke is as wide as it is painted. An engraved area is as thin as its thinnest web, measured
like those of cut parts: all engraved fills of the sheet together, since what touches is engraved
as one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.model import Arrangement, Spot, ThinStroke
from scantling.measure.pieces.engraving import Engraving
from scantling.measure.spots import nearest_spot
from scantling.measure.widths.telling import told
from scantling.measure.widths.thin import thin_of
from scantling.plan.model import ENGRAVE, OPERATIONS, SCORE, Lines, Tolerances

if TYPE_CHECKING:
    from scantling.arrays import Shapes


def thin_strokes(
    lines: Lines, engraving: Engraving, engraved: Shapes, reach: float, tolerances: Tolerances
) -> tuple[ThinStroke, ...]:
    """Fact: scored and engraved strokes up to `reach` wide, and thin places of engraved areas,
    in drawing order."""
    found = [*_strokes(lines, reach), *_areas(lines, engraving, engraved, reach, tolerances)]
    return tuple(sorted(found, key=lambda s: (s.spot.contour, s.spot.segment, s.width, s.at)))


def _strokes(lines: Lines, reach: float) -> list[ThinStroke]:
    """One for each contour that is stroked."""
    made = np.isin(lines.operation, [OPERATIONS.index(SCORE), OPERATIONS.index(ENGRAVE)])
    stroked = made & ~lines.filled & (lines.width > 0.0) & (lines.width <= reach)
    found = []
    for k in np.flatnonzero(stroked & (np.diff(lines.first) > 0)).tolist():
        first, stop = int(lines.first[k]), int(lines.first[k + 1])
        xy = lines.xy[first:stop]
        around = np.concatenate((xy, xy[:1])) if lines.closed[k] else xy
        at = (float(xy[0, 0]), float(xy[0, 1]))
        found.append(
            ThinStroke(
                width=float(lines.width[k]),
                at=at,
                spot=Spot(at, k, int(lines.segment[first])),
                length=float(np.hypot(*np.diff(around, axis=0).T).sum()),
                operation=OPERATIONS[lines.operation[k]],
            )
        )
    return found


def _areas(
    lines: Lines, engraving: Engraving, engraved: Shapes, reach: float, tolerances: Tolerances
) -> list[ThinStroke]:
    """One for each thin place of the engraved fills, put down to the edge that it touches."""
    if not len(engraved):
        return []
    found = told(thin_of(_arranged(engraved), reach, tolerances))[0]
    return [
        ThinStroke(
            width=place.width,
            at=place.at,
            spot=nearest_spot(np.asarray(place.p.at), engraving.edges, lines),
            length=place.length,
            operation=ENGRAVE,
        )
        for place in found
    ]


def _arranged(polygons: Shapes) -> Arrangement:
    """Polygons as an arrangement whose edges come from nowhere."""
    import shapely

    polygons = shapely.orient_polygons(polygons)
    rings, of = shapely.get_rings(polygons, return_index=True)
    xy, ring = shapely.get_coordinates(rings, return_index=True)
    # shapely closes a ring by repeating its first point
    stay = np.ones(len(xy), bool)
    stay[1:] = ((xy[1:] != xy[:-1]).any(axis=1)) | (ring[1:] != ring[:-1])
    last = np.append(ring[1:] != ring[:-1], True)[: len(xy)]
    stay &= ~last
    size = np.bincount(ring[stay], minlength=len(rings))
    nowhere = np.full(int(size.sum()), -1, np.int64)
    return Arrangement(
        xy=xy[stay],
        first=np.concatenate(([0], np.cumsum(size))).astype(np.int64),
        face=of.astype(np.int64),
        outer=np.append(True, of[1:] != of[:-1])[: len(of)],
        contour=nowhere,
        segment=nowhere,
        edge=nowhere,
        noded=True,
    )
