"""Outlines that meet at a point: one finding."""

from __future__ import annotations

from pathlib import Path

import pytest

from scantling.judge import Level, page
from scantling.linter import Linter, Wanted

EVENODD = '<path fill-rule="evenodd" d="M5 5H55V35H5Z{}"/>'
TOUCHING = {
    "two openings at their corners": EVENODD.format("M15 10H30V20H15ZM30 20H45V30H30Z"),
    "an opening at the middle of the edge": EVENODD.format("M30 5L40 15H20Z"),
    "an opening at a corner": EVENODD.format("M5 5L25 10L20 25Z"),
    "an outline that pinches": '<path d="M5 5L30 20L55 5V35L30 20L5 35Z"/>',
    "two squares of one path": '<path d="M5 5H25V20H5ZM25 20H45V35H25Z"/>',
    "two squares": '<path d="M5 5H25V20H5Z"/><path d="M25 20H45V35H25Z"/>',
    "a corner on an edge": '<path d="M5 5H25V35H5Z"/><path d="M25 20L45 10V30Z"/>',
}
TANGENT = {
    "two round openings": (
        EVENODD.format(
            "M10 20a8 8 0 1 0 16 0a8 8 0 1 0 -16 0ZM26 20a8 8 0 1 0 16 0a8 8 0 1 0 -16 0Z"
        ),
        "thin-web",
    ),
    "two discs": (
        '<circle cx="15" cy="20" r="10"/><circle cx="35" cy="20" r="10"/>',
        "narrow-gap",
    ),
    "two discs of one path": (
        '<path d="M5 20a10 10 0 1 0 20 0a10 10 0 1 0 -20 0ZM25 20a10 10 0 1 0 20 0'
        'a10 10 0 1 0 -20 0Z"/>',
        "narrow-gap",
    ),
}


def found(body: str, folder: Path, stock: str = "plywood-3") -> list[tuple[str, str]]:
    file = folder / "drawing.svg"
    file.write_text(page(body, 60), encoding="utf-8")
    report = Linter(Wanted(stock=stock)).file(str(file))
    assert report.failure is None
    for sheet in report.sheets:
        assert sheet.passing_stocks == ()
    return [(f.rule, f.message) for f in report.findings if f.level > Level.NOTE]


@pytest.mark.parametrize("body", TOUCHING.values(), ids=TOUCHING)
def test_nothing_holds_at_a_point(body: str, tmp_path: Path):
    [(rule, message)] = found(body, tmp_path)
    assert rule == "thin-web"
    assert message.startswith("nothing holds where outlines touch at a point")


@pytest.mark.parametrize(("body", "rule"), TANGENT.values(), ids=TANGENT)
def test_where_they_close_in_slowly_it_is_said_once(body: str, rule: str, tmp_path: Path):
    assert [name for name, _ in found(body, tmp_path)] == [rule]


@pytest.mark.parametrize("width", ["60 mm", "95 mm", "400 mm", "2000 mm"])
@pytest.mark.parametrize(("body", "rule"), TANGENT.values(), ids=TANGENT)
def test_what_touches_does_so_at_every_size(body: str, rule: str, width: str, tmp_path: Path):
    file = tmp_path / "drawing.svg"
    file.write_text(page(body, 60), encoding="utf-8")
    report = Linter(Wanted(stock="plywood-3", width=float(width.split()[0]))).file(str(file))
    [finding] = [f for f in report.findings if f.rule in {"narrow-gap", "thin-web"}]
    assert finding.rule == rule
    if rule == "narrow-gap":
        assert finding.message.startswith("outlines all but touch: gap 0.2")
        assert finding.smallest_safe_width is None
        assert finding.measured == pytest.approx(0.2, abs=0.02)  # the kerf alone, of plywood-3


def test_a_gap_of_a_width_grows_with_the_design(tmp_path: Path):
    apart = '<circle cx="15" cy="20" r="10"/><circle cx="35.1" cy="20" r="10"/>'
    [(rule, message)] = found(apart, tmp_path)
    assert (rule, message[:7]) == ("narrow-gap", "gap 0.3")


def test_lines_that_cross_are_told_as_such(tmp_path: Path):
    star = '<path d="M30 2L40 36L12 15H48L20 36Z"/>'
    assert {name for name, _ in found(star, tmp_path)} == {"self-crossing"}
    shared = '<path d="M5 5H25V20H5Z"/><path d="M25 5H45V20H25Z"/>'
    assert {name for name, _ in found(shared, tmp_path)} == {"duplicate-line"}


def test_a_line_that_only_closes_a_fill_touches_nothing(tmp_path: Path):
    """The fill of an open outline is closed through a part."""
    body = '<path d="M5 5H45V30H5Z"/><path d="M45 20L56 22V38H30"/>'
    assert {name for name, _ in found(body, tmp_path)} == {"open-path"}


LINES = '<g fill="none" stroke="#000" stroke-width="0.1">{}</g>'
TILES = {
    "four": '<path d="M5 5H45V35H5Z"/><path d="M5 20H45"/><path d="M25 5V35"/>',
    "six": (
        '<path d="M5 5H45V35H5Z"/><path d="M5 20H45"/>'
        '<path d="M15 5L35 35"/><path d="M35 5L15 35"/>'
    ),
    "three": '<path d="M5 5H25V20H45V35H5Z"/><path d="M25 20V35"/><path d="M5 20H25"/>',
}


@pytest.mark.parametrize("body", TILES.values(), ids=TILES)
def test_tiles_lie_side_by_side(body: str, tmp_path: Path):
    """Those that meet at a corner have others between them."""
    assert found(LINES.format(body), tmp_path) == []
