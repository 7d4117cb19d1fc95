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
from scantling.measure.segments import cross
from scantling.measure.winding import counts, rays
from scantling.plan.model import CUT, OPERATIONS, Lines
from scantling.read.drawing import Drawing

Points = NDArray[np.float64]
Index = NDArray[np.int64]
Flags = NDArray[np.bool_]


SAME = 0.9
"""share of a ring's length that lies on fills, from which on it tells nothing new"""


@dataclass(frozen=True, slots=True)
class Material:
    """What fills and stroked rings make solid: e edges in g groups.

    start, end (e, 2)  edges of all fills, each closed, and of the stroked rings that count
    group      (e,)    what they belong to: a shape of the drawing, or `shapes` + a chain
    odd        (g,)    True for groups that are filled by the even-odd rule
    stroke     (g,)    True for groups that are stroked rings
    """

    start: Points
    end: Points
    group: Index
    odd: Flags
    stroke: Flags
    shapes: int

    def solid(
        self, centre: Points, knot: Index, open_: Flags, parent: Index, knot_of: Index
    ) -> Flags:
        """(f,) True where the face with this inner point is solid.

        knot, open_, parent: of `faces.Regions`; knot_of (r,): the knot of each chain. A face
        that no ring goes around, but lines that meet without being rings, counts as ringed.
        """
        point, edge, sign = rays(centre, self.start, self.end)
        face, group, winding, number = counts(point, self.group[edge], sign, len(self.odd))
        odd, stroke = number % 2 == 1, self.stroke[group]
        covers = ~stroke & np.where(self.odd[group], odd, winding != 0)
        filled = np.bincount(face[covers], minlength=len(centre)) > 0
        around = np.bincount(face[stroke & odd], minlength=len(centre))
        if open_.any():
            chain = np.where(stroke, group - self.shapes, 0)
            own = stroke & odd & (knot_of[chain] == knot[face])
            ringed = np.bincount(face[own], minlength=len(centre)) > 0
            bare = (open_ & ~ringed & ~filled).astype(np.int64)
            ancestor = np.arange(len(centre))
            while (ancestor >= 0).any():
                around = around + np.where(ancestor >= 0, bare[ancestor], 0)
                ancestor = np.where(ancestor >= 0, parent[ancestor], -1)
        return np.asarray(filled != (around % 2 == 1))


def material(lines: Lines, drawing: Drawing, joined: Joined, runs: Runs) -> Material:
    """What is material on a sheet."""
    shapes, chains = len(drawing.shapes), len(joined.closed)
    cut = lines.operation == OPERATIONS.index(CUT)
    contour = np.repeat(np.arange(len(lines.closed)), np.diff(lines.first))
    of_fill = np.flatnonzero((lines.filled & cut)[contour])
    last = np.append(contour[1:] != contour[:-1], True)[: len(contour)]
    after = np.where(last, lines.first[contour], np.arange(1, len(contour) + 1))

    # Fills that are joined of several contours cover what they enclose together as well.
    several = np.diff(joined.first) > 1
    counted = joined.ring & np.where(joined.filled, several, _adds(lines, joined, runs))
    chain = joined.of_point
    of_ring = np.flatnonzero(counted[chain])
    onward = following(joined)[of_ring]
    rules = [shape.fill_rule == "evenodd" for shape in drawing.shapes]
    at = joined.xy[joined.point]
    return Material(
        start=np.concatenate([lines.xy[of_fill], at[of_ring]]),
        end=np.concatenate([lines.xy[after[of_fill]], at[onward]]),
        group=np.concatenate([lines.shape[contour[of_fill]], shapes + chain[of_ring]]),
        odd=np.concatenate([np.array(rules, bool), np.zeros(chains, bool)]),
        stroke=np.concatenate([np.zeros(shapes, bool), ~joined.filled]),
        shapes=shapes,
    )


def _adds(lines: Lines, joined: Joined, runs: Runs) -> Flags:
    """(r,) False for stroked rings that add nothing to what they run along."""
    adds = np.ones(len(joined.closed), bool)
    if not len(runs.later):
        return adds
    on_fill = np.zeros(len(lines.closed))
    for mine, other in ((runs.later, runs.earlier), (runs.earlier, runs.later)):
        mixed = lines.filled[other] & ~lines.filled[mine]
        np.add.at(on_fill, mine[mixed], runs.shared[mixed])
    total = runs.ruler.total
    along = np.bincount(_of(joined), on_fill[joined.contours], len(adds))
    adds &= along < SAME * np.bincount(_of(joined), total[joined.contours], len(adds))

    a, b = joined.chain[runs.later], joined.chain[runs.earlier]
    both = (a >= 0) & (b >= 0) & (a != b)
    both &= joined.ring[a] & joined.ring[b]
    for inner, _ in _inside(joined, np.unique(np.column_stack([a, b])[both], axis=0)):
        adds[inner] = False
    return adds


def _of(joined: Joined) -> Index:
    """The chain of each of Joined.contours."""
    return np.repeat(np.arange(len(joined.closed)), np.diff(joined.first))


def _inside(joined: Joined, pairs: Index) -> list[tuple[int, int]]:
    """Of pairs of rings that share line, those of which one lies in the other: (inner, outer)."""
    import shapely

    found = []
    for a, b in pairs.tolist():
        rings = [joined.xy[joined.point[joined.start[k] : joined.start[k + 1]]] for k in (a, b)]
        areas = [abs(float(cross(ring[:-1] - ring[0], ring[1:] - ring[0]).sum())) for ring in rings]
        small, large = (0, 1) if areas[0] <= areas[1] else (1, 0)
        if (rings[small].min(axis=0) < rings[large].min(axis=0) - 1.0).any():
            continue
        inner = shapely.get_coordinates(
            shapely.point_on_surface(shapely.make_valid(shapely.Polygon(rings[small])))
        )
        point, _, _ = rays(inner, rings[large], np.roll(rings[large], -1, axis=0))
        if len(point) % 2 == 1:
            found.append(((a, b)[small], (a, b)[large]))
    return found
