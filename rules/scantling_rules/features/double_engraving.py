"""double-engraving: an area that is engraved twice."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.judge import Example, Fault, assigned, page, stocked
from scantling.measure.groups import connected
from scantling.measure.model import Doubled, Spot
from scantling.measure.spots import nearest_spot
from scantling.plan.model import ENGRAVE, Lines, Plan

if TYPE_CHECKING:
    from scantling.measure.pieces.engraving import Engraving

id = "double-engraving"
level = "warning"
title = "engraved shapes of one stock that lie on each other"
why = """
On screen the upper shape hides the lower one. The machine engraves both, one after the other, so
that the shared area comes out deeper and darker, or burns through a thin stock; some programs take
two shapes that overlap for one with a hole in it, and leave the area bare. Neither is what the
picture shows.
"""
remedy = """
Cut the upper shape out of the lower one, unite the two, or delete the one that is not meant: a
background below the details, a copy below its original. Where the second depth is meant, accept
the finding with its reason.
"""
source = (
    "common practice, no source; what a fill covers counts, by its fill rule, and a shape never "
    "lies on itself. Strokes are lines: duplicate-line tells where they run on each other"
)
parameters = {
    "trap": {
        "type": "number",
        "default": 0.5,
        "minimum": 0,
        "x-unit": "mm",
        "description": "overlaps no wider than this are meant, so that no light shows between two "
        "areas, and are not told",
    }
}
_JOB = stocked("ply", "plywood") + assigned("#000", "ply") + assigned("picture", "ply", "engrave")
_BODY = '<rect width="36" height="36" x="2" y="2"/><g id="picture" fill="#953">{}</g>'
_SKY = '<rect x="6" y="6" width="28" height="16"/>'
_HILL = '<path fill="#421" d="M6 {0}L20 {1}L34 {0}V34H6Z"/>'
_DISC = '<circle cx="{}" cy="20" r="7"/>'
passes = (
    Example(page(_BODY.format(_SKY + _HILL.format(22, 22))), _JOB, "side by side"),
    Example(
        page(_BODY.format(_SKY + _HILL.format(21.7, 21.7))), _JOB, "0.3 mm of overlap are a trap"
    ),
)
fails = (
    Example(
        page(_BODY.format(_SKY + _HILL.format(22, 12))),
        _JOB,
        "on screen a dark hill before a sky; on the machine its top is burned twice",
    ),
    Example(page(_BODY.format(_DISC.format(16) + _DISC.format(24))), _JOB),
    Example(page(_BODY.format(_DISC.format(20) * 2)), _JOB, "the same twice"),
)
SAME = 0.98
"""Share of two shapes that lies on each other from which on they are the same shape twice."""
SHOWN = 200
"""other shapes that are named"""


def applies(plan: Plan) -> bool:
    """Only where fills are engraved."""
    return any(bool((sheet.lines.filled & sheet.lines.of(ENGRAVE)).any()) for sheet in plan.sheets)


def check(
    doubled: Sequence[Doubled], engraving: Engraving, lines: Lines, options: Mapping[str, float]
) -> Iterator[Fault]:
    """One finding for all shapes that hang together by lying on each other."""
    wide = _wider(doubled, options["trap"])
    for group in _groups(wide, len(lines.closed)):
        largest = max(group, key=lambda one: one.area)
        contours = sorted({contour for one in group for contour in one.contours})
        *others, on = (_spot(contour, largest, lines, engraving) for contour in largest.contours)
        more = [k for k in contours if k not in largest.contours]
        others += [_spot(k, _on(k, group), lines, engraving) for k in more]
        area = sum(one.area for one in group)
        yield Fault(
            message=_said(area, group, contours, engraving),
            on=on,
            measured=area,
            required=0.0,
            unit="mm2",
            others=tuple(("another of the engraved shapes", spot) for spot in others[:SHOWN]),
            mark=tuple(ring for one in group for ring in _rings(one.polygon)),
        )


def _wider(doubled: Sequence[Doubled], trap: float) -> list[Doubled]:
    """The areas that hold a disc wider than a trap."""
    import shapely

    if not doubled:
        return []
    areas = np.array([one.polygon for one in doubled], object)
    rest = shapely.is_empty(shapely.buffer(areas, -trap / 2.0 - NARROW, quad_segs=16))
    return [one for one, narrow in zip(doubled, rest.tolist(), strict=True) if not narrow]


NARROW = 1e-4
"""mm: what two edges have in common that are drawn in one place, to the last digits"""


def _groups(areas: Sequence[Doubled], contours: int) -> list[list[Doubled]]:
    """Areas by the shapes that hang together, in the order of the drawing."""
    first = np.array([one.contours[0] for one in areas for _ in one.contours[1:]], np.int64)
    other = np.array([k for one in areas for k in one.contours[1:]], np.int64)
    label = connected(contours, first, other)
    groups: dict[int, list[Doubled]] = {}
    for one in sorted(areas, key=lambda one: one.contours[0]):
        groups.setdefault(int(label[one.contours[0]]), []).append(one)
    return list(groups.values())


def _said(
    area: float, group: Sequence[Doubled], contours: Sequence[int], engraving: Engraving
) -> str:
    from scantling.measure.pieces.engraving import covered_area

    times = max(one.times for one in group)
    much = "twice" if times == 2 else f"more than once, up to {times} times"
    places = f" in {len(group)} places" if len(group) > 1 else ""
    said = f"{area:.2f} mm² are engraved {much}{places}"
    if len(contours) > 2:
        return f"{said}: {len(contours)} engraved shapes lie on each other"
    if area >= SAME * max(covered_area(engraving, contour) for contour in contours):
        return f"{said}: the same shape is there twice"
    return f"{said}: two engraved shapes lie on each other"


def _on(contour: int, group: Sequence[Doubled]) -> Doubled:
    """The largest area that a shape has a share in."""
    return max((one for one in group if contour in one.contours), key=lambda one: one.area)


def _spot(contour: int, area: Doubled, lines: Lines, engraving: Engraving) -> Spot:
    """A place within the area, put down to the edge of the shape that is nearest to it."""
    import shapely

    at = shapely.get_coordinates(shapely.point_on_surface(area.polygon))[0]
    return nearest_spot(at, engraving.edges, lines, lines.shape == lines.shape[contour])


def _rings(polygon: Any) -> Iterator[Any]:
    """The outlines of an area."""
    for ring in (polygon.exterior, *polygon.interiors):
        yield np.asarray(ring.coords)
