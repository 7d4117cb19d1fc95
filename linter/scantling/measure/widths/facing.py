"""Pairs of edges that may face each other, found without looking closely at every near pair.

Most near pairs of a drawing are neighbours along one curve, and cannot face each other: of six
or seven near pairs a vertex fewer than one in ten is left once directions are compared. The
outline is taken in stretches of a few edges that turn little; near stretches are found by their
boxes, and only the edges of stretches whose normals can meet are looked at one by one. On real
drawings stretches of three to eight edges took the same time, single edges a tenth more.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.measure.distinct import distinct
from scantling.measure.pairs import (
    LIMITS,
    bounded,
    boxes_that_meet,
    concatenated,
    cut_up,
    in_blocks,
)
from scantling.measure.widths.outline import BX, LENGTH, TX, TY, Outline
from scantling.read.limits import Limits
from scantling.records import NamedTuple

if TYPE_CHECKING:
    from scantling.arrays import Array, Flags, Index

FACING = np.pi / 6.0
"""Largest angle between the radius to one touching point and the other's, turned round."""
STRETCH = 4
"""Edges in a stretch."""
LONG = 4.0
"""A stretch holds no edge longer than this many times the reach, unless it is alone. (From 2 to
8 the time was the same; 1 was a fifth slower.)"""
PIECE = 40.0
"""A long edge is indexed in pieces of up to this many times the reach: the box of a slanting
edge is mostly empty, and an edge along which many things lie would be near all of them."""
WORTH = 20_000
"""Pairs of stretches and edges that long from which on cutting these up is worthwhile."""
BEND = np.radians(30.0)
"""A stretch ends at a corner that turns by more."""
TURN = 2.0 * np.pi
OPPOSED = 0.5 - FACING / TURN - 1e-5
"""Least difference of the directions of two edges that face each other, in turns."""


class Stretches(NamedTuple):
    """m stretches: stretch k is `edges` edges from `first` on, or a piece of one long edge.

    boxes  (4, m)  low x, low y, -high x, -high y of each
    a, b   pairs (a < b) of stretches nearer than the reach, by their boxes
    of     (n,)    each edge's first stretch
    piece  (n,)    length of the pieces of the edge, infinite where it is whole; None where all
                   edges are
    """

    first: Index
    edges: Index
    boxes: Array
    a: Index
    b: Index
    of: Index
    piece: Array | None


def facing_pairs(
    o: Outline, reach: float, limits: Limits = LIMITS
) -> tuple[Index, Index, Stretches]:
    """Indices i < j of the edges that may face each other within the reach, and the stretches
    that they were found by. Raises Unreadable beyond the limit for pairs."""
    span, sharp = _directions(o)
    s = _stretches(o, sharp, reach, limits)
    if s.piece is None:
        spans = np.minimum.reduceat(span, s.first, axis=1)
    else:  # pieces of one edge share its directions
        begin, back = np.unique(s.first, return_inverse=True)
        spans = np.minimum.reduceat(span, begin, axis=1)[:, back]
    keep = _opposed(spans, s.a, s.b)
    a, b = s.a[keep], s.b[keep]
    bent = (spans[0] + spans[1] <= -OPPOSED).nonzero()[0]
    if len(bent):  # an edge may face another of its own stretch
        a, b = np.concatenate((a, bent)), np.concatenate((b, bent))
    if len(a) == 0:
        return a, b, s
    count = s.edges[a] * s.edges[b]
    bounded(int(count.sum()), limits)
    i, j = concatenated([_pairs(o, s, span, a[part], b[part], reach) for part in in_blocks(count)])
    if s.piece is not None:
        key = distinct(i * len(o) + j)
        i, j = key // len(o), key % len(o)
    return i, j, s


def _pairs(
    o: Outline, s: Stretches, span: Array, a: Index, b: Index, reach: float
) -> tuple[Index, Index]:
    """Of stretches a and b the edges that may face each other."""
    i, j = _spelt_out(s, a, b)
    box_i, box_j = _boxes(o.rows[: BX + 2, i]), _boxes(o.rows[: BX + 2, j])
    keep = box_i[0] + box_j[2] <= reach
    keep &= box_i[1] + box_j[3] <= reach
    keep &= box_i[2] + box_j[0] <= reach
    keep &= box_i[3] + box_j[1] <= reach
    i, j = i[keep], j[keep]
    keep = _opposed(span, i, j)
    return i[keep], j[keep]


def _boxes(ends: Array) -> Array:
    """(4, k) low x, low y, -high x, -high y of edges with these ends (4, k)."""
    boxes = np.empty_like(ends)
    np.minimum(ends[:2], ends[2:], out=boxes[:2])
    np.maximum(ends[:2], ends[2:], out=boxes[2:])
    np.negative(boxes[2:], out=boxes[2:])
    return boxes


def _directions(o: Outline) -> tuple[Array, Flags]:
    """Directions that each edge and its corners have, seen from either side: (2, n) the least
    and minus the greatest, in turns; and where an edge begins with a sharp corner."""
    heading = np.arctan2(o.rows[TY], o.rows[TX])
    heading *= 1.0 / TURN
    heading[1:] -= np.rint(heading[1:] - heading[:-1]).cumsum()
    turn = heading - heading[o.prev]
    turn -= np.rint(turn)
    ahead = turn[o.next]
    span = np.empty((2, len(turn)))
    np.minimum(ahead, -turn, out=span[0])
    np.minimum(turn, -ahead, out=span[1])
    np.minimum(span, 0.0, out=span)
    span[0] += heading
    span[1] -= heading
    return span, np.abs(turn) > BEND / TURN


def _stretches(o: Outline, sharp: Flags, reach: float, limits: Limits) -> Stretches:
    n = len(o)
    length = o.rows[LENGTH]
    cut = length > LONG * reach
    sharp[1:] |= cut[:-1]
    cut |= sharp
    cut[o.first[:-1]] = True
    here = np.arange(n)
    begun = cut.nonzero()[0]
    here -= begun.repeat(_between(begun, n))
    cut |= here % STRETCH == 0
    first = cut.nonzero()[0]
    edges = _between(first, n)
    boxes = np.minimum.reduceat(_boxes(o.rows[: BX + 2]), first, axis=1)
    of = cut.cumsum()
    of -= 1
    piece = None
    limit = PIECE * reach
    span = length[first]
    if np.count_nonzero(span > limit) * len(first) > WORTH:
        whole, since, until = cut_up(span, limit)
        first, edges, boxes = first[whole], edges[whole], boxes[:, whole]
        part = np.flatnonzero(until - since < 1.0)
        e = first[part]
        since, until = since[part] * length[e], until[part] * length[e]
        start = o.rows[:BX, e] + since * o.rows[TX : TY + 1, e]
        stop = o.rows[:BX, e] + until * o.rows[TX : TY + 1, e]
        boxes[:2, part] = np.minimum(start, stop)
        boxes[2:, part] = -np.maximum(start, stop)
        piece = np.full(n, np.inf)
        piece[e] = until - since
        of = np.searchsorted(whole, of)
    a, b = boxes_that_meet(boxes - reach / 2.0, limits)
    return Stretches(first, edges, boxes, a, b, of, piece)


def _between(first: Index, n: int) -> Index:
    """How far each of the rising numbers is from the next, the last from n."""
    size = np.empty_like(first)
    np.subtract(first[1:], first[:-1], out=size[:-1])
    size[-1] = n - first[-1]
    return size


def _opposed(span: Array, a: Index, b: Index) -> Flags:
    """Whether some direction within the span of a, turned round, comes within FACING of one
    within that of b."""
    middle = span[0] - span[1]
    middle *= 0.5
    half = span[0] + span[1]  # negative
    half *= 0.5
    apart = middle[a]
    apart -= middle[b]
    apart -= np.rint(apart)
    np.abs(apart, out=apart)
    apart -= half[a]
    apart -= half[b]
    opposed: Flags = apart >= OPPOSED
    return opposed


def _spelt_out(s: Stretches, a: Index, b: Index) -> tuple[Index, Index]:
    """All pairs i < j of an edge of stretch a and one of stretch b."""
    width = s.edges[b]
    count = s.edges[a] * width
    total = count.cumsum()
    number = np.arange(total[-1])
    number -= (total - count).repeat(count)
    width = width.repeat(count)
    i = number // width
    number -= i * width
    i += s.first[a].repeat(count)
    number += s.first[b].repeat(count)
    keep = i < number
    return i[keep], number[keep]


def within(
    o: Outline, s: Stretches, edge: Index, p: Array, at: Array, r: Array
) -> tuple[Index, Index]:
    """For discs of radius r up to half the reach about `at` (2, k) that touch `edge` at p:
    indices of discs and of edges such that every edge that meets a disc is there (and some that
    do not)."""
    home = s.of[edge]
    if s.piece is not None:
        e = o.rows[:, edge]
        x, y = p - e[:BX]
        along = np.minimum(np.maximum(x * e[TX] + y * e[TY], 0.0), e[LENGTH] * (1.0 - 1e-12))
        home += (along / s.piece[edge]).astype(np.int64)
    # the neighbours of every stretch that is home to a disc, itself included
    wanted = np.zeros(len(s.first), bool)
    wanted[home] = True
    ours, theirs = wanted[s.a], wanted[s.b]
    alone = wanted.nonzero()[0]
    own = np.concatenate((s.a[ours], s.b[theirs], alone))
    other = np.concatenate((s.b[ours], s.a[theirs], alone))
    order = own.argsort()
    own, other = own[order], other[order]
    start = own.searchsorted(home)
    count = own.searchsorted(home, side="right") - start
    total = count.cumsum()
    disc = np.arange(len(home)).repeat(count)
    number = np.arange(total[-1])
    number += (start - total + count).repeat(count)
    stretch = other[number]
    near = s.boxes[:, stretch]
    middle = at[:, disc]
    near[:2] -= middle
    near[2:] += middle
    keep = near.max(axis=0) <= r[disc]
    return _edges(s, disc[keep], stretch[keep])


def tree_of(s: Stretches) -> Any:
    """A tree of the boxes of stretches: worthwhile where each has hundreds of neighbours."""
    import shapely

    return shapely.STRtree(_diagonals(s.boxes[:2], -s.boxes[2:]))


def within_tree(s: Stretches, tree: Any, at: Array, r: Array) -> tuple[Index, Index]:
    """What `within` finds, by a tree of the stretches."""
    disc, stretch = tree.query(_diagonals(at - r, at + r))
    return _edges(s, disc, stretch)


def _diagonals(low: Array, high: Array) -> Any:
    """Lines from one corner (2, k) to the other: they have the boxes' boxes, and are quickly
    made."""
    import shapely

    return shapely.linestrings(np.stack((low.T, high.T), axis=1))


def _edges(s: Stretches, disc: Index, stretch: Index) -> tuple[Index, Index]:
    """The edges of stretches, each with its disc."""
    count = s.edges[stretch]
    total = count.cumsum()
    number = np.arange(total[-1] if len(total) else 0)
    number += (s.first[stretch] - total + count).repeat(count)
    return disc.repeat(count), number
