"""The few pairs of edges that are so close that they may meet, cross or run together."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scantling.measure.pairs import Table, near_pairs
from scantling.plan.model import Tolerances

Index = NDArray[np.int64]
AT_ONCE = 2_000_000


class Close(NamedTuple):
    """Pairs of edges of the table, i < j, whose boxes are nearer than any tolerance needs."""

    i: Index
    j: Index


def close(table: Table, tolerances: Tolerances, reach: float) -> Close:
    """Fact: the pairs whose boxes are within twice the coincidence tolerance, or within the
    join tolerance if that is wider, along both axes."""
    within = max(2.0 * tolerances.coincidence, tolerances.join) + 1e-6
    if reach < within:
        return Close(*near_pairs(table.start, table.end, within))
    low = np.minimum(table.start, table.end) - within / 2.0
    high = np.maximum(table.start, table.end) + within / 2.0
    found = []
    for k in range(0, len(table.i), AT_ONCE):
        i, j = table.i[k : k + AT_ONCE], table.j[k : k + AT_ONCE]
        for axis in (0, 1):
            meet = (low[i, axis] <= high[j, axis]) & (low[j, axis] <= high[i, axis])
            i, j = i[meet], j[meet]
        found.append((i, j))
    if not found:
        return Close(table.i, table.j)
    return Close(np.concatenate([i for i, _ in found]), np.concatenate([j for _, j in found]))
