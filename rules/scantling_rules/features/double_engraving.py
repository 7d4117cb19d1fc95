"""double-engraving: an area that is engraved twice."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.judge import Example, Fault, assigned, page, stocked
from scantling.measure.model import Doubled
from scantling.plan.model import ENGRAVE, Lines, Plan

if TYPE_CHECKING:
    from scantling.measure.pieces.doubled import Copies
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
    "lies on itself. Strokes are lines: duplicate-line reports where they run on each other"
)
parameters = {
    "trap": {
        "type": "number",
        "default": 0.5,
        "minimum": 0,
        "x-unit": "mm",
        "description": "overlaps no wider than this are taken to be meant, so that no light shows "
        "between two areas, and are not reported; the same shape twice is reported however narrow "
        "it is",
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
SHOWN = 200
"""other shapes that are named"""


def applies(plan: Plan) -> bool:
    """Only where fills are engraved."""
    return any(bool((sheet.lines.filled & sheet.lines.of(ENGRAVE)).any()) for sheet in plan.sheets)


def check(
    copies: Copies,
    overlaid: Sequence[Doubled],
    engraving: Engraving,
    lines: Lines,
    options: Mapping[str, float],
) -> Iterator[Fault]:
    """One finding for a shape that is there several times, and one for all shapes that hang
    together by lying on each other."""
    from scantling.measure.pieces.doubled import groups

    for same in copies:
        yield _again(same, engraving, lines)
    for group in groups(overlaid, options["trap"], lines):
        yield _over(group, engraving, lines)


def _again(same: Sequence[int], engraving: Engraving, lines: Lines) -> Fault:
    """Of shapes that cover the same, in drawing order."""
    import shapely

    from scantling.measure.pieces.doubled import covered, start_of

    area = covered(engraving, same[0])
    *others, on = (start_of(contour, lines) for contour in same)
    times = "twice" if len(same) == 2 else f"{len(same)} times"
    mm2 = float(area.area)
    return Fault(
        message=f"{mm2:.2f} mm² are engraved {times}: the same shape is there {times}",
        on=on,
        measured=mm2,
        required=0.0,
        unit="mm2",
        others=(
            ("the same shape below it", others[-1]),
            *(("another of the same shape", spot) for spot in others[:-1][:SHOWN]),
        ),
        mark=tuple(ring for one in shapely.get_parts(area) for ring in _rings(one)),
    )


def _over(group: Sequence[Doubled], engraving: Engraving, lines: Lines) -> Fault:
    """Of shapes that lie on each other in some areas."""
    from scantling.measure.pieces.doubled import largest, spot_in

    most = largest(group)
    contours = sorted({contour for one in group for contour in one.contours})
    *others, on = (spot_in(most.polygon, k, lines, engraving) for k in most.contours)
    for k in contours:
        if k not in most.contours:
            where = largest(one for one in group if k in one.contours)
            others.append(spot_in(where.polygon, k, lines, engraving))
    what = "another of the engraved shapes" if len(others) > 1 else "the shape below it"
    area = sum(one.area for one in group)
    return Fault(
        message=_said(area, group, len(contours)),
        on=on,
        measured=area,
        required=0.0,
        unit="mm2",
        others=tuple((what, spot) for spot in others[:SHOWN]),
        mark=tuple(ring for one in group for ring in _rings(one.polygon)),
    )


def _said(area: float, group: Sequence[Doubled], shapes: int) -> str:
    times = max(one.times for one in group)
    much = "twice" if times == 2 else f"more than once, up to {times} times"
    places = f" in {len(group)} places" if len(group) > 1 else ""
    some = "two" if shapes == 2 else f"{shapes}"
    return f"{area:.2f} mm² are engraved {much}{places}: {some} engraved shapes lie on each other"


def _rings(polygon: Any) -> Iterator[Any]:
    """The outlines of an area."""
    for ring in (polygon.exterior, *polygon.interiors):
        yield np.asarray(ring.coords)
