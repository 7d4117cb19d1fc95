"""Drawings as reports draw them again: the very lines that were judged, and nothing else.

Only reports that draw ask for this, after the judging: a drawing is read and planned once more,
never measured, so that findings that were kept need no geometry kept with them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

import numpy as np

from scantling.linter import TROUBLES, Linter
from scantling.plan.model import GUIDE, OPERATIONS
from scantling.read import Source, read_drawing
from scantling.read.flatten import flatten
from scantling.report.model import Report, Scene, Stroke

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scantling.arrays import Array
    from scantling.plan.model import Plan, Sheet
    from scantling.read.drawing import Shape


def scenes(report: Report, linter: Linter) -> dict[str, Scene]:
    """The scene of each drawing of a report, by FileReport.file. What cannot be read any more
    has none: its findings are shown without the drawing."""
    found = {}
    for file in report.files:
        if file.failure is not None:
            continue
        try:
            source = Source.open(file.file, limits=linter.wanted.limits)
            drawing = read_drawing(source, linter.wanted.limits)
            job = linter.setting(file.file).job
            plan = linter.planned(drawing, file.file, job, linter.wanted.stock)
        except TROUBLES:
            continue
        found[file.file] = scene_of(plan)
    return found


def scene_of(plan: Plan) -> Scene:
    """The geometry of a plan: the lines of each sheet by operation and colour, in drawing order,
    then guides and what no sheet takes."""
    page = plan.drawing.page
    strokes = [stroke for sheet in plan.sheets for stroke in _of_sheet(sheet)]
    xy, first, closed = beside(plan)
    if len(closed):
        path = _path(xy, first, closed, range(len(closed)))
        strokes.append(Stroke(path=path, sheet="", operation=GUIDE))
    return Scene(size=(page.width * plan.scale, page.height * plan.scale), strokes=tuple(strokes))


def _of_sheet(sheet: Sheet) -> Iterator[Stroke]:
    """One stroke for each operation and colour; open lines apart from closed ones, because only
    what is closed has an inside."""
    lines, shapes = sheet.lines, sheet.drawing.shapes
    groups: dict[tuple[int, str, bool], list[int]] = {}
    for k, (shape, operation, filled, closed) in enumerate(
        zip(
            lines.shape.tolist(),
            lines.operation.tolist(),
            lines.filled.tolist(),
            lines.closed.tolist(),
            strict=True,
        )
    ):
        groups.setdefault((operation, colour_of(shapes[shape], filled), closed), []).append(k)
    for (operation, colour, _), contours in groups.items():
        yield Stroke(
            path=_path(lines.xy, lines.first, lines.closed, contours),
            sheet=sheet.label,
            operation=OPERATIONS[operation],
            colour=colour,
        )


def colour_of(shape: Shape, filled: bool) -> str:
    """What a shape's outline or centre line is drawn in: '#rrggbb', '' where that is not a
    colour."""
    paint = shape.fill if filled else shape.stroke
    return paint.colour.hex if paint is not None and paint.colour is not None else ""


def beside(plan: Plan) -> tuple[Array, NDArray[np.int64], NDArray[np.bool_]]:
    """The outlines that are on no sheet, guides and what nothing is assigned to: (n, 2) points in
    mm, of m contours those where each begins (m+1,), and whether it closes (m,)."""
    curves = plan.drawing.curves
    wanted = np.zeros(len(curves.closed), np.bool_)
    for shape in (*plan.guides, *(missing.shape for missing in plan.unassigned)):
        wanted[shape.contours.start : shape.contours.stop] = True
    if not wanted.any():
        return np.empty((0, 2)), np.zeros(1, np.int64), np.zeros(0, np.bool_)
    flat = flatten(curves, plan.job.chord / plan.scale, wanted)
    return flat.xy * plan.scale, flat.first, curves.closed[flat.contour]


def _path(
    xy: Array, first: NDArray[np.int64], closed: NDArray[np.bool_], contours: Iterable[int]
) -> str:
    """Path data in mm, to a thousandth. A moveto with further pairs draws lines (SVG 2, 9.3.3)."""
    points = np.round(xy, 3) + 0.0
    parts = []
    for k in contours:
        run = points[first[k] : first[k + 1]].ravel().tolist()
        parts.append(f"M{str(run)[1:-1].replace(',', '')}{'Z' if closed[k] else ''}")
    return "".join(parts)
