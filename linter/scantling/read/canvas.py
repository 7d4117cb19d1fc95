"""Collects outlines and puts all transforms on at once."""

from __future__ import annotations

from array import array
from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from scantling.read.drawing import ARC, Curves
from scantling.read.limits import Limits
from scantling.read.pathdata import Outline
from scantling.read.transforms import IDENTITY, Matrix

if TYPE_CHECKING:
    from numpy.typing import NDArray

# Which of a segment's four number pairs a translation moves: LINE, CUBIC, ARC (whose second and
# third pairs are directions, and whose last holds two angles).
_MOVED = np.array([[1, 1, 0, 0], [1, 1, 1, 1], [1, 0, 0, 0]], dtype=np.float64)


class Canvas:
    """Outlines in the order they are drawn, each with its matrix to the page."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self.kind = bytearray()
        self.data = array("d")
        self.first = array("q")
        self.closed = bytearray()
        self.ordinal = array("q")
        self.matrices: list[Matrix] = []
        self.segments = array("q")
        self.contours = array("q")

    def __len__(self) -> int:
        return len(self.kind)

    def add(self, outline: Outline, matrix: Matrix) -> range:
        """Add an outline; the numbers of its contours."""
        base, start = len(self.kind), len(self.closed)
        self.kind += outline.kind
        self.data += outline.data
        self.first.extend([base + first for first in outline.first] if base else outline.first)
        self.closed += outline.closed
        self.ordinal.extend(outline.ordinal)
        self.matrices.append(matrix)
        self.segments.append(len(outline.kind))
        self.contours.append(len(outline.closed))
        return range(start, len(self.closed))

    def curves(self, too_far: Callable[[int, int], Exception]) -> Curves:
        """The curves on the page. `too_far(shape, ordinal)` makes the exception for a
        coordinate beyond the limit."""
        kind = np.frombuffer(self.kind, dtype=np.int8)
        count = len(kind)
        data = np.frombuffer(self.data, dtype=np.float64).reshape(count, 4, 2)
        segments = np.frombuffer(self.segments, dtype=np.int64)
        contours = np.frombuffer(self.contours, dtype=np.int64)
        with np.errstate(over="ignore", invalid="ignore"):
            moved = _transformed(kind, data, self.matrices, segments)
        if count and not np.abs(moved).max() <= self.limits.coordinate:  # NaN is not below it
            self._refuse(kind, moved, segments, too_far)
        return Curves(
            kind=kind,
            data=moved.reshape(count, 8),
            first=np.append(np.frombuffer(self.first, dtype=np.int64), count),
            closed=np.frombuffer(self.closed, dtype=np.bool_),
            shape=np.repeat(np.arange(len(contours), dtype=np.int64), contours),
            ordinal=np.frombuffer(self.ordinal, dtype=np.int64),
        )

    def _refuse(
        self,
        kind: NDArray[np.int8],
        moved: NDArray[np.float64],
        segments: NDArray[np.int64],
        too_far: Callable[[int, int], Exception],
    ) -> None:
        """Raise for the first segment that goes too far, if one does: arcs' angles do not."""
        size = np.abs(moved)
        size[kind == ARC, 3] = 0.0
        within = (size <= self.limits.coordinate).all(axis=(1, 2))
        if not within.all():
            wrong = int(np.argmin(within))
            shape = int(np.searchsorted(np.cumsum(segments), wrong, side="right"))
            raise too_far(shape, int(self.ordinal[wrong]))


def _transformed(
    kind: NDArray[np.int8],
    data: NDArray[np.float64],
    matrices: list[Matrix],
    segments: NDArray[np.int64],
) -> NDArray[np.float64]:
    if not len(kind):
        return data.copy()
    a: NDArray[np.float64] | float
    if all(matrix == matrices[0] for matrix in matrices):
        if matrices[0] == IDENTITY:
            return data.copy()
        a, b, c, d, e, f = matrices[0]
    else:
        by_shape = np.array(matrices, dtype=np.float64)
        a, b, c, d, e, f = np.repeat(by_shape, segments, axis=0).T[:, :, None]
    moves = _MOVED[kind]
    x, y = data[:, :, 0], data[:, :, 1]
    moved = np.empty_like(data)
    moved[:, :, 0] = a * x + c * y + e * moves
    moved[:, :, 1] = b * x + d * y + f * moves
    arcs = kind == ARC
    moved[arcs, 3] = data[arcs, 3]
    return moved
