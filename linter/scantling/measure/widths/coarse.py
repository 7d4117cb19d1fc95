"""Outlines with fewer points, for measures that do not need them all."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.model import Arrangement
from scantling.measure.widths.outline import LENGTH, Outline, kept

if TYPE_CHECKING:
    from scantling.arrays import Array

ROUNDS = 6
"""Every round takes out every other point at most: together all but one in 64."""
CROWDED = 32.0
"""Points that many times nearer to each other than the reach are more than any measure needs."""
MANY = 20_000
"""So many points of that kind are a burden, whatever their share."""


def coarser(arrangement: Arrangement, chord: float, longest: float = np.inf) -> Arrangement:
    """The arrangement with fewer points, within `chord` of the true outline: again and again
    every other point of a ring goes that lies near to a straight line between its neighbours,
    unless that line is longer than `longest`. Rings keep eight points at least."""
    for _ in range(ROUNDS):
        o = Outline(arrangement)
        size = np.diff(o.first)
        sizes = np.repeat(size, size)
        number = np.arange(len(o)) - np.repeat(o.first[:-1], size)
        odd = (number % 2 == 1) & (number < sizes - 1) & (sizes > 16)
        away, length = _from_line(o)
        keep = ~(odd & (away <= chord / ROUNDS) & (length <= longest))
        if keep.all():
            break
        arrangement = kept(o.arrangement, keep)
    return arrangement


def _from_line(o: Outline) -> tuple[Array, Array]:
    """How far each point lies from the line between its neighbours, and how long that is."""
    before = o.rows[:2, o.prev]
    base, off = o.rows[:2, o.next] - before, o.rows[:2] - before
    length = np.maximum(np.hypot(base[0], base[1]), 1e-300)
    return np.abs(base[0] * off[1] - base[1] * off[0]) / length, length


def not_crowded(o: Outline, reach: float, chord: float) -> Outline:
    """The outline, or a coarser one where most of its points are so near to each other that
    every one of them would be compared with hundreds across a web."""
    short = reach / CROWDED
    crowded = np.count_nonzero(o.rows[LENGTH] < short)
    if 2 * crowded < len(o) and crowded < MANY:
        return o
    return Outline(coarser(o.arrangement, chord / 8.0, 2.0 * short))
