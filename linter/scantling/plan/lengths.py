"""Lengths as people write them: '3 mm', '1/8 in', '1 1/2 in', or a number of millimetres.

Read strictly: what is not exactly a length is an error that says why, never a guess.
"""

from __future__ import annotations

import math
import re

from scantling.near import get_close_matches

UNITS = {
    "mm": (1, 1),
    "cm": (10, 1),
    "m": (1000, 1),
    "Q": (1, 4),
    "in": (127, 5),
    "ft": (1524, 5),
    "pt": (127, 360),
    "pc": (127, 30),
}
"""Millimetres to the unit, as an exact fraction: mm, cm, Q, in, pt and pc by CSS Values and
Units 4, section 6.2; the foot is 12 in."""

LIMIT_MM = 100_000.0
"""No sheet good is longer than 100 m: a larger number is a slip of the pen."""

EXAMPLES = 'a length such as "3 mm" or "1/8 in", or a number of millimetres'

NUMBER = r"[0-9]+ +[0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]+(?:\.[0-9]+)?|\.[0-9]+"
PATTERN = rf"^ *[+-]?(?:{NUMBER}) *(?:{'|'.join(UNITS)}) *(?![\s\S])"
"""A length with its unit as a regular expression that JSON Schema understands too."""

_PARTS = re.compile(rf" *([+-]?)({NUMBER}) *([^0-9\s./,+-]\S*)? *")
_LONGEST = 40


def parse_length(
    value: str | float, *, bare: bool = True, signed: bool = False, zero: bool = False
) -> float:
    """A length in millimetres.

    value    a number of millimetres, or a string of number and unit
    bare     whether a string may leave the unit out, meaning millimetres
    signed   whether it may be negative (places); `zero`: whether it may be 0
    Raises ValueError, whose text says what was found and what is allowed.
    """
    if isinstance(value, str):
        over, under = _parsed(value, bare)
        mm = over / under  # of whole numbers: rounded once, correctly
    elif isinstance(value, bool) or not isinstance(value, (int, float)):
        raise ValueError(f"{value!r} is not a length; allowed: {EXAMPLES}")
    elif isinstance(value, int) and abs(value) > 2 * LIMIT_MM:
        mm = math.inf if value > 0 else -math.inf
    else:
        mm = float(value)
    shown = f'"{value}"' if isinstance(value, str) else str(value)[:_LONGEST]
    if math.isnan(mm):
        raise ValueError(f"{shown} is not a length; allowed: {EXAMPLES}")
    if abs(mm) > LIMIT_MM:
        raise ValueError(f"{shown} is too long; allowed: up to {LIMIT_MM:.0f} mm")
    if mm < 0 and not signed:
        bound = "0 or above" if zero else "above 0"
        raise ValueError(f"{shown} is negative; allowed: {EXAMPLES}, {bound}")
    if mm == 0 and not (zero or signed):
        raise ValueError(f"{shown} is not above 0; allowed: {EXAMPLES}")
    return mm


def _parsed(text: str, bare: bool) -> tuple[int, int]:
    """Number times unit, as an exact fraction."""
    if len(text) > _LONGEST:
        raise ValueError(f'"{text[:_LONGEST]}…" is not a length; allowed: {EXAMPLES}')
    found = _PARTS.fullmatch(text)
    if found is None:
        hint = "; write a decimal point, not a comma" if re.search(r"\d,\d", text) else ""
        raise ValueError(f'"{text}" is not a length; allowed: {EXAMPLES}{hint}')
    sign, number, unit = found.groups()
    if unit is None:
        if not bare:
            raise ValueError(f'"{text}" has no unit; allowed: {", ".join(UNITS)}')
        unit = "mm"
    if unit not in UNITS:
        raise ValueError(f'"{text}" has the unknown unit "{unit}"; {_allowed_units(unit)}')
    over, under = _number(number, text)
    over, under = over * UNITS[unit][0], under * UNITS[unit][1]
    return (-over if sign == "-" else over), under


def _number(written: str, text: str) -> tuple[int, int]:
    whole, _, rest = written.rpartition(" ")
    if "/" not in rest:
        before, _, after = rest.partition(".")
        return int(before + after), 10 ** len(after)
    over, under = map(int, rest.split("/"))
    if under == 0:
        raise ValueError(f'"{text}" divides by zero; allowed: {EXAMPLES}')
    if whole and over >= under:
        raise ValueError(f'"{text}" has a fraction that is not below 1; allowed: {EXAMPLES}')
    return (int(whole) * under if whole else 0) + over, under


def _allowed_units(unit: str) -> str:
    if unit.lower() == "px":
        return "a pixel is not a length on material; allowed: " + ", ".join(UNITS)
    said = f"allowed: {', '.join(UNITS)}"
    near = get_close_matches(unit.lower(), [u.lower() for u in UNITS], 3, 0.5)
    near.sort(key=lambda word: abs(len(word) - len(unit)))
    if near:
        said += f'; nearest: "{next(u for u in UNITS if u.lower() == near[0])}"'
    return said
