"""Lengths: units by CSS Values and Units 4, section 6.2 (1 in = 25.4 mm = 96 px = 72 pt = 6 pc,
1 Q = 1/4 mm); the foot of 12 in."""

from __future__ import annotations

import json
import math
import re
from fractions import Fraction
from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scantling.plan.lengths import LIMIT_MM, PATTERN, UNITS, parse_length

CSS = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "Q": Fraction(1, 4),
    "in": Fraction("25.4"),
    "ft": 12 * Fraction("25.4"),
    "pt": Fraction("25.4") / 72,
    "pc": Fraction("25.4") / 6,
}


@pytest.mark.parametrize(
    ("written", "mm"),
    [
        ("3 mm", 3.0),
        ("3mm", 3.0),
        (" 3 mm ", 3.0),
        ("+3 mm", 3.0),
        ("10 in", 254.0),
        ("0.5 cm", 5.0),
        ("12 pt", 4.233333333333333),
        ("1/8 in", 3.175),
        ("1 1/2 in", 38.1),
        ("4 ft", 1219.2),
        ("4 Q", 1.0),
        (".5 in", 12.7),
        ("6 pc", 25.4),
        ("1.22 m", 1220.0),
        (7, 7.0),
        (0.1, 0.1),
        ("7", 7.0),
    ],
)
def test_reads(written: str | float, mm: float) -> None:
    assert parse_length(written) == mm


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("3 px", "a pixel is not a length on material"),
        ("3 MM", 'nearest: "mm"'),
        ("3 inch", 'nearest: "in"'),
        ("3 furlong", 'unknown unit "furlong"'),
        ("3,5 mm", "decimal point"),
        ("", "is not a length"),
        ("mm", "is not a length"),
        ("5.", "is not a length"),
        ("1e3 mm", "e3"),
        ("0x10 mm", "x10"),
        ("calc(1mm + 2mm)", "is not a length"),
        ("- 3 mm", "is not a length"),
        ("−3 mm", "is not a length"),
        ("٣ mm", "is not a length"),
        ("1/0 in", "divides by zero"),
        ("1 3/2 in", "fraction that is not below 1"),
        ("1 / 2 in", "is not a length"),
        ("3 mm mm", "is not a length"),
        ("3\nmm", "is not a length"),
        ("9" * 39, "too long"),
        ("9" * 60 + " mm", "is not a length"),
        ("-3 mm", "negative"),
        ("0 mm", "not above 0"),
        (0, "not above 0"),
        (-1, "negative"),
        (math.nan, "is not a length"),
        (math.inf, "too long"),
        pytest.param(10**400, "too long", id="huge"),
        (True, "is not a length"),
        (None, "is not a length"),
        ([3], "is not a length"),
    ],
)
def test_refuses(written: object, said: str) -> None:
    with pytest.raises(ValueError, match=re.escape(said)):
        parse_length(written)  # type: ignore[arg-type]


def test_what_is_allowed_depends_on_the_place() -> None:
    assert parse_length("0 mm", zero=True) == 0.0
    assert parse_length("-2 mm", signed=True) == -2.0
    assert parse_length(0, signed=True) == 0.0
    with pytest.raises(ValueError, match="has no unit"):
        parse_length("7", bare=False)
    with pytest.raises(ValueError, match="negative"):
        parse_length("-2 mm", zero=True)


def test_units_are_those_of_css() -> None:
    assert {unit: Fraction(*size) for unit, size in UNITS.items()} == CSS


@given(
    st.decimals(min_value="0.001", max_value=300, places=3),
    st.sampled_from(sorted(UNITS)),
    st.sampled_from(["", " ", "  "]),
)
def test_decimals_are_exact(number: object, unit: str, space: str) -> None:
    exact = Fraction(str(number)) * CSS[unit]
    if exact <= LIMIT_MM:
        assert parse_length(f"{number}{space}{unit}") == float(exact)


@given(st.integers(0, 200), st.integers(1, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_inch_fractions_are_exact(whole: int, over: int, under: int) -> None:
    over = over % under or 1
    said = f"{whole} {over}/{under} in"
    assert parse_length(said) == float((whole + Fraction(over, under)) * CSS["in"])


@given(st.text(max_size=20) | st.from_regex(PATTERN) | st.text("0123456789/. mincptQf-+"))
def test_never_more_than_a_value_error_and_agrees_with_the_schema_pattern(text: str) -> None:
    """Whatever the schema's pattern refuses, the reader refuses; what it lets through is refused
    for its value only."""
    matched = re.search(PATTERN, text) is not None
    said = ""
    try:
        mm = parse_length(text, bare=False, signed=True)
    except ValueError as error:
        said = str(error)
    if said:
        value_only = "too long", "divides by zero", "not below 1"
        assert not matched or len(text) > 40 or any(word in said for word in value_only)
    else:
        assert matched
        assert abs(mm) <= LIMIT_MM


@pytest.mark.parametrize("name", ["jobsheet.schema.json", "stocks.schema.json"])
def test_the_schemas_hold_the_same_pattern(name: str) -> None:
    schema = json.loads((files("scantling.plan") / name).read_text("utf-8"))
    patterns = {d["pattern"] for d in schema["$defs"].values() if d.get("x-length")}
    assert patterns == {PATTERN}
