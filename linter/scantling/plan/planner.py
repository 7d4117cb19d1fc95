"""Drawing + job sheet → sheets in millimetres at the finished size.

Which assignment counts for a paint: layers from the innermost outwards, in each layer one that
names its colour too before one that names the layer alone; then the colour. A layer stands for
whatever is painted in it, gradients included.

The work is vectorised over the whole drawing: a loop runs over its shapes, none over its
contours or points.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field, replace
from typing import TYPE_CHECKING

import numpy as np

from scantling.plan.checked import Problem, choices, shown
from scantling.plan.misnamed import misnamed
from scantling.plan.model import (
    BAND,
    CUT,
    ENGRAVE,
    GUIDE,
    OPERATIONS,
    Assignment,
    Design,
    Job,
    Lines,
    Plan,
    Sheet,
    Stock,
    Tolerances,
    Unassigned,
)
from scantling.plan.patterns import matches_file
from scantling.plan.stocks import DEFAULT, Forbids, UnknownStock, hazard
from scantling.read.drawing import MM_PER_PX, Colour, Drawing, Paint, Shape
from scantling.read.flatten import bounds, flatten
from scantling.records import NamedTuple, dataclass

if TYPE_CHECKING:
    from numpy.typing import NDArray

GRAIN = 2.0**-34
"""mm (60 picometres): what finished coordinates are rounded to, so that lines can be moved by
whole millimetres without the loss of a digit."""
REACH = 1.5
"""How far the measuring room looks, in multiples of the largest minimum plus kerf."""

Box = tuple[float, float, float, float]


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
    looker, notices = _looker(job, instead, known)
    shapes, lines, guides, unassigned = _looked_up(drawing, looker)

    order, sheets = _in_order(looker.drafts, design, job)
    uses = _Uses.of(shapes, lines, order)
    boxes = bounds(drawing.curves)
    box = _box(boxes, uses)
    asked = (width, height)
    if width is None and height is None and design is not None:
        asked = (design.width, design.height)
    asked_scale = _scale(box, *asked)
    scale = MM_PER_PX if asked_scale is None else asked_scale
    own = "drawing" if drawing.page.real else "screen"
    sized_by = own if asked_scale is None else "job"
    tolerances = Tolerances(job.chord, job.join_tolerance, job.coincidence)
    others = tuple(also)
    made = _lines(drawing, uses, scale, job.chord, len(sheets))
    if job.assignments:
        notices += misnamed(drawing.shapes, job.assignments)
    else:
        notices += _passed_over(shapes, scale)
    if asked != (None, None) and box is None:
        notices.append("the finished size cannot be had: there is nothing to make")
    else:
        notices += _size_notices(job, design, sized_by, asked=asked != (None, None))
    return Plan(
        drawing=drawing,
        boxes=boxes,
        job=job,
        design=design,
        sheets=tuple(
            Sheet(
                label=draft.label,
                stock=draft.stock,
                lines=own,
                drawing=drawing,
                tolerances=tolerances,
                reach=reach(draft.stock, others),
                colours=tuple(draft.colours),
                assigned=draft.assigned,
            )
            for draft, own in zip(sheets, made, strict=True)
            if own is not None
        ),
        guides=guides,
        unassigned=_with_nearest(unassigned, job),
        scale=scale,
        extents=None if box is None else tuple(v * scale for v in box),  # type: ignore[arg-type]
        sized_by=sized_by,
        notices=tuple(notices),
        asked=asked,
    )


def _label(stock: Stock, assigned: str, *, by_colour: bool) -> str:
    """What reports call a sheet of a stock, given what the job sheet assigns."""
    if by_colour:
        return f"{stock.name} {assigned}"
    return assigned if stock.name == assigned else f"{stock.name} instead of {assigned}"


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


def find_stock(name: str, known: Mapping[str, Stock], forbids: Forbids | None = None) -> Stock:
    """A stock by its name. Raises UnknownStock, naming the nearest one, and first the hazard that
    the name speaks of."""
    if name in known:
        return known[name]
    said = f"no stock is called {shown(name)}; {choices(name, list(known))}"
    raise UnknownStock([Problem("", 0, 0, "", hazard(name, None, forbids) + said)])


# What becomes of each shape


def _looker(
    job: Job, instead: Stock | None, known: Mapping[str, Stock]
) -> tuple[_Assigned | _ByColour, list[str]]:
    """What rules on shapes, and what reports say about it first."""
    if job.assignments:
        return _Assigned(job, instead, known), []
    usual = instead or find_stock(job.default_stock or DEFAULT, known)
    return _ByColour(usual), [_made_up(job, usual, named=instead is not None)]


class _Assigned:
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


class _ByColour:
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


def _looked_up(
    drawing: Drawing, looker: _Assigned | _ByColour
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
            ruling = rulings[key] = looker.ruling(shape)
        for line in ruling.lines:
            shapes.append(shape)
            lines.append(line)
        if ruling.guide:
            guides.append(shape)
        for paint, colour in ruling.unassigned:
            unassigned.append(Unassigned(shape, paint, colour))
    return shapes, lines, tuple(guides), unassigned


def _with_nearest(unassigned: Sequence[Unassigned], job: Job) -> tuple[Unassigned, ...]:
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


def _in_order(
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


# From shapes to lines


@dataclass(frozen=True, slots=True)
class _Uses:
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
    def of(cls, shapes: Sequence[Shape], lines: Sequence[Line], order: NDArray[np.int64]) -> _Uses:
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


def _box(boxes: NDArray[np.float64], uses: _Uses) -> Box | None:
    """Exact extents in pixels of every contour that a sheet uses."""
    if not len(uses.contour):
        return None
    each = boxes[uses.contour]
    low, high = each[:, :2].min(axis=0), each[:, 2:].max(axis=0)
    return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))


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


def _lines(
    drawing: Drawing, uses: _Uses, scale: float, chord: float, sheets: int
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


# What the report says first


def _made_up(job: Job, stock: Stock, *, named: bool) -> str:
    what = f"{stock.name} ({stock.material}, {stock.thickness:g} mm, {stock.process})"
    said = f"every colour is judged as a sheet of its own, cut from {what}"
    if named:
        return said
    if job.path is None:
        return f"no job sheet: {said}, the built-in default stock"
    if job.stocks:
        return f"the job sheet assigns nothing: {said}, its first stock"
    return f"the job sheet assigns nothing: {said}, the built-in default stock"


def _passed_over(shapes: Iterable[Shape], scale: float) -> list[str]:
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
        f"{what} of another colour ({names}) around {around} not looked at: where no job sheet "
        "assigns colours, the fill decides"
    ]


def _size_notices(job: Job, design: Design | None, sized_by: str, *, asked: bool) -> list[str]:
    if sized_by == "job":
        return []
    said = []
    if job.designs and design is None:
        said.append("no design of the job sheet names this file")
    why = "the artwork has no extent that way" if asked else "no finished size given"
    if sized_by == "drawing":
        said.append(f"{why}: judged at the drawing's own physical size")
    else:
        said.append(f"{why} and no size in the drawing: 96 pixels taken as an inch")
    return said
