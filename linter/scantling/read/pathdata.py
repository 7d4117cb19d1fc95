"""Path data to segments: a fast tokeniser, and an exact one that knows every offset.

The grammar is that of SVG 2, section 9.3.9, with the one latitude that renderers take: a comma
may stand before a command letter or the end. The fast reader fails on the first thing that is
not in the grammar; then the exact scanner finds where, and the path is read up to there, as SVG
2, section 9.5.4 says.
"""

from __future__ import annotations

import re
from array import array
from collections.abc import Callable, Iterable, Iterator, Sequence
from math import atan2, cos, fmod, inf, isfinite, nan, radians, sin, sqrt, tau

from scantling.late import pattern
from scantling.read.drawing import ARC, CUBIC, LINE
from scantling.read.units import NUMBER, WHITE
from scantling.records import NamedTuple

_SPACE = f"[{WHITE}]*"
_BREAK = rf"{_SPACE},?{_SPACE}"

# A number, an arc with all its arguments (its flags need no space between them), a letter, or
# one character of rubbish, on which float() will fail.
_tokens = re.compile(rf"{NUMBER}|[Aa][^A-DF-Za-df-z]*|[^ \t\n\r\f,]").findall
_bad_comma = pattern(rf"(?:^|[,A-Za-z]){_SPACE},")
_WHOLE = rf"((?>{NUMBER}))"  # never gives back a digit for the sake of a flag
_arc = pattern(
    rf"{_SPACE}{_WHOLE}{_BREAK}{_WHOLE}{_BREAK}{_WHOLE}{_BREAK}"
    rf"([01]){_BREAK}([01]){_BREAK}{_WHOLE}{_BREAK}{_WHOLE}{_BREAK}"
)

_COUNTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}


class Outline:
    """The contours of one element in its own coordinates, laid out as in drawing.Curves:
    `first` holds the number of each contour's first segment, without the end of the last."""

    __slots__ = ("closed", "data", "first", "kind", "ordinal")

    def __init__(self) -> None:
        self.kind = bytearray()
        self.data = array("d")
        self.first: list[int] = []
        self.closed = bytearray()
        self.ordinal: list[int] = []

    def __len__(self) -> int:
        return len(self.kind)


class Scanned(NamedTuple):
    """One segment of path data as written. `start` and `end` are offsets in the path data:
    from the command letter, where it is written out, to the end of the last argument."""

    letter: str
    start: int
    end: int
    values: tuple[float, ...]


class PathError(NamedTuple):
    """Where path data breaks the grammar, and how."""

    offset: int
    message: str


def read_path(d: str) -> tuple[Outline, PathError | None]:
    """Read path data. After an error the outline holds what came before it."""
    try:
        return _read(d), None
    except ValueError:
        pass
    good, error = 0, None
    for item in scan(d):
        if isinstance(item, PathError):
            error = item
        else:
            good = item.end
    return _read(d[:good]), error


def scan(d: str) -> Iterator[Scanned | PathError]:
    """The segments of path data one by one, each with its place; a PathError ends it."""
    at = _skip(d, 0)
    letter = ""
    while at < len(d):
        start = at
        if d[at] in "MmLlHhVvCcSsQqTtAaZz":
            letter = d[at]
            at += 1
            if start == _skip(d, 0) and letter not in "Mm":
                yield PathError(start, "path data must begin with M or m")
                return
        elif not letter or letter in "Zz":
            what = "must begin with M or m" if not letter else "needs a command after Z"
            yield PathError(start, f"path data {what}")
            return
        values: list[float] = []
        end = at
        for index in range(_COUNTS[letter.upper()]):
            at = _skip(d, end)
            if index and at < len(d) and d[at] == ",":
                at = _skip(d, at + 1)
            found = (_flag if letter in "Aa" and index in (3, 4) else _number).match(d, at)
            if not found:
                if at >= len(d):
                    wrong = f"{letter} lacks arguments: the path data ends"
                elif letter in "Aa" and index in (3, 4) and _number.match(d, at):
                    wrong = "an arc's flag must be 0 or 1"
                else:
                    wrong = f"{d[at]!r} is not an argument of {letter}"
                yield PathError(min(at, max(len(d) - 1, 0)), wrong)
                return
            values.append(float(found[0]))
            end = found.end()
        yield Scanned(letter, start, end, tuple(values))
        at = _skip(d, end)
        if values and at < len(d) and d[at] == ",":
            at = _skip(d, at + 1)
        if letter == "M":
            letter = "L"
        elif letter == "m":
            letter = "l"


_skip_match = pattern(_SPACE)
_number = pattern(NUMBER)
_flag = pattern("[01]")


def _skip(d: str, at: int) -> int:
    found = _skip_match.match(d, at)
    return found.end() if found else at


_PIECE = 50_000
_letter = pattern("[MmLlHhVvCcSsQqTtAaZz]")


def _read(d: str) -> Outline:
    """Path data without an error; raises ValueError for one with any."""
    if not d.isascii() or ("," in d and _bad_comma.search(d)):
        raise ValueError
    begins = d.lstrip(WHITE)[:1]
    if begins and begins not in "Mm":
        raise ValueError
    pen = _Pen()
    for piece in (d,) if len(d) <= _PIECE else _pieces(d):
        _draw(pen, _tokens(piece))
        pen.store()
    return pen.finish()


def _pieces(d: str) -> Iterator[str]:
    """Path data in pieces that begin with a command each, so that long paths do not become
    millions of tokens at once."""
    at = 0
    while at < len(d):
        found = _letter.search(d, at + _PIECE)
        end = found.start() if found else len(d)
        yield d[at:end]
        at = end


def _draw(pen: _Pen, tokens: Sequence[str]) -> None:
    """Carry out path data from a command on. This loop is where reading spends its time."""
    at, count = 0, len(tokens)
    command: _Command | None = None  # what arguments without a letter before them belong to
    while at < count:
        token = tokens[at]
        if token in _COMMANDS:
            command = _COMMANDS[token]
            at += 1
        elif token[0] in "Aa":
            pen.arcs(token)
            command = None
            at += 1
            continue
        elif command is None:
            raise ValueError
        draw, size, relative, again = command
        arguments = tokens[at : at + size]
        if len(arguments) < size:
            raise ValueError
        at += size
        if relative:
            draw(pen, pen.x, pen.y, *map(float, arguments))
        else:
            draw(pen, 0.0, 0.0, *map(float, arguments))
        if not again:
            command = _THEN[token]


class _Pen:
    """Draws an outline, one segment at a time. Each command is given the point that its arguments
    are counted from, then those; `x` and `y` are where the pen is."""

    __slots__ = (
        "begun", "control", "curved", "kind", "moved", "number", "ordinal", "outline", "start",
        "stayed", "values", "x", "y",
    )  # fmt: skip

    def __init__(self) -> None:
        self.outline = Outline()
        self.kind, self.ordinal = self.outline.kind, self.outline.ordinal
        self.values: list[float] = []
        """of segments that are not in the outline's array yet"""
        self.x = self.y = 0.0
        self.start = (0.0, 0.0)
        """of the contour"""
        self.begun = False
        """a contour is under way"""
        self.control = (0.0, 0.0)
        self.curved = LINE
        """what `control`, the last control point, is one of: CUBIC or _QUADRATIC. Only a smooth
        curve of the same kind looks back at it"""
        self.number = -1
        """of the last segment as written"""
        self.moved = 0
        """number of the last moveto"""
        self.stayed = False
        """it did not leave the place where the contour before ended"""

    def move(self, ox: float, oy: float, x: float, y: float) -> None:
        self._end_bare_contour()
        self.number += 1
        self.moved = self.number
        self.start = (ox + x, oy + y)
        self.stayed = bool(self.outline.first) and self.start == (self.x, self.y)
        self.x, self.y = self.start
        self.curved = LINE
        self._begin()

    def line(self, ox: float, oy: float, x: float, y: float) -> None:
        x += ox
        y += oy
        self._note(LINE)
        self.values += (self.x, self.y, x, y, 0.0, 0.0, 0.0, 0.0)
        self.curved = LINE
        self.x = x
        self.y = y

    def horizontal(self, ox: float, oy: float, x: float) -> None:
        self.line(0.0, 0.0, ox + x, self.y)

    def vertical(self, ox: float, oy: float, y: float) -> None:
        self.line(0.0, 0.0, self.x, oy + y)

    def cubic(
        self, ox: float, oy: float, ax: float, ay: float, bx: float, by: float, x: float, y: float
    ) -> None:
        bx += ox
        by += oy
        x += ox
        y += oy
        self._note(CUBIC)
        self.values += (self.x, self.y, ox + ax, oy + ay, bx, by, x, y)
        self.curved = CUBIC
        self.control = (bx, by)
        self.x = x
        self.y = y

    def smooth_cubic(self, ox: float, oy: float, bx: float, by: float, x: float, y: float) -> None:
        self.cubic(0.0, 0.0, *self._reflected(CUBIC), ox + bx, oy + by, ox + x, oy + y)

    def quadratic(self, ox: float, oy: float, ax: float, ay: float, x: float, y: float) -> None:
        """Raised to a cubic."""
        ax += ox
        ay += oy
        x += ox
        y += oy
        bx, by = (self.x + 2.0 * ax) / 3.0, (self.y + 2.0 * ay) / 3.0
        self._note(CUBIC)
        self.values += (
            self.x, self.y, bx, by, (x + 2.0 * ax) / 3.0, (y + 2.0 * ay) / 3.0, x, y,
        )  # fmt: skip
        self.curved = _QUADRATIC
        self.control = (ax, ay)
        self.x = x
        self.y = y

    def smooth_quadratic(self, ox: float, oy: float, x: float, y: float) -> None:
        self.quadratic(0.0, 0.0, *self._reflected(_QUADRATIC), ox + x, oy + y)

    def arcs(self, token: str) -> None:
        """Arcs, from the letter on. One of no radius is a line, one that ends where it begins is
        nothing."""
        relative = token[0] == "a"
        if not self.begun:
            self._begin()
        for rx, ry, turn, large, sweep, end_x, end_y in _arcs(token):
            x, y = float(end_x), float(end_y)
            if relative:
                x += self.x
                y += self.y
            arc = arc_through(
                self.x, self.y, float(rx), float(ry), float(turn), large == "1", sweep == "1", x, y
            )
            if arc is not None:
                self._note(ARC)
                self.values += arc
                self.x, self.y = x, y
            elif x != self.x or y != self.y:
                self.line(0.0, 0.0, x, y)
            else:
                self.number += 1
        self.curved = LINE

    def close(self, ox: float, oy: float) -> None:
        """Close the contour with a line, unless it ends where it began but for the rounding of
        relative commands: then its last segment is led there."""
        if self.begun:
            (x, y), (x0, y0) = (self.x, self.y), self.start
            near = abs(x0 - x) + abs(y0 - y) <= 1e-12 * (abs(x) + abs(y) + abs(x0) + abs(y0))
            if near and not self._bare():
                self._end_at_start()
                self.number += 1
            else:
                self.line(0.0, 0.0, x0, y0)
            self.outline.closed[-1] = 1
            self.begun = False
        else:
            self.number += 1
        self.x, self.y = self.start
        self.curved = LINE

    def _begin(self) -> None:
        """Begin a contour here."""
        self.outline.first.append(len(self.kind))
        self.outline.closed.append(0)
        self.begun = True

    def _note(self, kind: int) -> None:
        """Note what kind the next segment is of."""
        if not self.begun:
            self._begin()
        self.number += 1
        self.kind.append(kind)
        self.ordinal.append(self.number)

    def _reflected(self, curved: int) -> tuple[float, float]:
        """The first control point of a smooth curve: the last one of the curve before, mirrored in
        the point between them."""
        if self.curved != curved:
            return self.x, self.y
        return self.x + self.x - self.control[0], self.y + self.y - self.control[1]

    def _end_at_start(self) -> None:
        """Let the last segment end where its contour began; an arc's end is not moved."""
        if self.kind[-1] == LINE:
            self.values[-6:-4] = self.start
        elif self.kind[-1] == CUBIC:
            self.values[-2:] = self.start

    def _bare(self) -> bool:
        """Whether the contour under way is a moveto and nothing more."""
        return self.begun and len(self.kind) == self.outline.first[-1]

    def _end_bare_contour(self) -> None:
        """A contour of one bare moveto is a line of no length; one that goes nowhere, as some
        programs end every path, is none."""
        if self._bare() and self.stayed:
            del self.outline.first[-1], self.outline.closed[-1]
        elif self._bare():
            self.kind.append(LINE)
            self.ordinal.append(self.moved)
            self.values += (self.x, self.y, self.x, self.y, 0.0, 0.0, 0.0, 0.0)

    def store(self) -> None:
        """Put the values into the outline's array, where they take less room: all but those of the
        last segment, whose end may still be moved."""
        if len(self.values) > _PIECE:
            self.outline.data.extend(self.values[:-8])
            del self.values[:-8]

    def finish(self) -> Outline:
        self._end_bare_contour()
        if self.outline.data:
            self.outline.data.extend(self.values)
        else:
            self.outline.data = array("d", self.values)
        return self.outline


_QUADRATIC = -1
"""Beside the kinds of segment, for what smooth quadratics look back at."""
_DRAWN: dict[str, Callable[..., None]] = {
    "M": _Pen.move,
    "L": _Pen.line,
    "H": _Pen.horizontal,
    "V": _Pen.vertical,
    "C": _Pen.cubic,
    "S": _Pen.smooth_cubic,
    "Q": _Pen.quadratic,
    "T": _Pen.smooth_quadratic,
    "Z": _Pen.close,
}


class _Command(NamedTuple):
    """How to draw a command, how many arguments it has, whether they are relative, and whether
    further arguments are for the same command again."""

    draw: Callable[..., None]
    size: int
    relative: bool
    again: bool


_COMMANDS = {
    letter: _Command(draw, _COUNTS[name], letter != name, name not in "MZ")
    for name, draw in _DRAWN.items()
    for letter in (name, name.lower())
}
"""All but arcs, which are read apart: their flags may stand without space between them."""
_THEN = {"M": _COMMANDS["L"], "m": _COMMANDS["l"], "Z": None, "z": None}
"""What further arguments are for behind the other commands; None: there may be none."""
_FLAGS = frozenset("01")


def _arcs(token: str) -> Iterable[Sequence[str]]:
    """The arguments of each arc of a token, seven by seven. Raises ValueError, perhaps only after
    some of them, and so does float() for an argument that is not a number."""
    words = _tokens(token, 1)
    if words and len(words) % 7 == 0 and _FLAGS.issuperset(words[3::7] + words[4::7]):
        return zip(*[iter(words)] * 7, strict=True)
    return _close_arcs(token)  # flags written without space between them


def _close_arcs(token: str) -> Iterator[Sequence[str]]:
    place, end = 1, len(token)
    while place < end:
        found = _arc.match(token, place)
        if not found:
            if place > 1 and not token[place:].strip(WHITE):
                break
            raise ValueError
        place = found.end()
        yield found.groups()
    if place == 1:
        raise ValueError


def arc_through(
    x: float,
    y: float,
    rx: float,
    ry: float,
    turn: float,
    large: bool,
    sweep: bool,
    nx: float,
    ny: float,
) -> tuple[float, float, float, float, float, float, float, float] | None:
    """From an arc's end points to its centre: the data of an ARC segment, None for a straight
    line (a radius of 0, or equal ends). `turn` in degrees. Radii too small for the distance are
    scaled up. Source: SVG 2, appendix B.2.4 and B.2.5 (implementation notes, conversion from
    endpoint to centre parameterisation, out-of-range radii)."""
    rx, ry = abs(rx), abs(ry)
    if not rx or not ry or (x == nx and y == ny):
        return None
    if not isfinite(rx + ry + turn + x + y + nx + ny):
        return (nan,) * 8
    angle = radians(fmod(turn, 360.0))
    c, s = cos(angle), sin(angle)
    hx, hy = (x - nx) / 2.0, (y - ny) / 2.0
    # the half chord in the frame where the ellipse is the unit circle
    px, py = (c * hx + s * hy) / rx, (c * hy - s * hx) / ry
    far = px * px + py * py
    if not 0.0 < far < inf:  # radii or distances beyond any drawing
        return (nan,) * 8 if far else None
    if far >= 1.0:
        grow = sqrt(far)
        rx, ry, px, py = rx * grow, ry * grow, px / grow, py / grow
        away = 0.0
    else:
        away = sqrt((1.0 - far) / far)
        if large == sweep:
            away = -away
    qx, qy = away * py, -away * px
    t0 = atan2(py - qy, px - qx)
    sweep_angle = atan2(-py - qy, -px - qx) - t0
    if sweep and sweep_angle < 0.0:
        sweep_angle += tau
    elif not sweep and sweep_angle > 0.0:
        sweep_angle -= tau
    ux, uy, vx, vy = rx * c, rx * s, -ry * s, ry * c
    return (
        (x + nx) / 2.0 + qx * ux + qy * vx,
        (y + ny) / 2.0 + qx * uy + qy * vy,
        ux, uy, vx, vy, t0, t0 + sweep_angle,
    )  # fmt: skip
