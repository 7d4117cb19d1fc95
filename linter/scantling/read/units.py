"""Units of lengths, and a length as written.

Sources: CSS Values and Units 4, sections 5 and 6 (1in = 96px = 2.54cm = 72pt = 6pc, 1Q =
1/40 cm).
"""

from __future__ import annotations

from scantling.records import NamedTuple

ABSOLUTE = {
    "": 1.0,
    "px": 1.0,
    "in": 96.0,
    "cm": 96.0 / 2.54,
    "mm": 96.0 / 25.4,
    "q": 96.0 / 101.6,
    "pt": 96.0 / 72.0,
    "pc": 16.0,
}
REAL_UNITS = frozenset({"in", "cm", "mm", "q", "pt", "pc"})
"""Units that exist outside a screen."""
RELATIVE = frozenset({"em", "ex", "ch", "rem", "%", "vw", "vh", "vmin", "vmax"})

NUMBER = r"[-+]?(?:[0-9]+(?:\.[0-9]+)?|\.[0-9]+)(?:[eE][-+]?[0-9]+)?"
"""A number as CSS and SVG write it, as a regular expression."""
WHITE = " \t\n\r\f"
"""White space of CSS; what SVG calls so is less by the form feed, which renderers read as well."""


class Length(NamedTuple):
    """A length as written: pixels with unit '', a number of a relative unit, or with unit 'calc'
    a sum of several."""

    value: float
    unit: str = ""
    written: str = ""
    """the unit as written, in lower case"""
    parts: tuple[tuple[float, str], ...] = ()
    """of a sum: numbers and units"""
