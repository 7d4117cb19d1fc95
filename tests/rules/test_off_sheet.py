"""off-sheet: parts and layouts on a sheet of 100 x 60 mm, at any angle."""

import math

import pytest

from scantling.judge import Level, assigned, page, stocked
from scantling_rules.parts import off_sheet as rule

JOB = (
    stocked("ply", "plywood", 'sheet = ["100 mm", "60 mm"]')
    + assigned("#000", "ply")
    + assigned("#c00", "ply", "engrave")
)


def rect(x: float, y: float, width: float, height: float, fill: str = "#000") -> str:
    return f'<rect x="{x}" y="{y}" width="{width}" height="{height}" fill="{fill}"/>'


@pytest.mark.parametrize(
    ("width", "height", "level"),
    [
        (100, 60, None),
        (60, 100, None),
        (110, 5, None),  # aslant: the diagonal is 116.6 mm
        (110, 25, Level.ERROR),
        (101, 60, Level.ERROR),
    ],
)
def test_a_part(findings_of, width: float, height: float, level: Level | None):
    found = findings_of(rule, page(rect(5, 5, width, height), 200, 200), JOB)
    assert [finding.level for finding in found] == ([level] if level else [])


def test_a_part_whose_least_rectangle_is_too_large(findings_of):
    """An equilateral triangle of side 62: its least rectangle is 62 x 53.7 at any side, and it
    goes into a square of 62 cos 15° = 59.9."""
    job = JOB.replace('["100 mm", "60 mm"]', '["60 mm", "60 mm"]')
    triangle = f"M5 5h62L36 {5 + 31 * math.sqrt(3)}z"
    assert findings_of(rule, page(f'<path d="{triangle}"/>', 100, 100), job) == ()


def test_a_layout(findings_of):
    tiles = [rect(5, 5, 50, 50), rect(65, 5, 50, 50)]
    (finding,) = findings_of(rule, page("\n".join(tiles), 200, 100), JOB)
    assert finding.level is Level.NOTE
    assert finding.message == (
        "the layout as drawn is 110.00 x 50.00 mm and does not fit the usable sheet of "
        "100 x 60 mm at any angle; its parts do, one by one"
    )
    tiles[1] = rect(56, 5, 48, 50)
    assert findings_of(rule, page("\n".join(tiles), 200, 100), JOB) == ()


def test_what_is_engraved_belongs_to_the_layout(findings_of):
    svg = page(rect(5, 5, 50, 50) + rect(120, 5, 20, 50, "#c00"), 200, 100)
    (finding,) = findings_of(rule, svg, JOB)
    assert "135.00 x 50.00 mm" in finding.message


def test_a_part_too_large_is_enough(findings_of):
    svg = page(rect(5, 5, 130, 50) + rect(5, 60, 130, 50), 200, 200)
    found = findings_of(rule, svg, JOB)
    assert [finding.level for finding in found] == [Level.ERROR] * 2
