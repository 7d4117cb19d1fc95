"""Things in groups: connected by pairs, in a sorted row of labels, or on rings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scantling.arrays import Flags, Index


def connected(n: int, a: Index, b: Index) -> Index:
    """(n,) the smallest member of each thing's group, where a[k] and b[k] belong together.

    Every round hands the smaller label over each tie and then follows labels to their own
    label, so long chains settle in a logarithmic number of rounds.
    """
    label = np.arange(n, dtype=np.int64)
    while len(a):
        low = np.minimum(label[a], label[b])
        settled = label.copy()
        np.minimum.at(settled, label[a], low)
        np.minimum.at(settled, label[b], low)
        while True:
            jumped = settled[settled]
            if (jumped == settled).all():
                break
            settled = jumped
        if (settled == label).all():
            break
        label = settled
    return label


def spanning(n: int, a: Index, b: Index) -> Flags:
    """(e,) of ties in order of preference, True for those that span each group of n things as a
    tree: the first that are needed to hold it together.

    Borůvka's algorithm: every group takes its first tie to another, in rounds.
    """
    group = np.arange(n)
    chosen = np.zeros(len(a), bool)
    while True:
        one, other = group[a], group[b]
        open_ = np.flatnonzero(one != other)
        if len(open_) == 0:
            return chosen
        best = np.full(n, len(a))
        np.minimum.at(best, one[open_], open_)
        np.minimum.at(best, other[open_], open_)
        chosen[best[best < len(a)]] = True
        group = connected(n, a[chosen], b[chosen])


def stretches(begin: Index, size: Index) -> tuple[Index, Index]:
    """The indices begin[k] … begin[k] + size[k] - 1 of every k, one after another, and their k."""
    of = np.repeat(np.arange(len(begin)), size)
    before = np.cumsum(size) - size
    return begin[of] + np.arange(len(of)) - before[of], of


def leads(label: NDArray[Any]) -> Flags:
    """(n,) True for the first of each label in a sorted row of them."""
    lead = np.ones(len(label), bool)
    np.not_equal(label[1:], label[:-1], out=lead[1:])
    return lead


def lasts(label: NDArray[Any]) -> Flags:
    """(n,) True for the last of each label in a sorted row of them."""
    last = np.ones(len(label), bool)
    np.not_equal(label[1:], label[:-1], out=last[:-1])
    return last


def onward(first: Index) -> Index:
    """(n,) the point that follows each round its ring; ring k is first[k]:first[k+1]."""
    after = np.arange(1, int(first[-1]) + 1)
    some = first[1:] > first[:-1]
    after[first[1:][some] - 1] = first[:-1][some]
    return after
