"""What a report says of a plan before its findings: what was assumed, and what was left out."""

from __future__ import annotations

from collections.abc import Iterable

from scantling.plan.assigning import paint_name
from scantling.plan.model import BAND, Design, Job, Stock
from scantling.read.drawing import Shape


def made_up(job: Job, stock: Stock, *, named: bool) -> str:
    what = f"{stock.name} ({stock.material}, {stock.thickness:g} mm, {stock.process})"
    said = f"every colour is judged as a sheet of its own, cut from {what}"
    if named:
        return said
    if job.path is None:
        return f"no job sheet: {said}, the built-in default stock"
    if job.stocks:
        return f"the job sheet assigns nothing: {said}, its first stock"
    return f"the job sheet assigns nothing: {said}, the built-in default stock"


def passed_over(shapes: Iterable[Shape], scale: float) -> list[str]:
    """Strokes that are lines of their own on screen, and that nothing is made of because a fill
    decides. (Of those as wide as a band the rule ambiguous-outline tells.)"""
    found = [
        paint_name(shape.stroke)
        for shape in shapes
        if shape.fill is not None
        and shape.stroke is not None
        and shape.stroke_width * scale < BAND
        and paint_name(shape.fill) != paint_name(shape.stroke)
    ]
    if not found:
        return []
    colours = list(dict.fromkeys(found))
    names = ", ".join(colours[:3]) + (f" and {len(colours) - 3} more" if len(colours) > 3 else "")
    what, around = "strokes", f"{len(found)} filled shapes are"
    if len(found) == 1:
        what, around = "a stroke", "a filled shape is"
    return [
        f"{what} of another colour ({names}) around {around} ignored: where no job sheet "
        "assigns colours, the fill decides"
    ]


def of_size(
    job: Job, design: Design | None, sized_by: str, *, asked: bool, empty: bool
) -> list[str]:
    """Why a drawing is not judged at the size that was asked for, if it is not. `empty`: nothing
    of it is made."""
    if asked and empty:
        return ["no finished size can be given: there is nothing to make"]
    if sized_by == "job":
        return []
    said = []
    if job.designs and design is None:
        said.append("no design of the job sheet names this file")
    why = "the artwork has no extent in that direction" if asked else "no finished size given"
    if sized_by == "drawing":
        said.append(f"{why}: judged at the drawing's own physical size")
    else:
        said.append(f"{why} and no size in the drawing: 96 pixels taken as an inch")
    return said
