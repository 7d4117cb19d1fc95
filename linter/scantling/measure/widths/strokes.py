"""Scored and engraved strokes, and the narrowest places of engraved areas.

A stroke is as wide as it is painted, where it is thinnest: stretched shapes have strokes that are
wider one way than the other. An engraved area is as thin as its thinnest web, measured
like those of cut parts: all engraved fills of the sheet together, since what touches is engraved
as one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.groups import lasts, leads
from scantling.measure.model import Arrangement, Spot, ThinStroke
from scantling.measure.pieces.engraving import Engraving
from scantling.measure.segments import length
from scantling.measure.spots import nearest_spot
from scantling.measure.widths.telling import told
from scantling.measure.widths.thin import thin_of
from scantling.plan.model import ENGRAVE, OPERATIONS, SCORE, Lines, Tolerances
from scantling.read.drawing import Drawing, Shape

if TYPE_CHECKING:
    from scantling.arrays import Points, Shapes


def thin_strokes(
    lines: Lines,
    drawing: Drawing,
    engraving: Engraving,
    engraved: Shapes,
    reach: float,
    tolerances: Tolerances,
) -> tuple[ThinStroke, ...]:
    """Fact: scored and engraved strokes up to `reach` wide, and thin places of engraved areas,
    in drawing order."""
    found = [
        *_strokes(lines, drawing, reach),
        *_areas(lines, engraving, engraved, reach, tolerances),
    ]
    return tuple(sorted(found, key=lambda s: (s.spot.contour, s.spot.segment, s.width, s.at)))


def _strokes(lines: Lines, drawing: Drawing, reach: float) -> list[ThinStroke]:
    """One for each contour that is stroked."""
    made = lines.of(SCORE, ENGRAVE)
    stroked = made & ~lines.filled & (lines.width > 0.0)
    found = []
    for k in np.flatnonzero(stroked & (np.diff(lines.first) > 0)).tolist():
        first, stop = int(lines.first[k]), int(lines.first[k + 1])
        xy = lines.xy[first:stop]
        around = np.concatenate((xy, xy[:1])) if lines.closed[k] else xy
        width = float(lines.width[k]) * _share(drawing.shapes[int(lines.shape[k])], around)
        if width > reach:
            continue
        at = (float(xy[0, 0]), float(xy[0, 1]))
        found.append(
            ThinStroke(
                width=width,
                at=at,
                spot=Spot(at, k, int(lines.segment[first])),
                length=float(np.hypot(*np.diff(around, axis=0).T).sum()),
                operation=OPERATIONS[lines.operation[k]],
            )
        )
    return found


def _share(shape: Shape, around: Points) -> float:
    """How wide the stroke of a contour (n, 2) is where it is thinnest, as a share of its width at
    the mean scale of its shape's transform.

    Along a line of the page that is e long and was drawn u long, a transform of determinant D makes
    a stroke D u / e times as wide, and the mean scale makes it √D times as wide.
    """
    a, b, c, d = shape.matrix[:4]
    even = 1e-9 * (abs(a) + abs(b))
    if shape.non_scaling_stroke or (
        (abs(a - d) <= even and abs(b + c) <= even) or (abs(a + d) <= even and abs(b - c) <= even)
    ):
        return 1.0
    way = np.diff(around, axis=0)
    way = way[(way != 0.0).any(axis=1)]
    if not len(way):
        return 1.0
    drawn = np.column_stack([d * way[:, 0] - c * way[:, 1], a * way[:, 1] - b * way[:, 0]])
    return float((length(drawn) / length(way)).min() / abs(a * d - b * c) ** 0.5)


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
    last = lasts(ring)
    stay &= ~last
    size = np.bincount(ring[stay], minlength=len(rings))
    nowhere = np.full(int(size.sum()), -1, np.int64)
    return Arrangement(
        xy=xy[stay],
        first=np.concatenate(([0], np.cumsum(size))).astype(np.int64),
        face=of.astype(np.int64),
        outer=leads(of),
        contour=nowhere,
        segment=nowhere,
        edge=nowhere,
        noded=True,
    )
