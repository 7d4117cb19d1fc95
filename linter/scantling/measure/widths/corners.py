"""Corners cut into the solid, and points where outlines touch."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.groups import connected
from scantling.measure.model import Arrangement, InsideCorner, Spot, Touch
from scantling.measure.widths.outline import AX, AY, BX, LENGTH, TX, Outline
from scantling.plan.model import Tolerances

if TYPE_CHECKING:
    from scantling.arrays import Array, Flags, Index

CORNER = np.radians(45.0)
"""A single turn of this much is a corner; flattened roundings of 13 chord tolerances and more
turn less at each of their points."""
STRAIGHT = np.radians(0.5)
"""A turn of less than this is none: rounded coordinates do it."""
JAG = 2.0
"""coincidence tolerances; what an outline does within so much of its length is not a corner"""
SAME = 1e-6
"""mm: points nearer than this are one."""


def inside_corners(
    arrangement: Arrangement, reach: float, tolerances: Tolerances
) -> tuple[InsideCorner, ...]:
    """Fact: every corner of 45 degrees or more that is cut into the solid and rounded by less
    than `reach`, in order of the outlines.

    Turns of less than 45 degrees that follow each other are taken for one rounding; its radius
    is its length by its angle. A turn that the outline takes back within two coincidence
    tolerances is a jag, which the kerf swallows, and no corner.
    """
    if len(arrangement.xy) == 0:
        return ()
    o = Outline(arrangement)
    turn = -np.arctan2(o.turn[0], o.turn[1])  # positive into the solid
    sharp = turn >= CORNER
    corner = np.flatnonzero(sharp)
    corner = corner[_turn_within(o, corner, JAG * tolerances.coincidence) >= CORNER]
    middle, total, radius = _roundings(o, turn, (turn > STRAIGHT) & ~sharp, reach)
    small = (total >= CORNER) & (radius < reach)
    at = np.concatenate((corner, middle[small]))
    angle = np.degrees(np.pi - np.concatenate((turn[corner], np.minimum(total[small], np.pi))))
    size = np.concatenate((np.zeros(len(corner)), radius[small]))
    piece = o.arrangement.face[o.ring[at]] + 1
    return tuple(
        InsideCorner(_spot(o, int(at[k])), float(angle[k]), float(size[k]), int(piece[k]))
        for k in np.argsort(at, kind="stable").tolist()
    )


def _turn_within(o: Outline, vertex: Index, distance: float) -> Array:
    """By how much the outline turns into the solid at each vertex, seen from as far along it on
    both sides."""
    laid = np.concatenate(([0.0], o.rows[LENGTH].cumsum()))
    ring = o.ring[vertex]
    begin, end = o.first[ring], o.first[ring + 1]

    def place(aside: float) -> Array:
        at = laid[begin] + np.mod(laid[vertex] - laid[begin] + aside, laid[end] - laid[begin])
        edge = np.clip(np.searchsorted(laid, at, side="right") - 1, begin, end - 1)
        step: Array = o.rows[TX:LENGTH, edge] * (at - laid[edge])
        return o.rows[:BX, edge] + step

    here = o.rows[:BX, vertex]
    (x, y), (u, v) = here - place(-distance), place(distance) - here
    return np.asarray(-np.arctan2(x * v - y * u, x * u + y * v))


def _roundings(o: Outline, turn: Array, bends: Flags, reach: float) -> tuple[Index, Array, Array]:
    """Runs of two vertices or more that bend: the vertex in the middle of each, how far it
    turns, and its radius."""
    vertex = np.flatnonzero(bends)
    # an edge longer than the chord of a rounding of twice the reach parts two roundings
    chord = 2.0 * reach * np.maximum(turn, turn[o.next])
    inner = bends & bends[o.next] & (o.rows[LENGTH] <= chord)
    tied = np.flatnonzero(inner)
    label = connected(len(o), tied, o.next[tied])[vertex]
    names, run = np.unique(label, return_inverse=True)
    count = np.bincount(run, minlength=len(names))
    total = np.bincount(run, turn[vertex], len(names)).astype(np.float64)
    # at both ends of a rounding the turn is half as large as between its chords
    length = np.bincount(run, np.where(inner, o.rows[LENGTH], 0.0)[vertex], len(names))
    # how far each vertex is from the beginning of its run, going round the ring; a ring that
    # bends all the way round begins anywhere
    begin = names.copy()
    starts = np.flatnonzero(~inner[o.prev[vertex]])
    begin[run[starts]] = vertex[starts]
    size = np.diff(o.first)[o.ring[vertex]]
    rank = np.mod(vertex - begin[run], size)
    middle = names.copy()
    half = rank == count[run] // 2
    middle[run[half]] = vertex[half]
    some = count > 1
    return middle[some], total[some], (length / np.maximum(total, STRAIGHT))[some]


def _spot(o: Outline, vertex: int) -> Spot:
    at = o.rows[[AX, AY], vertex] + o.origin
    contour, segment = o.arrangement.contour[vertex], o.arrangement.segment[vertex]
    return Spot((float(at[0]), float(at[1])), int(contour), int(segment))


def touches(arrangement: Arrangement) -> tuple[Touch, ...]:
    """Fact: points where outlines touch, in order of the outlines. Where they share a line they
    do not touch; nor do two pieces with others between them that share their lines, as the tiles
    of a floor do."""
    if len(arrangement.xy) == 0:
        return ()
    o = Outline(arrangement)
    at = np.round(o.rows[:2] / SAME).astype(np.int64)
    order = np.lexsort((at[1], at[0]))
    same = (at[:, order[1:]] == at[:, order[:-1]]).all(axis=0)
    if not same.any():
        return ()
    group = np.zeros(len(o), np.int64)
    group[order] = np.cumsum(np.concatenate(([True], ~same)))
    one, other = order[:-1][same], order[1:][same]
    first, second = np.minimum(one, other), np.maximum(one, other)
    # a line in common begins or ends here: a neighbour of the one is a neighbour of the other
    shared = np.zeros(len(first), bool)
    for mine in (o.next, o.prev):
        for theirs in (o.next, o.prev):
            shared |= group[mine[first]] == group[theirs[second]]
    face = o.arrangement.face[o.ring]
    around = _around(o, group, np.union1d(first, second))
    shared |= (face[first] != face[second]) & (around[first] == around[second])
    first, second = first[~shared], second[~shared]
    sort = np.lexsort((second, first))
    return tuple(
        Touch(_spot(o, a), _spot(o, b), int(face[a]) + 1 if face[a] == face[b] else 0)
        for a, b in zip(first[sort].tolist(), second[sort].tolist(), strict=True)
    )


def _around(o: Outline, group: Index, corners: Index) -> Index:
    """(n,) a label that those of some corners have in common which lie side by side about one
    point: each shares a line that begins or ends there with the next. `group` numbers the points.
    """
    twice = np.concatenate([corners, corners])
    away = group[np.concatenate([o.next[corners], o.prev[corners]])]
    order = np.lexsort((away, group[twice]))
    twice, away = twice[order], away[order]
    tied = (away[1:] == away[:-1]) & (group[twice[1:]] == group[twice[:-1]])
    return connected(len(o), twice[:-1][tied], twice[1:][tied])
