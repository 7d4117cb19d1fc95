"""How often lines go around points: rays in bulk."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from scantling.arrays import Index, Points


AT_ONCE = 400_000


def rays(points: Points, start: Points, end: Points) -> tuple[Index, Index, Index]:
    """Which edges the ray from each point to the right crosses: point, edge, and +1 where the
    edge goes down the page (y grows), -1 where it goes up. The sum for a closed line is its
    winding number around the point; no point may lie on an edge."""
    if not len(points) or not len(start):
        none = np.zeros(0, np.int64)
        return none, none, none
    if len(points) * len(start) <= AT_ONCE:
        y = points[:, 1, None]
        point, edge = np.nonzero((start[:, 1] <= y) != (end[:, 1] <= y))
    else:
        import shapely

        far = max(float(start[:, 0].max()), float(end[:, 0].max()), float(points[:, 0].max()))
        x, y = points[:, 0], points[:, 1]
        tree = shapely.STRtree(shapely.linestrings(np.stack([start, end], axis=1)))
        point, edge = tree.query(shapely.box(x, y, far + 1.0, y))
        level = points[point, 1]
        across = (start[edge, 1] <= level) != (end[edge, 1] <= level)
        point, edge = point[across], edge[across]
    a, b, p = start[edge], end[edge], points[point]
    turn = (b[:, 0] - a[:, 0]) * (p[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (p[:, 0] - a[:, 0])
    down = a[:, 1] < b[:, 1]
    right = (turn > 0.0) == down
    return point[right], edge[right], np.where(down[right], 1, -1)


def counts(
    point: Index, group: Index, sign: Index, groups: int
) -> tuple[Index, Index, Index, Index, Index]:
    """Sum of signs and number of crossings for each point and group that occur together, as
    point, group, winding number, crossings, and which of the crossings given is the first."""
    key, first, of = np.unique(
        point * max(groups, 1) + group, return_index=True, return_inverse=True
    )
    winding = np.bincount(of, sign, len(key)).round().astype(np.int64)
    number = np.bincount(of, minlength=len(key))
    return key // max(groups, 1), key % max(groups, 1), winding, number, first
