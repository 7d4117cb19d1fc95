"""Every report says what else a finding is between: the outline crossed, the line doubled."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Mapping
from dataclasses import replace

import pytest

from scantling import Finding, Report, lint
from scantling.api import scenes
from scantling.judge.finding import Place, Related
from scantling.report import annotations, as_csv, as_json, junit, page, sarif, text
from scantling.report.model import Manner
from scantling.report.plain import between, counterpart

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="90mm" viewBox="0 0 90 90">\n'
FIRST = '<rect id="a" x="5" y="5" width="20" height="20"/>\n'
SECOND = '  <rect id="b" x="15" y="15" width="20" height="20"/>\n'
SAID = "the outline it crosses: line 2, column 1"


@pytest.fixture
def crossing(tmp_path) -> Report:
    drawing = tmp_path / "two.svg"
    drawing.write_text(f"{HEAD}{FIRST}{SECOND}</svg>", encoding="utf-8")
    report = lint(drawing, stock="card-1.5")
    assert [finding.rule for finding in report.findings] == ["crossing-cuts"]
    return report


def test_in_the_lines_that_people_read(crossing):
    (line,) = [one for one in text.render(crossing, Manner()).splitlines() if "[cross" in one]
    assert ":3:3: error: cut outline crosses" in line
    assert line.endswith(f", {SAID} [crossing-cuts]")
    (line,) = annotations.render(crossing, Manner()).splitlines()
    assert line.endswith(f", {SAID})")
    assert f", {SAID}</failure>" in junit.render(crossing, Manner())


def test_in_the_rows_that_machines_read(crossing):
    (row,) = csv.DictReader(io.StringIO(as_csv.render(crossing, Manner())))
    assert (row["other"], row["other_line"], row["other_column"]) == (
        "the outline it crosses", "2", "1",
    )  # fmt: skip
    (finding,) = json.loads(as_json.render(crossing, Manner()))["files"][0]["findings"]
    assert finding["related"][0]["message"] == "the outline it crosses"
    assert finding["related"][0]["place"]["line"] == 2
    (result,) = json.loads(sarif.render(crossing, Manner()))["runs"][0]["results"]
    where = result["relatedLocations"][0]
    assert where["message"]["text"] == "The outline it crosses."
    assert where["physicalLocation"]["region"]["startLine"] == 2


def test_in_the_page(crossing):
    drawn: Mapping = scenes(crossing, stock="card-1.5")
    said = page.render(crossing, Manner(scenes=drawn))
    assert "<dt>the outline it crosses</dt><dd>x 25.00, y 15.00 mm, line 2, column 1</dd>" in said


def test_findings_that_cross_others_are_folded_as_before(tmp_path):
    rows = "".join(
        f'<rect x="{x}" y="{y}" width="8" height="4"/><rect x="{x + 4}" y="{y + 2}" width="8" '
        f'height="4"/>\n'
        for x in range(1, 80, 14)
        for y in range(1, 24, 8)
    )
    drawing = tmp_path / "many.svg"
    drawing.write_text(f"{HEAD}{rows}</svg>", encoding="utf-8")
    report = lint(drawing, stock="card-1.5")
    found = [finding for finding in report.findings if finding.rule == "crossing-cuts"]
    assert len(found) == 18
    (line,) = [one for one in text.render(report, Manner()).splitlines() if "[cross" in one]
    assert "the worst of 18" in line
    assert "the outline it crosses: line " in line
    unfolded = text.render(report, Manner(fold=0)).splitlines()
    assert len([one for one in unfolded if "[cross" in one]) == 18


def other(samples, message: str, line: int, *more: str) -> Finding:
    place = Place(line, 7, line, 9, 0, 2)
    return replace(
        samples.finding(place=Place(14, 5, 14, 9, 0, 4)),
        related=tuple(Related(message=m, place=place, at=None) for m in (message, *more)),
    )


@pytest.mark.parametrize(
    ("message", "line", "said"),
    [
        ("the line below it", 14, "the line below it: line 14, column 7"),
        ("the line below it", 15, "the line below it: line 15, column 7"),
        ("the other side of the web", 15, "the other side of the web: line 15, column 7"),
        ("the other side of the web", 14, ""),
        ("another dot", 15, ""),
        ("the line\nbelow", 15, "the line\\x0abelow: line 15, column 7"),
        ("the job sheet", 0, ""),
    ],
)
def test_what_a_line_says(samples, message: str, line: int, said: str):
    assert between(other(samples, message, line, "another dot")) == said


def test_more_of_the_same_kind_are_no_counterpart(samples):
    assert counterpart(other(samples, "another dot", 3)) is None
    assert counterpart(samples.finding()) is None
    found = counterpart(other(samples, "the line below it", 3, "another line"))
    assert found is not None
    assert found.message == "the line below it"


def test_in_an_editor(crossing):
    told = pytest.importorskip("scantling.live.told", exc_type=ImportError)
    assert f"- {SAID}\n" in told.hover(crossing.findings[0], None) + "\n"
