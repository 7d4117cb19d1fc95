"""Fits: parts and the openings that they go into, and how much room there is between them.

An opening is an inner outline of a part. Part and opening match where a shift and a turn lay the
one's outline on the other's, grown or shrunk by an even margin: an inlay, a jigsaw's piece, a
template drawn around the parts that it places. The margin, the clearance per side, comes from areas
and lengths alone: for outlines a constant distance d apart, the lengths differ in proportion to d
and the areas by d times the mean of the lengths (Steiner's formula; for mitred corners alike).

Outlines are compared by numbers that no shift or turn changes; only one of each kind, and only
those whose numbers agree, are laid on one another.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.measure.assembly.moments import SAME, Figures, alike, figures, turns
from scantling.measure.facts import Facts
from scantling.measure.model import Arrangement, Piece, Spot
from scantling.plan.model import Design, Sheet
from scantling.records import NamedTuple, dataclass

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scantling.arrays import Array, Complex, Index


LOOSE = 0.5
"""mm: more clearance, or interference, than this on every side is not a fit (common practice)."""
EVEN = 0.1
"""mm: how far an outline may depart from the even margin, corners aside: it may be drawn by hand,
or flattened another way."""
BREADTH = 0.2
"""Of a slight outline, both are less: LOOSE no more than this share of its breadth, 2 · area /
length, which is the radius of a disc; EVEN no more than a quarter of it. What is tiny is like
anything else that is."""
LEAST = 1.0
"""mm: outlines of less breadth go into nothing."""


class Side(NamedTuple):
    """An opening, or a part, as one side of a fit."""

    sheet: Sheet
    piece: Piece
    """the part, or the one that the opening is in"""
    spot: Spot


@dataclass(frozen=True)
class Fit:
    """Openings of one kind and parts of one kind that match. mm.

    openings, parts  all of them; the first of each are the two nearest to each other
    drawn       mean clearance per side as drawn, below 0 where the part is larger
    laid        the part and the opening, laid on one another (shapely)
    kerf        what the cuts add on each side
    apart       between the middles of the nearest two: 0 where they are drawn in their place
    kinds       numbers of the kinds of the openings and of the parts
    """

    openings: tuple[Side, ...]
    parts: tuple[Side, ...]
    drawn: float
    laid: tuple[Any, Any]
    kerf: float
    apart: float
    kinds: tuple[int, int]

    @property
    def in_place(self) -> bool:
        """Whether the nearest two are drawn in each other."""
        return self.apart <= LOOSE

    @property
    def clearance(self) -> float:
        """Mean clearance per side, finished."""
        return self.drawn + self.kerf

    @cached_property
    def least(self) -> float:
        """How far the part may grow on every side, as drawn, before it touches the opening that
        it is laid into; below 0, what it must shrink to go in. Sought when it is asked for."""
        return _least(*self.laid)

    @property
    def tightest(self) -> float:
        """Least clearance per side, finished."""
        return self.least + self.kerf


def fits(layers: Sequence[tuple[Sheet, Facts]], design: Design | None) -> tuple[Fit, ...]:
    """Fact of a drawing: the openings and parts that match, on one sheet or on two, in the order
    of the sheets. They are only looked for where the design wants a fit."""
    if design is None or design.fit is None:
        return ()
    table = _Table.of(layers)
    found = [_fit(table, *pair) for pair in _candidates(table)]
    return tuple(fit for fit in found if fit is not None)


# The outlines of all sheets, and their kinds


@dataclass(frozen=True, slots=True)
class _Table:
    """All outlines, n of them, openings and parts; and their kinds, k of them.

    first of kind: the number of its first outline. kind k holds members[k].
    """

    sides: tuple[Side, ...]
    rings: tuple[Array, ...]
    figures: Figures
    opening: NDArray[np.bool_]
    members: tuple[Index, ...]

    @classmethod
    def of(cls, layers: Sequence[tuple[Sheet, Facts]]) -> _Table:
        sides: list[Side] = []
        rings: list[Array] = []
        opening: list[NDArray[np.bool_]] = []
        sheet_of: list[int] = []
        for number, (sheet, facts) in enumerate(layers):
            arrangement: Arrangement = facts["arrangement"]
            begin = arrangement.first[:-1]
            if not len(begin):
                continue
            pieces = facts["pieces"]
            rings += np.split(arrangement.xy, arrangement.first[1:-1])
            opening.append(~arrangement.outer)
            sheet_of += [number] * len(begin)
            sides += [
                Side(sheet, pieces[face], Spot((x, y), contour, segment))
                for face, (x, y), contour, segment in zip(
                    arrangement.face.tolist(),
                    arrangement.xy[begin].tolist(),
                    arrangement.contour[begin].tolist(),
                    arrangement.segment[begin].tolist(),
                    strict=True,
                )
            ]
        if not rings:
            nothing = figures(np.zeros((0, 2)), np.zeros(1, np.int64))
            return cls((), (), nothing, np.zeros(0, bool), ())
        is_opening = np.concatenate(opening)
        first = np.concatenate([[0], np.cumsum([len(ring) for ring in rings])])
        of = figures(np.concatenate(rings), first)
        values = np.column_stack([np.array(sheet_of), is_opening, of.invariants()])
        label = alike(values, SAME)
        order = np.argsort(label, kind="stable")
        kinds = np.split(order, np.flatnonzero(np.diff(label[order])) + 1)
        kinds.sort(key=lambda members: int(members[0]))
        return cls(tuple(sides), tuple(rings), of, is_opening, tuple(kinds))


def _candidates(table: _Table) -> list[tuple[int, int, float]]:
    """Kinds of openings and of parts that may match by their sizes, with the margin between."""
    import shapely

    head = np.array([int(members[0]) for members in table.members], np.int64)
    of = table.figures
    area, length, spread = of.area[head], of.length[head], of.spread[head]
    breadth = 2.0 * area / length
    is_opening, large = table.opening[head], breadth >= LEAST
    gaps, parts = np.flatnonzero(is_opening & large), np.flatnonzero(~is_opening & large)
    if not len(gaps) or not len(parts):
        return []
    room = np.stack([LOOSE * length * 1.5 + 10.0 * LOOSE**2, 0.02 * length + 60.0 * LOOSE])
    low, high = np.stack([area, length]) - room, np.stack([area, length]) + room
    windows = shapely.box(low[0, gaps], low[1, gaps], high[0, gaps], high[1, gaps])
    tree = shapely.STRtree(shapely.points(area[parts], length[parts]))
    a, b = tree.query(windows, "intersects")
    a, b = gaps[a], parts[b]
    margin = 2.0 * (area[a] - area[b]) / (length[a] + length[b])
    size = np.abs(margin)
    near = size <= np.minimum(LOOSE, BREADTH * breadth[a])
    near &= np.abs(length[a] - length[b]) <= 0.02 * length[a] + 60.0 * size
    # a strip of that margin along the outline moves a radius of gyration by no more than this
    moves = 0.1 + 0.02 * spread[a, 0] + size * (1.0 + length[a] * spread[a, 0] / area[a])
    near &= (np.abs(spread[a] - spread[b]) <= moves[:, None]).all(axis=1)
    a, b, margin = a[near], b[near], margin[near]
    unlike = _unlike_when_grown(table, head, a, b, margin)
    keep = np.flatnonzero(unlike <= 1.0)
    keep = keep[_likeliest(b[keep], unlike[keep] + np.abs(margin[keep]))]
    order = keep[np.lexsort((b[keep], a[keep]))]
    return [
        (i, j, d)
        for i, j, d in zip(
            a[order].tolist(), b[order].tolist(), margin[order].tolist(), strict=True
        )
    ]


def _likeliest(group: Index, score: Array) -> Index:
    """The few of each group with the least score, so that a crowd of outlines which are all much
    alike takes no more time than any other."""
    order = np.lexsort((score, group))
    place = np.arange(len(order)) - np.searchsorted(group[order], group[order])
    return order[place < FEW]


FEW = 8
"""So many kinds of openings are tried for each kind of part, at most."""


def _unlike_when_grown(
    table: _Table, head: Index, openings: Index, parts: Index, margin: Array
) -> Array:
    """How far the invariants of pairs differ, once the part is grown by the margin, as a share of
    what is allowed.

    How the invariants of a part change as it grows is told by the part as it is, a little smaller
    and a little larger: a parabola. What an uneven margin may make of them is told by their slope.
    """
    kinds, of = np.unique(parts, return_inverse=True)
    plain = table.figures.invariants()
    same = plain[head[kinds]]
    less, more = (_grown(table, head[kinds], by) for by in (-STEP, STEP))
    slope, bend = (more - less) / (2.0 * STEP), (more + less - 2.0 * same) / (2.0 * STEP**2)
    d = margin[:, None]
    expected = same[of] + d * slope[of] + d**2 * bend[of]
    figures_ = table.figures
    breadth = 2.0 * figures_.area / figures_.length
    even = np.minimum(EVEN, BREADTH / 4.0 * breadth[head[openings]])[:, None]
    off = np.abs(plain[head[openings]] - expected)
    # lengths say less: corners that are round or sharp make much of them
    told = np.arange(plain.shape[1]) != 1
    share = (off / (2.0 * even * (1.0 + np.abs(slope[of]))))[:, told]
    # where a part does not stay in one piece nothing is expected of it
    return np.asarray(np.nan_to_num(share).max(axis=1, initial=0.0))


STEP = 0.2
"""mm by which parts are grown and shrunk to see how their invariants change."""


def _grown(table: _Table, which: Index, by: float) -> Array:
    """The invariants of some outlines grown on every side; NaN where they fall apart."""
    import shapely

    found = np.full((len(which), table.figures.invariants().shape[1]), np.nan)
    grown = [_offset(shapely.Polygon(table.rings[k]), by) for k in which.tolist()]
    whole = [k for k, figure in enumerate(grown) if _is_whole(figure)]
    if whole:
        rings = [shapely.get_coordinates(grown[k])[:-1] for k in whole]
        found[whole] = figures(
            np.concatenate(rings), np.cumsum([0, *(len(ring) for ring in rings)])
        ).invariants()
    return found


def _is_whole(figure: Any) -> bool:
    return figure.geom_type == "Polygon" and not figure.is_empty and not len(figure.interiors)


# One on the other


def _fit(table: _Table, opening_kind: int, part_kind: int, margin: float) -> Fit | None:
    sides = table.sides
    openings, parts = table.members[opening_kind], table.members[part_kind]
    own = {(sides[k].sheet.label, sides[k].piece.number) for k in openings}
    if own == {(sides[k].sheet.label, sides[k].piece.number) for k in parts}:
        return None  # a thin ring does not go into itself
    laid = _laid_on(table.rings[openings[0]], table.rings[parts[0]], margin)
    if laid is None:
        return None
    first, second, apart = _nearest(table.figures.centre, openings, parts)
    chosen = [
        tuple(sides[k] for k in (head, *(k for k in members if k != head)))
        for head, members in ((first, openings.tolist()), (second, parts.tolist()))
    ]
    return Fit(
        openings=chosen[0],
        parts=chosen[1],
        drawn=margin,
        laid=laid,
        kerf=(sides[first].sheet.stock.slot + sides[second].sheet.stock.slot) / 2.0,
        apart=apart,
        kinds=(opening_kind, part_kind),
    )


def _nearest(centre: Complex, openings: Index, parts: Index) -> tuple[int, int, float]:
    """The opening and the part whose middles are nearest, and how near."""
    import shapely

    if len(openings) == len(parts) == 1:
        one, other = int(openings[0]), int(parts[0])
        return one, other, float(abs(centre[one] - centre[other]))
    at = shapely.points(centre.real, centre.imag)
    found, distance = shapely.STRtree(at[parts]).query_nearest(at[openings], return_distance=True)
    pick = int(np.lexsort((found[1], found[0], np.round(distance, 6)))[0])
    return int(openings[found[0, pick]]), int(parts[found[1, pick]]), float(distance[pick])


def _laid_on(opening: Array, part: Array, margin: float) -> tuple[Any, Any] | None:
    """A part and the opening that it is laid into, both (n, 2) rings, as shapely polygons about
    the middle of the opening. None where they do not share their outline.

    The part is grown by the margin and laid on the opening, centroid on centroid, at the angles
    that may be right. What the one has and the other has not must be a strip no wider than twice
    EVEN, which leaves corners free to be sharp or round.
    """
    import shapely

    hole, plate = shapely.Polygon(opening), shapely.Polygon(part)
    grown = _offset(plate, margin)
    if not _is_whole(grown):
        return None
    z, middle = _about_centroid(grown)
    target, there = _about_centroid(hole)
    best, turn = np.inf, 0.0
    goal = _polygon(target)
    for angle in _likely(turns(z, target), z, goal):
        other = shapely.symmetric_difference(_polygon(z * np.exp(1j * angle)), goal)
        if other.area < best - 1e-9:
            best, turn, differ = other.area, angle, other
    even = min(EVEN, BREADTH / 4.0 * 2.0 * hole.area / hole.length)
    if not np.isfinite(best) or not shapely.buffer(differ, -even, quad_segs=4).is_empty:
        return None
    laid = (part[:, 0] + 1j * part[:, 1] - middle) * np.exp(1j * turn)
    return _polygon(laid), _polygon(opening[:, 0] + 1j * opening[:, 1] - there)


def _likely(angles: Array, ring: Complex, goal: Any) -> list[float]:
    """Of many angles the two at which some points of a ring are nearest to the goal's outline:
    quicker than to lay it on at each."""
    import shapely

    if len(angles) <= 2:
        return list(angles.tolist())
    some = ring[:: max(len(ring) // POINTS, 1)] * np.exp(1j * angles)[:, None]
    off = shapely.distance(shapely.boundary(goal), shapely.points(some.real, some.imag))
    order = np.argsort(np.round((off**2).sum(axis=1), 9), kind="stable")
    return list(angles[order[:2]].tolist())


POINTS = 48
"""So many points of an outline tell at which angle it lies best."""


def _least(plate: Any, hole: Any) -> float:
    """How far a plate may grow on every side before it leaves the hole around it; where it stands
    over the edge already, less what it must shrink to go in, which sharp corners do faster."""
    import shapely

    ways = []
    for one, other, wanted in ((plate, hole, True), (hole, plate, False)):
        corners = shapely.points(shapely.get_coordinates(one))
        shapely.prepare(other)
        right = shapely.intersects(other, corners) == wanted
        distance = shapely.distance(shapely.boundary(other), corners)
        ways.append(np.where(right, distance, -distance).min())
    low, high = float(min(ways)), 0.0
    if low >= 0.0:
        return low
    speck = 1e-9 * plate.length
    while high - low > SHARP:
        middle = (low + high) / 2.0
        over = shapely.difference(_offset(plate, middle), hole)
        low, high = (middle, high) if over.area <= speck else (low, middle)
    return low


def _offset(figure: Any, by: float) -> Any:
    """A figure grown or shrunk on every side, its corners left sharp where they are not acute."""
    import shapely

    if abs(by) < SHARP:
        return figure
    return shapely.buffer(figure, by, join_style="mitre", mitre_limit=5.0)


SHARP = 1e-5
"""mm: how closely a margin is sought."""


def _about_centroid(polygon: Any) -> tuple[Complex, complex]:
    """The outer ring about its centroid, with positive area; and the centroid."""
    import shapely

    xy = shapely.get_coordinates(shapely.get_exterior_ring(polygon))[:-1]
    middle = shapely.centroid(shapely.Polygon(xy))
    z = xy[:, 0] + 1j * xy[:, 1] - complex(middle.x, middle.y)
    positive = float((np.conj(z) * np.roll(z, -1)).imag.sum()) > 0.0
    return (z if positive else z[::-1]), complex(middle.x, middle.y)


def _polygon(ring: Complex) -> Any:
    import shapely

    return shapely.Polygon(np.column_stack([ring.real, ring.imag]))
