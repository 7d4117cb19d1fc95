"""score-on-cut: lines that are marked where they are cut."""

from __future__ import annotations

import pytest

from scantling.judge import Level, assigned, page, stocked
from scantling.linter import Linter, Wanted
from scantling_rules.lines import score_on_cut as rule

JOB = (
    stocked("ply", "plywood")
    + assigned("#000", "ply")
    + assigned("#06c", "{1}", "{0}")
    + """
[rules.score-on-cut]
{2}
"""
)
PLATE = '<rect id="plate" x="5" y="5" width="30" height="30"/>\n'


def scored(*d: str) -> str:
    return f'<path id="mark" fill="none" stroke="#06c" stroke-width="0.3" d="{" ".join(d)}"/>'


@pytest.mark.parametrize(
    ("use", "word"), [("score", "scored line"), ("engrave", "engraved stroke")]
)
def test_a_border_on_the_edge(findings_of, use: str, word: str):
    svg = page(PLATE + scored("M5 5H35V35H5Z"))
    (finding,) = findings_of(rule, svg, JOB.format(use, "ply", ""))
    assert finding.message == (
        f"120.00 mm of {word} run along a cut line: the edge is marked and then cut"
    )
    assert (finding.level, finding.element) == (Level.WARNING, "mark")
    assert [one.place.line for one in finding.related] == [2]
    assert sum(map(len, finding.mark)) >= 5


def test_one_finding_a_shape(findings_of):
    two = PLATE + PLATE.replace('x="5"', 'x="45"')
    svg = page(two + scored("M5 5V35", "M10 20H30", "M45 10V30"), 80)
    (finding,) = findings_of(rule, svg, JOB.format("score", "ply", ""))
    assert finding.measured == pytest.approx(50.0)
    assert len(finding.mark) == 2


@pytest.mark.parametrize(
    ("d", "use", "stock"),
    [
        ("M6 6H34V34H6Z", "score", "ply"),
        ("M5 5L35 35", "score", "ply"),
        ("M5 5H35V35H5Z", "score", "card-1.5"),
        ("M5 5H35V35H5Z", "guide", "ply"),
        ("M5 5H35V35H5Z", "cut", "ply"),
    ],
    ids=["inside", "across", "another stock", "a guide", "cut twice is duplicate-line's"],
)
def test_what_is_none(findings_of, d: str, use: str, stock: str):
    assert findings_of(rule, page(PLATE + scored(d)), JOB.format(use, stock, "")) == ()


@pytest.mark.parametrize(
    ("d", "option", "raised"),
    [
        ("M20 20L35 20V21.9", "", 0),
        ("M20 20L35 20V22.1", "", 1),
        ("M20 20L35 20V21.9", "least = 1.5", 1),
        ("M20 20L35 20V21.5 M20 30L35 30V31.5", "", 1),  # of one shape, 3 mm together
    ],
)
def test_a_corner_that_laps_over_is_none(findings_of, d: str, option: str, raised: int):
    found = findings_of(rule, page(PLATE + scored(d)), JOB.format("score", "ply", option))
    assert len(found) == raised


def test_a_score_on_a_score_is_told_by_duplicate_line_alone(tmp_path):
    drawing, sheet = tmp_path / "drawing.svg", tmp_path / "jobsheet.toml"
    twice = scored("M5 5H35V35H5Z") * 2
    drawing.write_text(page(PLATE + twice), encoding="utf-8")
    sheet.write_text(JOB.format("score", "ply", ""), encoding="utf-8")
    found = Linter(Wanted(job=str(sheet))).file(str(drawing)).findings
    assert sorted(f.rule for f in found if f.level > Level.NOTE) == [
        "duplicate-line", "score-on-cut",
    ]  # fmt: skip
