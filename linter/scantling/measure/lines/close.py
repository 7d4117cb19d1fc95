"""The edges of a sheet's lines, and the few pairs of them that may meet, cross or run together."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.groups import lasts, leads
from scantling.measure.pairs import LIMITS, bounded, edges_of, near_pairs
from scantling.measure.segments import cross, dot
from scantling.plan.model import Lines, Tolerances
from scantling.read.limits import Limits
from scantling.records import NamedTuple

if TYPE_CHECKING:
    from scantling.arrays import Flags, Index, Points


KINK = 4.0
"""coincidence tolerances; what is not farther apart along one contour is always close"""
FEWER = 0.7
"""Stretches are compared before edges where there are fewer of them by this factor."""
AT_ONCE = 1_000_000


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


def close(edges: Edges, tolerances: Tolerances, limits: Limits = LIMITS) -> Close:
    """Fact: the pairs of edges that come within twice the coincidence tolerance, or within the
    join tolerance if that is wider, of each other.

    Left out are edges of one contour that are nowhere farther apart along it than `KINK`
    tolerances, and those that follow one another without turning back. Some others that are not
    quite as close are kept. Raises Unreadable beyond the limit for pairs.
    """
    within = max(2.0 * tolerances.coincidence, tolerances.join) + 1e-6
    size = np.hypot(*(edges.end - edges.start).T)
    laid = np.concatenate([[0.0], np.cumsum(size)])
    span = KINK * tolerances.coincidence
    i, j = _candidates(edges, laid, within, span, limits)
    found = [
        _sifted(edges, laid, i[k : k + AT_ONCE], j[k : k + AT_ONCE], within, span)
        for k in range(0, len(i), AT_ONCE)
    ]
    if not found:
        return Close(i, j)
    return Close(np.concatenate([pair[0] for pair in found]), np.concatenate([p[1] for p in found]))


def _candidates(
    edges: Edges, laid: Points, within: float, span: float, limits: Limits
) -> tuple[Index, Index]:
    """Pairs of edges whose boxes are close. Where edges are far shorter than the tolerances,
    stretches of them are compared first."""
    many = len(edges.contour)
    if not many:
        return np.zeros(0, np.int64), np.zeros(0, np.int64)
    step = span / 4.0
    number = np.floor(laid / step)
    long = np.diff(laid) > step
    begins = leads(edges.contour)
    begins[1:] |= (number[1:-1] != number[:-2]) | long[1:] | long[:-1]
    first = np.flatnonzero(begins)
    if len(first) > FEWER * many:
        return near_pairs(edges.start, edges.end, within, limits)
    count = np.diff(np.append(first, many))
    low = np.minimum.reduceat(np.minimum(edges.start, edges.end), first)
    high = np.maximum.reduceat(np.maximum(edges.start, edges.end), first)
    a, b = near_pairs(low, high, within, limits)
    far = laid[first[b] + count[b]] - laid[first[a]] > span
    far |= edges.contour[first[a]] != edges.contour[first[b]]
    a, b = a[far], b[far]
    times = count[a] * count[b]
    bounded(int(times.sum()), limits)
    pair = np.repeat(np.arange(len(a)), times)
    number = np.arange(len(pair)) - (np.cumsum(times) - times)[pair]
    i = first[a[pair]] + number // count[b[pair]]
    j = first[b[pair]] + number % count[b[pair]]
    return i, j


def _sifted(
    edges: Edges, laid: Points, i: Index, j: Index, within: float, span: float
) -> tuple[Index, Index]:
    """The pairs that are close, to go by each edge's distance from the line of the other, and
    not merely near to each other along one contour."""
    if not len(i):
        return i, j
    turned = _turned_back(edges, i, j)
    i, j = i[turned], j[turned]
    if not len(i):
        return i, j
    own = edges.contour[i] == edges.contour[j]
    first = np.flatnonzero(leads(edges.contour))
    total = np.diff(np.append(laid[first], laid[-1]))[np.searchsorted(first, i, "right") - 1]
    ahead = laid[j + 1] - laid[i]
    around = total - (laid[j] - laid[i + 1])
    keep = ~own | ((ahead > span) & (around > span))
    i, j = i[keep], j[keep]
    for _ in range(2):
        apart = _beside_line(edges, i, j) <= within
        i, j = j[apart], i[apart]
    return i, j


def _turned_back(edges: Edges, i: Index, j: Index) -> Flags:
    """All pairs but those of edges that follow one another and do not turn back sharply: most of
    what is close is that. Edges that merely meet at a point where their line comes by again do
    not follow one another."""
    same = edges.contour[i] == edges.contour[j]
    first, last = leads(edges.contour), lasts(edges.contour)
    pair = np.flatnonzero(same & ((j == i + 1) | (first[i] & last[j])))
    one, other = i[pair], j[pair]
    meet = (edges.end[one] == edges.start[other]).all(axis=1)
    meet |= (edges.end[other] == edges.start[one]).all(axis=1)
    pair = pair[meet]
    u, v = edges.end[i[pair]] - edges.start[i[pair]], edges.end[j[pair]] - edges.start[j[pair]]
    along = dot(u, v)
    # an angle of less than 45 degrees between them
    back = (along < 0.0) & (np.abs(cross(u, v)) < -along)
    turned = np.ones(len(i), bool)
    turned[pair] = back
    return turned


def _beside_line(edges: Edges, i: Index, j: Index) -> Points:
    """The least distance of each edge j from the endless line through edge i."""
    along = edges.end[i] - edges.start[i]
    normal = np.column_stack([-along[:, 1], along[:, 0]]) / np.hypot(*along.T)[:, None]
    one = dot(edges.start[j] - edges.start[i], normal)
    other = dot(edges.end[j] - edges.start[i], normal)
    return np.where(one * other <= 0.0, 0.0, np.minimum(np.abs(one), np.abs(other)))
