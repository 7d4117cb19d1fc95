"""Transforms, strictly by CSS Transforms 1, section 8 (the attribute's grammar) and 9 to 13."""

from __future__ import annotations

from functools import lru_cache
from math import cos, isfinite, pi, radians, sin, tan

from scantling.late import pattern
from scantling.read.lengths import Sizes, pixels
from scantling.read.units import ABSOLUTE, RELATIVE, Length
from scantling.records import NamedTuple

Matrix = tuple[float, float, float, float, float, float]
"""(a b c d e f): x' = a x + c y + e, y' = b x + d y + f."""

IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)

_SPACE = r"[ \t\n\r\f]"
_NUMBER = r"[-+]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)(?:[eE][-+]?[0-9]+)?"
_function = pattern(rf"{_SPACE}*,?{_SPACE}*([A-Za-z]+){_SPACE}*\(([^()]*)\){_SPACE}*")
_argument = pattern(rf"({_NUMBER})([A-Za-z]+|%|){_SPACE}*,?{_SPACE}*")
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
    """A translation by lengths that hang on the font, the page or the reference box."""

    x: Length
    y: Length


Step = Matrix | Moves


@lru_cache(maxsize=2048)
def parse_transform(text: str, css: bool = False) -> tuple[Step, ...] | None:
    """A transform list as written in the attribute or (`css`) the property, which is stricter:
    units and commas must be there. None if it cannot be read.

    Only translations by relative lengths are left to be resolved; everything else is one matrix.
    """
    words = text.strip(" \t\n\r\f")
    if words in ("", "none"):
        return ()
    steps: list[Step] = []
    at = 0
    while at < len(words):
        found = _function.match(words, at)
        if not found or (words[at] == "," and (css or not steps)):
            return None
        at = found.end()
        step = _step(found[1].lower(), found[2].strip(" \t\n\r\f"), css)
        if step is None:
            return None
        if steps and not isinstance(step, Moves) and not isinstance(steps[-1], Moves):
            steps[-1] = multiply(steps[-1], step)
        else:
            steps.append(step)
    return tuple(steps)


def _step(name: str, arguments: str, css: bool) -> Step | None:
    values: list[float] = []
    units: list[str] = []
    at = 0
    while at < len(arguments):
        found = _argument.match(arguments, at)
        if not found:
            return None
        values.append(float(found[1]))
        units.append(found[2].lower())
        at = found.end()
    if len(values) not in _COUNTS.get(name, ()) or not all(map(isfinite, values)):
        return None
    if arguments.endswith(","):
        return None
    if css and arguments.count(",") != len(values) - 1:
        return None
    if (
        css
        and name.startswith(("translate", "rotate", "skew"))
        and (len(values) == 3 or any(v and not u for v, u in zip(values, units, strict=True)))
    ):
        return None
    if name.startswith("translate"):
        lengths = [_length(v, u) for v, u in zip(values, units, strict=True)]
        first, last = lengths[0], lengths[-1]
        if first is None or last is None:
            return None
        x = first if name != "translatey" else _NOWHERE
        y = last if name == "translatey" or len(lengths) == 2 else _NOWHERE
        if x.unit or y.unit:
            return Moves(x, y)
        return (1.0, 0.0, 0.0, 1.0, x.value, y.value)
    if name.startswith(("rotate", "skew")):
        turning = units[:1] if name == "rotate" else units
        if not all(unit in _ANGLES for unit in turning) or any(units[len(turning) :]):
            return None
        angles = [radians(v * _ANGLES[u]) for v, u in zip(values, turning, strict=False)]
        if name == "rotate":
            return _rotate(values[0] * _ANGLES[units[0]], values[1:])
        if name == "skewy":
            return (1.0, tan(angles[0]), 0.0, 1.0, 0.0, 0.0)
        upward = tan(angles[1]) if len(angles) == 2 else 0.0
        return (1.0, upward, tan(angles[0]), 1.0, 0.0, 0.0)
    if name.startswith("scale"):
        if any(unit not in ("", "%") for unit in units):
            return None
        values = [v / 100.0 if u == "%" else v for v, u in zip(values, units, strict=True)]
        if name == "scalex":
            return (values[0], 0.0, 0.0, 1.0, 0.0, 0.0)
        if name == "scaley":
            return (1.0, 0.0, 0.0, values[0], 0.0, 0.0)
        return (values[0], 0.0, 0.0, values[-1], 0.0, 0.0)
    if any(units):
        return None
    a, b, c, d, e, f = values
    return (a, b, c, d, e, f)


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
