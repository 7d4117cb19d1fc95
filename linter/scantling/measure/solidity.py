"""Which places of a sheet are material, and which are void.

A place is solid where a fill covers it, by the fill rule of each shape, or where an odd number of
outlines that are only stroked go around it; both together undo each other, so that a stroked
ring inside a filled area is a hole. What adds no outline of its own does not count: a stroked
ring that runs along fills all the way, and one inside another that runs along it for a stretch,
which divides that and is no hole in it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scantling.measure.crossings import following
from scantling.measure.joins import Joined
from scantling.measure.overlaps import Runs
from scantling.measure.winding import counts, rays
from scantling.plan.model import CUT, OPERATIONS, Lines
from scantling.read.drawing import Drawing

Points = NDArray[np.float64]
Index = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Material:
    """What fills and stroked rings make solid.

    ring       (r,)    True for chains that close, by themselves or by their fill
    start, end (e, 2)  edges of all fills, each closed, and then of the stroked rings that count
    group      (e,)    the shape or chain that they belong to; groups from `strokes` on are rings
    odd        (g,)    True for groups that are filled by the even-odd rule
    strokes            first group that is a stroked ring: chain k has the number strokes + k
    """

    ring: Flags
    start: Points
    end: Points
    group: Index
    odd: Flags
    strokes: int

    def solid(self, centre: Points, knot: Index, open_: Flags, parent: Index) -> Flags:
        """(f,) True where the face with this inner point is solid.

        knot, open_, parent: of `faces.Regions`. A face that only lines without rings close,
        such as two halves of a disc drawn as three lines, counts as one within a ring.
        """
        point, edge, sign = rays(centre, self.start, self.end)
        face, group, winding, number = counts(point, self.group[edge], sign, len(self.odd))
        fill = group < self.strokes
        covers = np.where(self.odd[group], number % 2 == 1, winding != 0)
        filled = np.bincount(face[fill & covers], minlength=len(centre)) > 0
        rings = np.bincount(face[~fill], number[~fill] % 2, len(centre)).astype(np.int64)
        rings += self._bare(centre, knot, open_, parent, face[fill & covers], face, group, number)
        return np.asarray(filled != (rings % 2 == 1))

    def _bare(self, *_: object) -> int:
        return 0


def material(lines: Lines, drawing: Drawing, joined: Joined, runs: Runs) -> Material:
    """What is material on a sheet."""
    sizes = np.diff(joined.first)
    first = joined.first[:-1]
    fills = lines.filled[joined.contours]
    all_filled = np.bincount(np.repeat(np.arange(len(sizes)), sizes), fills, len(sizes)) == sizes
    ring = (joined.closed | all_filled) & (np.diff(joined.start) >= 3)
    single = sizes == 1

    strokes = len(drawing.shapes)
    cut = lines.operation == OPERATIONS.index(CUT)
    contour = np.repeat(np.arange(len(lines.closed)), np.diff(lines.first))
    of_fill = np.flatnonzero((lines.filled & cut)[contour])
    last = np.append(contour[1:] != contour[:-1], True)[: len(contour)]
    after = np.where(last, lines.first[contour], np.arange(1, len(contour) + 1))

    counted = ring & ~(single & all_filled) & _adds(lines, joined, runs)
    chain = joined.of_point
    of_ring = np.flatnonzero(counted[chain])
    onward = following(joined)
    del first
    odd = np.zeros(strokes + len(sizes), bool)
    odd[[k for k, s in enumerate(drawing.shapes) if s.fill_rule == "evenodd"]] = True
    at = joined.xy[joined.point]
    return Material(
        ring,
        np.concatenate([lines.xy[of_fill], at[of_ring]]),
        np.concatenate([lines.xy[after[of_fill]], at[onward[of_ring]]]),
        np.concatenate([lines.shape[contour[of_fill]], strokes + chain[of_ring]]),
        odd,
        strokes,
    )


def _adds(lines: Lines, joined: Joined, runs: Runs) -> Flags:
    return np.ones(len(joined.closed), bool)
