"""The picture: each drawing with its findings marked and named, as SVG or PNG, for chat and pull
requests. It is drawn from the same figures as the page.

A target that ends in `.png` is drawn by resvg, if that is installed (`pip install
scantling[picture]`); everything else is SVG, which needs nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from textwrap import wrap

from scantling.judge.finding import ESTIMATED
from scantling.records import dataclass
from scantling.report.figure import PAPER, Figure, Mark, figure_of, num
from scantling.report.forms import FormError
from scantling.report.model import FileReport, Manner, Report
from scantling.report.plain import (
    clean,
    counted,
    file_level,
    of_many,
    safe_width,
    severity,
    totals,
)

WIDTH = 960
"""Width of the whole picture, px."""
MARGIN = 24
MOST_DRAWINGS = 12
MOST_LINES = 12
"""Findings named below each drawing; the worst first."""
LETTER = 8.3
"""Room for one letter at 13 px, px: most fonts need less."""
COLOURS = {"error": "#c2180c", "warning": "#8a5a00", "note": "#1565c0", "accepted": "#3b7a4a"}
INK, FAINT, LINE = "#1d2329", "#565f6a", "#d2cdc1"
FONT = "system-ui, 'Segoe UI', 'Noto Sans', 'DejaVu Sans', Arial, sans-serif"


def render(report: Report, manner: Manner) -> str | bytes:
    """SVG text, or PNG bytes where `manner.target` ends in `.png`. Raises FormError where PNG is
    asked for and cannot be drawn."""
    drawn = svg(report, manner)
    return png(drawn) if manner.target.casefold().endswith(".png") else drawn


def png(drawn: str) -> bytes:
    """The picture at two dots a pixel, so that thin lines stay sharp."""
    try:
        import resvg_py
    except ImportError:
        raise FormError(
            "a PNG picture needs resvg: pip install 'scantling[picture]', or name an .svg file"
        ) from None
    try:
        return bytes(resvg_py.svg_to_bytes(svg_string=drawn, zoom=2))
    except Exception as error:  # whatever goes wrong in a library of another language
        raise FormError(f"the picture could not be drawn as PNG: {error}") from None


def svg(report: Report, manner: Manner) -> str:
    """One drawing over the whole width, several in two columns: the worst dozen of many."""
    files = list(report.files)
    if len(files) > MOST_DRAWINGS:
        files = sorted(files, key=lambda f: _badness(report, f), reverse=True)[:MOST_DRAWINGS]
    columns = 2 if len(files) > 1 else 1
    wide = (WIDTH - MARGIN * (columns + 1)) / columns
    y = float(MARGIN)
    body: list[str] = []
    for k in range(0, len(files), columns):
        row = [
            _Panel(file, figure_of(file, manner), MARGIN + column * (wide + MARGIN), y, wide)
            for column, file in enumerate(files[k : k + columns])
        ]
        body += (part for panel in row for part in panel.parts())
        y = max(panel.bottom for panel in row) + MARGIN
    if len(files) < len(report.files):
        left = counted(len(report.files) - len(files), "drawing")
        body.append(_text(MARGIN, y + 6, f"and {left} more: {totals(report.files).words()}", FAINT))
        y += MARGIN
    height = num(max(y, 2 * MARGIN))
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{height}" '
        f'viewBox="0 0 {WIDTH} {height}" font-family="{FONT}" font-size="13">'
    )
    words = escape(
        clean(f"{counted(len(report.files), 'drawing')}: {totals(report.files).words()}")
    )
    return "\n".join(
        (head, f"<title>{words}</title>", f'<rect width="{WIDTH}" height="{height}" fill="#fff"/>',
         *body, "</svg>\n")
    )  # fmt: skip


def _badness(report: Report, file: FileReport) -> tuple[int, ...]:
    total = totals([file])
    return (file_level(report, file), total.failures, total.errors, total.warnings, total.notes)


@dataclass(slots=True)
class _Panel:
    """One drawing: heading, the drawing itself, and its worst findings in words."""

    file: FileReport
    figure: Figure
    left: float
    top: float
    wide: float
    bottom: float = 0.0

    def parts(self) -> Iterator[str]:
        x0, y0, x1, y1 = self.figure.home
        name = clean(self.file.file)
        fits = int(self.wide / LETTER / 18 * 13)
        name = name if len(name) <= fits else f"…{name[1 - fits :]}"
        yield _text(self.left, self.top + 14, name, INK, size=18, weight=700)
        self.bottom = self.top + 20
        yield from self._lines(self._facts(), FAINT)
        self.bottom += 6
        if self.file.failure:
            failed = f"Not judged: {clean(self.file.failure.message)}"
            yield from self._lines(failed, COLOURS["error"])
            return
        if self.figure.empty:
            yield from self._list()
            return
        zoom = min(self.wide / (x1 - x0), 0.8 * self.wide / (y1 - y0))
        width, height = zoom * (x1 - x0), zoom * (y1 - y0)
        yield (
            f'<svg x="{num(self.left + (self.wide - width) / 2)}" y="{num(self.bottom + 6)}" '
            f'width="{num(width)}" height="{num(height)}" '
            f'viewBox="{num(x0)} {num(y0)} {num(x1 - x0)} {num(y1 - y0)}" overflow="hidden">'
        )
        yield from _drawing(self.figure, zoom)
        yield "</svg>"
        self.bottom += height + 12
        yield from self._list()

    def _facts(self) -> str:
        size = self.file.size
        parts = [f"{size[0]:.2f} × {size[1]:.2f} mm finished"] if size else []
        parts.append(totals([self.file]).words())
        if safe := safe_width(self.file):
            parts.append(safe)
        return "; ".join(parts)

    def _list(self) -> Iterator[str]:
        marks = sorted(
            (m for m in self.figure.marks if m.finding.accepted is None and m.speaks),
            key=lambda mark: severity(mark.finding),
            reverse=True,
        )
        for mark in marks[:MOST_LINES]:
            number, colour = str(mark.number), COLOURS[mark.level]
            yield _text(self.left + 24, self.bottom + 14, number, colour, end=True)
            many = f" ({of_many(mark.speaks)})" if mark.speaks > 1 else ""
            said = f"{mark.level}: {clean(mark.finding.message)}{many} [{mark.finding.rule}]"
            yield from self._lines(said, INK, 34)
        if len(marks) > MOST_LINES:
            left = sum(mark.speaks for mark in marks[MOST_LINES:])
            yield from self._lines(f"and {left} more", FAINT, 34)

    def _lines(self, text: str, colour: str, indent: float = 0) -> Iterator[str]:
        for line in wrap(text, int((self.wide - indent) / LETTER)):
            yield _text(self.left + indent, self.bottom + 14, line, colour)
            self.bottom += 18


def _drawing(figure: Figure, zoom: float) -> Iterator[str]:
    """Lines and marks in mm; `zoom` in px per mm keeps strokes and dots the same size."""
    px = 1 / zoom
    w, h = figure.size
    yield (
        f'<rect width="{num(w)}" height="{num(h)}" fill="{PAPER}" stroke="{LINE}" '
        f'stroke-width="{num(px)}"/>'
    )
    for layer in figure.layers:
        inside = layer.closed and layer.operation != "guide"
        fill, opacity = (layer.colour, 0.13) if inside else ("none", 0.0)
        if layer.operation == "engrave" and layer.closed:
            opacity = 0.4
        dash = {"score": (6, 3), "guide": (1, 4)}.get(layer.operation)
        dashes = f' stroke-dasharray="{num(dash[0] * px)} {num(dash[1] * px)}"' if dash else ""
        yield (
            f'<path d="{layer.d}" fill="{fill}" fill-opacity="{opacity}" fill-rule="evenodd" '
            f'stroke="{layer.colour}" stroke-width="{num(1.3 * px)}"{dashes}/>'
        )
    shown = [mark for mark in figure.marks if mark.finding.accepted is None]
    for mark in shown:
        yield from _shading(mark, px)
    small = len(shown) > 60
    for mark in shown:
        yield from _pin(mark, px * (0.55 if small else 1.0), named=not small)


def _shading(mark: Mark, px: float) -> Iterator[str]:
    colour = COLOURS[mark.level]
    common = f'fill="none" stroke="{colour}" stroke-linecap="round" stroke-linejoin="round"'
    for k, (d, width) in enumerate(mark.bands):
        broad = 6 * px if width is None else width
        opacity = 0.5 if width is None else (0.22, 0.6)[k % 2]
        yield f'<path d="{d}" {common} stroke-width="{num(broad)}" opacity="{opacity}"/>'
    guessed = mark.finding.scope == ESTIMATED
    dashes = f' stroke-dasharray="{num(6 * px)} {num(5 * px)}"' if guessed else ""
    for d in mark.rings:
        yield (
            f'<path d="{d}" fill="none" stroke="{colour}" stroke-width="{num(2.5 * px)}"'
            f'{dashes} opacity=".8"/>'
        )


def _pin(mark: Mark, px: float, named: bool) -> Iterator[str]:
    """Round for errors, square for warnings, a ring for notes: told apart without colour."""
    if mark.at is None:
        return
    x, y = mark.at
    colour = COLOURS[mark.level]
    for ox, oy in mark.others:
        if len(mark.others) == 1:
            yield (
                f'<path d="M{num(x)} {num(y)}L{num(ox)} {num(oy)}" stroke="{colour}" '
                f'stroke-width="{num(1.5 * px)}" stroke-dasharray="{num(3 * px)}"/>'
            )
        yield (f'<circle cx="{num(ox)}" cy="{num(oy)}" r="{num(4 * px)}" fill="{colour}"/>')
    if mark.level == "warning":
        r = 5.5 * px
        yield (
            f'<rect x="{num(x - r)}" y="{num(y - r)}" width="{num(2 * r)}" height="{num(2 * r)}" '
            f'fill="{colour}" stroke="#fff" stroke-width="{num(px)}"/>'
        )
    else:
        fill = "#fff" if mark.level == "note" else colour
        yield (
            f'<circle cx="{num(x)}" cy="{num(y)}" r="{num(6 * px)}" fill="{fill}" '
            f'stroke="{colour if mark.level == "note" else "#fff"}" '
            f'stroke-width="{num((2.5 if mark.level == "note" else 1) * px)}"/>'
        )
    if named:
        yield (
            f'<text x="{num(x + 9 * px)}" y="{num(y - 6 * px)}" font-size="{num(13 * px)}" '
            f'font-weight="700" fill="{colour}" stroke="{PAPER}" stroke-width="{num(3 * px)}" '
            f'stroke-linejoin="round" paint-order="stroke">{mark.number}</text>'
        )


def _text(
    x: float, y: float, text: str, colour: str, size: int = 13, weight: int = 400, end: bool = False
) -> str:
    anchor = ' text-anchor="end"' if end else ""
    return (
        f'<text x="{num(x)}" y="{num(y)}" fill="{colour}" font-size="{size}" '
        f'font-weight="{weight}"{anchor}>{escape(text)}</text>'
    )
