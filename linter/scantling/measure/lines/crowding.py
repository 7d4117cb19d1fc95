"""Crowding: how close together the drawing's nodes lie along its outlines.

A node is where one segment of the drawing ends and the next begins; the points of a flattened
curve are none. A machine plans every segment afresh, so a run of very short ones makes it stutter.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.groups import lasts, leads, onward
from scantling.measure.model import Crowd, Spot
from scantling.plan.model import ENGRAVE, GUIDE, Lines
from scantling.records import dataclass

if TYPE_CHECKING:
    from scantling.arrays import Flags, Index, Lengths


@dataclass(frozen=True, slots=True)
class Crowding:
    """The segments of all lines that a tool follows, to be asked where they are short.

    first    (s,)    point of `lines` where each segment begins
    points   (s,)    how many points of `lines` it has, without its end
    length   (s,)    mm
    contour  (s,)    increasing
    """

    lines: Lines
    first: Index
    points: Index
    length: Lengths
    contour: Index

    def closer(self, spacing: float, nodes: int) -> tuple[Crowd, ...]:
        """The stretches of at least so many segments, any so many of which in a row have a mean
        length below the spacing, mm; in drawing order."""
        many = len(self.length)
        if nodes < 1 or many < nodes:
            return ()
        begin = np.searchsorted(self.contour, self.contour)
        end = np.searchsorted(self.contour, self.contour, side="right")
        along = np.concatenate([[0.0], np.cumsum(self.length)])
        stop = np.arange(many) + nodes
        over = np.maximum(stop - end, 0)
        fits = (over == 0) | (self.lines.closed[self.contour] & (end - begin >= nodes))
        over, stop = np.where(fits, over, 0), np.where(fits, np.minimum(stop, end), 0)
        total = along[stop] - along[:-1] + along[begin + over] - along[begin]
        short = fits & (total < spacing * nodes)
        # Every segment of such a row counts, of those that go round as well.
        edges = np.zeros(many + 1, np.int64)
        np.add.at(edges, np.flatnonzero(short), 1)
        np.add.at(edges, stop[short], -1)
        np.add.at(edges, begin[short & (over > 0)], 1)
        np.add.at(edges, (begin + over)[short & (over > 0)], -1)
        return self._crowds(np.cumsum(edges[:-1]) > 0, begin, end)

    def _crowds(self, crowded: Flags, begin: Index, end: Index) -> tuple[Crowd, ...]:
        change = np.append(True, (crowded[1:] != crowded[:-1]) | (begin[1:] != begin[:-1]))
        first = np.flatnonzero(change)
        last = np.append(first[1:], len(crowded))
        found: list[list[tuple[int, int]]] = []
        heads: dict[int, list[tuple[int, int]]] = {}
        for a, b in zip(first.tolist(), last.tolist(), strict=True):
            if not crowded[a]:
                continue
            head = heads.get(int(begin[a]))
            if b == end[a] and head is not None and self.lines.closed[self.contour[a]]:
                # The stretch goes through the first point of its contour.
                head.insert(0, (a, b))
                continue
            found.append([(a, b)])
            if a == begin[a]:
                heads[a] = found[-1]
        return tuple(self._crowd(run) for run in found)

    def _crowd(self, run: list[tuple[int, int]]) -> Crowd:
        lines = self.lines
        contour = int(self.contour[run[0][0]])
        segments = np.concatenate([np.arange(a, b) for a, b in run])
        points = np.concatenate(
            [np.arange(self.first[a], self.first[b - 1] + self.points[b - 1]) for a, b in run]
        )
        last = int(points[-1]) + 1
        if last == lines.first[contour + 1]:
            last = int(lines.first[contour]) if lines.closed[contour] else int(points[-1])
        path = lines.xy[np.append(points, last)]
        length = float(self.length[segments].sum())
        return Crowd(
            start=self._spot(path[0], contour, int(segments[0])),
            end=self._spot(path[-1], contour, int(segments[-1])),
            nodes=len(segments),
            length=length,
            spacing=length / len(segments),
            path=path,
        )

    def _spot(self, at: Lengths, contour: int, segment: int) -> Spot:
        x, y = at.tolist()
        return Spot((x, y), contour, int(self.lines.segment[self.first[segment]]))


def crowding(lines: Lines) -> Crowding:
    """Fact: the segments of all lines that a tool follows: all but guides and engraved areas."""
    area = lines.of(ENGRAVE) & lines.filled
    followed = ~lines.of(GUIDE) & ~area
    contour = np.repeat(np.arange(len(lines.closed)), np.diff(lines.first))
    size = np.hypot(*(lines.xy[onward(lines.first)] - lines.xy).T)
    last = lasts(contour)
    there = followed[contour] & ~(last & ~lines.closed[contour])
    fresh = leads(contour)
    fresh[1:] |= lines.segment[1:] != lines.segment[:-1]
    number = np.cumsum(fresh) - 1
    first = np.flatnonzero(fresh)
    points = np.bincount(number, there, len(first)).astype(np.int64)
    length = np.asarray(np.bincount(number, np.where(there, size, 0.0), len(first)), float)
    kept = points > 0
    return Crowding(lines, first[kept], points[kept], length[kept], contour[first][kept])
