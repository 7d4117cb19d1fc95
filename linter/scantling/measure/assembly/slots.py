"""Slots: straight-sided openings and notches, such as another sheet on edge goes into.

A slot has a straight bottom between two sides at right angles to it: an edge of the outline with
an inside corner at either end. A rectangular opening has such a bottom at both ends of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.facts import Facts
from scantling.measure.groups import leads, onward
from scantling.measure.model import Arrangement, Piece, Spot
from scantling.plan.model import Design, Sheet
from scantling.records import dataclass

if TYPE_CHECKING:
    from scantling.arrays import Array, Index


SQUARE = np.radians(1.0)
"""How far a corner may be from a right angle."""
STRAIGHT = 1e-4
"""Edges that turn by less, in radians, are one side."""


@dataclass(frozen=True, slots=True)
class Slot:
    """Lengths mm, as drawn.

    width    across, between its sides
    depth    from its bottom to the nearer end of its sides; the whole length of an opening
    closed   True for an opening, False for a notch in an edge
    at       the middle of its bottom
    """

    sheet: Sheet
    piece: Piece
    spot: Spot
    width: float
    depth: float
    closed: bool
    at: tuple[float, float]


def slots(layers: Sequence[tuple[Sheet, Facts]], design: Design | None) -> tuple[Slot, ...]:
    """Fact of a drawing: the slots of its parts that are at least as deep as wide, sheet by
    sheet. They are only looked for where the design wants a fit."""
    if design is None or design.fit is None:
        return ()
    found: list[Slot] = []
    for sheet, facts in layers:
        found += _of_sheet(sheet, facts["arrangement"], facts["pieces"])
    return tuple(found)


def _of_sheet(sheet: Sheet, arrangement: Arrangement, pieces: Sequence[Piece]) -> list[Slot]:
    corner, ring = _corners(arrangement)
    if not len(corner):
        return []
    xy = arrangement.xy[corner]
    before, after = _neighbours(ring)
    run = xy[after] - xy
    length = np.hypot(*run.T)
    along = run[:, 0] + 1j * run[:, 1]
    # the solid is on the left, so an inside corner turns to the right
    inside = np.abs(np.angle(along / along[before]) + np.pi / 2) <= SQUARE
    sides = np.minimum(length[before], length[after])
    bottom = np.flatnonzero(inside & inside[after] & (sides >= length))
    slots = []
    seen: set[int] = set()
    corners_of = np.bincount(ring)
    for k in bottom.tolist():
        closed = bool(corners_of[ring[k]] == 4 and not arrangement.outer[ring[k]])
        if closed and int(ring[k]) in seen:
            continue
        seen.add(int(ring[k]))
        start = int(corner[k])
        slots.append(
            Slot(
                sheet=sheet,
                piece=pieces[int(arrangement.face[ring[k]])],
                spot=Spot(
                    (float(xy[k, 0]), float(xy[k, 1])),
                    int(arrangement.contour[start]),
                    int(arrangement.segment[start]),
                ),
                width=float(length[k]),
                depth=float(sides[k]),
                closed=closed,
                at=(float(xy[k, 0] + run[k, 0] / 2), float(xy[k, 1] + run[k, 1] / 2)),
            )
        )
    return slots


def _corners(arrangement: Arrangement) -> tuple[Index, Index]:
    """The points of the rings at which they turn, and the ring of each."""
    size = np.diff(arrangement.first)
    ring = np.repeat(np.arange(len(size)), size)
    before, after = _neighbours(ring)
    run: Array = arrangement.xy[after] - arrangement.xy
    along = run[:, 0] + 1j * run[:, 1]
    turning = np.flatnonzero(np.abs(np.angle(along / along[before])) > STRAIGHT)
    return turning, ring[turning]


def _neighbours(ring: Index) -> tuple[Index, Index]:
    """The point before and the point after each, round its own ring; rings come in order."""
    after = onward(np.append(np.flatnonzero(leads(ring)), len(ring)))
    before = np.empty_like(after)
    before[after] = np.arange(len(ring))
    return before, after
