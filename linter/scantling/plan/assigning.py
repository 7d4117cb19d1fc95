"""What becomes of each shape: which sheet it is on, and what is done there.

Which assignment counts for a paint: layers from the innermost outwards, in each layer one that
names its colour too before one that names the layer alone; then the colour. A layer stands for
whatever is painted in it, gradients included. Without assignments each colour is a sheet.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field, replace
from typing import TYPE_CHECKING

import numpy as np

from scantling.plan.model import (
    CUT,
    ENGRAVE,
    GUIDE,
    OPERATIONS,
    Assignment,
    Design,
    Job,
    Stock,
    Unassigned,
)
from scantling.plan.stocks import DEFAULT, find_stock
from scantling.read.drawing import Colour, Drawing, Paint, Shape
from scantling.records import NamedTuple, dataclass

if TYPE_CHECKING:
    from numpy.typing import NDArray


class Line(NamedTuple):
    """What one paint of a shape contributes: lines on a draft sheet."""

    sheet: int
    operation: int
    filled: bool


class Ruling(NamedTuple):
    """What becomes of a shape."""

    lines: tuple[Line, ...]
    guide: bool
    unassigned: tuple[tuple[str, Colour | None], ...]


@dataclass(slots=True)
class Draft:
    """A sheet before its lines are known."""

    assigned: str
    """the stock's name in the job sheet; without assignments the colour"""
    stock: Stock
    label: str
    colours: dict[str, None] = field(default_factory=dict)


def assigner_for(
    job: Job, instead: Stock | None, known: Mapping[str, Stock]
) -> ByAssignment | ByColour:
    """What assigns shapes under a job sheet. `instead`: the stock to cut all of them from."""
    if job.assignments:
        return ByAssignment(job, instead, known)
    return ByColour(instead or find_stock(job.default_stock or DEFAULT, known))


class ByAssignment:
    """Looks paints up in a job sheet's assignments."""

    def __init__(self, job: Job, instead: Stock | None, known: Mapping[str, Stock]) -> None:
        self.known = known
        self.instead = instead
        self.drafts: list[Draft] = []
        self._sheet: dict[str, int] = {}
        self._table: dict[tuple[tuple[int, int, int] | None, str | None], Assignment] = {
            (entry.colour[:3] if entry.colour else None, entry.layer): entry
            for entry in job.assignments
        }
        self._layers = {entry.layer for entry in job.assignments if entry.layer is not None}

    def ruling(self, shape: Shape) -> Ruling:
        """Fill and stroke, each looked up. Both cut (or both scored) from one stock are the same
        line, so the fill speaks for both."""
        lines: list[Line] = []
        missing: dict[str, Colour | None] = {}
        guide = False
        for what, paint in (("fill", shape.fill), ("stroke", shape.stroke)):
            if paint is None:
                continue
            entry = self._entry(paint, shape.layers)
            if entry is None:
                missing[f"{what} {paint_name(paint)}"] = paint.colour
            elif entry.operation == GUIDE:
                guide = True
            else:
                sheet = self._sheet_of(entry.stock)
                operation = OPERATIONS.index(entry.operation)
                if paint.colour is not None:
                    self.drafts[sheet].colours.setdefault(paint.colour.hex)
                line = Line(sheet, operation, what == "fill")
                same = entry.operation != ENGRAVE and any(other[:2] == line[:2] for other in lines)
                if not same:
                    lines.append(line)
        return Ruling(tuple(lines), guide and not lines, _once(missing))

    def _entry(self, paint: Paint, layers: tuple[tuple[str, ...], ...]) -> Assignment | None:
        colour = paint.colour[:3] if paint.colour is not None else None
        if self._layers:
            for names in reversed(layers):
                for key in (colour, None) if colour is not None else (None,):
                    for name in names:
                        if (key, name) in self._table:
                            return self._table[key, name]
        return self._table.get((colour, None)) if colour is not None else None

    def _sheet_of(self, name: str) -> int:
        if name not in self._sheet:
            self._sheet[name] = len(self.drafts)
            stock = self.instead or find_stock(name, self.known)
            self.drafts.append(Draft(name, stock, _label(stock, name, by_colour=False)))
        return self._sheet[name]


class ByColour:
    """No assignments: each colour is a sheet of its own. The fill decides, and the stroke where
    there is no fill. A gradient or pattern without a colour to fall back on is a sheet too."""

    def __init__(self, stock: Stock) -> None:
        self.stock = stock
        self.drafts: list[Draft] = []
        self._sheet: dict[str, int] = {}

    def ruling(self, shape: Shape) -> Ruling:
        for filled, paint in ((True, shape.fill), (False, shape.stroke)):
            if paint is not None:
                line = Line(self._sheet_of(paint_name(paint)), OPERATIONS.index(CUT), filled)
                return Ruling((line,), False, ())
        return Ruling((), False, ())

    def _sheet_of(self, colour: str) -> int:
        if colour not in self._sheet:
            self._sheet[colour] = len(self.drafts)
            label = _label(self.stock, colour, by_colour=True)
            self.drafts.append(Draft(colour, self.stock, label, {colour: None}))
        return self._sheet[colour]


def paint_name(paint: Paint) -> str:
    """'#rrggbb', or 'url(#id)' for a gradient or pattern without a colour to fall back on."""
    return paint.colour.hex if paint.colour is not None else f"url(#{paint.server})"


def _once(missing: Mapping[str, Colour | None]) -> tuple[tuple[str, Colour | None], ...]:
    """The paints without an assignment; fill and stroke of the same paint as one."""
    names = [name.partition(" ")[2] for name in missing]
    if len(names) == 2 and names[0] == names[1]:
        return ((f"fill and stroke {names[0]}", next(iter(missing.values()))),)
    return tuple(missing.items())


def assign(
    drawing: Drawing, assigner: ByAssignment | ByColour
) -> tuple[list[Shape], list[Line], tuple[Shape, ...], list[Unassigned]]:
    """Every line that a visible shape contributes, in drawing order: (shapes, lines) in step;
    and the shapes that are guides, and the paints that nothing is assigned to."""
    rulings: dict[tuple[object, ...], Ruling] = {}
    shapes: list[Shape] = []
    lines: list[Line] = []
    guides: list[Shape] = []
    unassigned: list[Unassigned] = []
    for shape in drawing.shapes:
        if shape.hidden or not shape.contours:
            continue
        key = (shape.fill, shape.stroke, shape.layers)
        ruling = rulings.get(key)
        if ruling is None:
            ruling = rulings[key] = assigner.ruling(shape)
        for line in ruling.lines:
            shapes.append(shape)
            lines.append(line)
        if ruling.guide:
            guides.append(shape)
        for paint, colour in ruling.unassigned:
            unassigned.append(Unassigned(shape, paint, colour))
    return shapes, lines, tuple(guides), unassigned


def with_nearest(unassigned: Sequence[Unassigned], job: Job) -> tuple[Unassigned, ...]:
    """Name the nearest assigned colour of each."""
    known = list(dict.fromkeys(a.colour for a in job.assignments if a.colour is not None))
    wanted = list(dict.fromkeys(item.colour for item in unassigned if item.colour is not None))
    if not known or not wanted:
        return tuple(unassigned)
    from scantling.plan.colour import nearest

    found = dict(zip(wanted, nearest(wanted, known), strict=True))
    return tuple(
        item
        if item.colour is None
        else replace(item, nearest=found[item.colour][0].hex, difference=found[item.colour][1])
        for item in unassigned
    )


def in_order(
    drafts: Sequence[Draft], design: Design | None, job: Job
) -> tuple[NDArray[np.int64], list[Draft]]:
    """The drafts as sheets go: by the design's stack, then as the job sheet lists its stocks,
    then as the drawing first uses them. Also each draft's number in that order."""
    listed = (*(design.stack if design else ()), *(job.stocks if job.assignments else ()))
    rank = {name: k for k, name in reversed(list(enumerate(listed)))}
    by_rank = sorted(
        range(len(drafts)), key=lambda k: (rank.get(drafts[k].assigned, len(listed)), k)
    )
    order = np.empty(len(drafts), np.int64)
    order[by_rank] = np.arange(len(drafts))
    return order, [drafts[k] for k in by_rank]


def _label(stock: Stock, assigned: str, *, by_colour: bool) -> str:
    """What reports call a sheet of a stock, given what the job sheet assigns."""
    if by_colour:
        return f"{stock.name} {assigned}"
    return assigned if stock.name == assigned else f"{stock.name} instead of {assigned}"
