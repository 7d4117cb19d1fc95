"""off-part: engraving and scoring beside the parts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from scantling.judge import Example, Fault, Level, assigned, page, stocked
from scantling.measure.lines.close import Edges
from scantling.measure.model import OpenEnd, Piece
from scantling.measure.spots import nearest_spot
from scantling.plan.model import CUT, ENGRAVE, SCORE, Lines, Plan
from scantling_rules.drawing import unassigned_colour
from scantling_rules.lines import open_path
from scantling_rules.told import told_of

if TYPE_CHECKING:
    from scantling.arrays import Flags, Index, Shapes
    from scantling.measure.pieces.beyond import Beyond
    from scantling.measure.pieces.engraving import Engraving

id = "off-part"
level = "warning"
title = "engraving or scoring that lies on no part, or runs over a part's edge"
why = """
What lies on no part marks the waste, a drop-out or the bed, and is missing from the part that it
was meant for: it was moved apart from its part, or belongs to another sheet. What runs over an
edge is cut off there; the edge chars where the tool goes over it twice. Many makers let an
engraving run over on purpose, so that no bare rim is left beside the cut: that is only noted.
"""
remedy = """
Move it onto its part, or delete it. At an edge, end the engraving where the part ends, or leave it
as a bleed where a rim would look worse. Marks for the sheet itself, to line it up by, belong to
another stock's layer or to the operation `guide`; or accept the finding with its reason.
"""
source = (
    "common practice, no source; parts as drawn. A sheet without a cut line is a blank that was "
    "cut before, and all of it may be engraved"
)
parameters = {
    "over": {
        "type": "number",
        "default": 0.5,
        "minimum": 0,
        "x-unit": "mm",
        "description": "how far engraving and scoring may run over an edge before it is noted",
    }
}
_JOB = (
    stocked("ply", "plywood")
    + assigned("#000", "ply")
    + assigned("#953", "ply", "engrave")
    + assigned("#06c", "ply", "score")
)
_PLATE = '<rect x="5" y="5" width="30" height="30"/>'
_BAND = '<rect x="{}" y="12" width="{}" height="8" fill="#953"/>'
_CREASE = '<path fill="none" stroke="#06c" stroke-width="0.3" d="M{} 20H{}"/>'
passes = (
    Example(page(_PLATE + _BAND.format(10, 20) + _CREASE.format(5, 35)), _JOB),
    Example(
        page(_PLATE + _BAND.format(5, 30.3)), _JOB, "0.3 mm over the edge are within what may be"
    ),
    Example(page(_BAND.format(10, 20)), _JOB, "a blank that was cut before"),
)
fails = (
    Example(page(_PLATE + _BAND.format(40, 12), 60), _JOB, "beside the part: a warning"),
    Example(
        page(f'<path fill-rule="evenodd" d="M2 2H38V38H2ZM8 8V32H32V8Z"/>{_BAND.format(10, 20)}'),
        _JOB,
        "on a drop-out: a warning",
    ),
    Example(page(_PLATE + _CREASE.format(42, 58), 60), _JOB, "a scored line beside the part"),
    Example(page(_PLATE + _BAND.format(3, 34)), _JOB, "2 mm over both edges: a note"),
)
SHOWN = 200
"""places that are named besides the largest"""


def applies(plan: Plan) -> bool:
    """Only where something of a sheet is cut and something engraved or scored."""
    return any(
        bool(sheet.lines.of(CUT).any()) and bool(sheet.lines.of(SCORE, ENGRAVE).any())
        for sheet in plan.sheets
    )


def check(
    pieces: Sequence[Piece],
    open_ends: Sequence[OpenEnd],
    engraved: Shapes,
    engraving: Engraving,
    lines: Lines,
    edges: Edges,
    plan: Plan,
    options: Mapping[str, float],
) -> Iterator[Fault]:
    """One finding a sheet for the areas that lie on no part, one for those that run over an edge,
    and the same for lines. A sheet without parts has none to miss; and what lies within an outline
    that does not close, or on a shape that nothing is assigned to, other rules tell of."""
    from scantling.measure.pieces.beyond import beyond, followed

    parts = [piece.polygon for piece in pieces if piece.kept]
    if not parts:
        return
    lost = []
    if told_of(plan, open_path.id):
        lost += _unclosed(open_ends, lines)
    if told_of(plan, unassigned_colour.id):
        lost += _unassigned(plan)
    traced = lines.of(SCORE) | (lines.of(ENGRAVE) & ~lines.filled)
    contour, drawn = followed(lines, traced)
    waste = [piece.polygon for piece in pieces if not piece.kept]
    for things, of in ((engraved, None), (drawn, contour)):
        if len(things):
            far = beyond(things, parts, options["over"])
            free = ~_within(far.shape, lost)
            for kind in (free & far.whole, free & ~far.whole):
                if kind.any():
                    yield _fault(
                        far, np.flatnonzero(kind), of, waste, engraving.edges, edges, lines
                    )


def _fault(
    far: Beyond,
    which: Index,
    of: Index | None,
    waste: Sequence[object],
    fills: Edges,
    edges: Edges,
    lines: Lines,
) -> Fault:
    """Of some things alike, by the largest.

    of    the contour of each thing where they are lines
    """
    import shapely

    which = which[np.argsort(-far.size[which], kind="stable")]
    shapes = far.shape[which]
    at = shapely.get_coordinates(shapely.point_on_surface(shapes[: SHOWN + 1]))
    spots = [
        nearest_spot(place, fills, lines)
        if of is None
        else nearest_spot(place, edges, lines, np.arange(len(lines.closed)) == of[number])
        for place, number in zip(at, far.number[which].tolist(), strict=False)
    ]
    size, total = float(far.size[which].sum()), float(far.total[which].sum())
    what = "mm² of engraving" if of is None else "mm of line"
    places = f" in {len(which)} places" if len(which) > 1 else ""
    if far.whole[which[0]]:
        loose = bool(_within(shapes, waste).all())
        where = "a drop-out" if loose else "no part"
        message = f"{size:.2f} {what} lie{places} on {where}: the waste or the bed is marked"
    else:
        message = f"{size:.2f} of {total:.2f} {what} run{places} over the edge of a part"
    return Fault(
        message=message,
        on=spots[0],
        measured=size,
        required=0.0,
        unit="mm2" if of is None else "mm",
        others=tuple(("another such place", spot) for spot in spots[1:]),
        mark=tuple(
            shapely.get_coordinates(line)
            for line in shapely.get_parts(shapely.boundary(shapes) if of is None else shapes)
        ),
        level=None if far.whole[which[0]] else Level.NOTE,
    )


def _unclosed(open_ends: Sequence[OpenEnd], lines: Lines) -> list[object]:
    """What lies around outlines that do not close: parts, if they did."""
    import shapely

    xy, first = lines.xy, lines.first
    return [
        shapely.convex_hull(
            shapely.multipoints(np.concatenate([xy[first[k] : first[k + 1]] for k in end.contours]))
        )
        for end in open_ends
        if not all(end.touches)
    ]


def _unassigned(plan: Plan) -> list[object]:
    """The boxes around shapes whose fill is assigned to nothing: they may be meant for parts."""
    import shapely

    boxes = [
        plan.boxes[one.shape.contours.start : one.shape.contours.stop] * plan.scale
        for one in plan.unassigned
        if one.paint.startswith("fill")
    ]
    return [shapely.box(*box[:, :2].min(axis=0), *box[:, 2:].max(axis=0)) for box in boxes]


def _within(shapes: Shapes, areas: Sequence[object]) -> Flags:
    """Which shapes lie within one of some areas."""
    import shapely

    within = np.zeros(len(shapes), bool)
    within[shapely.STRtree(np.array(areas, object)).query(shapes, "covered_by")[0]] = True
    return within
