"""thin-web: grow a web to the minimum, where it is thinner.

Only when asked for by name, because it changes the design. The web is united with discs of the
least width along its middle; where an outline runs inside them, it goes around them instead.
What that does to gaps and neighbours, the other rules say.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.judge.limits import below, short
from scantling.measure.model import Narrow, Piece
from scantling.mend.course import Course
from scantling.mend.curves import point
from scantling.mend.drawn import Bit, Drawn
from scantling.mend.edit import Edit
from scantling.mend.fit import fitted, rounded
from scantling.mend.path import Changes, Op, Unwritable
from scantling.mend.repair import Case, Found, Refusal, Repair
from scantling.mend.splice import Spot, Stretch, splice, spot_at

if TYPE_CHECKING:
    from scantling.arrays import Array


rule = "thin-web"

FINE = 0.25
"""Part of the chord tolerance to which discs are flattened, and to which curves are fitted."""
ROUND = 0.05
"""Part of that to which their numbers are rounded."""


def repairs(case: Case) -> Found:
    assert case.sheet is not None
    stock, tolerances = case.sheet.stock, case.sheet.tolerances
    needed = stock.minimum.web + stock.slot
    pieces: dict[int, Piece] = {piece.number: piece for piece in case.fact("pieces")}
    for web in below(case.fact("webs"), needed):
        finished = web.width - stock.slot
        if not short(finished, stock.minimum.web, tolerances):
            continue
        try:
            yield _grown(case, web, pieces[web.piece].polygon, needed)
        except (Unwritable, KeyError) as error:
            known = isinstance(error, Unwritable)
            yield Refusal(web.p, str(error) if known else "it belongs to no piece")


def _grown(case: Case, web: Narrow, solid: Any, needed: float) -> Repair:
    assert case.sheet is not None
    chord, slot = case.sheet.tolerances.chord, case.sheet.stock.slot
    discs = _discs(web, needed, chord)
    edits: list[Edit] = []
    by_shape: dict[int, Changes] = {}
    contours = sorted({int(k) for k in web.source[..., 0].ravel().tolist()})
    changed = []
    for contour in contours:
        shape = case.shape(contour)
        if not case.drawn_once(shape):
            raise Unwritable("its element is drawn in other places too")
        drawn = case.drawn(shape)
        curve = case.curve(contour)
        bits = drawn.bits(curve)
        stretches = _stretches(case, contour, drawn, bits, discs, solid, chord)
        if stretches:
            changes = by_shape.setdefault(shape.index, Changes())
            closed = bool(case.lines.closed[contour])
            edits += splice(drawn, bits, closed, stretches, changes)
            changed.append(contour)
    for index, changes in by_shape.items():
        if changes.steps:
            edits += case.drawn(case.drawing.shapes[index]).redrawn(changes)
    if not edits:
        raise Unwritable("its outline does not run beside it")
    return Repair(
        on=(web.p,),
        message=f"Grow the web from {max(web.width - slot, 0.0):.2f} mm to {needed - slot:.2f} mm",
        edits=tuple(edits),
        nodes=tuple(dict.fromkeys(case.shape(contour).node for contour in changed)),
        contours=frozenset(case.curve(contour) for contour in changed),
    )


def _discs(web: Narrow, needed: float, chord: float) -> Any:
    """The discs along the middle of a web, united (shapely)."""
    import shapely

    radius = needed / 2.0 + FINE * chord
    thin = np.flatnonzero(web.widths < needed)
    steps = max(int(np.ceil(np.pi / 4.0 / np.arccos(1.0 - min(FINE * chord / radius, 0.2)))), 8)
    linked = web.links[np.isin(web.links, thin).all(axis=1)]
    middles = [*shapely.points(web.path[thin]), *shapely.linestrings(web.path[linked])]
    united = shapely.unary_union(shapely.buffer(np.array(middles), radius, quad_segs=steps))
    if united.geom_type != "Polygon" or len(united.interiors):
        raise Unwritable("its middle has several parts")
    return united


def _stretches(
    case: Case,
    contour: int,
    drawn: Drawn,
    bits: Sequence[Bit],
    discs: Any,
    solid: Any,
    chord: float,
) -> list[Stretch]:
    """Where a contour runs inside the discs, and the way around them."""
    import shapely

    lines = case.lines
    xy = lines.xy[lines.first[contour] : lines.first[contour + 1]]
    closed = bool(lines.closed[contour])
    ring = shapely.LineString(np.concatenate((xy, xy[:1])) if closed else xy)
    met = shapely.get_coordinates(shapely.intersection(ring, discs.exterior))
    if not len(met):
        return []
    at = np.unique(np.round([ring.project(shapely.Point(p)) for p in met], 9))
    spans = list(zip(at[:-1].tolist(), at[1:].tolist(), strict=True))
    if closed:
        spans.append((float(at[-1]), float(at[0]) + ring.length))
    course = Course(lines, contour, case.drawing.curves, case.curve(contour))
    found = []
    for low, high in spans:
        middle = ring.interpolate((low + high) / 2.0 % ring.length)
        if not discs.contains(middle):
            continue
        ends = [ring.interpolate(value % ring.length) for value in (low, high)]
        way = _around(discs, ends, solid)
        if way is None:
            continue
        start, end = (
            spot_at(case, drawn, bits, course, course.place(p % ring.length)[0], (at.x, at.y))
            for p, at in zip((low, high), ends, strict=True)
        )
        found.append(Stretch(start, end, _ops(case, drawn, bits, start, end, way, chord)))
    return found


def _around(discs: Any, ends: Sequence[Any], solid: Any) -> Array | None:
    """The part of the discs' outline between two of its points that is outside of the solid."""
    import shapely
    from shapely.ops import substring

    outline = discs.exterior
    a, b = (outline.project(end) for end in ends)
    if a <= b:
        ways = (
            substring(outline, a, b),
            _joined(substring(outline, b, outline.length), substring(outline, 0.0, a)).reverse(),
        )
    else:
        ways = (
            _joined(substring(outline, a, outline.length), substring(outline, 0.0, b)),
            substring(outline, b, a).reverse(),
        )
    for way in ways:
        if way.length and not solid.contains(way.interpolate(0.5, normalized=True)):
            outside = shapely.difference(way, solid.buffer(1e-6))
            if outside.length > 0.9 * way.length:
                return np.asarray(way.coords)
    return None


def _joined(one: Any, other: Any) -> Any:
    import shapely

    points = np.concatenate((shapely.get_coordinates(one), shapely.get_coordinates(other)))
    keep = np.append(True, np.abs(np.diff(points, axis=0)).max(axis=1) > 0.0)
    return shapely.LineString(points[keep])


def _ops(
    case: Case,
    drawn: Drawn,
    bits: Sequence[Bit],
    start: Spot,
    end: Spot,
    way: Array,
    chord: float,
) -> tuple[Op, ...]:
    """The way around as commands in the element's own coordinates, from exactly where the
    outline leaves it to where it comes back."""
    scale = case.plan.scale
    user = np.array([drawn.user((x / scale, y / scale)) for x, y in way.tolist()])
    user[0], user[-1] = (point(bits[k].pen, bits[k].op, t) for k, t in (start, end))
    stretch = np.hypot(*np.diff(user, axis=0).T).sum() / np.hypot(*np.diff(way, axis=0).T).sum()
    keep = np.append(True, np.hypot(*np.diff(user, axis=0).T) > 1e-9)
    within = FINE * chord * float(stretch)
    return tuple(rounded(fitted(user[keep], within), ROUND * within))
