"""Engraved shapes that lie on each other: which are the same one again, and which of the others
hang together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.measure.distinct import distinct
from scantling.measure.groups import connected
from scantling.measure.model import Doubled, Spot
from scantling.measure.pieces.engraving import Engraving
from scantling.measure.pieces.engraving import doubled as areas_of
from scantling.measure.spots import nearest_spot
from scantling.plan.model import Lines, Tolerances

if TYPE_CHECKING:
    from scantling.arrays import Flags, Index, Shapes

Copies = tuple[tuple[int, ...], ...]
NARROW = 1e-4
"""mm: what two edges have in common that are drawn in one place, to the last digits"""


def copies(
    doubled: tuple[Doubled, ...], engraving: Engraving, tolerances: Tolerances
) -> tuple[tuple[int, ...], ...]:
    """Fact: engraved shapes that cover the same, each by its contour in `Engraving.contour`: two or
    more together, in drawing order. What they do not have in common is no wider than lines may be
    apart that count as one."""
    if not doubled:
        return ()
    import shapely

    within = tolerances.coincidence
    contours = distinct(np.concatenate([np.array(one.contours) for one in doubled]))
    a, b = _candidates(engraving, contours, within)
    if not len(a):
        return ()
    areas = {k: covered(engraving, int(contours[k])) for k in distinct(np.concatenate((a, b)))}
    first, other = (np.array([areas[k] for k in one.tolist()], object) for one in (a, b))
    same = no_wider(shapely.symmetric_difference(first, other), within)
    same &= ~no_wider(shapely.intersection(first, other), within)
    label = connected(len(contours), a[same], b[same])
    found: dict[int, list[int]] = {}
    for contour, group in zip(contours.tolist(), label.tolist(), strict=True):
        found.setdefault(group, []).append(contour)
    return tuple(tuple(group) for group in found.values() if len(group) > 1)


def _candidates(engraving: Engraving, contours: Index, within: float) -> tuple[Index, Index]:
    """Pairs of shapes, by their place in `contours`, that reach as far on every side and cover
    about as much."""
    import shapely

    mine = np.isin(engraving.contour, contours)
    shape = np.searchsorted(contours, engraving.contour[mine])
    order = np.argsort(shape, kind="stable")
    faces, shape = engraving.face[engraving.number[mine][order]], shape[order]
    begin = np.searchsorted(shape, np.arange(len(contours)))
    box = shapely.bounds(faces)
    low = np.minimum.reduceat(box[:, :2], begin)
    high = np.maximum.reduceat(box[:, 2:], begin)
    size = np.add.reduceat(shapely.area(faces), begin)
    room = within * np.add.reduceat(shapely.length(faces), begin) + NARROW
    corner = shapely.points(low)
    a, b = shapely.STRtree(corner).query(corner, "dwithin", 2.0 * within)
    near = within + NARROW
    like = (a < b) & (np.abs(low[a] - low[b]) <= near).all(axis=1)
    like &= (np.abs(high[a] - high[b]) <= near).all(axis=1)
    like &= np.abs(size[a] - size[b]) <= np.maximum(room[a], room[b])
    return a[like], b[like]


def overlaid(
    doubled: tuple[Doubled, ...],
    copies: tuple[tuple[int, ...], ...],
    lines: Lines,
    engraving: Engraving,
) -> tuple[Doubled, ...]:
    """Fact: the areas that several engraved shapes cover, copies of one counted as one."""
    if not copies:
        return doubled
    more = [contour for group in copies for contour in group[1:]]
    kept = ~np.isin(engraving.contour, more)
    number, contour = engraving.number[kept], engraving.contour[kept]
    return areas_of(lines, engraving._replace(number=number, contour=contour))


def groups(overlaid: Sequence[Doubled], trap: float, lines: Lines) -> list[list[Doubled]]:
    """The areas that hold a disc wider than a trap in mm, by the shapes that hang together, in the
    order of the drawing."""
    if not overlaid:
        return []
    narrow = no_wider(np.array([one.polygon for one in overlaid], object), trap)
    areas = [one for one, thin in zip(overlaid, narrow.tolist(), strict=True) if not thin]
    first = np.array([one.contours[0] for one in areas for _ in one.contours[1:]], np.int64)
    other = np.array([k for one in areas for k in one.contours[1:]], np.int64)
    label = connected(len(lines.closed), first, other)
    found: dict[int, list[Doubled]] = {}
    for one in sorted(areas, key=lambda one: one.contours[0]):
        found.setdefault(int(label[one.contours[0]]), []).append(one)
    return list(found.values())


def largest(group: Iterable[Doubled]) -> Doubled:
    """The area that stands for a group: it is told of the last of its shapes."""
    return max(group, key=lambda one: one.area)


def covered(engraving: Engraving, contour: int) -> Any:
    """What the shape of a contour covers (shapely), which must be one that `Engraving.contour`
    names."""
    import shapely

    return shapely.union_all(engraving.face[engraving.number[engraving.contour == contour]])


def spot_in(area: Any, contour: int, lines: Lines, engraving: Engraving) -> Spot:
    """A place within an area (shapely), put down to the edge of a shape, by one of its contours,
    that is nearest to it."""
    import shapely

    at = shapely.get_coordinates(shapely.point_on_surface(area))[0]
    return nearest_spot(at, engraving.edges, lines, lines.shape == lines.shape[contour])


def start_of(contour: int, lines: Lines) -> Spot:
    """Where a contour begins: a place of a shape that is not told from another by where it lies on
    it."""
    first = int(lines.first[contour])
    x, y = lines.xy[first].tolist()
    return Spot((x, y), contour, int(lines.segment[first]))


def no_wider(areas: Shapes, width: float) -> Flags:
    """Which areas hold no disc wider than so many mm."""
    import shapely

    left: Flags = shapely.is_empty(shapely.buffer(areas, -width / 2.0 - NARROW, quad_segs=16))
    return left
