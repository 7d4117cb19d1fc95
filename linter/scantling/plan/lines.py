"""From shapes to the lines of each sheet, as polylines in millimetres.

A loop runs over the shapes of a drawing, none over its contours or points.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from scantling.plan.assigning import Line
from scantling.plan.model import Lines
from scantling.read.drawing import Drawing, Shape
from scantling.read.flatten import flatten
from scantling.records import dataclass

if TYPE_CHECKING:
    from numpy.typing import NDArray

Box = tuple[float, float, float, float]
GRAIN = 2.0**-34
"""mm (60 picometres): what finished coordinates are rounded to, so that lines can be moved by
whole millimetres without the loss of a digit."""


@dataclass(frozen=True, slots=True)
class Uses:
    """Every use of a contour by a sheet, sorted by sheet, then in drawing order.

    contour (n,) index into Curves; shape (n,) into Drawing.shapes; sheet, operation, filled,
    width (n,) stroke width in pixels, 0 for fills
    """

    contour: NDArray[np.int64]
    shape: NDArray[np.int64]
    sheet: NDArray[np.int64]
    operation: NDArray[np.int8]
    filled: NDArray[np.bool_]
    width: NDArray[np.float64]

    @classmethod
    def of(cls, shapes: Sequence[Shape], lines: Sequence[Line], order: NDArray[np.int64]) -> Uses:
        table = np.array(
            [
                (
                    s.contours.start,
                    s.contours.stop,
                    s.index,
                    line.sheet,
                    line.operation,
                    line.filled,
                )
                for s, line in zip(shapes, lines, strict=True)
            ],
            np.int64,
        ).reshape(-1, 6)
        width = np.array(
            [0.0 if line.filled else s.stroke_width for s, line in zip(shapes, lines, strict=True)],
            np.float64,
        )
        sheet = order[table[:, 3]] if len(table) else table[:, 3]
        if len(order) > 1:
            by_sheet = np.argsort(sheet, kind="stable")
            table, width, sheet = table[by_sheet], width[by_sheet], sheet[by_sheet]
        count = table[:, 1] - table[:, 0]
        use = np.repeat(np.arange(len(table)), count)
        contour = runs(table[:, 0], count)
        return cls(
            contour=contour,
            shape=table[use, 2],
            sheet=sheet[use],
            operation=table[use, 4].astype(np.int8),
            filled=table[use, 5].astype(np.bool_),
            width=width[use],
        )


def runs(start: NDArray[np.int64], count: NDArray[np.int64]) -> NDArray[np.int64]:
    """The numbers start[k], start[k] + 1, … (count[k] of them) for each k, one after another."""
    total = int(count.sum())
    before = np.cumsum(count) - count
    return np.repeat(start - before, count) + np.arange(total)


def box_of(boxes: NDArray[np.float64], uses: Uses) -> Box | None:
    """Exact extents in pixels of every contour that a sheet uses."""
    if not len(uses.contour):
        return None
    each = boxes[uses.contour]
    low, high = each[:, :2].min(axis=0), each[:, 2:].max(axis=0)
    return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))


def lines_of(
    drawing: Drawing, uses: Uses, scale: float, chord: float, sheets: int
) -> list[Lines | None]:
    """The lines of every sheet; None for a sheet without any."""
    if not len(uses.contour):
        return [None] * sheets
    curves = drawing.curves
    wanted = np.zeros(len(curves.closed), np.bool_)
    wanted[uses.contour] = True
    flat = flatten(curves, chord / scale, wanted)
    place = np.full(len(curves.closed), -1, np.int64)
    place[flat.contour] = np.arange(len(flat.contour))
    run = place[uses.contour]
    count = np.diff(flat.first)[run]
    point = runs(flat.first[run], count)
    first = np.concatenate(([0], np.cumsum(count)))
    xy = np.rint(flat.xy[point] * (scale / GRAIN))
    xy *= GRAIN
    segment = flat.segment[point]
    closed = curves.closed[uses.contour]
    width = uses.width * scale
    cuts = np.searchsorted(uses.sheet, np.arange(sheets + 1))
    made: list[Lines | None] = []
    for low, high in zip(cuts[:-1].tolist(), cuts[1:].tolist(), strict=True):
        if low == high:
            made.append(None)
            continue
        start, end = int(first[low]), int(first[high])
        made.append(
            Lines(
                xy=xy[start:end],
                first=first[low : high + 1] - start,
                closed=closed[low:high],
                shape=uses.shape[low:high],
                operation=uses.operation[low:high],
                filled=uses.filled[low:high],
                width=width[low:high],
                segment=segment[start:end],
            )
        )
    return made
