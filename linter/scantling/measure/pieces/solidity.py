"""Which places of a sheet are material, and which are void.

A fill covers material, by the fill rule of each shape; a ring that is only stroked turns what lies
within it from material into void, or from void into material. So stroked rings alone count by how
deep they lie, a stroked ring in a filled area is a hole, and so is a filled eye in the stroked
outline of a face; a filled disc within a stroked hole in a filled board is material again. Fills
within fills cover what is covered already.

What adds no outline of its own does not count: a stroked ring that runs along fills all the way,
and one inside another that runs along it for a stretch, which divides that and is no hole in it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.distinct import distinct, distinct_rows
from scantling.measure.groups import onward, stretches
from scantling.measure.lines.joins import Joined
from scantling.measure.lines.overlaps import Runs
from scantling.measure.pieces.winding import counts, rays
from scantling.measure.segments import cross
from scantling.plan.model import CUT, Lines
from scantling.read.drawing import Drawing
from scantling.records import dataclass

if TYPE_CHECKING:
    from scantling.arrays import Flags, Index, Points


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
        face, group, winding, number, some = counts(point, self.group[edge], sign, len(self.odd))
        odd, stroke = number % 2 == 1, self.stroke[group]
        covers = ~stroke & np.where(self.odd[group], odd, winding != 0)
        around = stroke & odd
        turns = np.bincount(face[around], minlength=len(centre))
        level = self._level(face[covers], edge[some[covers]], face[around], group[around])
        layers = distinct_rows(np.column_stack([face[covers], level]))[:, 0]
        turns += np.bincount(layers, minlength=len(centre))
        if open_.any():
            chain = np.where(stroke, group - self.shapes, 0)
            own = covers | (around & (knot_of[chain] == knot[face]))
            bare = open_ & (np.bincount(face[own], minlength=len(centre)) == 0)
            ancestor = np.arange(len(centre))
            while (ancestor >= 0).any():
                turns += (ancestor >= 0) & bare[ancestor]
                ancestor = np.where(ancestor >= 0, parent[ancestor], -1)
        return np.asarray(turns % 2 == 1)

    def _level(self, face: Index, edge: Index, ringed: Index, ring: Index) -> Index:
        """How many of the stroked rings around a face go around a fill that covers it as well.

        face, edge: pairs of faces and edges of fills around them; ringed, ring: of faces and
        the stroked rings around them.
        """
        level = np.zeros(len(face), np.int64)
        both = np.flatnonzero(np.isin(face, ringed))
        if not len(both):
            return level
        strokes = np.flatnonzero(self.stroke[self.group])
        fill, which = np.unique(edge[both], return_inverse=True)
        point, crossed, sign = rays(self.start[fill], self.start[strokes], self.end[strokes])
        of, around, _, number, _ = counts(point, self.group[strokes[crossed]], sign, len(self.odd))
        of, around = of[number % 2 == 1], around[number % 2 == 1]
        first = np.searchsorted(of, np.arange(len(fill) + 1))
        pick, pair = stretches(first[which], np.diff(first)[which])
        key = face[both][pair] * len(self.odd) + around[pick]
        common = np.isin(key, ringed * len(self.odd) + ring)
        level[both] = np.bincount(pair, common, len(both))
        return level


def material(lines: Lines, drawing: Drawing, joined: Joined, runs: Runs) -> Material:
    """What is material on a sheet."""
    shapes, chains = len(drawing.shapes), len(joined.closed)
    cut = lines.of(CUT)
    contour = np.repeat(np.arange(len(lines.closed)), np.diff(lines.first))
    of_fill = np.flatnonzero((lines.filled & cut)[contour])

    # Fills that are joined of several contours cover what they enclose together as well.
    several = np.diff(joined.first) > 1
    counted = joined.ring & np.where(joined.filled, several, _adds(lines, joined, runs))
    chain = joined.of_point
    of_ring = np.flatnonzero(counted[chain])
    rules = [shape.fill_rule == "evenodd" for shape in drawing.shapes]
    at = joined.xy[joined.point]
    return Material(
        start=np.concatenate([lines.xy[of_fill], at[of_ring]]),
        end=np.concatenate([lines.xy[onward(lines.first)[of_fill]], at[joined.after[of_ring]]]),
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
    cut = (a >= 0) & (b >= 0) & (a != b)
    a, b = a[cut], b[cut]
    both = joined.ring[a] & joined.ring[b] & ~(joined.filled[a] & joined.filled[b])
    adds[_inside(joined, distinct_rows(np.column_stack([a, b])[both]))] = False
    return adds


def _of(joined: Joined) -> Index:
    """The chain of each of Joined.contours."""
    return np.repeat(np.arange(len(joined.closed)), np.diff(joined.first))


def _inside(joined: Joined, pairs: Index) -> list[int]:
    """Of pairs of rings that share line, each that lies in the other."""
    if not len(pairs):
        return []
    import shapely

    rings = {
        k: joined.xy[joined.point[joined.start[k] : joined.start[k + 1]]]
        for k in distinct(pairs).tolist()
    }
    box = {k: np.concatenate([ring.min(axis=0), -ring.max(axis=0)]) for k, ring in rings.items()}
    area = {k: _area(ring) for k, ring in rings.items()}
    found = []
    for a, b in pairs.tolist():
        small, large = (a, b) if area[a] <= area[b] else (b, a)
        if (box[small] < box[large] - 1.0).any():
            continue
        shape = shapely.make_valid(shapely.Polygon(rings[small]))
        inner = shapely.get_coordinates(shapely.point_on_surface(shape))
        point, _, _ = rays(inner, rings[large], np.roll(rings[large], -1, axis=0))
        if len(point) % 2 == 1:
            found.append(small)
    return found


def _area(ring: Points) -> float:
    """What a ring goes around, once."""
    corner = ring - ring[0]
    return abs(float(cross(corner[:-1], corner[1:]).sum()))
