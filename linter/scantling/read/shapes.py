"""Basic shapes to outlines. Source: SVG 2, sections 10.2 to 10.7 (equivalent paths)."""

from __future__ import annotations

from array import array
from math import pi, tau

from scantling.late import pattern
from scantling.read.drawing import ARC, LINE
from scantling.read.pathdata import Outline, PathError
from scantling.read.units import NUMBER, WHITE

_SPACE = f"[{WHITE}]*"
_tokens = pattern(rf"{NUMBER}|[^{WHITE},]")
_bad_comma = pattern(rf"(?:^|,){_SPACE},")
_number = pattern(NUMBER)
_skip = pattern(_SPACE)


def rectangle(x: float, y: float, w: float, h: float, rx: float, ry: float) -> Outline:
    """A rectangle, its corners rounded by quarter ellipses where rx and ry are above 0."""
    rx, ry = min(rx, w / 2.0), min(ry, h / 2.0)
    outline = Outline()
    if rx <= 0.0 or ry <= 0.0:
        _polyline(outline, (x, y, x + w, y, x + w, y + h, x, y + h), closed=True)
        outline.ordinal = [-1] * 4
        return outline
    x1, y1 = x + w, y + h
    sides = (
        (x + rx, y, x1 - rx, y),
        (x1, y + ry, x1, y1 - ry),
        (x1 - rx, y1, x + rx, y1),
        (x, y1 - ry, x, y + ry),
    )
    corners = ((x1 - rx, y + ry), (x1 - rx, y1 - ry), (x + rx, y1 - ry), (x + rx, y + ry))
    values: list[float] = []
    for index, (side, corner) in enumerate(zip(sides, corners, strict=True)):
        if side[:2] != side[2:]:
            outline.kind.append(LINE)
            values += (*side, 0.0, 0.0, 0.0, 0.0)
        start = (index - 1) * pi / 2.0
        outline.kind.append(ARC)
        values += (*corner, rx, 0.0, 0.0, ry, start, start + pi / 2.0)
    return _one(outline, values, True)


def ellipse(cx: float, cy: float, rx: float, ry: float) -> Outline:
    """An ellipse as one arc of a full turn, from its rightmost point, clockwise on screen."""
    outline = Outline()
    outline.kind.append(ARC)
    return _one(outline, [cx, cy, rx, 0.0, 0.0, ry, 0.0, tau], True)


def line(x1: float, y1: float, x2: float, y2: float) -> Outline:
    outline = Outline()
    outline.kind.append(LINE)
    return _one(outline, [x1, y1, x2, y2, 0.0, 0.0, 0.0, 0.0], False)


def _one(outline: Outline, values: list[float], closed: bool) -> Outline:
    outline.data = array("d", values)
    outline.first = [0]
    outline.closed = bytearray([closed])
    outline.ordinal = [-1] * len(outline.kind)
    return outline


def read_points(points: str, closed: bool) -> tuple[Outline, PathError | None]:
    """A polyline or polygon. After an error, or with an odd number at the end, the outline holds
    the points before it. Segment ordinals count the points: a line has that of its end."""
    outline = Outline()
    error: PathError | None = None
    try:
        if not points.isascii() or ("," in points and _bad_comma.search(points)):
            raise ValueError
        values = list(map(float, _tokens.findall(points)))
        if len(values) % 2:
            raise ValueError
    except ValueError:
        values, error = _exact(points)
    if values:
        _polyline(outline, values, closed)
    return outline, error


def _exact(points: str) -> tuple[list[float], PathError]:
    places, stop = _scan(points)
    values = [float(points[a:b]) for a, b in places]
    if len(values) % 2:
        values.pop()
        return values, PathError(places[-1][0], "a point lacks its y")
    return values, PathError(min(stop, max(len(points) - 1, 0)), "not a number")


def _scan(points: str) -> tuple[list[tuple[int, int]], int]:
    """The places of the numbers up to the first error, and where that is."""
    places: list[tuple[int, int]] = []
    at = _after(points, 0)
    while found := _number.match(points, at):
        places.append(found.span())
        at = _after(points, found.end())
        if at < len(points) and points[at] == ",":
            at = _after(points, at + 1)
    return places, at


def _after(points: str, at: int) -> int:
    found = _skip.match(points, at)
    return found.end() if found else at


def point_places(points: str) -> tuple[tuple[int, int], ...]:
    """Where each pair of numbers stands in `points`."""
    places, _ = _scan(points)
    return tuple((a[0], b[1]) for a, b in zip(places[::2], places[1::2], strict=False))


def _polyline(outline: Outline, values: list[float] | tuple[float, ...], closed: bool) -> None:
    xs, ys = values[::2], values[1::2]
    count = len(xs)
    ends = [*range(1, count)]
    if closed and (xs[0] != xs[-1] or ys[0] != ys[-1]):
        ends.append(0)
    if not ends:
        ends = [0]
    data: list[float] = []
    for start, end in enumerate(ends):
        data += (xs[start], ys[start], xs[end], ys[end], 0.0, 0.0, 0.0, 0.0)
    outline.kind = bytearray([LINE]) * len(ends)
    outline.data = array("d", data)
    outline.first = [0]
    outline.closed = bytearray([closed])
    outline.ordinal = ends
