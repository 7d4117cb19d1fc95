"""Transforms, strictly by CSS Transforms 1, section 8 (the attribute's grammar) and 9 to 13."""

from __future__ import annotations

from functools import lru_cache
from math import cos, isfinite, pi, radians, sin, tan

from scantling.late import pattern
from scantling.read.lengths import Sizes, pixels
from scantling.read.units import ABSOLUTE, NUMBER, RELATIVE, WHITE, Length
from scantling.records import NamedTuple

Matrix = tuple[float, float, float, float, float, float]
"""(a b c d e f): x' = a x + c y + e, y' = b x + d y + f."""

IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)

_SPACE = f"[{WHITE}]"
_function = pattern(rf"{_SPACE}*,?{_SPACE}*([A-Za-z]+){_SPACE}*\(([^()]*)\){_SPACE}*")
_argument = pattern(rf"({NUMBER})([A-Za-z]+|%|){_SPACE}*,?{_SPACE}*")
_COUNTS = {
    "matrix": (6,),
    "translate": (1, 2),
    "translatex": (1,),
    "translatey": (1,),
    "scale": (1, 2),
    "scalex": (1,),
    "scaley": (1,),
    "rotate": (1, 3),
    "skew": (1, 2),
    "skewx": (1,),
    "skewy": (1,),
}
_ANGLES = {"": 1.0, "deg": 1.0, "grad": 0.9, "rad": 180.0 / pi, "turn": 360.0}


def multiply(m: Matrix, n: Matrix) -> Matrix:
    """The matrix that applies n first, then m."""
    a, b, c, d, e, f = m
    g, h, i, j, k, o = n
    return (
        a * g + c * h, b * g + d * h, a * i + c * j, b * i + d * j,
        a * k + c * o + e, b * k + d * o + f,
    )  # fmt: skip


def apply(m: Matrix, x: float, y: float) -> tuple[float, float]:
    """A point put through a transform."""
    return m[0] * x + m[2] * y + m[4], m[1] * x + m[3] * y + m[5]


def invert(m: Matrix) -> Matrix | None:
    """The inverse, or None for a matrix that flattens the plane."""
    a, b, c, d, e, f = m
    det = a * d - b * c
    if not det or not isfinite(1.0 / det):
        return None
    return (
        d / det, -b / det, -c / det, a / det,
        (c * f - d * e) / det, (b * e - a * f) / det,
    )  # fmt: skip


def scale_of(m: Matrix) -> float:
    """The geometric mean scale: the square root of the area factor."""
    return float(abs(m[0] * m[3] - m[1] * m[2]) ** 0.5)


class Moves(NamedTuple):
    """A translation by lengths that depend on the font, the page or the reference box."""

    x: Length
    y: Length


Step = Matrix | Moves


@lru_cache(maxsize=2048)
def parse_transform(text: str, css: bool = False) -> tuple[Step, ...] | None:
    """A transform list as written in the attribute or (`css`) the property, which is stricter:
    units and commas must be there. None if it cannot be read.

    Only translations by relative lengths are left to be resolved; everything else is one matrix.
    """
    words = text.strip(WHITE)
    if words in ("", "none"):
        return ()
    steps: list[Step] = []
    at = 0
    while at < len(words):
        found = _function.match(words, at)
        if not found or (words[at] == "," and (css or not steps)):
            return None
        at = found.end()
        step = _step(found[1].lower(), found[2].strip(WHITE), css)
        if step is None:
            return None
        if steps and not isinstance(step, Moves) and not isinstance(steps[-1], Moves):
            steps[-1] = multiply(steps[-1], step)
        else:
            steps.append(step)
    return tuple(steps)


def _step(name: str, arguments: str, css: bool) -> Step | None:
    """One function of a transform list; None where its arguments are not as they must be."""
    read = _arguments(arguments, css)
    if read is None or len(read) not in _COUNTS.get(name, ()):
        return None
    values = [value for value, _ in read]
    if name.startswith("scale"):
        return _scale(name, read)
    if name == "matrix":
        a, b, c, d, e, f = values
        return None if any(unit for _, unit in read) else (a, b, c, d, e, f)
    # a style sheet writes units, and has no centre of its own for a rotation
    if css and (len(read) == 3 or any(value and not unit for value, unit in read)):
        return None
    if name.startswith("translate"):
        return _translate(name, read)
    turning = read[:1] if name == "rotate" else read
    if any(unit not in _ANGLES for _, unit in turning) or any(u for _, u in read[len(turning) :]):
        return None
    angles = [value * _ANGLES[unit] for value, unit in turning]
    return _rotate(angles[0], values[1:]) if name == "rotate" else _skew(name, angles)


Arguments = list[tuple[float, str]]
"""Numbers, each with its unit in lower case."""


def _arguments(text: str, css: bool) -> Arguments | None:
    read: Arguments = []
    at = 0
    while at < len(text):
        found = _argument.match(text, at)
        if not found or not isfinite(value := float(found[1])):
            return None
        read.append((value, found[2].lower()))
        at = found.end()
    if text.endswith(",") or (css and text.count(",") != len(read) - 1):
        return None
    return read


def _translate(name: str, arguments: Arguments) -> Step | None:
    lengths = [_length(value, unit) for value, unit in arguments]
    first, last = lengths[0], lengths[-1]
    if first is None or last is None:
        return None
    x = first if name != "translatey" else _NOWHERE
    y = last if name == "translatey" or len(lengths) == 2 else _NOWHERE
    if x.unit or y.unit:
        return Moves(x, y)
    return (1.0, 0.0, 0.0, 1.0, x.value, y.value)


def _scale(name: str, arguments: Arguments) -> Step | None:
    if any(unit not in ("", "%") for _, unit in arguments):
        return None
    values = [value / 100.0 if unit else value for value, unit in arguments]
    x = 1.0 if name == "scaley" else values[0]
    y = 1.0 if name == "scalex" else values[-1]
    return (x, 0.0, 0.0, y, 0.0, 0.0)


def _skew(name: str, angles: list[float]) -> Matrix:
    """In degrees."""
    tangents = [tan(radians(angle)) for angle in angles]
    if name == "skewy":
        return (1.0, tangents[0], 0.0, 1.0, 0.0, 0.0)
    return (1.0, tangents[1] if len(tangents) == 2 else 0.0, tangents[0], 1.0, 0.0, 0.0)


_NOWHERE = Length(0.0)


def _length(value: float, unit: str) -> Length | None:
    if unit in ABSOLUTE:
        return Length(value * ABSOLUTE[unit])
    return Length(value, unit) if unit in RELATIVE else None


def _rotate(turn: float, centre: list[float]) -> Matrix:
    """A turn in degrees about the origin or a centre (x, y)."""
    quarters = turn / 90.0
    if quarters == int(quarters):  # exact, so that upright stays upright
        c, s = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarters) % 4]
    else:
        c, s = cos(radians(turn)), sin(radians(turn))
    x, y = centre or (0.0, 0.0)
    return (c, s, -s, c, x - c * x + s * y, y - s * x - c * y)


def resolve(steps: tuple[Step, ...], sizes: Sizes) -> Matrix:
    """One matrix, with relative lengths taken of the sizes given; percentages are of the
    reference box."""
    matrix = IDENTITY
    for step in steps:
        if isinstance(step, Moves):
            step = (1.0, 0.0, 0.0, 1.0, pixels(step.x, sizes, "x"), pixels(step.y, sizes, "y"))
        matrix = multiply(matrix, step)
    return matrix
