"""Near edges in bulk: which edges may be nearer than a reach.

Two edges are near when their boxes, grown by half the reach on every side, meet. That is
cheap to find and never misses a pair nearer than the reach; how near two edges really are is for
those to say who ask.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.distinct import distinct
from scantling.measure.groups import lasts, onward
from scantling.plan.model import Lines
from scantling.read.limits import Limits
from scantling.read.source import Unreadable

if TYPE_CHECKING:
    from scantling.arrays import Index, Numbers, Points


BLOCK = 1 << 17
"""Pairs to work on at a time: beyond that caches are lost, and memory is a matter."""
LIMITS = Limits()
FEW = 64
"""Up to so many boxes all pairs are compared."""


def bounded(pairs: int, limits: Limits) -> None:
    """Raises Unreadable where so many pairs are too many."""
    if pairs > limits.pairs:
        found = f"lines lie so close that {pairs} pairs of edges would have to be compared"
        raise Unreadable(limits.exceeded("pairs", found))


def boxes_that_meet(boxes: Numbers, limits: Limits = LIMITS) -> tuple[Index, Index]:
    """Indices a < b of the boxes that meet (or touch), each pair once, in no special order.

    boxes: (4, n) low x, low y, -high x, -high y. Raises Unreadable where there are too many pairs.

    The plane is cut into level strips, about four mean boxes high, laid end to end on one line;
    there the boxes of a strip are sorted by their left edge, and each is paired with those that
    begin before it ends. Measured against a tree of the same boxes this takes a third to an
    eighth of the time, from 1000 boxes to 200 000; its arrays grow with the boxes by at most a
    quarter, however uneven their heights are. Up to `FEW` boxes it is quicker to compare all.
    """
    n = boxes.shape[1]
    low_x, low_y = boxes[0], boxes[1]
    high_x, high_y = -boxes[2], -boxes[3]
    if n <= FEW:
        begun = low_x[:, None] <= high_x
        begun &= low_y[:, None] <= high_y
        begun &= begun.T.copy()
        a, b = begun.nonzero()
        keep = a < b
        return a[keep], b[keep]
    base, left = low_y.min(), low_x.min()
    height = 4.0 * float((high_y - low_y).sum()) / n or 1.0
    top = ((low_y - base) / height).astype(np.int64)
    more = ((high_y - base) / height).astype(np.int64)
    more += 1 - top
    total = more.cumsum()
    item = np.arange(n).repeat(more)
    strip = np.arange(total[-1])
    strip -= (total - more - top).repeat(more)
    offset = strip * (float(high_x.max() - left) + 1.0) - left
    line = offset + low_x[item]
    order = line.argsort()
    item, strip = item[order], strip[order]
    ahead = line[order].searchsorted(offset[order] + high_x[item], side="right")
    stop = ahead.copy()
    ahead -= np.arange(1, len(item) + 1)
    bounded(int(ahead.sum()), limits)
    found = []
    for part in in_blocks(ahead):
        many = ahead[part]
        total = many.cumsum()
        second = np.arange(total[-1])
        second -= (total - stop[part]).repeat(many)
        a, b = item[part].repeat(many), item[second]
        # boxes that share several strips are paired in the first of them
        keep = low_y[a] <= high_y[b]
        keep &= low_y[b] <= high_y[a]
        keep &= strip[part].repeat(many) == np.maximum(top[a], top[b])
        found.append((a[keep], b[keep]))
    a, b = concatenated(found)
    return np.minimum(a, b), np.maximum(a, b)


def concatenated(found: list[tuple[Index, Index]]) -> tuple[Index, Index]:
    """Pairs found in blocks, as one."""
    if len(found) == 1:
        return found[0]
    return np.concatenate([a for a, _ in found]), np.concatenate([b for _, b in found])


def in_blocks(count: Index) -> list[slice]:
    """Slices of things that make so many others each, such that those of a slice, and what is
    computed with them, fit into a cache."""
    total = count.cumsum()
    if total[-1] <= BLOCK:
        return [slice(0, len(count))]
    stops = total.searchsorted(np.arange(BLOCK, total[-1] + BLOCK, BLOCK), side="right")
    stops = distinct(np.minimum(np.maximum(stops, 1), len(count)))
    stops = distinct(np.append(stops, len(count)))
    return [slice(a, b) for a, b in zip([0, *stops[:-1].tolist()], stops.tolist(), strict=True)]


def cut_up(length: Numbers, limit: Numbers | float) -> tuple[Index, Numbers, Numbers]:
    """Cut lengths into equal pieces no longer than the limit: for each piece the index of its
    length, and where it begins and ends as fractions of it."""
    count = np.maximum(np.ceil(length / limit), 1.0).astype(np.int64)
    whole = np.repeat(np.arange(len(length)), count)
    number = np.arange(len(whole)) - (np.cumsum(count) - count)[whole]
    return whole, number / count[whole], (number + 1) / count[whole]


def in_tight_boxes(start: Points, end: Points, least: float) -> tuple[Index | None, Points, Points]:
    """Edges, the long slanting ones cut into pieces, and for each piece which edge it is of; None
    where nothing is cut. The box of a long slanting edge is mostly empty, and many others lie in
    it. Boxes with a shorter side of up to `least` are good enough."""
    size = np.ptp(np.concatenate((start, end)), axis=0).max()
    slant = np.abs(end - start).min(axis=1)
    limit = max(least, size / 64.0)
    if not (slant > limit).any():
        return None, start, end
    whole, since, until = cut_up(slant, limit)
    run = end[whole] - start[whole]
    return whole, start[whole] + since[:, None] * run, start[whole] + until[:, None] * run


def near_pairs(
    start: Points, end: Points, reach: float, limits: Limits = LIMITS
) -> tuple[Index, Index]:
    """Indices i < j of the edges whose boxes, grown by reach/2, meet; sorted by i, then j.

    start, end: (n, 2), mm. Boxes that just touch count as meeting. The box of a long slanting
    edge is mostly empty, so such an edge is taken in pieces, and is near only what one of them
    is near.
    """
    n = len(start)
    if n < 2:
        return np.zeros(0, np.int64), np.zeros(0, np.int64)
    whole, start, end = in_tight_boxes(start, end, 16.0 * reach)
    low, high = np.minimum(start, end), np.maximum(start, end)
    i, j = boxes_that_meet(np.concatenate((low, -high), axis=1).T - reach / 2.0, limits)
    if whole is not None:
        i, j = whole[i], whole[j]
        i, j = np.minimum(i, j)[i != j], np.maximum(i, j)[i != j]
        key = distinct(i * n + j)
        return key // n, key % n
    order = np.argsort(i * n + j)
    return i[order], j[order]


def edges_of(lines: Lines) -> tuple[Points, Points, Index, Index]:
    """Start, end, index of the first point and contour of every edge that has a length."""
    n = len(lines.xy)
    if n == 0:
        return np.zeros((0, 2)), np.zeros((0, 2)), np.zeros(0, np.int64), np.zeros(0, np.int64)
    sizes = np.diff(lines.first)
    contour = np.repeat(np.arange(len(sizes)), sizes)
    start, end = lines.xy, lines.xy[onward(lines.first)]
    there = (start != end).any(axis=1)
    there &= ~lasts(contour) | lines.closed[contour]
    edge = np.flatnonzero(there)
    return start[edge], end[edge], edge, contour[edge]
