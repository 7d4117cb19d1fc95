"""Holes: the void inside each inner outline, and the largest disc that it holds.

Only holes that may be small are measured. A ring of area A and length P holds a disc of radius
A / P at least (Bonnesen's inequality, A <= P r - pi r²), which passes most holes at no cost; the
rest lose what a disc of the reach cannot enter, in bulk, and what has anything left is passed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.measure.distinct import distinct
from scantling.measure.groups import onward
from scantling.measure.model import Arrangement, Hole, Spot
from scantling.measure.pairs import boxes_that_meet
from scantling.measure.segments import foot as foot_of
from scantling.plan.model import Tolerances

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scantling.arrays import Array, Index


def holes(arrangement: Arrangement, reach: float, tolerances: Tolerances) -> tuple[Hole, ...]:
    """Fact: every hole whose largest disc is up to `reach` across, smallest first.

    A hole is the void inside an inner outline without the parts that lie in it: between a hole
    and a part in it the largest disc lies between the two. What a part fills is no hole.
    """
    inner = np.flatnonzero(~arrangement.outer)
    if len(inner) == 0:
        return ()
    area, length, boxes = _sizes(arrangement)
    small = 2.0 * area[inner] < reach * length[inner] * (1.0 + 1e-9)
    inner = inner[small | _may_hold_islands(inner, arrangement.outer, area, boxes)]
    if len(inner) == 0:
        return ()
    return _measured(arrangement, inner, area, reach, tolerances)


def _sizes(arrangement: Arrangement) -> tuple[Array, Array, Array]:
    """Area (without sign) and length of each ring, and (4, r) its box: low x, low y, -high x,
    -high y."""
    xy, first = arrangement.xy, arrangement.first
    xy = xy - xy[0]
    step = xy[onward(first)] - xy
    twice = xy[:, 0] * step[:, 1] - xy[:, 1] * step[:, 0]
    area = np.abs(np.add.reduceat(twice, first[:-1])) / 2.0
    length = np.add.reduceat(np.hypot(step[:, 0], step[:, 1]), first[:-1])
    return area, length, np.minimum.reduceat(np.concatenate((xy, -xy), axis=1).T, first[:-1], 1)


def _may_hold_islands(
    inner: Index, is_outer: NDArray[np.bool_], area: Array, boxes: Array
) -> NDArray[np.bool_]:
    """Which of the inner rings have the box of a smaller part within their own box."""
    holding = np.zeros(len(area), bool)
    if np.count_nonzero(is_outer) > 1:
        a, b = boxes_that_meet(boxes)
        for hole, part in ((a, b), (b, a)):
            within = (boxes[:, part] >= boxes[:, hole] - 1e-9).all(axis=0)
            within &= ~is_outer[hole] & is_outer[part]
            within &= area[part] <= area[hole] * (1.0 + 1e-9)
            holding[hole[within]] = True
    may: NDArray[np.bool_] = holding[inner]
    return may


def _measured(
    arrangement: Arrangement,
    inner: Index,
    area: Array,
    reach: float,
    tolerances: Tolerances,
) -> tuple[Hole, ...]:
    import shapely

    void = _without_islands(arrangement, inner, area)
    area = shapely.area(void)
    keep = shapely.is_empty(shapely.buffer(void, -reach / 2.0)) & (area > 0.0)
    # a disc is sought far more closely than flattening may have moved it
    discs = shapely.maximum_inscribed_circle(void[keep], tolerance=tolerances.chord / 50.0)
    ends = shapely.get_coordinates(discs).reshape(-1, 2, 2)
    found = [
        Hole(
            2.0 * float(np.hypot(*(touch - middle))),
            (float(middle[0]), float(middle[1])),
            _nearest(arrangement, ring, touch),
            float(size),
            int(arrangement.face[ring]) + 1,
        )
        for ring, size, (middle, touch) in zip(inner[keep], area[keep], ends, strict=True)
    ]
    return tuple(sorted(found, key=lambda hole: (round(hole.diameter, 6), hole.at)))


def _without_islands(arrangement: Arrangement, inner: Index, area: Array) -> NDArray[Any]:
    """The void inside each of the inner rings, as shapely geometries."""
    import shapely

    rings = np.split(arrangement.xy, arrangement.first[1:-1])
    void = np.array([shapely.Polygon(rings[k]) for k in inner], dtype=object)
    outer = np.flatnonzero(arrangement.outer)
    solid = np.array([shapely.Polygon(rings[k]) for k in outer], dtype=object)
    # a part lies in a hole where a point inside it does and it is no larger (the part around the
    # hole is): what they share is no more than lines
    hole, part = shapely.STRtree(shapely.point_on_surface(solid)).query(void, "contains")
    inside = area[outer[part]] <= area[inner[hole]] * (1.0 + 1e-9)
    hole, part = hole[inside], part[inside]
    for k in distinct(hole):
        island = shapely.union_all(solid[part[hole == k]])
        void[k] = shapely.difference(void[k], island)
    return void


def _nearest(arrangement: Arrangement, ring: int, at: Array) -> Spot:
    """The place of a ring nearest to a point."""
    first, stop = arrangement.first[ring], arrangement.first[ring + 1]
    a = arrangement.xy[first:stop]
    b = np.roll(a, -1, axis=0)
    foot = a + foot_of(at, a, b)[:, None] * (b - a)
    k = int(np.hypot(*(foot - at).T).argmin())
    return Spot(
        (float(foot[k, 0]), float(foot[k, 1])),
        int(arrangement.contour[first + k]),
        int(arrangement.segment[first + k]),
    )
