"""off-part: engraving and scoring beside the parts, over their edges, and where nothing is said."""

from __future__ import annotations

import math

import pytest

from scantling.judge import Level, assigned, page, stocked
from scantling.linter import Linter, Wanted
from scantling_rules.parts import off_part as rule

JOB = (
    stocked("ply", "plywood")
    + assigned("#000", "ply")
    + assigned("#953", "ply", "engrave")
    + assigned("#06c", "ply", "score")
    + """
[rules.off-part]
{}
"""
)
PLATE = '<path fill-rule="evenodd" d="M5 5H45V35H5ZM10 10V20H20V10Z"/>\n'


def drawn(body: str, plate: str = PLATE) -> str:
    return page(plate + body, 100, 60)


def bar(x: float, y: float, wide: float, high: float) -> str:
    return f'<path id="bar" fill="#953" d="M{x} {y}h{wide}v{high}h{-wide}Z"/>\n'


def line(d: str, colour: str = "#06c") -> str:
    return f'<path id="line" fill="none" stroke="{colour}" stroke-width="0.4" d="{d}"/>\n'


def said(findings: object) -> list[tuple[str, str]]:
    return [(f.level.word, f.message) for f in findings]  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    "body",
    [
        bar(22, 8, 20, 20),
        bar(5, 22, 40, 13),  # up to three edges
        bar(4.6, 22, 10, 5),  # 0.4 mm over
        line("M5 25H45") + line("M5 5H45V35H5Z", "#953"),
        line("M45.3 10V30"),  # 0.3 mm beside the edge
    ],
)
def test_what_lies_on_a_part(findings_of, body: str):
    assert findings_of(rule, drawn(body), JOB.format("")) == ()


def test_beside_the_part(findings_of):
    (finding,) = findings_of(rule, drawn(bar(60, 10, 10, 5)), JOB.format(""))
    assert said([finding]) == [
        ("warning", "50.00 mm² of engraving lie on no part: the waste or the bed is marked")
    ]
    assert (finding.measured, finding.unit, finding.element) == (pytest.approx(50.0), "mm2", "bar")
    assert finding.at == pytest.approx((65.0, 12.5), abs=2.5)
    assert len(finding.mark) == 1


def test_on_a_drop_out(findings_of):
    (finding,) = findings_of(rule, drawn(bar(12, 12, 6, 6)), JOB.format(""))
    assert said([finding]) == [
        ("warning", "36.00 mm² of engraving lie on a drop-out: the waste or the bed is marked")
    ]


def test_a_bleed_is_a_note(findings_of):
    disc = '<circle cx="45" cy="25" r="6" fill="#953"/>'
    (finding,) = findings_of(rule, drawn(disc), JOB.format(""))
    assert finding.level is Level.NOTE
    assert finding.measured == pytest.approx(18.0 * math.pi, abs=0.3)  # half of it
    assert finding.message.endswith("mm² of engraving run over the edge of a part")
    of = finding.message.partition(" of ")[2].partition(" mm²")[0]
    assert float(of) == pytest.approx(36.0 * math.pi, abs=0.4)


def test_lines(findings_of):
    body = line("M60 10H80") + line("M62 20V30", "#953") + line("M40 8H55")
    assert said(findings_of(rule, drawn(body), JOB.format(""))) == [
        ("warning", "30.00 mm of line lie in 2 places on no part: the waste or the bed is marked"),
        ("note", "10.00 of 15.00 mm of line run over the edge of a part"),
    ]


def test_letters_of_one_path_are_judged_one_by_one(findings_of):
    letters = '<path fill="#953" d="M30 25h4v8h-4ZM38 25h4v8h-4ZM46 25h4v8h-4Z"/>'
    assert said(findings_of(rule, drawn(letters), JOB.format(""))) == [
        ("warning", "32.00 mm² of engraving lie on no part: the waste or the bed is marked")
    ]


def test_a_picture_across_tiles_that_share_edges(findings_of):
    tiles = '<path d="M5 5H25V35H5Z"/><path d="M25 5H45V35H25Z"/>'
    assert findings_of(rule, drawn(bar(8, 8, 30, 20), tiles), JOB.format("")) == ()


def test_a_blank_that_was_cut_before(findings_of):
    assert findings_of(rule, drawn(bar(5, 5, 30, 30), ""), JOB.format("")) == ()


def test_the_option(findings_of):
    svg = drawn(bar(3, 22, 10, 5))
    assert len(findings_of(rule, svg, JOB.format(""))) == 1
    assert findings_of(rule, svg, JOB.format('over = "2.1 mm"')) == ()


OPEN = '<path fill="none" stroke="#000" stroke-width="0.2" d="M55 5H95V35H55V8"/>'
UNKNOWN = '<path fill="#123456" d="M55 5H95V35H55Z"/>'


@pytest.mark.parametrize(
    ("more", "other"), [(OPEN, "open-path"), (UNKNOWN, "unassigned-colour")], ids=["open", "paint"]
)
def test_one_cause_is_told_once(more: str, other: str, tmp_path):
    """The engraving is where a part would be; where the other rule is off, it is told here."""
    drawing, sheet = tmp_path / "drawing.svg", tmp_path / "jobsheet.toml"
    drawing.write_text(drawn(more + bar(60, 10, 10, 5)), encoding="utf-8")
    for job, told in (
        (JOB.format(""), {other}),
        (JOB.format("") + f'[rules.{other}]\nlevel = "off"\n', {rule.id}),
    ):
        sheet.write_text(job, encoding="utf-8")
        found = Linter(Wanted(job=str(sheet))).file(str(drawing)).findings
        assert {f.rule for f in found if f.rule in (other, rule.id)} == told
