"""The stack: which part lies on which, when sheets are laid on one another as the drawing shows.

Each part is a flat plate. Layer by layer from the bottom it is let down where it is drawn, until
it meets the highest of what lies below: a moon on a ring, a star through the ring's opening on the
base. What it then lies on carries it; what reaches out beyond, towards an edge, overhangs, and
what lies between its supports is a span, which a plate bridges.

Everything is at its finished size, so that a part in an opening of its own outline lies beside
that opening's edge and not on it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.measure.assembly.finish import finished
from scantling.measure.assembly.moments import SAME, alike, figures
from scantling.measure.distinct import distinct
from scantling.measure.facts import Facts
from scantling.measure.groups import stretches
from scantling.measure.model import Piece
from scantling.measure.pieces.tangle import GRID
from scantling.plan.model import Design, Sheet
from scantling.records import NamedTuple, dataclass

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scantling.arrays import Index, Points, Shapes


STEP = 0.25
"""mm: what lies lower than the highest by no more than this carries too, for the adhesive fills
it (common practice, no source)."""
EDGE = 0.25
"""mm: where two parts overlap by a strip no wider than this they lie beside each other: it is a
tight fit, or a line drawn not quite in its place (common practice, no source)."""
BESIDE = 0.5
"""mm: a part is held at its outline where the edge of another is no further off."""
HELD = 0.75
"""Share of its outline by which a part is held that lies in an opening with nothing below."""


class Body(NamedTuple):
    """A part where it lies in the stack."""

    sheet: Sheet
    piece: Piece
    shape: Any
    """finished, a shapely Polygon or MultiPolygon"""
    layer: int
    """0 for the bottom"""


@dataclass(frozen=True)
class Rest:
    """How a part of an upper layer lies. Lengths mm, areas mm², finished.

    on         the parts that it lies on, as they stand in `Stacked.bodies`; empty where nothing
               is below it
    contact    where it touches them: a shapely geometry
    share      of its area that touches
    carried    of its area that lies within the convex hull of the contact: on what is below, or
               between two places that are
    overhang   distance from the hull to the furthest point of the part beyond it; `furthest` is
               that point, `edge` the nearest of the hull
    held       True where nothing is below it, but other parts are around it: an inlay
    spare      True where nothing is below it, it lies beside all the layers below, and its outline
               is that of a part of its sheet which lies on something: a copy
    """

    body: Body
    height: float
    on: tuple[int, ...]
    contact: Any
    share: float
    carried: float
    overhang: float
    furthest: tuple[float, float]
    edge: tuple[float, float]
    held: bool
    spare: bool

    @cached_property
    def widest(self) -> float:
        """Diameter of the largest disc in the contact, to a hundredth of a millimetre."""
        import shapely

        if shapely.is_empty(self.contact):
            return 0.0
        radius = shapely.maximum_inscribed_circle(self.contact, tolerance=0.004)
        return 2.0 * float(shapely.length(radius))

    def holds(self, diameter: float) -> bool:
        """Whether a disc of that diameter goes into the contact, to a hundredth of a millimetre.
        Sooner answered than how large the largest is."""
        import shapely

        rest = shapely.buffer(self.contact, -diameter / 2.0, quad_segs=32)
        return not shapely.is_empty(rest) or self.widest >= diameter

    def enlarged(self, bodies: Sequence[Body], scale: float) -> Rest:
        """The same part on the same parts, its contact as it is where the whole design is so many
        times larger."""
        import shapely

        above, *below = (
            finished(
                [shapely.transform(b.piece.polygon, lambda xy: xy * scale)], b.sheet.stock.slot
            )
            for b in (self.body, *(bodies[k] for k in self.on))
        )
        shared = _widened(shapely.intersection(above, np.concatenate(below)))
        return replace(self, contact=shapely.union_all(shared))

    @cached_property
    def overhanging(self) -> Any:
        """The part's area beyond the hull of the contact."""
        import shapely

        return shapely.difference(self.body.shape, shapely.convex_hull(self.contact))


@dataclass(frozen=True, slots=True)
class Stacked:
    """The parts of all layers, bottom first, and how each of those above the bottom lies."""

    bodies: tuple[Body, ...] = ()
    rests: tuple[Rest, ...] = ()


def stacked(layers: Sequence[tuple[Sheet, Facts]], design: Design | None) -> Stacked:
    """Fact of a drawing: its parts in the order of the design's stack.

    The lowest layer that the drawing has is the bottom; sheets that the stack does not name are
    no part of it. Empty where there is no stack, or only one layer of it.
    """
    bodies = tuple(_bodies(layers, design))
    if not bodies or bodies[-1].layer == 0:
        return Stacked()
    return Stacked(bodies, tuple(_rests(bodies)))


def _bodies(layers: Sequence[tuple[Sheet, Facts]], design: Design | None) -> list[Body]:
    import shapely

    rank = {name: k for k, name in enumerate(design.stack)} if design else {}
    chosen = [pair for pair in layers if pair[0].assigned in rank]
    chosen.sort(key=lambda pair: rank[pair[0].assigned])
    bodies: list[Body] = []
    layer = 0
    for sheet, facts in chosen:
        parts = [piece for piece in facts["pieces"] if piece.kept]
        shapes = finished([part.polygon for part in parts], sheet.stock.slot)
        found = [
            Body(sheet, part, shape, layer)
            for part, shape in zip(parts, shapes, strict=True)
            if not shapely.is_empty(shape)
        ]
        bodies += found
        layer += bool(found)
    return bodies


class Pairs(NamedTuple):
    """Parts that lie over one another: (k,) each, indices of bodies, and what they share."""

    upper: Index
    lower: Index
    shared: Shapes


def _rests(bodies: Sequence[Body]) -> list[Rest]:
    import shapely

    shapes = np.array([body.shape for body in bodies], dtype=object)
    layer = np.array([body.layer for body in bodies])
    thick = np.array([body.sheet.stock.thickness for body in bodies])
    pairs = _over(shapes, layer)
    height = _let_down(pairs, layer, thick)
    top = height + thick
    carries = top[pairs.lower] >= height[pairs.upper] - STEP
    pairs = Pairs(*(column[carries] for column in pairs))

    upper = np.flatnonzero(layer > 0)
    begin = np.searchsorted(pairs.upper, upper)
    end = np.searchsorted(pairs.upper, upper, side="right")
    contact = np.array(
        [
            pairs.shared[a] if b - a == 1 else shapely.union_all(pairs.shared[a:b])
            for a, b in zip(begin.tolist(), end.tolist(), strict=True)
        ],
        dtype=object,
    )
    hull = shapely.convex_hull(contact)
    area = shapely.area(shapes[upper])
    touching = shapely.area(contact)
    share = touching / area
    carried = shapely.area(_common(shapes[upper], hull, touching)) / area
    overhang, furthest, edge = _overhangs(shapes[upper], hull)
    held = np.zeros(len(upper), bool)
    loose = np.flatnonzero(begin == end)
    held[loose] = _held(shapes, upper[loose])
    spare = _copies(bodies, layer, upper, begin == end)
    return [
        Rest(
            body=bodies[k],
            height=float(height[k]),
            on=tuple(pairs.lower[a:b].tolist()),
            contact=contact[n],
            share=float(share[n]),
            carried=float(carried[n]),
            overhang=float(overhang[n]),
            furthest=tuple(furthest[n].tolist()),
            edge=tuple(edge[n].tolist()),
            held=bool(held[n]),
            spare=bool(spare[n]),
        )
        for n, (k, a, b) in enumerate(
            zip(upper.tolist(), begin.tolist(), end.tolist(), strict=True)
        )
    ]


def _over(shapes: Shapes, layer: Index) -> Pairs:
    """Parts of different layers that overlap by more than an edge, sorted by the upper one."""
    import shapely

    shapely.prepare(shapes)
    upper, lower = _by_box(shapes, shapes)
    above = layer[upper] > layer[lower]
    upper, lower = upper[above], lower[above]
    # a prepared shape knows its edges by place: most pairs are told apart without cutting any
    meet = shapely.intersects(shapes[lower], shapes[upper])
    upper, lower = upper[meet], lower[meet]
    shared = shapes[upper].copy()
    cut = np.flatnonzero(~shapely.covers(shapes[lower], shared))
    shared[cut] = shapely.intersection(shared[cut], shapes[lower[cut]])
    shared = _widened(shared)
    lies = ~shapely.is_empty(shared)
    upper, lower, shared = upper[lies], lower[lies], shared[lies]
    order = np.lexsort((lower, upper))
    return Pairs(upper[order], lower[order], shared[order])


def _by_box(some: Shapes, others: Shapes, within: float = 0.0) -> tuple[Index, Index]:
    """Pairs (a, b) of which the boxes are within a distance."""
    import shapely

    low_x, low_y, high_x, high_y = shapely.bounds(some).T
    windows = shapely.box(low_x - within, low_y - within, high_x + within, high_y + within)
    a, b = shapely.STRtree(others).query(windows)
    return a, b


def _widened(shared: Shapes) -> Shapes:
    """Areas without their strips no wider than an edge, and without lines and points."""
    import shapely

    way = {"join_style": "mitre", "mitre_limit": 50.0}
    core = shapely.buffer(shared, -EDGE / 2.0, **way)
    # corners are cut off and given back; what is given too much is cut again
    grown = shapely.buffer(core, EDGE / 2.0, **way)
    return _common(grown, shared, shapely.area(core))


def _common(some: Shapes, others: Shapes, least: Points) -> Shapes:
    """What each two have in common, which is known to be `least` or more. Edges that all but lie on
    each other may cost GEOS the whole area, but not on a grid."""
    import shapely

    found = np.asarray(shapely.intersection(some, others))
    lost = np.flatnonzero(shapely.area(found) < least * (1.0 - 1e-6))
    found[lost] = shapely.intersection(some[lost], others[lost], grid_size=GRID)
    return found


def _let_down(pairs: Pairs, layer: Index, thick: Points) -> Points:
    """(n,) how high above the bottom each part comes to lie. One with nothing below lies where
    the bottom does."""
    height = np.zeros(len(layer))
    of = layer[pairs.upper]
    for level in range(1, int(layer.max()) + 1):
        upper, lower = pairs.upper[of == level], pairs.lower[of == level]
        np.maximum.at(height, upper, height[lower] + thick[lower])
    return height


def _overhangs(shapes: Shapes, hull: Shapes) -> tuple[Points, Points, Points]:
    """How far each part reaches beyond the convex hull of its contact, from where and to where.

    The distance to a convex set is a convex function, so that its maximum over a part is at one of
    the part's corners: this is exact. Zero where there is no contact.
    """
    import shapely

    points, of = shapely.get_coordinates(shapes, return_index=True)
    corners = shapely.points(points)
    distance = np.nan_to_num(shapely.distance(hull[of], corners))
    order = np.lexsort((points[:, 1], points[:, 0], -np.round(distance, 9), of))
    first = np.searchsorted(of[order], np.arange(len(shapes)))
    worst = order[first]
    ways = shapely.shortest_line(corners[worst], hull)
    edge = points[worst].copy()
    there = ~shapely.is_missing(ways) & ~shapely.is_empty(ways)
    edge[there] = shapely.get_coordinates(ways[there]).reshape(-1, 2, 2)[:, 1]
    return distance[worst], points[worst], edge


def _held(shapes: Shapes, which: Index) -> NDArray[np.bool_]:
    """Of some parts, which have other parts close around them. The shapes are prepared."""
    import shapely

    outlines = shapely.boundary(shapes[which])
    number, other = _by_box(outlines, shapes, BESIDE)
    apart = other != which[number]
    number, other = number[apart], other[apart]
    middle, length, first = _pieces_of(outlines)
    pick, pair = stretches(first[number], np.diff(first)[number])
    near = shapely.dwithin(shapes[other[pair]], shapely.points(middle[pick]), BESIDE)
    beside = np.zeros(len(length), bool)
    beside[pick[near]] = True
    along = np.append(0.0, np.cumsum(length * beside))
    whole = np.append(0.0, np.cumsum(length))
    share = np.diff(along[first]), np.diff(whole[first])
    return np.asarray(share[0] >= HELD * share[1])


def _copies(
    bodies: Sequence[Body], layer: Index, upper: Index, loose: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Which upper parts are loose, lie beside the box around all layers below theirs, and have the
    outline of one of their layer that is not loose."""
    import shapely

    copies = np.zeros(len(upper), bool)
    for level in distinct(layer[upper[loose]]).tolist():
        mine = np.flatnonzero(layer[upper] == level)
        if loose[mine].all():
            continue
        under = shapely.box(*shapely.total_bounds([b.shape for b in bodies if b.layer < level]))
        rings = [
            shapely.get_coordinates(shapely.get_exterior_ring(bodies[k].piece.polygon))[:-1]
            for k in upper[mine].tolist()
        ]
        first = np.cumsum([0, *(len(ring) for ring in rings)])
        kind = alike(figures(np.concatenate(rings), first).invariants(), SAME)
        carried = np.isin(kind, kind[~loose[mine]])
        outside = [not bodies[k].shape.intersects(under) for k in upper[mine].tolist()]
        copies[mine] = loose[mine] & carried & outside
    return copies


def _pieces_of(outlines: Shapes) -> tuple[Points, Points, Index]:
    """Outlines in short pieces: the middle and length of each, and where each outline's begin."""
    import shapely

    if not len(outlines):
        return np.zeros((0, 2)), np.zeros(0), np.zeros(1, np.int64)
    lines, of = shapely.get_parts(outlines, return_index=True)
    points, line = shapely.get_coordinates(shapely.segmentize(lines, BESIDE), return_index=True)
    inner = np.flatnonzero(line[1:] == line[:-1])
    start, end = points[inner], points[inner + 1]
    number = of[line[inner]]
    first = np.searchsorted(number, np.arange(len(outlines) + 1))
    return (start + end) / 2.0, np.hypot(*(end - start).T), first
