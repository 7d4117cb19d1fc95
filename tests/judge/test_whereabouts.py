"""Where findings are on the page: every one that concerns what is drawn, and no other."""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import pytest

from scantling.judge import Example, Finding, page
from scantling.judge.packs import installed
from scantling.linter import Linter, Wanted
from scantling.report.model import FileReport

BOOK = installed()
WITHOUT = {
    "nothing-to-make": "whole",
    "no-real-size": "whole",
    "wrong-size": "whole",
    "unsafe-stock": "whole",
    "broken-reference": "undrawn",
}
"""Rules whose examples have findings without a place, and why."""
JOB = """
[[stock]]
name = "ply"
material = "plywood"
thickness = "3 mm"
process = "laser"
[[assign]]
colour = "black"
stock = "ply"
operation = "cut"
"""


def report(folder: Path, svg: str, job: str = "", **wanted: object) -> FileReport:
    (folder / "drawing.svg").write_text(svg, encoding="utf-8")
    (folder / "jobsheet.toml").write_text(job, encoding="utf-8")
    sheet = str(folder / "jobsheet.toml") if job else None
    linter = Linter(Wanted(job=sheet, **wanted), book=BOOK)  # type: ignore[arg-type]
    return linter.file(str(folder / "drawing.svg"))


def found(rule: str, folder: Path, body: str, job: str = "", **wanted: object) -> list[Finding]:
    return [f for f in report(folder, page(body), job, **wanted).findings if f.rule == rule]


EXAMPLES = [(rule.id, example) for rule in BOOK.rules for example in rule.fails]


@pytest.mark.parametrize(
    ("rule", "example"), EXAMPLES, ids=[f"{rule}-{k}" for k, (rule, _) in enumerate(EXAMPLES)]
)
def test_every_rule_says_where(rule: str, example: Example, tmp_path: Path) -> None:
    judged = report(tmp_path, example.svg, example.job, stock=example.stock, width=example.width)
    for finding in judged.findings:
        if finding.at is None:
            assert not finding.mark
            assert finding.scope in ("undrawn", "whole")
            if finding.rule == rule:
                undrawn = rule == "unreadable-value" and "30furlong" in finding.message
                assert WITHOUT.get(rule) == finding.scope or undrawn
        else:
            lettered = ("live-text", "hidden-lines", "idle-acceptance")
            letters = finding.rule in lettered and "<text" in example.svg
            assert finding.scope == ("estimated" if letters else "")
            assert np.isfinite(finding.at).all()
            places = [at for other in finding.related if (at := other.at) is not None]
            assert len(places) == len(finding.related)


def test_a_colour_without_a_stock_is_marked_by_its_outline(tmp_path: Path) -> None:
    body = '<path d="M0 0h20v20h-20z"/><path fill="teal" d="M30 10h10v10h-5zm1 1h2v2h-2z"/>'
    [finding] = found("unassigned-colour", tmp_path, body, JOB, width=40.0)
    assert finding.at == pytest.approx((60, 20))
    assert [np.round(line, 6).tolist() for line in finding.mark] == [
        [[60, 20], [80, 20], [80, 40], [70, 40], [60, 20]],
        [[62, 22], [66, 22], [66, 26], [62, 26], [62, 22]],
    ]


def test_a_curve_is_marked_closely_and_an_open_line_stays_open(tmp_path: Path) -> None:
    body = (
        '<circle cx="20" cy="20" r="10" fill="none" stroke="teal"/>'
        '<path d="M5 35H35" fill="none" stroke="red"/>'
    )
    ring, line = found("unassigned-colour", tmp_path, body, JOB)
    [points] = ring.mark
    assert ring.at == points[0] == points[-1] == pytest.approx((30, 20))
    radii = np.hypot(*(np.array(points) - 20).T)
    assert radii == pytest.approx(np.full(len(points), 10.0))
    chords = np.diff(points, axis=0)
    assert 10 - np.sqrt(100 - (np.hypot(*chords.T) / 2) ** 2).min() < 0.05
    assert np.round(line.mark, 6).tolist() == [[[5, 35], [35, 35]]]


def test_an_outline_of_very_many_segments_is_marked_by_its_box(tmp_path: Path) -> None:
    steps = "h.1v.1" * 150
    [finding] = found("unassigned-colour", tmp_path, f'<path fill="teal" d="M9 9{steps}z"/>', JOB)
    assert finding.at == pytest.approx((9, 9))
    [ring] = finding.mark
    assert np.round(ring, 6).tolist() == [[9, 9], [24, 9], [24, 24], [9, 24], [9, 9]]


def test_lettering_is_marked_where_it_stands_and_said_to_be_estimated(tmp_path: Path) -> None:
    body = '<rect width="20" height="20"/><text x="10" y="30" font-size="10">abcd</text>'
    [finding] = found("live-text", tmp_path, body, width=40.0)
    assert finding.at == pytest.approx((20, 60))
    assert finding.scope == "estimated"
    [ring] = finding.mark
    frame = [[20, 44], [64, 44], [64, 64], [20, 64], [20, 44]]
    assert np.round(ring, 6).tolist() == frame


def test_a_group_is_where_all_is_that_is_drawn_from_it(tmp_path: Path) -> None:
    """Through `use` too; the root is no place, and nor is what nothing is drawn from."""
    accept = 'data-scantling-accept="thin-web: held"'
    body = (
        '<rect width="40" height="40" fill="none" stroke="black"/>'
        f'<defs><g id="a" {accept}><path d="M0 0h3v3h-3z"/></g><g {accept}/></defs>'
        '<use href="#a" x="10" y="5"/><use href="#a" x="20" y="5"/>'
        f'<g {accept}><text x="30" y="30" font-size="1">a</text><path d="M30 5h3v3h-3z"/></g>'
    )
    svg = page(body).replace("<svg", f"<svg {accept}", 1)
    judged = report(tmp_path, svg)
    root, group, empty, mixed = (f for f in judged.findings if f.rule == "idle-acceptance")
    assert (root.at, root.scope, root.mark) == (None, "whole", ())
    assert (empty.at, empty.scope, empty.mark) == (None, "undrawn", ())
    assert group.at == pytest.approx((10, 5))
    starts = [line[0] for line in group.mark]
    assert np.round(starts, 6).tolist() == [[10, 5], [20, 5]]
    assert len(mixed.mark) == 2
    assert mixed.scope == ""


def test_many_places_of_one_element_are_marked_by_one_box(tmp_path: Path) -> None:
    squares = "".join(
        f'<path d="M{x} {y}{"h.1v.1" * 8}z"/>'
        for x, y in itertools.product(range(1, 39, 3), repeat=2)
    )
    body = f'<g data-scantling-accept="slender-part: held">{squares}</g>'
    [finding] = found("idle-acceptance", tmp_path, body)
    [ring] = finding.mark
    corners = [[1, 1], [37.8, 1], [37.8, 37.8], [1, 37.8], [1, 1]]
    assert np.round(ring, 6).tolist() == corners


def test_path_data_is_broken_where_its_line_ends(tmp_path: Path) -> None:
    [finding] = found("unreadable-value", tmp_path, '<path d="M5 5H35V25 oops"/>')
    assert finding.at == pytest.approx((35, 25))
    assert np.round(finding.mark, 6).tolist() == [[[5, 5], [35, 5], [35, 25]]]
