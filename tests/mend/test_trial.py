"""Which repairs hold together, and what is not let through."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from sketching import HAIR, findings, mended, page

from scantling.judge.finding import Finding, Level, Place
from scantling.mend import trial
from scantling.mend.compare import Judged, change

FINE = '<path d="M50 10L80 10L65 36"/>'
SHARP = '<path d="M10 10H40V20M40 20V40H10V25"/>'
"""Closed as its fill does it is two triangles, one of them with too sharp a corner."""


def test_one_that_does_not_hold_costs_the_others_nothing():
    text = page(f"{FINE}\n{SHARP}\n{FINE.replace('10', '60').replace('36', '86')}")
    result = mended(text, "open-path")
    assert len(result.done) == 2
    (left,) = result.left
    assert left.reason.startswith("that would bring a new finding: tip is thinner")
    assert SHARP in result.text


HOLE = f'<path d="M45 50A5 5 0 1 1 45.1 51" {HAIR}/>'
"""Its ends are nearly 1 mm apart; closed, what falls out of it can tip up."""


def test_what_fails_may_bring_a_note():
    plate = f'<path d="M10 10H90V90H10Z" {HAIR}/>'
    text = page(f"{HOLE}\n{plate}")
    assert [f.rule for f in findings(text) if f.level is Level.ERROR] == ["open-path"]
    result = mended(text, "open-path", join=1.1)
    assert len(result.done) == 1
    assert [(f.rule, f.level) for f in findings(result.text)] == [("drop-out", Level.NOTE)]


def test_a_note_brings_no_other(monkeypatch: pytest.MonkeyPatch):
    """Inner cuts that are put first, where that would now be told as something else."""
    plate = f'<path d="M10 10H90V90H10Z" {HAIR}/>'
    text = page(f"{plate}\n<circle cx='50' cy='50' r='30' {HAIR}/>")
    assert [f.rule for f in findings(text)] == ["inside-last"]
    assert mended(text, "inside-last").changed
    monkeypatch.setattr(
        trial, "change", lambda old, new, edits, found: ([replace(found[0], rule="new")], [])
    )
    (left,) = mended(text, "inside-last").left
    assert left.reason.startswith("that would bring a new finding: an inner cut comes after")


def test_tries_are_limited_and_that_is_said(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(trial, "MOST_TRIES", 1)
    text = page(f"{FINE}\n{SHARP}")
    first = mended(text, "open-path")
    assert not first.changed
    assert {left.reason for left in first.left} == {
        "not tried: 1 text was judged before its turn; --rule begins with it"
    }
    monkeypatch.setattr(trial, "MOST_TRIES", 3)
    second = mended(text, "open-path")
    assert second.changed
    assert not mended(second.text, "open-path").changed


def test_of_large_drawings_fewer_are_judged(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(trial, "MOST_POINTS", 10)
    text = page(f"{FINE}\n{SHARP}")
    assert {left.reason.partition(":")[0] for left in mended(text, "open-path").left} == {
        "not tried"
    }


def test_nothing_is_found_more_often_than_before():
    """A double that crosses a plate: cut out of its line it would leave two open ones. What else
    can be mended is."""
    plate = '<path d="M20 20H60V50H20Z" fill="none" stroke="#000" stroke-width="0.1"/>'
    line = f'<path d="M60 5V90" {HAIR}/>'
    again = f'<path d="M60 60V70" {HAIR}/>'
    text = page(f"{plate}\n{line}\n{again}")
    before = Counter(finding.rule for finding in findings(text))
    result = mended(text, "duplicate-line")
    after = Counter(finding.rule for finding in findings(result.text))
    assert result.text == page(f"{plate}\n{line}")
    assert before - after == Counter({"duplicate-line": 1})
    assert after <= before
    (left,) = result.left
    assert left.reason.startswith("its line is open, and cut here it would be two open lines")


def finding(at: tuple[float, float]) -> Finding:
    return Finding(
        rule="small-part",
        level=Level.ERROR,
        message="part 2.00 x 2.00 mm",
        file="a.svg",
        place=Place(1, 1, 1, 2, 0, 1),
        at=at,
        stock="walnut",
    )


def test_a_second_finding_at_a_known_place_is_a_new_one():
    one, other = finding((5.0, 5.0)), finding((5.02, 5.0))
    before, after = Judged([one], [0], 1.0), Judged([one, other], [0], 1.0)
    assert change(before, after, [], []) == ([other], [])
    assert change(after, before, [], [other]) == ([], [])
    assert change(before, before, [], [one]) == ([], [one])
