"""Which outlines are entangled: those that cross each other or themselves, or run on each other.

What lies between entangled lines was never drawn: slivers, crumbs and gaps there come and go with
the crossing. So whoever judges them wants to know of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.lines.crossings import LOOP
from scantling.measure.lines.joins import Joined
from scantling.measure.model import Crossing, OpenEnd, Overlap, Piece, Spot, Touch
from scantling.measure.segments import distance_to
from scantling.plan.model import Lines
from scantling.records import dataclass

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scantling.arrays import Array, Flags

ON = 1e-4
"""mm: a crossing this near to a corner of a piece is one."""


@dataclass(frozen=True, slots=True)
class Entangled:
    """outline  (m,) number of the outline that each contour of a sheet is part of
    at       (k, 2) crossings; `own` (k,) True where an outline crosses itself
    crossed  pairs of outlines that cross each other, the lower number first
    doubled  pairs that run on each other; `folded` (j, 2) the points where one runs on itself
    closing  (i, 2, 2) from end to start of the open outlines that only a fill closes; `closes` (i,)
             those outlines
    open     open outlines, whether a fill closes them or not; `loose` (e, 2) their loose ends
    grazes   by pair of outlines, (h, 2) where they cross by so little that it is not a crossing
    torn     of the pieces that have a crossing on their outline, by number: the index of one
    """

    outline: NDArray[np.int64]
    at: Array
    own: NDArray[np.bool_]
    crossed: frozenset[tuple[int, int]]
    doubled: frozenset[tuple[int, int]]
    folded: Array
    closing: Array
    closes: NDArray[np.int64]
    open: frozenset[int]
    loose: Array
    grazes: dict[tuple[int, int], Array]
    torn: dict[int, int]

    def pair(self, p: Spot, q: Spot) -> tuple[int, int]:
        """The outlines that two places are on, the lower number first."""
        a, b = int(self.outline[p.contour]), int(self.outline[q.contour])
        return min(a, b), max(a, b)

    def on_closing(self, spot: Spot) -> bool:
        """Whether a place is on a line that is not drawn, but only closes a fill."""
        if int(self.outline[spot.contour]) not in self.open:
            return False
        return bool(self._closings(spot.at).any())

    def made_by_closing(self, touch: Touch) -> bool:
        """Whether outlines touch where a line that only closes a fill ends, or where one runs that
        is none of theirs. (One of theirs may run there by chance: they meet without it.)"""
        at = np.array(touch.first.at)
        if (np.hypot(*(self.closing.reshape(-1, 2) - at).T) <= ON).any():
            return True
        pair = self.pair(touch.first, touch.second)
        return bool((self._closings(touch.first.at) & ~np.isin(self.closes, pair)).any())

    def _closings(self, place: tuple[float, float]) -> Flags:
        """(i,) which of the lines that only close a fill run through a place."""
        at = np.tile(np.array(place), (len(self.closing), 1))
        return np.asarray(distance_to(at, self.closing[:, 0], self.closing[:, 1]) <= ON)

    def between_ends(self, p: Spot, q: Spot) -> bool:
        """Whether both places are loose ends of open outlines."""
        if not len(self.loose):
            return False
        away = [np.hypot(*(self.loose - spot.at).T).min() for spot in (p, q)]
        return bool(max(away) <= ON)

    def near_fold(self, places: Array, within: float) -> bool:
        """Whether one of some places (n, 2) is near a line that runs on its own outline."""
        if not len(self.folded):
            return False
        x, y = (places[:, None, k] - self.folded[None, :, k] for k in (0, 1))
        return bool((x * x + y * y).min() <= within * within)

    def at_graze(self, p: Spot, q: Spot, places: Array, coincidence: float) -> bool:
        """Whether all of some places (n, 2) between two outlines are no further from a graze of
        these than a kink is long."""
        at = self.grazes.get(self.pair(p, q))
        if at is None:
            return False
        within = LOOP * coincidence
        x, y = (places[:, None, k] - at[None, :, k] for k in (0, 1))
        return bool((x * x + y * y).max(axis=0).min() <= within * within)

    def near(self, places: Array, within: float) -> int:
        """The index of a crossing within a distance of one of some places (n, 2) in mm; -1 where
        there is none."""
        if not len(self.at):
            return -1
        x, y = (places[:, None, k] - self.at[None, :, k] for k in (0, 1))
        square = (x * x + y * y).min(axis=0)
        nearest = int(square.argmin())
        return nearest if square[nearest] <= within * within else -1


def outlines(joined: Joined) -> NDArray[np.int64]:
    """Fact: the number (m,) of the outline that each contour is part of: its chain, and a number
    of its own beyond those where it is in none."""
    alone = len(joined.closed) + np.arange(len(joined.chain))
    return np.where(joined.chain >= 0, joined.chain, alone)


def entangled(
    lines: Lines,
    outlines: NDArray[np.int64],
    crossings: Sequence[Crossing],
    grazes: Sequence[Crossing],
    overlaps: Sequence[Overlap],
    open_ends: Sequence[OpenEnd],
    pieces: Sequence[Piece],
) -> Entangled:
    """Fact: the outlines of a sheet that cross or run on each other, or are open."""

    def of(found: Crossing | Overlap) -> tuple[int, int]:
        one, other = int(outlines[found.first.contour]), int(outlines[found.second.contour])
        return min(one, other), max(one, other)

    def pairs(found: Sequence[Crossing | Overlap]) -> frozenset[tuple[int, int]]:
        return frozenset(map(of, found))

    grazing: dict[tuple[int, int], list[tuple[float, float]]] = {}
    for graze in grazes:
        grazing.setdefault(of(graze), []).append(graze.first.at)

    own = [o for o in overlaps if outlines[o.first.contour] == outlines[o.second.contour]]
    open_ = [end for end in open_ends if not all(end.touches)]
    filled = [end for end in open_ if lines.filled[list(end.contours)].all()]
    loose = [
        spot.at
        for end in open_
        for spot, touches in zip((end.start, end.end), end.touches, strict=True)
        if not touches
    ]
    at = np.array([c.first.at for c in crossings], np.float64).reshape(-1, 2)
    return Entangled(
        outline=outlines,
        at=at,
        own=np.array([c.own for c in crossings], bool),
        crossed=pairs([c for c in crossings if not c.own]),
        doubled=frozenset(pair for pair in pairs(overlaps) if pair[0] != pair[1]),
        folded=np.concatenate([np.zeros((0, 2)), *(run for o in own for run in o.runs)]),
        closes=np.array([outlines[end.contours[0]] for end in filled], np.int64),
        closing=np.array([(e.start.at, e.end.at) for e in filled], np.float64).reshape(-1, 2, 2),
        open=frozenset(int(outlines[k]) for e in open_ for k in e.contours),
        loose=np.array(loose, np.float64).reshape(-1, 2),
        grazes={pair: np.array(at) for pair, at in grazing.items()},
        torn=_torn(at, pieces),
    )


def _torn(at: Array, pieces: Sequence[Piece]) -> dict[int, int]:
    import shapely

    if not len(at) or not pieces:
        return {}
    corners, of = shapely.get_coordinates([p.polygon for p in pieces], return_index=True)
    tree = shapely.STRtree(shapely.points(corners))
    crossing, corner = tree.query(shapely.points(at), "dwithin", distance=ON)
    return {
        pieces[k].number: c for k, c in zip(of[corner].tolist(), crossing.tolist(), strict=True)
    }
