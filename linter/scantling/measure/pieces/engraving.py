"""Engraved areas: what the fills cover that are to be engraved, each shape by its own rule.

Where shapes lie on each other the machine engraves both, whatever is seen on screen. A stroke is a
line that is followed, and no area here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.distinct import distinct
from scantling.measure.groups import onward
from scantling.measure.lines.close import Edges
from scantling.measure.model import Doubled
from scantling.measure.pieces.winding import counts, rays
from scantling.plan.model import ENGRAVE, Lines
from scantling.read.drawing import Drawing
from scantling.records import NamedTuple

if TYPE_CHECKING:
    from scantling.arrays import Flags, Index, Shapes


class Engraving(NamedTuple):
    """The faces of the arrangement of a sheet's engraved fills, f that at least one of them
    covers, and which cover each.

    face             (f,)  shapely Polygons
    number, contour  (k,)  index of a face, and a contour of a shape that covers it; ascending by
                     face, then in drawing order, each shape once
    edges            of all engraved fills, each contour closed
    """

    face: Shapes
    number: Index
    contour: Index
    edges: Edges


def engraving(lines: Lines, drawing: Drawing) -> Engraving:
    """Fact: what each engraved fill covers."""
    filled = lines.filled & lines.of(ENGRAVE)
    filled &= np.diff(lines.first) > 2
    edges = _edges(lines, filled)
    none = np.zeros(0, np.int64)
    if not len(edges.edge):
        return Engraving(np.zeros(0, object), none, none, edges)
    import shapely

    around = shapely.union_all(shapely.linestrings(np.stack((edges.start, edges.end), axis=1)))
    faces: Shapes = shapely.get_parts(shapely.polygonize(shapely.get_parts(around)))
    if not len(faces):
        return Engraving(faces, none, none, edges)
    inside = shapely.get_coordinates(shapely.point_on_surface(faces))
    shape = lines.shape[edges.contour]
    odd = np.array([s.fill_rule == "evenodd" for s in drawing.shapes], bool)
    point, edge, sign = rays(inside, edges.start, edges.end)
    face, group, winding, crossed, _ = counts(point, shape[edge], sign, len(odd))
    covers = np.where(odd[group], crossed % 2 == 1, winding != 0)
    # a shape has one fill: its contours on this sheet are all engraved
    contour = np.zeros(len(odd), np.int64)
    contour[shape[::-1]] = edges.contour[::-1]
    solid, number = np.unique(face[covers], return_inverse=True)
    return Engraving(faces[solid], number, contour[group[covers]], edges)


def engraved(engraving: Engraving) -> Shapes:
    """Fact: the engraved areas as polygons that are apart: what touches is engraved as one."""
    if not len(engraving.face):
        return engraving.face
    import shapely

    areas: Shapes = shapely.get_parts(shapely.union_all(engraving.face))
    return areas


def doubled(lines: Lines, engraving: Engraving) -> tuple[Doubled, ...]:
    """Fact: the areas that several engraved shapes cover, each as far as it hangs together, in
    reading order."""
    times = np.bincount(engraving.number, minlength=len(engraving.face))
    several = np.flatnonzero(times > 1)
    if not len(several):
        return ()
    import shapely

    faces = engraving.face[several]
    areas = shapely.get_parts(shapely.union_all(faces))
    area_of = np.full(len(times), -1)
    inner, area = shapely.STRtree(shapely.point_on_surface(faces)).query(areas, "intersects")[::-1]
    area_of[several[inner]] = area
    size = shapely.area(areas)
    left, top, _, _ = shapely.bounds(areas).T
    found = []
    for k in np.lexsort((left, top)).tolist():
        mine = np.flatnonzero(area_of[engraving.number] == k)
        if len(mine):
            contours = distinct(engraving.contour[mine])
            most = int(times[engraving.number[mine]].max())
            found.append(Doubled(areas[k], float(size[k]), most, tuple(contours.tolist())))
    return tuple(found)


def _edges(lines: Lines, which: Flags) -> Edges:
    """The edges of some contours, each one closed; those of no length are left out."""
    contour = np.repeat(np.arange(len(lines.closed)), np.diff(lines.first))
    edge = np.flatnonzero(which[contour])
    start, end = lines.xy[edge], lines.xy[onward(lines.first)[edge]]
    there = (start != end).any(axis=1)
    return Edges(start[there], end[there], edge[there], contour[edge[there]])
