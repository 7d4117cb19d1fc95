"""From a place to the line that is nearest to it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scantling.measure.lines.close import Edges
from scantling.measure.model import Spot
from scantling.measure.segments import distance_to
from scantling.plan.model import Lines

if TYPE_CHECKING:
    from scantling.arrays import Flags, Points


def nearest_spot(at: Points, edges: Edges, lines: Lines, which: Flags | None = None) -> Spot:
    """A place (2,), put down to the nearest of some edges, one at least; the first of those that
    are equally near.

    which    (m,) the contours that may be named; None: all
    """
    chosen = slice(None) if which is None else which[edges.contour]
    away = distance_to(at, edges.start[chosen], edges.end[chosen])
    k = int(away.argmin())
    contour, edge = edges.contour[chosen][k], edges.edge[chosen][k]
    return Spot((float(at[0]), float(at[1])), int(contour), int(lines.segment[edge]))
