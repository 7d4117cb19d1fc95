"""Intervals in bulk: unions of many at once, each within its own group."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.groups import leads

if TYPE_CHECKING:
    from scantling.arrays import Flags, Index, Numbers


def unite(
    group: Index, low: Numbers, high: Numbers, bridge: float = 1e-6
) -> tuple[Index, Numbers, Numbers, Index]:
    """Unions of intervals, each within its own group; gaps up to `bridge` are closed.

    group: whole numbers from 0; low <= high, all of them finite and >= 0.
    Returns group, low and high of the unions, sorted by group, then low, and for each interval
    given the union that it went into.
    """
    if len(group) == 0:
        none = np.zeros(0, np.int64)
        return none, np.zeros(0), np.zeros(0), none
    order = np.lexsort((high, low, group))
    step = float(high.max()) + 2.0 * bridge + 1.0
    shift = group[order] * step
    begins = low[order] + shift
    reached = np.maximum.accumulate(high[order] + shift)
    fresh = np.ones(len(order), bool)
    fresh[1:] = begins[1:] > reached[:-1] + bridge
    at = np.flatnonzero(fresh)
    of = np.empty(len(order), np.int64)
    of[order] = np.cumsum(fresh) - 1
    last = np.append(at[1:], len(order)) - 1
    return group[order][at], low[order][at], reached[last] - shift[last], of


def through_start(
    group: Index, low: Numbers, high: Numbers, total: Numbers, closed: Flags, slack: float = 1e-6
) -> Index:
    """(k,) numbers of intervals along lines; one that ends where its closed line does is one
    with that at the line's start, and has its number.

    As `unite` returns them; total, closed (k,): length of each one's line, and whether it closes.
    """
    number = np.arange(len(group))
    if len(group):
        first = np.flatnonzero(leads(group))
        last = np.append(first[1:], len(group)) - 1
        ends = high[last] >= total[last] - slack
        round_ = closed[last] & (low[first] <= slack) & ends
        number[last[round_]] = first[round_]
    return number
