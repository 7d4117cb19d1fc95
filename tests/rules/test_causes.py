"""One finding a cause: what one rule tells of, no other tells again."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from scantling.judge import assigned, page, stocked
from scantling.judge.packs import installed
from scantling.linter import Linter, Wanted
from scantling_rules.causes import NARROW_GAP, OPEN_PATH

PLATE = "M5 5H55V35H5Z"
HAIR = '<path d="{}" fill="none" stroke="#000" stroke-width="0.1"/>'
OFF = (
    stocked("acrylic", "cast acrylic", 'minimum = { web = "1.5 mm", part = "6 mm" }')
    + assigned("#000", "acrylic")
    + """
[rules.crossing-cuts]
level = "off"
"""
)
MILD = {"inside-last", "drop-out", "sharp-inside-corner", "close-parts"}
"""Notes, which a plate with holes or corners may have."""


def rules(folder: Path, body: str, job: str = "") -> Counter[str]:
    """How often each rule speaks of a drawing, notes left out."""
    drawing, sheet = folder / "drawing.svg", folder / "jobsheet.toml"
    drawing.write_text(page(body, 60), encoding="utf-8")
    sheet.write_text(job, encoding="utf-8")
    report = Linter(Wanted(job=str(sheet) if job else None)).file(str(drawing))
    assert report.failure is None
    return Counter(f.rule for f in report.findings if f.rule not in MILD)


def holed(*holes: str) -> str:
    return f'<path fill-rule="evenodd" d="{PLATE}{"".join(holes)}"/>'


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        pytest.param(
            '<path d="M5 5H30V30H5Z"/><path d="M28.5 28.5H55V38H28.5Z"/>',
            {"crossing-cuts": 1},
            id="the corner that two parts share is no small part",
        ),
        pytest.param(
            '<path d="M5 5H30V30H5Z"/><path d="M29.2 6H55V29H29.2Z"/>',
            {"crossing-cuts": 1},
            id="nor is the strip a thin web",
        ),
        pytest.param(
            '<path d="M5 5H25V19.6H35V5H55V35H35V20.4H25V35H5Z"/><path d="M4 33H10V39H4Z"/>',
            {"crossing-cuts": 1, "thin-web": 1},
            id="a thin bridge of a part that is crossed elsewhere is told",
        ),
        pytest.param(
            '<path d="M5 5H30V35H20V33H32V31H5Z"/>',
            {"self-crossing": 1},
            id="the loop of an outline that crosses itself",
        ),
        pytest.param(
            holed("M20 20h0.14v0.14h-0.14Z"),
            {"stray-fragment": 1},
            id="a stray fragment is no hole",
        ),
        pytest.param(holed("M20 20h0.6v0.6h-0.6Z"), {"small-hole": 1}, id="a hole is no gap"),
        pytest.param(holed("M20 20h15v0.1h-15Z"), {"narrow-gap": 1}, id="a slit is no hole"),
        pytest.param(holed("M20 20h15v0.6h-15Z"), {}, id="a slit as wide as a gap may be"),
        pytest.param(
            f'<path d="{PLATE}"/><path d="M10 37C20 38 30 38 40 37"/>',
            {"open-path": 1},
            id="what only a fill closes is no small part",
        ),
        pytest.param(
            '<path d="M5 8H30V5H30.1V8H55V35H5Z"/>',
            {},
            id="a hair is taken away by the cut",
        ),
        pytest.param(
            '<path d="M5 5H27V19.95H33V5H55V35H33V20.05H27V35H5Z"/>',
            {"thin-web": 1},
            id="a bridge is not, though the cut takes it too",
        ),
        pytest.param(
            holed("M20 20h15v5h-15Z", "M20 19h0.14v0.14h-0.14Z"),
            {"stray-fragment": 1},
            id="a stray fragment makes no thin web",
        ),
        pytest.param(
            holed("M20 20h15v5h-15Z", "M22 19h5v0.14h-5Z", "M20 19h0.14v0.14h-0.14Z"),
            {"stray-fragment": 1, "thin-web": 1, "narrow-gap": 1},
            id="a web that is thin without it is told",
        ),
        pytest.param(
            f'<path d="{PLATE}"/>{HAIR.format("M20 20l0.1 0.1")}',
            {"stray-fragment": 1},
            id="a stray line is no open outline",
        ),
        pytest.param(
            f'<path d="{PLATE}"/>{HAIR.format("M20 20l0.3 0.1")}',
            {"open-path": 1},
            id="a short line that is no stray is one",
        ),
        pytest.param(
            '<path d="M32 10L25 20L8 14V19.92L25.2 19.98"/>',
            {"open-path": 1},
            id="an end that runs past the corner it closes makes no gap",
        ),
        pytest.param(
            holed("M20 20h15v5h-15Z", "M22 19.6l0.025-0.25h-0.05Z"),
            {"narrow-gap": 1},
            id="a sliver of a hole makes no thin web beside it",
        ),
        pytest.param(
            '<path fill="url(#gone)" d="M5 5H55V35H5Z"/>',
            {"broken-reference": 1},
            id="a shape whose paint is missing is not hidden as well",
        ),
        pytest.param(
            '<clipPath id="c"><path d="M0 0H60V40H0Z"/></clipPath>'
            '<g clip-path="url(#c)"><path d="M5 5H70V35H5Z"/></g>',
            {"paint-only-effect": 1},
            id="a shape that is clipped at the edge of the page is not told again",
        ),
        pytest.param(
            '<path d="M5 5H40V20L39.4 20H40V35H5Z"/>',
            {"duplicate-line": 1},
            id="what happens at the end of a double is no crossing",
        ),
        pytest.param(
            holed("M20 20L35 20.12L20 20.24Z"), {"narrow-gap": 1}, id="a narrow wedge is told"
        ),
    ],
)
def test_one_cause_is_told_once(body: str, expected: dict[str, int], tmp_path: Path):
    assert rules(tmp_path, body) == expected


def notes(folder: Path, body: str) -> list[str]:
    drawing = folder / "drawing.svg"
    drawing.write_text(page(body, 60), encoding="utf-8")
    found = Linter(Wanted(stock="acrylic-3")).file(str(drawing)).findings
    return sorted(f.rule for f in found if f.rule in MILD)


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        pytest.param(
            '<path d="M10 30V10H30V30L20 29L10.2 30"/>',
            [],
            id="where only a fill closes an outline it has no corner",
        ),
        pytest.param(
            f'<path d="{PLATE}M20 20h0.14v0.14h-0.14Z" fill-rule="evenodd"/>',
            [],
            id="a stray fragment is no inner cut",
        ),
        pytest.param(
            '<path d="M5 5H20V30H5Z"/><path d="M20 5H20.7V30H20Z"/><path d="M20.7 5H40V30H20.7Z"/>',
            [],
            id="parts with another between them are not near each other",
        ),
        pytest.param(
            f'<path d="{PLATE}M15 15h5l-5 0.36Z" fill-rule="evenodd"/>',
            ["inside-last", "sharp-inside-corner"],
            id="dust does not drop out",
        ),
        pytest.param(
            '<path d="M5 5H20V30H5Z"/><path d="M20.7 5H40V30H20.7Z"/>',
            ["close-parts"],
            id="without it they are",
        ),
    ],
)
def test_notes_have_causes_too(body: str, expected: list[str], tmp_path: Path):
    assert notes(tmp_path, body) == expected


def test_where_nobody_tells_of_strays_they_are_open(tmp_path: Path):
    body = f'<path d="{PLATE}"/>{HAIR.format("M20 20l0.1 0.1")}'
    job = OFF.replace("crossing-cuts", "stray-fragment")
    assert rules(tmp_path, body, job) == {"open-path": 1}


def test_causes_name_rules_that_there_are():
    assert {OPEN_PATH, NARROW_GAP} <= set(installed().by_id())


def test_what_no_rule_tells_of_is_told(tmp_path: Path):
    """Where crossing-cuts is off, the crumb stands for itself."""
    body = '<path d="M5 5H30V30H5Z"/><path d="M28.5 28.5H55V38H28.5Z"/>'
    found = rules(tmp_path, body, OFF)
    assert found["crossing-cuts"] == 0
    assert found["small-part"] == 1


def test_two_necks_are_two_findings(tmp_path: Path):
    """Up to the reach they hang together: 2.4 mm between them."""
    above, below = "M5 5H20L21 18.8H24V18.4H27V18.8H30L31 5H55V35", "H31L30 19.8H27V20.2H24V19.8H21"
    assert rules(tmp_path, f'<path d="{above}{below}L20 35H5Z"/>')["thin-web"] == 2


def test_strokes_of_one_width_are_one_finding(tmp_path: Path):
    shape = '<rect x="{}" y="5" width="10" height="10" stroke-width="{}"/>'
    shapes = shape.format(5, 2) + shape.format(20, 2) + shape.format(40, 1)
    found = rules(tmp_path, f'<g fill="none" stroke="#000">{shapes}</g>')
    assert found["ambiguous-outline"] == 2


def test_dashes_of_many_elements_are_one_finding(tmp_path: Path):
    line = '<path d="M5 {0}H35V{1}H5Z"/>'
    lines = line.format(5, 15) + line.format(20, 30)
    body = f'<g fill="none" stroke="#000" stroke-dasharray="2 1">{lines}</g>'
    assert rules(tmp_path, body)["paint-only-effect"] == 1


@pytest.mark.parametrize(
    ("second", "said"),
    [
        ("M30 5.5V20", "its ends are 25.00 mm apart, the nearest end of another line is 0.50 mm"),
        ("M30 12V20", "its ends are 25.00 mm apart; only ends"),
    ],
)
def test_an_open_end_names_what_it_may_be_meant_to_meet(second: str, said: str, tmp_path: Path):
    drawing = tmp_path / "drawing.svg"
    lines = f'<path d="M5 5H30"/><path d="{second}"/>'
    body = f'<g fill="none" stroke="#000" stroke-width="0.1">{lines}</g>'
    drawing.write_text(page(body, 60), encoding="utf-8")
    findings = Linter(Wanted()).file(str(drawing)).findings
    assert any(said in f.message for f in findings if f.rule == "open-path")
