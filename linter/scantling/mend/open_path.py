"""open-path: close an outline, or join the ends of lines that nearly meet.

An outline that a fill closes on screen is closed as the fill does it. Lines are joined where
their ends lie within the join tolerance, or as far apart as the maker has said, and only where
that makes closed outlines of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import dist

from scantling.measure.model import OpenEnd, Spot
from scantling.mend.drawn import Drawn
from scantling.mend.edit import Edit
from scantling.mend.path import Changes, Op, Point, Unwritable
from scantling.mend.repair import Case, Found, Refusal, Repair

rule = "open-path"


def repairs(case: Case) -> Found:
    chains: Sequence[OpenEnd] = case.fact("open_ends")
    reach = case.wish.join
    if reach is None:
        assert case.sheet is not None
        reach = case.sheet.tolerances.join
    loose: list[OpenEnd] = []
    for chain in chains:
        if _filled(case, chain):
            many = len(chain.contours) > 1
            message = "Close the outlines as their" if many else "Close the outline as its"
            yield _closed(case, chain, f"{message} fill does")
        elif len(chain.contours) == 1 and dist(chain.start.at, chain.end.at) <= reach:
            yield _closed(case, chain, "Close the outline")
        else:
            loose.append(chain)
    yield from _joined(case, loose, reach)


def _filled(case: Case, chain: OpenEnd) -> bool:
    return bool(case.lines.filled[list(chain.contours)].all())


def _closed(case: Case, chain: OpenEnd, message: str) -> Repair | Refusal:
    """Close each contour of a chain by itself."""
    curves: dict[int, list[int]] = {}  # by shape
    for contour in chain.contours:
        curves.setdefault(case.shape(contour).index, []).append(case.curve(contour))
    shapes = [case.drawing.shapes[index] for index in curves]
    try:
        edits = [
            edit
            for shape in shapes
            for edit in _closing(case.drawn(shape), sorted(set(curves[shape.index])))
        ]
    except Unwritable as error:
        return Refusal(chain.start, str(error))
    nodes = tuple(dict.fromkeys(shape.node for shape in shapes))
    loose = frozenset(curve for some in curves.values() for curve in some)
    return Repair((chain.start,), message, tuple(edits), nodes, loose)


def _closing(drawn: Drawn, curves: Sequence[int]) -> list[Edit]:
    """Edits that close some contours of a shape. Raises Unwritable."""
    if drawn.is_path:
        ends = (drawn.bits(curve)[-1].step for curve in curves)
        return drawn.redrawn(Changes(after={step: (Op("Z", ()),) for step in ends}))
    if drawn.node.tag == "polyline":
        return [drawn.point_added(drawn.bits(curve)[0].pen, last=True) for curve in curves]
    raise Unwritable(f"a {drawn.node.tag} cannot be closed")


# Joining ends


@dataclass(frozen=True, slots=True)
class _End:
    """A loose end: of which chain, which contour, and whether it is the last point of it."""

    chain: int
    spot: Spot
    last: bool


def _joined(case: Case, chains: Sequence[OpenEnd], reach: float) -> Found:
    """Join ends two by two, nearest first, and keep what becomes closed."""
    ends = [end for k, chain in enumerate(chains) for end in _ends(case, k, chain)]
    partner = _paired(ends, reach)
    done: set[int] = set()
    for ring in _rings(len(chains), ends, partner):
        done |= {chain for chain, _ in ring}
        spots = tuple(chains[chain].start for chain, _ in ring)
        try:
            yield _ring(case, ends, ring, partner, spots)
        except Unwritable as error:
            for spot in spots:
                yield Refusal(spot, str(error))
    for k, chain in enumerate(chains):
        if k not in done:
            yield Refusal(
                chain.start,
                f"its ends are {chain.gap:.2f} mm apart, and ends are joined up to {reach:.2f} mm",
            )


def _ends(case: Case, number: int, chain: OpenEnd) -> Iterator[_End]:
    lines = case.lines
    for spot, touches in zip((chain.start, chain.end), chain.touches, strict=True):
        if not touches:
            first = lines.xy[lines.first[spot.contour]]
            last = lines.xy[lines.first[spot.contour + 1] - 1]
            yield _End(number, spot, dist(spot.at, last) < dist(spot.at, first))


def _paired(ends: Sequence[_End], reach: float) -> dict[int, int]:
    """The end that each is joined to: the nearest first, each once."""
    if len(ends) < 2:
        return {}
    import shapely

    points = shapely.points([end.spot.at for end in ends])
    one, other = shapely.STRtree(points).query(points, predicate="dwithin", distance=reach)
    pairs = sorted(
        (dist(ends[a].spot.at, ends[b].spot.at), a, b)
        for a, b in zip(one.tolist(), other.tolist(), strict=True)
        if a < b
    )
    partner: dict[int, int] = {}
    for _, a, b in pairs:
        if a not in partner and b not in partner:
            partner[a], partner[b] = b, a
    return partner


def _rings(
    many: int, ends: Sequence[_End], partner: dict[int, int]
) -> Iterator[list[tuple[int, int]]]:
    """Chains that close when their ends are joined, each as (chain, the end it is left by)."""
    of: dict[int, list[int]] = {}
    for number, end in enumerate(ends):
        of.setdefault(end.chain, []).append(number)
    seen: set[int] = set()
    for chain in range(many):
        if chain in seen or len(of.get(chain, ())) != 2:
            continue
        ring, leave = [], of[chain][1]
        at = chain
        while True:
            seen.add(at)
            ring.append((at, leave))
            enter = partner.get(leave)
            if enter is None:
                break
            at = ends[enter].chain
            if at == chain:
                yield ring
                break
            mates = of[at]
            if at in seen or len(mates) != 2:
                break
            leave = mates[0] if mates[1] == enter else mates[1]


def _ring(
    case: Case,
    ends: Sequence[_End],
    ring: Sequence[tuple[int, int]],
    partner: dict[int, int],
    spots: tuple[Spot, ...],
) -> Repair:
    """One repair for all the joints of an outline."""
    bridges = _Bridges(case)
    for _, leave in ring:
        bridges.add(ends[leave], ends[partner[leave]])
    message = "Join the ends" if len(ring) > 1 else "Close the outline"
    nodes = tuple(case.drawing.shapes[index].node for index in bridges.shapes)
    return Repair(spots, message, tuple(bridges.edits()), nodes, frozenset(bridges.curves))


class _Bridges:
    """Lines from one end to another, as parts of the elements that the ends belong to."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.shapes: dict[int, Changes] = {}
        self.curves: set[int] = set()
        self._edits: list[Edit] = []

    def add(self, one: _End, other: _End) -> None:
        """Bridge two ends. Raises Unwritable where neither element can be drawn on."""
        ways = ((self._rank(one), 0, one, other), (self._rank(other), 1, other, one))
        rank, _, mine, to = min(ways, key=lambda way: way[:2])
        if rank == 3:
            raise Unwritable("its ends cannot be moved")
        target = self._place(to)
        shape = self.case.shape(mine.spot.contour)
        curve = self.case.curve(mine.spot.contour)
        drawn = self.case.drawn(shape)
        point = drawn.user(target)
        changes = self.shapes.setdefault(shape.index, Changes())
        self.curves.add(curve)
        if drawn.is_path:
            _drawn_on(drawn, curve, point, mine.last, changes)
        elif drawn.node.tag == "polyline":
            self._edits.append(drawn.point_added(point, last=mine.last))
        else:
            self._edits += drawn.end_moved(point, last=mine.last)

    def _rank(self, end: _End) -> int:
        """How well an end can be drawn on: least is best, 3 not at all."""
        shape = self.case.shape(end.spot.contour)
        if not self.case.drawn_once(shape):
            return 3
        if self.case.drawn(shape).is_path:
            return 0
        return {"polyline": 1, "line": 2}.get(shape.node.tag, 3)

    def _place(self, end: _End) -> Point:
        """Where an end is, in pixels."""
        drawn = self.case.drawn(self.case.shape(end.spot.contour))
        return drawn.ends(self.case.curve(end.spot.contour))[end.last]

    def edits(self) -> list[Edit]:
        edits = list(self._edits)
        for index, changes in self.shapes.items():
            if changes.steps:
                edits += self.case.drawn(self.case.drawing.shapes[index]).redrawn(changes)
        return edits


def _drawn_on(drawn: Drawn, curve: int, point: Point, last: bool, changes: Changes) -> None:
    """A line from the end of a contour of path data to a point, or from the point to its start."""
    bits = drawn.bits(curve)
    if last:
        changes.after[bits[-1].step] = (Op("L", point),)
        return
    begin = bits[0].step
    while not drawn.steps[begin].first:
        begin -= 1
    ops = (Op("M", point), Op("L", bits[0].pen))
    where = changes.instead if drawn.steps[begin].op.letter == "M" else changes.before
    where[begin] = ops
