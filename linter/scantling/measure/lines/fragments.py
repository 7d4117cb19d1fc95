"""Fragments: short lines that are joined to nothing."""

from __future__ import annotations

import numpy as np

from scantling.measure.lines.joins import Joined
from scantling.measure.lines.overlaps import Runs
from scantling.measure.model import Fragment, Spot
from scantling.plan.model import CUT, GUIDE, OPERATIONS, Lines


def fragments(lines: Lines, joined: Joined, runs: Runs, reach: float) -> tuple[Fragment, ...]:
    """Fact: lines no longer than the reach, all operations but guides, in drawing order.

    Cut lines are taken as they are joined; lines that double others all along are left to
    `overlaps`. A contour of a single point has no length.
    """
    cut, guide = OPERATIONS.index(CUT), OPERATIONS.index(GUIDE)
    total = runs.ruler.total
    some = np.diff(lines.first) > 0
    alone = some & (lines.operation != guide) & (joined.chain < 0) & ~runs.whole
    alone &= (lines.operation != cut) | (total == 0.0)
    units = [(int(k),) for k in np.flatnonzero(alone & (total <= reach))]
    closed = {k: bool(lines.closed[k[0]] and total[k[0]] > 0.0) for k in units}
    for chain in range(len(joined.closed)):
        contours = joined.contours[joined.first[chain] : joined.first[chain + 1]]
        if float(total[contours].sum()) <= reach:
            unit = tuple(sorted(contours.tolist()))
            units.append(unit)
            closed[unit] = bool(joined.closed[chain])
    return tuple(
        _fragment(lines, unit, float(total[list(unit)].sum()), closed[unit])
        for unit in sorted(units)
    )


def _fragment(lines: Lines, contours: tuple[int, ...], length: float, closed: bool) -> Fragment:
    points = np.concatenate([lines.xy[lines.first[k] : lines.first[k + 1]] for k in contours])
    low, high = points.min(axis=0), points.max(axis=0)
    first = int(lines.first[contours[0]])
    x, y = ((low + high) / 2.0).tolist()
    return Fragment(
        spot=Spot((x, y), contours[0], int(lines.segment[first])),
        length=length,
        extent=float(np.hypot(*(high - low))),
        closed=closed,
        operation=OPERATIONS[lines.operation[contours[0]]],
        contours=contours,
    )
