"""The faces of the arrangement of a sheet's cut lines, and which of them are solid.

Rings that meet no other line bound one face each: they are nested by containment, and nothing
is noded. Only lines that do meet are noded (by GEOS, on a grid of about a nanometre) and
polygonised; every face found so is nested among the rings in the same way.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.measure.distinct import distinct
from scantling.measure.groups import connected, lasts, leads, onward, stretches
from scantling.measure.lines.close import Edges
from scantling.measure.lines.crossings import Meetings
from scantling.measure.lines.joins import Joined
from scantling.measure.lines.overlaps import Runs
from scantling.measure.pieces.solidity import material
from scantling.measure.pieces.tangle import Tangle
from scantling.measure.segments import cross
from scantling.plan.model import Lines, Tolerances
from scantling.read.drawing import Drawing
from scantling.records import NamedTuple, dataclass

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scantling.arrays import Flags, Index, Points, Shapes


@dataclass(frozen=True, slots=True)
class Faces:
    """f faces, the solid ones first, each in reading order; r rings, n points.

    polygon  (f,)    shapely Polygons with their holes
    solid    (f,)
    centre   (f, 2)  a point inside each
    xy, first, face, outer, contour, segment, edge, noded  as in `model.Arrangement`, but of all
                     faces, not of the solid ones alone
    """

    polygon: Shapes
    solid: Flags
    centre: Points
    xy: Points
    first: Index
    face: Index
    outer: Flags
    contour: Index
    segment: Index
    edge: Index
    noded: bool


class Regions(NamedTuple):
    """Areas within one ring each, of which any two are apart or nested: k of them.

    shape  (k,)  shapely Polygons without holes
    chain  (k,)  the chain whose ring it is, -1 where it is a face of a knot
    knot   (k,)  the knot that it is a face of, -1 for rings
    open_  (k,)  True for faces of a knot that lines without rings help to bound
    """

    shape: Shapes
    chain: Index
    knot: Index
    open_: Flags

    def and_(self, shape: Shapes, knot: Index, open_: Flags) -> Regions:
        """With faces of knots as well."""
        return Regions(
            np.concatenate([self.shape, shape]),
            np.concatenate([self.chain, np.full(len(shape), -1)]),
            np.concatenate([self.knot, knot]),
            np.concatenate([self.open_, open_]),
        )


class Pool(NamedTuple):
    """Points of rings to draw from, with what the edge from each to the next comes from."""

    xy: Points
    contour: Index
    segment: Index
    edge: Index

    def and_(self, *more: NDArray[Any]) -> Pool:
        """With other points at its end."""
        return Pool(*(np.concatenate(pair) for pair in zip(self, more, strict=True)))


class Rings(NamedTuple):
    """Rings as stretches of a pool, each of one face."""

    begin: Index
    size: Index
    face: Index
    outer: Flags


def faces(
    lines: Lines,
    drawing: Drawing,
    edges: Edges,
    joined: Joined,
    meetings: Meetings,
    runs: Runs,
    tolerances: Tolerances,
) -> Faces:
    """Fact: the faces of the sheet's cut lines, solid and void."""
    import shapely

    what = material(lines, drawing, joined, runs)
    knot = _tied(joined, meetings, runs)
    simple = np.flatnonzero(joined.ring & (knot < 0))
    shape = _polygons(joined, simple)
    sound = shapely.is_valid(shape)
    knot[simple[~sound]] = simple[~sound]
    simple, shape = simple[sound], shape[sound]
    none = np.full(len(simple), -1)
    regions = Regions(shape, simple, none, none >= 0)
    pool = _pool(lines, joined)
    noded = False
    if (knot >= 0).any():
        tangle = Tangle(edges, joined, runs, knot, tolerances.coincidence)
        regions = regions.and_(*tangle.faces())
        parent = _nested(regions.shape)
        pool, rings = _ringed(pool, joined, regions, parent, tangle)
        noded = len(regions.chain) > len(simple)
    else:
        parent = _nested(regions.shape)
        rings = _simple_rings(joined, regions, parent)

    def solid(centre: Points) -> Flags:
        return what.solid(centre, regions.knot, regions.open_, parent, knot)

    return _finished(pool, rings, solid, noded)


def _tied(joined: Joined, meetings: Meetings, runs: Runs) -> Index:
    """(r,) number of the knot that each chain is tied up in by crossing, touching or running
    along lines, itself included; -1: none."""
    chain = joined.of_point
    later, earlier = joined.chain[runs.later], joined.chain[runs.earlier]
    both = (later >= 0) & (earlier >= 0)
    a = np.concatenate([chain[meetings.a], later[both]])
    b = np.concatenate([chain[meetings.b], earlier[both]])
    knot = connected(len(joined.closed), a, b)
    tied = np.zeros(len(knot), bool)
    tied[a] = tied[b] = True
    return np.where(tied, knot, -1)


def _polygons(joined: Joined, chains: Index) -> Shapes:
    """Each chain's ring as a shapely Polygon."""
    import shapely

    pick, of = stretches(joined.start[chains], np.diff(joined.start)[chains])
    rings = shapely.linearrings(joined.xy[joined.point[pick]], indices=of)
    return np.asarray(shapely.polygons(rings))


def _nested(shape: Shapes) -> Index:
    """(k,) the smallest region around each region, -1 where there is none."""
    import shapely

    parent = np.full(len(shape), -1)
    if len(shape) < 2:
        return parent
    area = shapely.area(shape)
    inside, around = _within(shape)
    larger = area[around] > area[inside]
    inside, around = inside[larger], around[larger]
    order = np.lexsort((around, area[around], inside))
    inside, around = inside[order], around[order]
    least = leads(inside)
    parent[inside[least]] = around[least]
    return parent


def _within(shape: Shapes) -> tuple[Index, Index]:
    """Pairs (a, b) where an inner point of region a is in region b."""
    import shapely

    points = shapely.point_on_surface(shape)
    around, inside = shapely.STRtree(points).query(shape, predicate="contains")
    return inside, around


def _simple_rings(joined: Joined, regions: Regions, parent: Index) -> Rings:
    """The rings of the faces of chains' rings: each one's own, and those just within it."""
    free = np.flatnonzero(regions.chain >= 0)
    within = free[parent[free] >= 0]
    chain = np.concatenate([regions.chain[free], regions.chain[within]])
    return Rings(
        joined.start[:-1][chain],
        np.diff(joined.start)[chain],
        np.concatenate([free, parent[within]]),
        np.arange(len(chain)) < len(free),
    )


def _ringed(
    pool: Pool, joined: Joined, regions: Regions, parent: Index, tangle: Tangle
) -> tuple[Pool, Rings]:
    """The rings of every region's face: its own, and the outsides of those just within."""
    import shapely

    tied = np.flatnonzero(regions.chain < 0)
    held = tied[parent[tied] >= 0]
    holes, held_by = _outsides(regions.shape[held], parent[held])
    drawn = np.concatenate([shapely.get_exterior_ring(regions.shape[tied]), holes])
    xy, of = shapely.get_coordinates(drawn, return_index=True)
    closes = lasts(of)
    xy, of = xy[~closes], of[~closes]
    simple = _simple_rings(joined, regions, parent)
    return pool.and_(*_noded(pool, tangle, xy, of)), Rings(
        np.concatenate([simple.begin, np.searchsorted(of, np.arange(len(drawn))) + len(pool.xy)]),
        np.concatenate([simple.size, np.bincount(of, minlength=len(drawn))]),
        np.concatenate([simple.face, tied, held_by]),
        np.concatenate([simple.outer, np.arange(len(drawn)) < len(tied)]),
    )


def _outsides(shape: Shapes, parent: Index) -> tuple[Shapes, Index]:
    """The outer rings of what the faces of knots within one region make up together."""
    import shapely

    rings, of = [np.zeros(0, object)], [np.zeros(0, np.int64)]
    for around in distinct(parent):
        together = shapely.coverage_union_all(shape[parent == around])
        outer = shapely.get_exterior_ring(shapely.get_parts(together))
        rings.append(outer)
        of.append(np.full(len(outer), around))
    return np.concatenate(rings), np.concatenate(of)


def _pool(lines: Lines, joined: Joined) -> Pool:
    """The points of all chains."""
    contour_of = np.repeat(np.arange(len(lines.closed)), np.diff(lines.first))
    # The line that closes an open fill is said to come from the edge before it.
    source = np.where(joined.edge >= 0, joined.edge, np.roll(joined.edge, 1))
    return Pool(joined.xy[joined.point], contour_of[source], lines.segment[source], joined.edge)


def _noded(pool: Pool, tangle: Tangle, xy: Points, of: Index) -> Pool:
    """The given points of noded rings, those of each ring `of` a number in a row."""
    after = onward(np.append(np.flatnonzero(leads(of)), len(of)))
    place, whole = tangle.source(xy, xy[after])
    return Pool(xy, pool.contour[place], pool.segment[place], np.where(whole, pool.edge[place], -1))


def _finished(pool: Pool, rings: Rings, is_solid: Callable[[Points], Flags], noded: bool) -> Faces:
    """The faces with their rings, turned the right way and put in order."""
    import shapely

    order = np.lexsort((np.arange(len(rings.face)), ~rings.outer, rings.face))
    begin, size = rings.begin[order], rings.size[order]
    face, outer = rings.face[order], rings.outer[order]
    xy, contour, segment, edge = _gathered(pool, begin, size, outer)
    first = np.concatenate([[0], np.cumsum(size)])
    shells = shapely.linearrings(xy, indices=np.repeat(np.arange(len(size)), size))
    polygon = np.asarray(shapely.polygons(shells, indices=face), object)
    inside = shapely.point_on_surface(polygon)
    centre = np.column_stack([shapely.get_x(inside), shapely.get_y(inside)])
    solid = is_solid(centre)

    rank = _reading_order(shapely.bounds(polygon), solid)
    place = np.argsort(rank)
    by_face = np.lexsort((np.arange(len(face)), ~outer, place[face]))
    pick, _ = stretches(first[by_face], size[by_face])
    return Faces(
        polygon=polygon[rank],
        solid=solid[rank],
        centre=centre[rank],
        xy=xy[pick],
        first=np.concatenate([[0], np.cumsum(size[by_face])]),
        face=place[face][by_face],
        outer=outer[by_face],
        contour=contour[pick],
        segment=segment[pick],
        edge=edge[pick],
        noded=noded,
    )


def _gathered(
    pool: Pool, begin: Index, size: Index, outer: Flags
) -> tuple[Points, Index, Index, Index]:
    """Rings from the pool, outer ones with a positive signed area, inner ones a negative."""
    pick, of = stretches(begin, size)
    first = np.concatenate([[0], np.cumsum(size)])
    xy = pool.xy[pick]
    # Areas are summed from each ring's first point, where the numbers are small.
    local = xy - xy[first[of]]
    twice = np.bincount(of, cross(local, local[onward(first)]), len(size))
    turn = ((twice > 0.0) != outer)[of]
    step = np.arange(len(of)) - first[of]
    back = size[of] - 1 - step
    at = np.where(turn, begin[of] + back, pick)
    leaving = np.where(turn, begin[of] + (back - 1) % np.maximum(size[of], 1), pick)
    return pool.xy[at], pool.contour[leaving], pool.segment[leaving], pool.edge[leaving]


def _reading_order(bounds: Points, solid: Flags) -> Index:
    """Faces in the order of numbering: solid before void; row by row from the top, each from
    the left. A row ends where a face's middle lies below the highest bottom of the row."""
    x, top, bottom = bounds[:, 0], bounds[:, 1], bounds[:, 3]
    by_top = np.lexsort((np.arange(len(x)), x, top, ~solid))
    row, lowest, was = -1, -np.inf, None
    rows = np.zeros(len(x), np.int64)
    middles, bottoms, kinds = ((top + bottom) / 2.0).tolist(), bottom.tolist(), solid.tolist()
    for k in by_top.tolist():
        if kinds[k] != was or middles[k] > lowest:
            row, lowest, was = row + 1, bottoms[k], kinds[k]
        rows[k] = row
        lowest = min(lowest, bottoms[k])
    return np.lexsort((np.arange(len(x)), top, x, rows))
