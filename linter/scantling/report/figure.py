"""A drawing and the marks of its findings as plain shapes, for the page and the picture.

Everything is in mm on the page. What leaves this module is safe to put into markup: numbers,
path data of a few letters, and colours that were checked.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import cycle

from scantling.judge.finding import Finding
from scantling.records import dataclass
from scantling.report.model import FileReport, Manner, Scene, SheetSummary, Stroke
from scantling.report.plain import clean, short, spokesmen

Box = tuple[float, float, float, float]
Point = tuple[float, float]

PAPER = "#fcfbf7"
"""What drawings lie on, by day and by night: lines keep the colours that they have."""
LEAST_CONTRAST = 2.2
"""Of a line against the paper, by the formula of WCAG 2.2; common practice, no source: lines
are thick enough to be seen below the 3:1 asked of controls, and paler ones are darkened."""
SHEET_COLOURS = ("#3b5b92", "#8a4f2b", "#4e7a3a", "#7a3f78", "#2c7a7b", "#8c6d1f")
"""For sheets whose lines have no colour of their own."""
LEAST_ROOM = 3.0
"""Room that is shown around a finding, on each side, in mm."""

BARS = tuple(k * 10.0**n for n in range(-1, 4) for k in (1, 2, 5))

GONE = "absent"
"""Finding.baseline of what is no longer found: there is nothing to mark."""

_PATH = re.compile(r"[MLCZ0-9eE.,\s+-]+")
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?")
_COLOUR = re.compile(r"#[0-9a-fA-F]{6}")


@dataclass(frozen=True, slots=True)
class Layer:
    """Lines of one sheet and operation: path data, colour, and whether all of them close (then
    the inside may be tinted: even-odd shows what is solid)."""

    d: str
    sheet: int
    """index into Figure.sheets; -1: of none"""
    operation: str
    colour: str
    closed: bool


@dataclass(frozen=True, slots=True)
class SheetKey:
    """One sheet in the legend."""

    label: str
    colours: tuple[str, ...]
    summary: SheetSummary | None


@dataclass(frozen=True, slots=True)
class Mark:
    """Where a finding is.

    number    as in the list, from 1
    level     'error', 'warning', 'note' or 'accepted'
    at        the place; None where it has none in the picture
    bands     (path data, width in mm or None): thin places, doubled lines. Where a width is
              given, the first is as wide as required, the second as wide as measured
    rings     path data of outlines: parts, holes
    others    the other ends of a pair
    box       x0 y0 x1 y1 to look at
    head      number of the mark that speaks for this one in lists: its own, mostly
    speaks    for how many findings it speaks; 0 where another does
    """

    number: int
    finding: Finding
    level: str
    sheet: int
    at: Point | None
    bands: tuple[tuple[str, float | None], ...]
    rings: tuple[str, ...]
    others: tuple[Point, ...]
    box: Box | None
    head: int = 0
    speaks: int = 1


@dataclass(frozen=True, slots=True)
class Figure:
    """One drawing, ready to be shown. `home` is the box that shows all of it."""

    size: Point
    layers: tuple[Layer, ...]
    sheets: tuple[SheetKey, ...]
    marks: tuple[Mark, ...]
    home: Box

    @property
    def empty(self) -> bool:
        """Nothing to be drawn: the findings are all there is."""
        return not self.layers and not any(mark.at for mark in self.marks)

    @property
    def bar(self) -> float:
        """Length of a scale bar that fits below it, mm."""
        wide = 0.7 * (self.home[2] - self.home[0])
        return max((length for length in BARS if length <= wide), default=BARS[0])


def figure_of(file: FileReport, manner: Manner) -> Figure:
    """Everything that a picture of this file shows. Without a scene the marks stand alone."""
    scene = manner.scenes.get(file.file)
    strokes = scene.strokes if scene else ()
    labels = dict.fromkeys(s.label for s in file.sheets)
    labels |= dict.fromkeys(stroke.sheet for stroke in strokes if stroke.sheet)
    number_of = {label: number for number, label in enumerate(labels)}
    spare = cycle(SHEET_COLOURS)
    own = {label: next(spare) for label in labels}
    layers = tuple(_layers(strokes, number_of, own))
    shown = [f for f in file.findings if f.accepted is not None or f.baseline != GONE]
    marks = tuple(
        replace(mark_of(number, finding, number_of.get(finding.stock, -1)), head=head, speaks=many)
        for number, (finding, head, many) in enumerate(
            zip(shown, *_heads(shown, manner.fold), strict=True), 1
        )
    )
    size = _size(scene, file, marks)
    return Figure(
        size=size,
        layers=layers,
        sheets=tuple(_keys(file, labels, layers, own)),
        marks=marks,
        home=_home(size, layers, marks),
    )


def _heads(shown: Sequence[Finding], fold: int) -> tuple[list[int], list[int]]:
    """For each finding the number of the one that speaks for it, and for how many it speaks.
    Accepted ones speak for themselves."""
    heads, counts = list(range(1, len(shown) + 1)), [f.count for f in shown]
    standing = [k for k, finding in enumerate(shown) if finding.accepted is None]
    for k, head in zip(standing, spokesmen([shown[k] for k in standing], fold), strict=True):
        if standing[head] != k:
            heads[k] = standing[head] + 1
            counts[standing[head]] += shown[k].count
            counts[k] = 0
    return heads, counts


def _layers(
    strokes: Iterable[Stroke], number_of: dict[str, int], own: dict[str, str]
) -> Iterable[Layer]:
    for stroke in strokes:
        if not _PATH.fullmatch(stroke.path):
            continue  # nothing but path data is ever drawn
        yield Layer(
            d=stroke.path.strip(),
            sheet=number_of.get(stroke.sheet, -1),
            operation=stroke.operation,
            colour=line_colour(stroke.colour, own.get(stroke.sheet, "#808080")),
            closed=stroke.path.count("M") == stroke.path.count("Z"),
        )


def _keys(
    file: FileReport, labels: Iterable[str], layers: Sequence[Layer], own: dict[str, str]
) -> Iterable[SheetKey]:
    summaries = {summary.label: summary for summary in file.sheets}
    for number, label in enumerate(labels):
        drawn = dict.fromkeys(layer.colour for layer in layers if layer.sheet == number)
        yield SheetKey(clean(label), tuple(drawn) or (own[label],), summaries.get(label))


def mark_of(number: int, finding: Finding, sheet: int) -> Mark:
    """The shapes that mark one finding."""
    level = "accepted" if finding.accepted is not None else finding.level.word
    lines = [tuple(filter(_finite, line)) for line in finding.mark]
    bands: list[tuple[str, float | None]] = []
    rings: list[str] = []
    for line in lines:
        if len(line) > 3 and line[0] == line[-1]:
            rings.append(f"{path_of(line[:-1])}Z")
        elif len(line) > 1:
            d = path_of(line)
            widths = _widths(finding)
            bands += [(d, width) for width in widths] if widths else [(d, None)]
    at = finding.at if finding.at is not None and _finite(finding.at) else None
    points = [point for line in lines for point in line]
    if at is None and points:
        at = points[len(points) // 2]
    others = tuple(o.at for o in finding.related if o.at is not None and _finite(o.at))
    everything = [*points, *others, *([at] if at else [])]
    return Mark(
        number=number,
        finding=finding,
        level=level,
        sheet=sheet,
        at=at,
        bands=tuple(bands),
        rings=tuple(rings),
        others=others,
        box=_box(everything) if everything else None,
    )


def _widths(finding: Finding) -> tuple[float, ...]:
    """Where a place is too narrow, the widths to shade it with: as it must be, as it is."""
    if finding.unit == "mm" and finding.measured is not None and finding.required:
        measured, required = short(finding.measured, 3), short(finding.required, 3)
        if measured is not None and required is not None and 0 <= measured < required:
            return (required, measured)
    return ()


def _finite(point: Point) -> bool:
    return math.isfinite(point[0]) and math.isfinite(point[1])


def _box(points: Sequence[Point]) -> Box:
    x, y = zip(*points, strict=True)
    return (
        min(x) - LEAST_ROOM, min(y) - LEAST_ROOM, max(x) + LEAST_ROOM, max(y) + LEAST_ROOM,
    )  # fmt: skip


def _size(scene: Scene | None, file: FileReport, marks: Sequence[Mark]) -> Point:
    size = scene.size if scene else file.size
    if size is not None and _finite(size) and min(size) > 0:
        return size
    boxes = [mark.box for mark in marks if mark.box]
    return (max(box[2] for box in boxes), max(box[3] for box in boxes)) if boxes else (100.0, 100.0)


def _home(size: Point, layers: Iterable[Layer], marks: Sequence[Mark]) -> Box:
    """The artwork, or the page where there is none, and marks that lie beside it, as far as it
    is wide; with a little room around."""
    boxes = [box for layer in layers if (box := _extents(layer.d))] or [(0.0, 0.0, *size)]
    left, top, right, bottom = zip(*boxes, strict=True)
    x0, y0, x1, y1 = min(left), min(top), max(right), max(bottom)
    room = max(x1 - x0, y1 - y0, 1.0)
    for mark in marks:
        for x, y in [mark.at] if mark.at else []:
            if x0 - room < x < x1 + room and y0 - room < y < y1 + room:
                x0, y0, x1, y1 = min(x0, x), min(y0, y), max(x1, x), max(y1, y)
    edge = 0.03 * max(x1 - x0, y1 - y0, 1.0)
    return x0 - edge, y0 - edge, x1 + edge, y1 + edge


def _extents(d: str) -> Box | None:
    """The box around path data of pairs of numbers; around its control points, for curves."""
    numbers = [float(text) for text in _NUMBER.findall(d)]
    x, y = numbers[::2], numbers[1::2]
    return (min(x), min(y), max(x), max(y)) if x and len(x) == len(y) else None


def path_of(points: Sequence[Point]) -> str:
    """Path data of an open polyline."""
    return "M" + "L".join(f"{num(x)} {num(y)}" for x, y in points)


def num(value: float) -> str:
    """A number in as few characters as it needs, to a thousandth."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def line_colour(colour: str, spare: str = SHEET_COLOURS[0]) -> str:
    """What a line is drawn in: its own colour, if it has one, as far as that can be seen."""
    return visible(colour if _COLOUR.fullmatch(colour) else spare)


def visible(colour: str, paper: str = PAPER) -> str:
    """The colour, darkened as far as it must be to be seen on the paper."""
    rgb = _rgb(colour)
    for step in range(20):
        shade = tuple(round(c * (1 - step / 20)) for c in rgb)
        if contrast(shade, _rgb(paper)) >= LEAST_CONTRAST:
            return "#{:02x}{:02x}{:02x}".format(*shade)
    return "#000000"


def contrast(one: Sequence[int], other: Sequence[int]) -> float:
    """WCAG 2.2, "contrast ratio": (L1 + 0.05) / (L2 + 0.05), the lighter above."""
    high, low = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def _luminance(rgb: Sequence[int]) -> float:
    """WCAG 2.2, "relative luminance"."""
    linear = [
        c / 255 / 12.92 if c / 255 <= 0.04045 else ((c / 255 + 0.055) / 1.055) ** 2.4 for c in rgb
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def _rgb(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)
