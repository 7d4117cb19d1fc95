"""Path data to segments: a fast tokeniser, and an exact one that knows every offset.

The grammar is that of SVG 2, section 9.3.9, with the one latitude that renderers take: a comma
may stand before a command letter or the end. The fast reader fails on the first thing that is
not in the grammar; then the exact scanner finds where, and the path is read up to there, as SVG
2, section 9.5.4 says.
"""

from __future__ import annotations

import re
from array import array
from collections.abc import Iterable, Iterator, Sequence
from math import atan2, cos, fmod, inf, isfinite, nan, radians, sin, sqrt, tau

from scantling.late import pattern
from scantling.read.drawing import ARC, CUBIC, LINE
from scantling.records import NamedTuple

_SPACE = r"[ \t\n\r\f]*"
_NUMBER = r"[-+]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)(?:[eE][-+]?[0-9]+)?"
_BREAK = rf"{_SPACE},?{_SPACE}"

# A number, an arc with all its arguments (its flags need no space between them), a letter, or
# one character of rubbish, on which float() will fail.
_tokens = re.compile(rf"{_NUMBER}|[Aa][^A-DF-Za-df-z]*|[^ \t\n\r\f,]").findall
_bad_comma = pattern(rf"(?:^|[,A-Za-z]){_SPACE},")
_WHOLE = rf"((?>{_NUMBER}))"  # never gives back a digit for the sake of a flag
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
    except (ValueError, KeyError, IndexError):
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
_number = pattern(_NUMBER)
_flag = pattern("[01]")


def _skip(d: str, at: int) -> int:
    found = _skip_match.match(d, at)
    return found.end() if found else at


# What a letter asks for: the branch below, and the letter that repeated arguments stand for.
_BRANCHES = {letter: number for number, letter in enumerate("MmLlHhVvCcSsQqTtZz")}
_M, _m, _L, _l, _H, _h, _V, _v, _C, _c, _S, _s, _Q, _q, _T, _t, _Z, _z = range(18)
_QUADRATIC = -1  # kind of a segment that only T looks back at


_letter = pattern("[MmLlHhVvCcSsQqTtAaZz]")
_PIECE = 50_000


def _pieces(d: str) -> Iterator[str]:
    """Path data in pieces that begin with a command each, so that long paths do not become
    millions of tokens at once."""
    at = 0
    while at < len(d):
        found = _letter.search(d, at + _PIECE)
        end = found.start() if found else len(d)
        yield d[at:end]
        at = end


def _arcs(token: str) -> Iterable[Sequence[str]]:
    """The arguments of each arc of a token, seven by seven. Raises ValueError, perhaps only after
    some of them, and so does float() for an argument that is no number."""
    words = _tokens(token, 1)
    if words and len(words) % 7 == 0 and _FLAGS.issuperset(words[3::7] + words[4::7]):
        return zip(*[iter(words)] * 7, strict=True)
    return _close_arcs(token)  # flags written without space between them


_FLAGS = frozenset("01")


def _close_arcs(token: str) -> Iterator[Sequence[str]]:
    place, end = 1, len(token)
    while place < end:
        found = _arc.match(token, place)
        if not found:
            if place > 1 and not token[place:].strip(" \t\n\r\f"):
                break
            raise ValueError
        place = found.end()
        yield found.groups()
    if place == 1:
        raise ValueError


def _end_at(x: float, y: float, kind: int, values: list[float]) -> None:
    """Let the last segment end there; an arc's end is not moved."""
    if kind == LINE:
        values[-6:-4] = x, y
    elif kind == CUBIC:
        values[-2:] = x, y


def _read(d: str) -> Outline:
    """Path data without an error; raises ValueError, KeyError or IndexError for one with any. A
    single loop over local names, with hardly a call: this is where reading spends its time."""
    outline = Outline()
    if "," in d and _bad_comma.search(d):
        raise ValueError
    if not d.isascii():
        raise ValueError
    if d[:1] not in ("M", "m"):
        begins = d.lstrip(" \t\n\r\f")[:1]
        if not begins:
            return outline
        if begins not in "Mm":
            raise ValueError

    kind, first, closed, ordinal = outline.kind, outline.first, outline.closed, outline.ordinal
    values: list[float] = []
    branches = _BRANCHES
    x = y = x0 = y0 = cx = cy = 0.0  # pen, start of the contour, last control point
    begun = False  # a contour is under way
    number = -1  # of the segment as written
    moved = 0  # number of the last moveto
    branch = -1
    previous = LINE  # kind of the segment before, for S and T
    for piece in (d,) if len(d) <= _PIECE else _pieces(d):
        tokens = _tokens(piece)
        count = len(tokens)
        at = 0
        while at < count:
            token = tokens[at]
            new = branches.get(token)
            if new is not None:
                branch = new
                at += 1
                if branch >= _Z:
                    number += 1
                    if begun:
                        if len(kind) > first[-1] and (
                            abs(x0 - x) + abs(y0 - y)
                            <= 1e-12 * (abs(x) + abs(y) + abs(x0) + abs(y0))
                        ):
                            # closed already, but for the rounding of relative commands
                            _end_at(x0, y0, kind[-1], values)
                        else:
                            kind.append(LINE)
                            values += (x, y, x0, y0, 0.0, 0.0, 0.0, 0.0)
                            ordinal.append(number)
                        closed[-1] = 1
                        begun = False
                    x, y = x0, y0
                    previous = LINE
                    continue
            elif token[0] in "Aa":
                relative = token[0] == "a"
                if not begun:
                    first.append(len(kind))
                    closed.append(0)
                    begun = True
                for rx, ry, turn, large, sweep, px, py in _arcs(token):
                    number += 1
                    nx, ny = float(px), float(py)
                    if relative:
                        nx += x
                        ny += y
                    arc = arc_through(
                        x, y, float(rx), float(ry), float(turn), large == "1", sweep == "1", nx, ny
                    )
                    if arc is not None:
                        kind.append(ARC)
                        values += arc
                        ordinal.append(number)
                    elif nx != x or ny != y:
                        kind.append(LINE)
                        values += (x, y, nx, ny, 0.0, 0.0, 0.0, 0.0)
                        ordinal.append(number)
                    x, y = nx, ny
                previous = LINE
                branch = -1
                at += 1
                continue
            elif branch < 0 or branch >= _Z:
                raise ValueError
            number += 1
            if branch >= _C:
                if not begun:
                    first.append(len(kind))
                    closed.append(0)
                    begun = True
                if branch <= _s:
                    if branch <= _c:
                        ax, ay, bx, by, nx, ny = map(float, tokens[at : at + 6])
                        at += 6
                        if branch == _c:
                            ax += x
                            ay += y
                            bx += x
                            by += y
                            nx += x
                            ny += y
                    else:
                        bx, by, nx, ny = map(float, tokens[at : at + 4])
                        at += 4
                        if branch == _s:
                            bx += x
                            by += y
                            nx += x
                            ny += y
                        if previous == CUBIC:
                            ax, ay = x + x - cx, y + y - cy
                        else:
                            ax, ay = x, y
                    previous = CUBIC
                    kind.append(CUBIC)
                    values += (x, y, ax, ay, bx, by, nx, ny)
                    ordinal.append(number)
                    cx, cy, x, y = bx, by, nx, ny
                    continue
                if branch <= _q:
                    ax, ay, nx, ny = map(float, tokens[at : at + 4])
                    at += 4
                    if branch == _q:
                        ax += x
                        ay += y
                        nx += x
                        ny += y
                else:
                    nx, ny = map(float, tokens[at : at + 2])
                    at += 2
                    if branch == _t:
                        nx += x
                        ny += y
                    if previous == _QUADRATIC:
                        ax, ay = x + x - cx, y + y - cy
                    else:
                        ax, ay = x, y
                previous = _QUADRATIC
                kind.append(CUBIC)
                values += (
                    x, y, (x + 2.0 * ax) / 3.0, (y + 2.0 * ay) / 3.0,
                    (nx + 2.0 * ax) / 3.0, (ny + 2.0 * ay) / 3.0, nx, ny,
                )  # fmt: skip
                ordinal.append(number)
                cx, cy, x, y = ax, ay, nx, ny
                continue
            previous = LINE
            if branch <= _m:
                nx, ny = map(float, tokens[at : at + 2])
                at += 2
                if branch == _m:
                    nx += x
                    ny += y
                if begun and len(kind) == first[-1]:
                    kind.append(LINE)
                    values += (x, y, x, y, 0.0, 0.0, 0.0, 0.0)
                    ordinal.append(moved)
                moved = number
                first.append(len(kind))
                closed.append(0)
                begun = True
                x = x0 = nx
                y = y0 = ny
                branch += 2  # further pairs are lines
                continue
            if branch <= _l:
                nx, ny = map(float, tokens[at : at + 2])
                at += 2
                if branch == _l:
                    nx += x
                    ny += y
            elif branch <= _h:
                nx, ny = float(tokens[at]), y
                at += 1
                if branch == _h:
                    nx += x
            else:
                nx, ny = x, float(tokens[at])
                at += 1
                if branch == _v:
                    ny += y
            if not begun:
                first.append(len(kind))
                closed.append(0)
                begun = True
            kind.append(LINE)
            values += (x, y, nx, ny, 0.0, 0.0, 0.0, 0.0)
            ordinal.append(number)
            x, y = nx, ny
        # as numbers take less room in an array; the last segment may still be moved to its start
        if len(values) > _PIECE:
            outline.data.extend(values[:-8])
            del values[:-8]
    if begun and len(kind) == first[-1]:
        kind.append(LINE)
        values += (x, y, x, y, 0.0, 0.0, 0.0, 0.0)
        ordinal.append(moved)
    if outline.data:
        outline.data.extend(values)
    else:
        outline.data = array("d", values)
    return outline


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
