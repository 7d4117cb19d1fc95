"""A sheet's plain figures: lengths of line by operation, and extents."""

from __future__ import annotations

import numpy as np

from scantling.plan.model import OPERATIONS, Lines


def lengths(lines: Lines) -> dict[str, float]:
    """Length of line in mm by operation, as drawn."""
    totals = dict.fromkeys(OPERATIONS, 0.0)
    if len(lines.xy):
        step = np.roll(lines.xy, -1, axis=0) - lines.xy
        last = lines.first[1:] - 1
        step[last] = np.where(
            lines.closed[:, None], lines.xy[lines.first[:-1]] - lines.xy[last], 0.0
        )
        each = np.add.reduceat(np.hypot(step[:, 0], step[:, 1]), lines.first[:-1])
        for k, word in enumerate(OPERATIONS):
            totals[word] = float(each[lines.operation == k].sum())
    return totals


def size_of(lines: Lines) -> tuple[float, float]:
    """Width and height in mm of everything on the sheet."""
    if not len(lines.xy):
        return (0.0, 0.0)
    wide, high = np.ptp(lines.xy, axis=0)
    return (float(wide), float(high))
