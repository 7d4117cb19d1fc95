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
    """A calc() with sums, differences, products and quotients; None where it is anything else."""
    text = text.strip(WHITE)
    if not text.lower().startswith("calc("):
        return None
    units = _Sum().read(text)
    if units is None:
        return None
    if ("" in units and len(units) > 1) or not all(map(isfinite, units.values())):
        return None
    parts = tuple((value, "" if unit == "px" else unit) for unit, value in units.items())
    if len(parts) == 1:
        value, unit = parts[0]
        return Length(value, unit, unit or ("" if "" in units else "px"))
    return Length(0.0, "calc", "calc", parts)


class _Sum:
    """Reads a sum by two stacks, one of values (each numbers by unit) and one of operators."""

    def __init__(self) -> None:
        self.values: list[dict[str, float]] = []
        self.operators: list[str] = []
        self.after_value = False

    def read(self, text: str) -> dict[str, float] | None:
        """The value of the whole text, numbers by unit; None where it breaks the grammar."""
        at = 0
        while at < len(text):
            found = _CALC(text, at)
            if not found:
                return None
            at = found.end()
            number, unit, opened, closed, sign, product = found.groups()
            if number is not None:
                good = self._number(float(number), unit.lower())
            elif opened:
                good = not self.after_value
                self.operators.append("(")
            elif closed:
                good = self._close()
            else:
                good = self._operator(sign or product)
            if not good:
                return None
        done = not self.operators and len(self.values) == 1 and self.after_value
        return self.values[0] if done else None

    def _number(self, number: float, unit: str) -> bool:
        factor = ABSOLUTE.get(unit)
        if self.after_value or (factor is None and unit not in RELATIVE):
            return False
        known = unit if factor is None or not unit else "px"
        self.values.append({known: number * (factor or 1.0)})
        self.after_value = True
        return True

    def _close(self) -> bool:
        """Carry out what stands between the brackets."""
        while self.operators and self.operators[-1] != "(":
            if not _reduce(self.values, self.operators.pop()):
                return False
        if not self.operators or not self.after_value:
            return False
        self.operators.pop()
        return True

    def _operator(self, operator: str) -> bool:
        """Carry out the operators before this one that bind as strongly, then note it."""
        if not self.after_value:
            return False
        while self.operators and _RANKS.get(self.operators[-1], 0) >= _RANKS[operator]:
            if not _reduce(self.values, self.operators.pop()):
                return False
        self.operators.append(operator)
        self.after_value = False
        return True


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
