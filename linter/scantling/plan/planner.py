"""Drawing + job sheet → sheets in millimetres at the finished size."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from scantling.plan import notices
from scantling.plan.assigning import ByColour, assign, assigner_for, in_order, with_nearest
from scantling.plan.lines import Box, Uses, box_of, lines_of
from scantling.plan.misnamed import misnamed
from scantling.plan.model import Design, Job, Plan, Sheet, Stock, Tolerances
from scantling.plan.patterns import matches_file
from scantling.plan.stocks import Forbids, find_stock
from scantling.read.drawing import MM_PER_PX, Drawing
from scantling.read.flatten import bounds

REACH = 1.5
"""How far the measuring room looks, in multiples of the largest minimum plus kerf."""


def plan_drawing(
    drawing: Drawing,
    job: Job,
    *,
    file: str,
    stock: str | Stock | None = None,
    width: float | None = None,
    height: float | None = None,
    tables: Mapping[str, Stock] | None = None,
    also: Iterable[Stock] = (),
    forbids: Forbids | None = None,
) -> Plan:
    """Plan one drawing.

    file     path of the drawing, for the job sheet's file patterns
    stock    judge by this stock, whatever the job sheet assigns: one of the job sheet, one of
             `tables` (the stock tables' stocks by name), or a Stock
    width, height   finished size in mm, instead of the job sheet's
    also     further stocks that will be asked about the same facts; they widen the reach
    forbids  says why a material must not go into a process: of a stock that nobody knows
    Raises UnknownStock.
    """
    known = dict(tables or {}) | dict(job.stocks)
    instead = find_stock(stock, known, forbids) if isinstance(stock, str) else stock
    design = next((d for d in job.designs if matches_file(d.files, file, job.path)), None)
    assigner = assigner_for(job, instead, known)
    shapes, lines, guides, unassigned = assign(drawing, assigner)
    order, drafts = in_order(assigner.drafts, design, job)
    uses = Uses.of(shapes, lines, order)
    boxes = bounds(drawing.curves)
    box = box_of(boxes, uses)
    asked = _asked(design, width, height)
    asked_scale = _scale(box, *asked)
    scale = MM_PER_PX if asked_scale is None else asked_scale
    own = "drawing" if drawing.page.real else "screen"
    sized_by = own if asked_scale is None else "job"
    if isinstance(assigner, ByColour):
        said = [notices.made_up(job, assigner.stock, named=instead is not None)]
        said += notices.passed_over(shapes, scale)
    else:
        said = list(misnamed(drawing.shapes, job.assignments))
    said += notices.of_size(job, design, sized_by, asked=asked != (None, None), empty=box is None)
    tolerances = Tolerances(job.chord, job.join_tolerance, job.coincidence)
    others = tuple(also)
    return Plan(
        drawing=drawing,
        boxes=boxes,
        job=job,
        design=design,
        sheets=tuple(
            Sheet(
                label=draft.label,
                stock=draft.stock,
                lines=its,
                drawing=drawing,
                tolerances=tolerances,
                reach=reach(draft.stock, others),
                colours=tuple(draft.colours),
                assigned=draft.assigned,
            )
            for draft, its in zip(
                drafts, lines_of(drawing, uses, scale, job.chord, len(drafts)), strict=True
            )
            if its is not None
        ),
        guides=guides,
        unassigned=with_nearest(unassigned, job),
        scale=scale,
        extents=None if box is None else tuple(v * scale for v in box),  # type: ignore[arg-type]
        sized_by=sized_by,
        notices=tuple(said),
        asked=asked,
    )


def _asked(
    design: Design | None, width: float | None, height: float | None
) -> tuple[float | None, float | None]:
    """The finished size that is asked for: by the caller, or else by the design."""
    if width is None and height is None and design is not None:
        return design.width, design.height
    return width, height


def _scale(box: Box | None, width: float | None, height: float | None) -> float | None:
    """mm per pixel that brings the extents to the size asked for, within both where both are
    given; None where nothing is asked for, or where the artwork has no such extent."""
    if box is None:
        return None
    sides = ((width, box[2] - box[0]), (height, box[3] - box[1]))
    scales = [
        asked / extent
        for asked, extent in sides
        if asked is not None and extent > 0 and 0 < asked / extent < math.inf
    ]
    return min(scales, default=None)


def reach(stock: Stock, others: Iterable[Stock] = ()) -> float:
    """How far to measure for a stock and for the others of its process, in mm."""
    asked = (stock, *(other for other in others if other.process == stock.process))
    return REACH * max(
        s.slot + max(s.minimum.web, s.minimum.gap, s.minimum.hole, s.minimum.stroke) for s in asked
    )


def far_enough(sheet: Sheet, stock: Stock) -> bool:
    """Whether what is measured of a sheet is all that another stock asks for, with the tenth that
    it takes to tell how a taper goes on."""
    return reach(stock) * (1.1 / REACH) <= sheet.reach
