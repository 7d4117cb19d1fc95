"""The different values of an array."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

T = TypeVar("T", bound=np.generic)


def distinct(values: NDArray[T]) -> NDArray[T]:
    """The different values, in order, without NaN: as `np.unique`, which loads all of numpy's
    masked arrays when it is first called so."""
    ordered = np.sort(values, axis=None)
    first = np.ones(len(ordered), dtype=bool)
    first[1:] = ordered[1:] != ordered[:-1]
    return ordered[first]


def distinct_rows(rows: NDArray[T]) -> NDArray[T]:
    """The different rows of an (n, k) array, in order: as `np.unique` along the first axis."""
    ordered = rows[np.lexsort(rows.T[::-1])]
    first = np.ones(len(ordered), dtype=bool)
    first[1:] = (ordered[1:] != ordered[:-1]).any(axis=1)
    return ordered[first]
