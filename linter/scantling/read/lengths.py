"""Lengths and numbers, read strictly: what is not in the grammar is None, never a guess.

Sources: CSS Values and Units 4, sections 5 and 6 (1in = 96px = 2.54cm = 72pt = 6pc, 1Q =
1/40 cm; em and ex); SVG 2, section 8.9 (units) and section 8.10 (percentages).
"""

from __future__ import annotations

import re
from functools import lru_cache
from math import inf, isfinite, sqrt

from scantling.read.units import ABSOLUTE, NUMBER, RELATIVE, Length
from scantling.records import NamedTuple

_FONT_HALVES = frozenset({"ex", "ch"})

_length = re.compile(rf"[ \t\n\r\f]*({NUMBER})([A-Za-z]*|%)[ \t\n\r\f]*").fullmatch


class Sizes(NamedTuple):
    """What relative lengths refer to, in pixels of the user space."""

    width: float
    height: float
    font: float = 16.0
    root_font: float = 16.0
    page_width: float = 0.0
    page_height: float = 0.0


@lru_cache(maxsize=4096)
def parse_length(text: str) -> Length | None:
    """A length, number or percentage; None if it is anything else."""
    found = _length(text)
    if not found:
        return _calculated(text) if "calc(" in text.lower() else None
    value, unit = float(found[1]), found[2].lower()
    factor = ABSOLUTE.get(unit)
    if not isfinite(value):
        return None
    if factor is not None:
        return Length(value * factor, "", unit)
    return Length(value, unit, unit) if unit in RELATIVE else None


def _calculated(text: str) -> Length | None:
    from scantling.read.sums import calculated

    return calculated(text)


@lru_cache(maxsize=4096)
def parse_number(text: str, least: float = -inf, most: float = inf) -> float | None:
    """A number within bounds; None if it is anything else."""
    found = _length(text)
    if not found or found[2]:
        return None
    value = float(found[1])
    return value if isfinite(value) and least <= value <= most else None


@lru_cache(maxsize=1024)
def parse_share(text: str) -> float | None:
    """A number or percentage, clamped to 0..1 (opacities)."""
    found = _length(text)
    if not found or found[2] not in ("", "%"):
        return None
    value = float(found[1]) / (100.0 if found[2] else 1.0)
    return min(max(value, 0.0), 1.0)


def pixels(length: Length, sizes: Sizes, along: str) -> float:
    """Pixels of the user space. `along`: 'x', 'y', or 'both' (the normalised diagonal), for
    percentages."""
    value, unit = length.value, length.unit
    if not unit:
        return value
    if unit == "calc":
        return sum(pixels(Length(*part), sizes, along) for part in length.parts)
    if unit == "%":
        if along == "x":
            return value * sizes.width / 100.0
        if along == "y":
            return value * sizes.height / 100.0
        return value / 100.0 * sqrt((sizes.width**2 + sizes.height**2) / 2.0)
    if unit == "em":
        return value * sizes.font
    if unit in _FONT_HALVES:  # CSS Values 4, 6.1.1: half an em where the font is not measured
        return value * sizes.font / 2.0
    if unit == "rem":
        return value * sizes.root_font
    w, h = sizes.page_width, sizes.page_height
    of = {"vw": w, "vh": h, "vmin": min(w, h), "vmax": max(w, h)}[unit]
    return value * of / 100.0
