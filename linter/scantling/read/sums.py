"""calc(): sums of lengths.

Source: CSS Values and Units 4, section 10, as far as sums, differences, products and quotients.
"""

from __future__ import annotations

import re
from math import isfinite

from scantling.read.units import ABSOLUTE, NUMBER, RELATIVE, WHITE, Length

_CALC = re.compile(
    rf"[ \t\n\r\f]*(?:({NUMBER})([A-Za-z]+|%|)|(calc\(|\()|(\))"
    r"|(?<=[ \t\n\r\f])([-+])(?=[ \t\n\r\f])|([*/]))",
    re.I,
).match
_RANKS = {"+": 1, "-": 1, "*": 2, "/": 2}


def calculated(text: str) -> Length | None:
    """A calc() with sums, differences, products and quotients; None where it is anything else.
    The text is read by two stacks, one of values (each numbers by unit) and one of operators."""
    values: list[dict[str, float]] = []
    operators: list[str] = []
    text = text.strip(WHITE)
    at, after_value = 0, False
    if not text.lower().startswith("calc("):
        return None
    while at < len(text):
        found = _CALC(text, at)
        if not found:
            return None
        at = found.end()
        number, unit, opened, closed, sign, product = found.groups()
        if number is not None:
            unit = unit.lower()
            factor = ABSOLUTE.get(unit)
            if after_value or (factor is None and unit not in RELATIVE):
                return None
            known = unit if factor is None or not unit else "px"
            values.append({known: float(number) * (factor or 1.0)})
            after_value = True
        elif opened:
            if after_value:
                return None
            operators.append("(")
        elif closed:
            while operators and operators[-1] != "(":
                if not _reduce(values, operators.pop()):
                    return None
            if not operators or not after_value:
                return None
            operators.pop()
        else:
            operator = sign or product
            if not after_value:
                return None
            while operators and _RANKS.get(operators[-1], 0) >= _RANKS[operator]:
                if not _reduce(values, operators.pop()):
                    return None
            operators.append(operator)
            after_value = False
    if operators or len(values) != 1 or not after_value:
        return None
    units = values[0]
    if ("" in units and len(units) > 1) or not all(map(isfinite, units.values())):
        return None
    parts = tuple((value, "" if unit == "px" else unit) for unit, value in units.items())
    if len(parts) == 1:
        value, unit = parts[0]
        return Length(value, unit, unit or ("" if "" in units else "px"))
    return Length(0.0, "calc", "calc", parts)


def _reduce(values: list[dict[str, float]], operator: str) -> bool:
    """Carry out one operation on the last two values; False where its units do not allow it."""
    if len(values) < 2:
        return False
    right = values.pop()
    left = values.pop()
    if operator in "+-":
        if ("" in left) != ("" in right):
            return False
        sign = 1.0 if operator == "+" else -1.0
        values.append({u: left.get(u, 0.0) + sign * right.get(u, 0.0) for u in left | right})
        return True
    if operator == "*" and set(right) != {""}:
        left, right = right, left
    if set(right) != {""} or (operator == "/" and not right[""]):
        return False
    by = right[""] if operator == "*" else 1.0 / right[""]
    values.append({unit: value * by for unit, value in left.items()})
    return True
