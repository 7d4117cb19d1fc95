"""Along a contour of a sheet: from millimetres of line to the curve that runs there."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scantling.plan.model import Lines
from scantling.read.drawing import Curves

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scantling.arrays import Lengths


class Course:
    """The curves of one contour and how far along it each begins.

    ends     (s+1,)  mm along the contour, as flattened, where each of its s curves begins, and
                     the contour's length
    closed   True where the last curve ends where the first begins
    """

    def __init__(self, lines: Lines, contour: int, curves: Curves, curve: int) -> None:
        first, last = int(lines.first[contour]), int(lines.first[contour + 1])
        xy = lines.xy[first:last]
        self.closed = bool(lines.closed[contour])
        follow = np.roll(xy, -1, axis=0) if self.closed else xy[1:]
        steps = follow - xy[: len(follow)]
        size = np.hypot(steps[:, 0], steps[:, 1])
        begin, many = int(curves.first[curve]), int(curves.first[curve + 1] - curves.first[curve])
        of = lines.segment[first : first + len(size)] - begin
        self._position = np.concatenate(([0.0], np.cumsum(size)))
        self._xy, self._follow = xy[: len(follow)], follow
        self._edge = of
        self._edges = np.bincount(of, minlength=many)
        self._before = np.searchsorted(of, np.arange(many))
        self.ends: Lengths = np.concatenate(([0.0], np.cumsum(np.bincount(of, size, many))))

    @property
    def total(self) -> float:
        return float(self.ends[-1])

    def place(self, along: float) -> tuple[int, float]:
        """The curve at so many mm along, and where on it, 0 to 1."""
        edge = int(np.searchsorted(self._position, along, side="right")) - 1
        edge = min(max(edge, 0), len(self._edge) - 1)
        size = self._position[edge + 1] - self._position[edge]
        share = (along - self._position[edge]) / size if size else 0.0
        curve = int(self._edge[edge])
        t = (edge - int(self._before[curve]) + share) / int(self._edges[curve])
        return curve, float(min(max(t, 0.0), 1.0))

    def point(self, along: float) -> tuple[float, float]:
        """The place at so many mm along."""
        edge = int(np.searchsorted(self._position, along, side="right")) - 1
        edge = min(max(edge, 0), len(self._edge) - 1)
        size = self._position[edge + 1] - self._position[edge]
        share = min(max((along - self._position[edge]) / size, 0.0), 1.0) if size else 0.0
        x, y = (self._xy[edge] + share * (self._follow[edge] - self._xy[edge])).tolist()
        return x, y

    def snapped(self, along: float, within: float) -> float:
        """The place where the nearest curve begins or ends, if it is that near."""
        k = int(np.argmin(np.abs(self.ends - along)))
        return float(self.ends[k]) if abs(self.ends[k] - along) <= within else along

    def nearest(self, curve: int, at: tuple[float, float]) -> tuple[int, float]:
        """The place on one of the curves, as flattened, that is nearest to a point."""
        edges = np.flatnonzero(self._edge == curve)
        start, end = self._xy[edges], self._follow[edges]
        along = end - start
        share = ((np.asarray(at) - start) * along).sum(axis=1) / (along * along).sum(axis=1)
        share = np.clip(share, 0.0, 1.0)
        off = start + share[:, None] * along - np.asarray(at)
        k = int(np.argmin(np.hypot(off[:, 0], off[:, 1])))
        return curve, float((k + share[k]) / len(edges))

    def foot(self, at: tuple[float, float]) -> float:
        """How far along the contour, as flattened, it is nearest to a point, mm."""
        along = self._follow - self._xy
        size = (along * along).sum(axis=1)
        share = ((np.asarray(at) - self._xy) * along).sum(axis=1) / np.where(size > 0.0, size, 1.0)
        share = np.clip(share, 0.0, 1.0)
        off = self._xy + share[:, None] * along - np.asarray(at)
        k = int(np.argmin(np.hypot(off[:, 0], off[:, 1])))
        return float(self._position[k] + share[k] * np.sqrt(size[k]))

    def along(self, curve: int, share: float) -> float:
        """How far along the contour a share of one of its curves is, mm."""
        edges = int(self._edges[curve])
        edge = min(int(share * edges), edges - 1)
        k = int(self._before[curve]) + edge
        size = self._position[k + 1] - self._position[k]
        return float(self._position[k] + (share * edges - edge) * size)

    def between(self, low: float, high: float) -> NDArray[np.bool_]:
        """(n,) which of the contour's points lie between two places, mm along it."""
        many = len(self._xy) + (not self.closed)
        position = self._position[:many]
        return np.asarray((position >= low) & (position <= high))
