"""The edges of a sheet's lines, and the few pairs of them that may meet, cross or run together."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scantling.measure.pairs import edges_of, near_pairs
from scantling.plan.model import Lines, Tolerances

Points = NDArray[np.float64]
Index = NDArray[np.int64]


class Edges(NamedTuple):
    """The edges of a sheet's lines, in drawing order; those of no length are left out.

    start, end  (n, 2)
    edge        (n,)    index of the edge's first point in Lines.xy
    contour     (n,)    index into Lines.first
    """

    start: Points
    end: Points
    edge: Index
    contour: Index


class Close(NamedTuple):
    """Pairs of edges, i < j as they stand in `Edges`, that are closer than any tolerance needs."""

    i: Index
    j: Index


def edges(lines: Lines) -> Edges:
    """Fact: the edges of the sheet's lines, of all operations."""
    return Edges(*edges_of(lines))


def close(edges: Edges, tolerances: Tolerances) -> Close:
    """Fact: the pairs of edges whose boxes are within twice the coincidence tolerance, or within
    the join tolerance if that is wider, along both axes."""
    within = max(2.0 * tolerances.coincidence, tolerances.join) + 1e-6
    return Close(*near_pairs(edges.start, edges.end, within))
