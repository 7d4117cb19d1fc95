"""Scored and engraved strokes, and the narrowest places of engraved areas.

A stroke is as wide as it is painted. An engraved area is as thin as its thinnest web, measured
like those of cut parts: all engraved fills of the sheet together, since what touches is engraved
as one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.measure.model import Arrangement, Narrow, Spot, ThinStroke
from scantling.measure.pieces.winding import counts, rays
from scantling.measure.widths.telling import told
from scantling.measure.widths.thin import thin_of
from scantling.plan.model import ENGRAVE, OPERATIONS, SCORE, Lines, Tolerances
from scantling.read.drawing import Drawing

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scantling.arrays import Array, Flags


def thin_strokes(
    lines: Lines, drawing: Drawing, reach: float, tolerances: Tolerances
) -> tuple[ThinStroke, ...]:
    """Fact: scored and engraved strokes up to `reach` wide, and thin places of engraved areas,
    in drawing order."""
    found = [*_strokes(lines, reach), *_areas(lines, drawing, reach, tolerances)]
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
    lines: Lines, drawing: Drawing, reach: float, tolerances: Tolerances
) -> list[ThinStroke]:
    """One for each thin place of the engraved fills."""
    engraved = lines.filled & (lines.operation == OPERATIONS.index(ENGRAVE))
    engraved &= np.diff(lines.first) > 2
    if not engraved.any():
        return []
    start, end, edge, contour = _edges(lines, engraved)
    arrangement = _arranged(_covered(lines, drawing, start, end, contour))
    found = told(thin_of(arrangement, reach, tolerances))[0]
    return [_stroke(lines, place, start, end, edge, contour) for place in found]


def _edges(lines: Lines, which: Flags) -> tuple[Array, Array, NDArray[np.int64], NDArray[np.int64]]:
    """Start, end, first point and contour of the edges of some contours, each one closed."""
    size = np.diff(lines.first)
    following = np.arange(1, len(lines.xy) + 1)
    last = lines.first[1:][size > 0] - 1
    following[last] = lines.first[:-1][size > 0]
    contour = np.repeat(np.arange(len(size)), size)
    edge = np.flatnonzero(which[contour])
    start, end = lines.xy[edge], lines.xy[following[edge]]
    there = (start != end).any(axis=1)
    return start[there], end[there], edge[there], contour[edge[there]]


def _covered(
    lines: Lines, drawing: Drawing, start: Array, end: Array, contour: NDArray[np.int64]
) -> NDArray[Any]:
    """The polygons that fills cover, each shape by its own rule."""
    import shapely

    around = shapely.union_all(shapely.linestrings(np.stack((start, end), axis=1)))
    faces: NDArray[Any] = shapely.get_parts(shapely.polygonize(shapely.get_parts(around)))
    if len(faces) == 0:
        return faces
    inside = shapely.get_coordinates(shapely.point_on_surface(faces))
    shape = lines.shape[contour]
    odd = np.array([s.fill_rule == "evenodd" for s in drawing.shapes], bool)
    point, edge, sign = rays(inside, start, end)
    face, group, winding, number, _ = counts(point, shape[edge], sign, len(odd))
    covers = np.where(odd[group], number % 2 == 1, winding != 0)
    solid = np.zeros(len(faces), bool)
    solid[face[covers]] = True
    solids: NDArray[Any] = shapely.get_parts(shapely.union_all(faces[solid]))
    return solids


def _arranged(polygons: NDArray[Any]) -> Arrangement:
    """Polygons as an arrangement whose edges come from nowhere."""
    import shapely

    polygons = shapely.orient_polygons(polygons) if len(polygons) else polygons
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


def _stroke(
    lines: Lines,
    place: Narrow,
    start: Array,
    end: Array,
    edge: NDArray[np.int64],
    contour: NDArray[np.int64],
) -> ThinStroke:
    """A thin place, put down to the edge that it touches."""
    at = np.asarray(place.p.at)
    run = end - start
    share = ((at - start) * run).sum(axis=1) / (run * run).sum(axis=1)
    away = start + np.clip(share, 0.0, 1.0)[:, None] * run - at
    k = int((away * away).sum(axis=1).argmin())
    return ThinStroke(
        width=place.width,
        at=place.at,
        spot=Spot(place.p.at, int(contour[k]), int(lines.segment[edge[k]])),
        length=place.length,
        operation=ENGRAVE,
    )
