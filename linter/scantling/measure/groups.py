"""Connected groups of numbered things."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from scantling.arrays import Index


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


def stretches(begin: Index, size: Index) -> tuple[Index, Index]:
    """The indices begin[k] … begin[k] + size[k] - 1 of every k, one after another, and their k."""
    of = np.repeat(np.arange(len(begin)), size)
    before = np.cumsum(size) - size
    return begin[of] + np.arange(len(of)) - before[of], of
