"""Cut lines that meet each other, noded into faces.

Where a line runs on an earlier one, it is left out, and its loose ends are led to the line
beneath; so no slivers come of doubled lines. Faces too thin to hold a disc of the coincidence
tolerance, as between lines that touch, are given to the neighbour with the longest common side.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.distinct import distinct
from scantling.measure.groups import connected, leads
from scantling.measure.lines.close import Edges
from scantling.measure.lines.joins import Joined
from scantling.measure.lines.overlaps import Ruler, Runs
from scantling.measure.pairs import in_tight_boxes
from scantling.measure.segments import distance_to, foot, length
from scantling.records import NamedTuple

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scantling.arrays import Flags, Index, Points, Shapes


GRID = 2.0**-20
"""mm, about a nanometre; the grid on which lines that meet are noded. A power of two, because
coordinates of drawings are often short fractions of twos: on a decimal grid they would lie right
between two places, and an end that was reckoned in two ways could go to either"""


class Threads(NamedTuple):
    """Straight bits of the lines that are tied up in knots.

    start, end (e, 2)
    place      (e,)  where in Joined.edge the edge stands that it is a bit of
    whole      (e,)  True where it is all of that edge
    """

    start: Points
    end: Points
    place: Index
    whole: Flags

    def and_(self, more: Threads) -> Threads:
        return Threads(
            np.concatenate([self.start, more.start]),
            np.concatenate([self.end, more.end]),
            np.concatenate([self.place, more.place]),
            np.concatenate([self.whole, more.whole]),
        )

    def only(self, which: Flags) -> Threads:
        return Threads(self.start[which], self.end[which], self.place[which], self.whole[which])


class Tangle:
    """All chains that are tied up in knots, ready to be noded."""

    def __init__(
        self, edges: Edges, joined: Joined, runs: Runs, knot: Index, thinnest: float
    ) -> None:
        """knot (r,): the knot of each chain, -1: none. `thinnest`: the coincidence tolerance."""
        chain = joined.of_point
        ring = joined.ring[chain]
        place = np.flatnonzero((knot[chain] >= 0) & ((joined.edge >= 0) | ring))
        at = joined.xy[joined.point]
        threads = Threads(at[place], at[joined.after[place]], place, np.ones(len(place), bool))
        if len(runs.contour) and len(place):
            threads = _single(threads, edges, joined, runs, thinnest)
        self.threads = threads
        self.knot = knot[chain[threads.place]]
        self.closed = ring[threads.place]
        self.thinnest = thinnest
        # Coarser where coordinates are so large that doubles no longer hold the grid.
        farthest = float(np.abs(threads.start).max(initial=0.0))
        self.grid = max(GRID, 2.0 ** (np.ceil(np.log2(max(farthest, 1.0))) - 44.0))

    def faces(self) -> tuple[Shapes, Index, Flags]:
        """The faces of the knots: their outer rings as shapely Polygons, the knot of each, and
        True where a line that does not close bounds it."""
        import shapely

        if not len(self.threads.place):
            return np.zeros(0, object), np.zeros(0, np.int64), np.zeros(0, bool)
        noded = shapely.union_all(self._paths(), grid_size=self.grid)
        found = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
        shape = _without_slivers(shapely.polygons(shapely.get_exterior_ring(found)), self.thinnest)
        xy, of = shapely.get_coordinates(shape, return_index=True)
        inner = of[1:] == of[:-1]
        k, _ = self._nearest(xy[:-1][inner], xy[1:][inner])
        of = of[1:][inner]
        first = np.searchsorted(of, np.arange(len(shape)))
        open_ = np.bincount(of, ~self.closed[k], len(shape)) > 0
        return shape, self.knot[k[first]], open_

    def source(self, start: Points, end: Points) -> tuple[Index, Flags]:
        """Where in Joined.edge the edge stands that each noded edge is part of, and True where
        it is that edge from end to end."""
        if not len(start):
            return np.zeros(0, np.int64), np.zeros(0, bool)
        k, whole = self._nearest(start, end)
        return self.threads.place[k], whole & self.threads.whole[k]

    def _paths(self) -> Shapes:
        """The threads as paths: those that follow one another make one."""
        import shapely

        start, end = self.threads.start, self.threads.end
        fresh = np.append(True, (start[1:] != end[:-1]).any(axis=1))
        path = np.cumsum(fresh) - 1
        last = np.flatnonzero(np.append(fresh[1:], True))
        points = np.insert(start, last + 1, end[last], axis=0)
        of = np.insert(path, last + 1, path[last])
        return np.asarray(shapely.linestrings(points, indices=of))

    def _nearest(self, start: Points, end: Points) -> tuple[Index, Flags]:
        """The thread that each noded edge lies on, and True where it is all of it."""
        k = self._same(start, end)
        whole = k >= 0
        rest = np.flatnonzero(~whole)
        if len(rest):
            k[rest] = self._around((start[rest] + end[rest]) / 2.0)
        return k, whole

    def _around(self, point: Points) -> Index:
        """The nearest thread to each point; nearly all lie on one, but for the grid."""
        import shapely

        whose, one, two = in_tight_boxes(self.threads.start, self.threads.end, self.thinnest)
        tree = shapely.STRtree(shapely.linestrings(np.stack([one, two], axis=1)))
        sought = shapely.points(point)
        p, bit = tree.query(sought, predicate="dwithin", distance=4.0 * self.grid)
        order = np.lexsort((bit, distance_to(point[p], one[bit], two[bit]), p))
        p, bit = p[order], bit[order]
        first = leads(p)
        nearest = np.full(len(point), -1)
        nearest[p[first]] = bit[first]
        lost = np.flatnonzero(nearest < 0)
        if len(lost):
            nearest[lost] = tree.query_nearest(sought[lost], all_matches=False)[1]
        return nearest if whose is None else whose[nearest]

    def _same(self, start: Points, end: Points) -> Index:
        """The thread that each noded edge is, from end to end, or -1."""
        mine = _hashed(self.threads.start, self.threads.end, self.grid)
        order = np.argsort(mine, kind="stable")
        sought = _hashed(start, end, self.grid)
        at = np.minimum(np.searchsorted(mine[order], sought), len(order) - 1)
        k = order[at]
        slack = 2.0 * self.grid

        def close(a: Points, b: Points) -> Flags:
            return np.asarray((np.abs(a - b) <= slack).all(axis=1))

        ahead = close(start, self.threads.start[k]) & close(end, self.threads.end[k])
        back = close(start, self.threads.end[k]) & close(end, self.threads.start[k])
        return np.where(ahead | back, k, -1)


def _hashed(start: Points, end: Points, grid: float) -> NDArray[np.uint64]:
    """A number for each edge, the same for both directions and for ends rounded to the grid."""
    mix = np.array([0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F], np.uint64)
    ends = [
        (np.round(point / grid).astype(np.int64).view(np.uint64) * mix).sum(axis=1, dtype=np.uint64)
        for point in (start, end)
    ]
    return np.asarray(ends[0] * ends[0] + ends[1] * ends[1] + ends[0] * ends[1])


def _single(threads: Threads, edges: Edges, joined: Joined, runs: Runs, near: float) -> Threads:
    """The threads without what runs on earlier lines."""
    ruler = runs.ruler
    low, high = runs.laid()

    number = np.full(len(joined.xy), -1)
    number[edges.edge] = np.arange(len(edges.edge))
    edge = np.where(joined.edge[threads.place] >= 0, number[joined.edge[threads.place]], -1)
    begin = ruler.start[edge]
    finish = begin + ruler.size[edge]
    # Which runs reach into each edge: those that end after its start and start before its end.
    first = np.searchsorted(high, begin + 1e-9, side="right")
    last = np.searchsorted(low, finish - 1e-9, side="left")
    touched = (edge >= 0) & (first < last)
    free = threads.only(~touched)
    cut = threads.only(touched)
    begin, finish, edge = begin[touched], finish[touched], edge[touched]
    kept = free.and_(_bits(cut, edges, joined, begin, finish, low, high, edge))
    return kept.and_(_bridges(kept, edges, joined, runs, near))


def _bits(
    cut: Threads,
    edges: Edges,
    joined: Joined,
    begin: Points,
    finish: Points,
    low: Points,
    high: Points,
    edge: Index,
) -> Threads:
    """What is left of edges between the runs, each given from `begin` to `finish`."""
    marks = distinct(np.concatenate([begin, finish, low, high]))
    a = np.searchsorted(marks, begin)
    b = np.searchsorted(marks, finish)
    of = np.repeat(np.arange(len(begin)), b - a)
    k = a[of] + np.arange(len(of)) - (np.cumsum(b - a) - (b - a))[of]
    one, two = marks[k], marks[k + 1]
    middle = (one + two) / 2.0
    inside = np.searchsorted(low, middle, "right") > np.searchsorted(high, middle, "left")
    left = ~inside & (two - one > 1e-9)
    of, one, two = of[left], one[left], two[left]
    size = (finish - begin)[of]
    t, u = (one - begin[of]) / size, (two - begin[of]) / size
    ahead = (joined.xy[edges.edge[edge]] == cut.start).all(axis=1)[of]
    start = np.where(ahead[:, None], cut.start[of], cut.end[of])
    along = np.where(ahead[:, None], cut.end[of], cut.start[of]) - start
    return Threads(
        start + t[:, None] * along,
        start + u[:, None] * along,
        cut.place[of],
        (t <= 1e-9) & (u >= 1.0 - 1e-9),
    )


def _bridges(kept: Threads, edges: Edges, joined: Joined, runs: Runs, near: float) -> Threads:
    """Bits that lead the ends where a line was cut off to the nearest line beneath."""
    import shapely

    ruler = runs.ruler
    round_ = runs.high - runs.low >= ruler.total[runs.contour] - near
    there = np.flatnonzero(~round_ & (joined.chain[runs.contour] >= 0))
    contour = np.tile(runs.contour[there], 2)
    total = ruler.total[contour]
    along = np.concatenate([runs.low[there], runs.high[there]])
    along = np.where(along > total + 1e-9, along - total, along)
    edge = ruler.edge_at(contour, along)
    t = np.clip((along - ruler.position[edge]) / ruler.size[edge], 0.0, 1.0)[:, None]
    # The edge as it is after joining, in the direction in which it was drawn.
    place = joined.place[edges.edge[edge]]
    one = joined.xy[joined.point[place]]
    two = joined.xy[joined.point[joined.after[place]]]
    ahead = (joined.xy[edges.edge[edge]] == one).all(axis=1)[:, None]
    start, end = np.where(ahead, one, two), np.where(ahead, two, one)
    at = start + t * (end - start)

    lines = shapely.linestrings(np.stack([kept.start, kept.end], axis=1))
    points = shapely.points(at)
    p, k = shapely.STRtree(lines).query(points, predicate="dwithin", distance=2.0 * near)
    far = _elsewhere(kept.place[k], contour[p], along[p], edges, joined, ruler, 4.0 * near)
    p, k = p[far], k[far]
    apart = shapely.distance(points[p], lines[k])
    order = np.lexsort((k, apart, p))
    p, k, apart = p[order], k[order], apart[order]
    best = leads(p) & (apart > 0.0)
    p, k = p[best], k[best]
    foot_at = foot(at[p], kept.start[k], kept.end[k])[:, None]
    to = kept.start[k] + foot_at * (kept.end[k] - kept.start[k])
    return Threads(at[p], to, place[p], np.zeros(len(p), bool))


def _elsewhere(
    place: Index,
    contour: Index,
    along: Points,
    edges: Edges,
    joined: Joined,
    ruler: Ruler,
    apart: float,
) -> Flags:
    """True where an edge of a chain is not of the contour, or further along it than `apart` from
    the place `along` it, on both ways round."""
    number = np.full(len(joined.xy) + 1, -1)
    number[edges.edge] = np.arange(len(edges.edge))
    edge = number[joined.edge[place]]
    begin = ruler.position[edge] - along
    behind, ahead = -(begin + ruler.size[edge]), begin
    total = ruler.total[contour]
    gap = np.maximum(np.maximum(behind, ahead), 0.0)
    other_way = np.maximum(total - np.maximum(np.abs(begin), np.abs(behind)), 0.0)
    far = np.minimum(gap, other_way) > apart
    return np.asarray((edge < 0) | (edges.contour[edge] != contour) | far)


def _without_slivers(shape: Shapes, thinnest: float) -> Shapes:
    """Faces with those that hold no disc of a diameter given to a neighbour."""
    import shapely

    many = len(shape)
    area, around = shapely.area(shape), shapely.length(shape)
    thin = np.zeros(many + 1, bool)
    maybe = np.flatnonzero(2.0 * area < thinnest * around)
    thin[maybe] = shapely.is_empty(shapely.buffer(shape[maybe], -thinnest / 2.0))
    slivers = np.flatnonzero(thin)
    if not len(slivers):
        return shape
    heir = _heirs(shape, thin)
    group = connected(many + 1, slivers, heir)
    # What falls to the outside is gone, and so are slivers that only have each other.
    real = np.zeros(many + 1, bool)
    real[group[~thin]] = True
    real[group[many]] = False
    alone = np.bincount(group, minlength=many + 1)[group] == 1
    left = [shape[np.flatnonzero((~thin & alone)[:many])]]
    for k in distinct(group[:many][real[group[:many]] & ~alone[:many]]):
        left.append(_outer_ring(shape[group[:many] == k]))
    fallen = np.flatnonzero((group == group[many])[:many] & ~thin[:many])
    return np.concatenate([*left, shape[fallen]])


def _outer_ring(shape: Shapes) -> Shapes:
    """The Polygon, without holes, that faces make up together."""
    import shapely

    parts = shapely.get_parts(shapely.coverage_union_all(shape))
    largest = parts[np.argmax(shapely.area(parts))]
    return np.asarray(shapely.polygons(shapely.get_exterior_ring([largest])), object)


def _heirs(shape: Shapes, thin: Flags) -> Index:
    """For each thin face that which it is given to; the number of faces stands for the outside.

    thin (k+1,): the last for the outside, False.
    """
    import shapely

    many = len(shape)
    xy, of = shapely.get_coordinates(shape, return_index=True)
    _, corner = np.unique((xy + 0.0).view("V16").ravel(), return_inverse=True)
    inner = np.flatnonzero(of[1:] == of[:-1])
    a, b, face = corner[inner], corner[inner + 1], of[inner]
    size = length(xy[inner + 1] - xy[inner])
    order = np.lexsort((face, np.maximum(a, b), np.minimum(a, b)))
    a, b, face, size = np.minimum(a, b)[order], np.maximum(a, b)[order], face[order], size[order]
    twin = np.flatnonzero((a[1:] == a[:-1]) & (b[1:] == b[:-1]))
    beyond = np.full(len(face), many)
    beyond[twin], beyond[twin + 1] = face[twin + 1], face[twin]
    mine = thin[face]
    pair, where = np.unique(face[mine] * (many + 1) + beyond[mine], return_inverse=True)
    shared = np.bincount(where, size[mine], len(pair))
    face, beyond = pair // (many + 1), pair % (many + 1)
    order = np.lexsort((beyond, -shared, thin[beyond], face))
    face, beyond = face[order], beyond[order]
    return np.asarray(beyond[leads(face)])
