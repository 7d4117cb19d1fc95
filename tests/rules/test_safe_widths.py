"""The width from which a finding passes: just above it the finding is gone, just below it is there.

Asked of every example that fails, with a chord tolerance so fine that what is given away for the
measuring error is far less than half a per cent.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from scantling.judge.finding import Finding
from scantling.judge.packs import installed
from scantling.judge.rule import Example, Rule, page
from scantling.linter import Linter, Setting, Wanted

BOOK = installed()
ABOVE, BELOW = 1.005, 0.995
SIZED = {
    "thin-web",
    "narrow-gap",
    "small-hole",
    "thin-stroke",
    "slender-part",
    "small-part",
    "drop-out",
    "off-sheet",
    "close-parts",
    "small-bond",
    "swallowable-part",
    "tactile-lettering",
}
"""Rules of which some example passes at another size, by geometry alone."""
FAILS = [
    pytest.param(rule, example, id=f"{rule.id}-{number}")
    for rule in BOOK.rules
    for number, example in enumerate(rule.fails)
]
TAPERS = (
    Example(page('<path d="M16 36H24L20.2 6H19.8Z"/>'), note="a blunt end 0.4 mm wide"),
    Example(page('<path d="M14 36H26V30C21.5 20 21 8 20 4C19 8 18.5 20 14 30Z"/>'), note="a horn"),
)


class Fine(Linter):
    """Measures twenty times as finely as usual."""

    def setting(self, path: str) -> Setting:
        usual = super().setting(path)
        return Setting(replace(usual.job, chord=0.0005), usual.book)


def judged(rule: Rule, example: Example, folder: Path, width: float | None) -> Sequence[Finding]:
    drawing, sheet = folder / "drawing.svg", folder / "jobsheet.toml"
    drawing.write_text(example.svg, encoding="utf-8")
    if example.job:
        sheet.write_text(example.job, encoding="utf-8")
    job = str(sheet) if example.job else None
    wanted = Wanted(job=job, stock=example.stock, width=width or example.width)
    report = Fine(wanted, book=replace(BOOK, rules=(rule,))).file(str(drawing))
    assert report.failure is None
    return report.findings


def same(one: Finding, findings: Sequence[Finding]) -> list[Finding]:
    """What is left of a finding: as bad, and at its place or in its words, for of places that are
    equally bad any may be named."""
    return [
        other
        for other in findings
        if other.level == one.level and (other.place == one.place or words(other) == words(one))
    ]


def words(finding: Finding) -> str:
    return re.sub(r"[0-9.]+", "", finding.message)


def holds(rule: Rule, example: Example, folder: Path) -> int:
    """Check the widths that the findings of an example name; how many there are."""
    findings = judged(rule, example, folder, None)
    assert findings
    named = 0
    for finding in findings:
        for width, passing, failing in (
            (finding.smallest_safe_width, ABOVE, BELOW),
            (finding.largest_safe_width, BELOW, ABOVE),
        ):
            if width is not None:
                named += 1
                assert not same(finding, judged(rule, example, folder, width * passing))
                assert same(finding, judged(rule, example, folder, width * failing))
    return named


@pytest.mark.parametrize(("rule", "example"), FAILS)
def test_width_of_an_example(rule: Rule, example: Example, tmp_path: Path):
    holds(rule, example, tmp_path)


@pytest.mark.parametrize("id", sorted(SIZED))
def test_some_example_of_the_rule_names_a_width(id: str, tmp_path: Path):
    [rule] = [rule for rule in BOOK.rules if rule.id == id]
    findings = [f for e in rule.fails for f in judged(rule, e, tmp_path, None)]
    assert any(f.smallest_safe_width or f.largest_safe_width for f in findings)


@pytest.mark.parametrize("example", TAPERS, ids=lambda example: example.note)
def test_width_of_a_taper(example: Example, tmp_path: Path):
    [rule] = [rule for rule in BOOK.rules if rule.id == "sharp-tip"]
    assert holds(rule, example, tmp_path) >= 1


def test_a_straight_taper_passes_at_no_size(tmp_path: Path):
    [rule] = [rule for rule in BOOK.rules if rule.id == "sharp-tip"]
    example = rule.fails[0]
    [finding] = judged(rule, example, tmp_path, None)
    assert finding.smallest_safe_width is None
    [larger] = judged(rule, example, tmp_path, 400)
    assert larger.measured == pytest.approx(finding.measured, rel=1e-3)


def test_width_of_a_small_radius(tmp_path: Path):
    [rule] = [rule for rule in BOOK.rules if rule.id == "sharp-inside-corner"]
    rounded = "M5 5H35V35H25V20.3A0.3 0.3 0 0 0 24.7 20H15.3A0.3 0.3 0 0 0 15 20.3V35H5Z"
    assert holds(rule, Example(page(f'<path d="{rounded}"/>')), tmp_path) == 1


HORNS = (
    Example(page('<path d="M10 5A14 14 0 0 1 10 33A13.2 14 0 0 0 10 5Z"/>'), note="a crescent"),
    Example(page('<path d="M10 5A14 14 0 0 1 10 33A13.6 14 0 0 0 10 5Z"/>'), note="a thin one"),
    Example(page('<path d="M4 20C15 19 25 19.2 36 20C25 20.4 15 20.3 4 20Z"/>'), note="a leaf"),
    Example(page('<path d="M5 5L35 5.5V35H30L29.5 8L5 6.2Z"/>'), note="a blade with a blunt end"),
    Example(page('<path d="M20 3L20.6 7L20.7 26H25V36H15V26H19.3L19.4 7Z"/>'), note="a sword"),
    Example(
        page('<path d="M20 3C20.8 9 20.8 18 20.8 26H25V36H15V26H19.2C19.2 18 19.2 9 20 3Z"/>'),
        note="a horn on a body",
    ),
    Example(
        page('<path d="M6 20.5C4 20.5 4 19.5 6 19.5L24 19V12H36V28H24V21Z"/>'), note="a finger"
    ),
    Example(
        page('<path d="M4 20.2V19.8C9 19 15 19.1 26 19.1V12H36V28H26V20.9C15 20.9 9 21 4 20.2Z"/>'),
        note="a blunt horn",
    ),
)


@pytest.mark.parametrize("example", HORNS, ids=lambda example: example.note)
def test_width_of_a_web_that_a_tip_turns_into(example: Example, tmp_path: Path):
    """The tip ends at the same place of the drawing at any size."""
    [rule] = [rule for rule in BOOK.rules if rule.id == "thin-web"]
    assert holds(rule, example, tmp_path) >= 1


def test_width_of_a_limb_that_begins_with_a_tip(tmp_path: Path):
    [rule] = [rule for rule in BOOK.rules if rule.id == "slender-part"]
    sword = Example(page('<path d="M20 1L21.1 5V32H26V39H14V32H18.9V5Z"/>'))
    assert holds(rule, sword, tmp_path) == 1


def test_a_taper_is_slender_at_any_size(tmp_path: Path):
    """No width is named at which it would pass; and it does not where it is made larger."""
    [rule] = [rule for rule in BOOK.rules if rule.id == "slender-part"]
    spike = Example(page('<path d="M5 18V22L95 20Z"/>', 100, 40))
    found = [f for width in (None, 120.0, 180.0) for f in judged(rule, spike, tmp_path, width)]
    assert found
    assert {(f.smallest_safe_width, f.by_stock) for f in found} == {(None, True)}


def test_what_passes_to_within_the_measuring_error_is_safe_as_it_is(tmp_path: Path):
    bar = '<path d="M5 5H25V18H35V5H55V35H35V{}H25V35H5Z"/>'  # plywood-3: 1.2 mm and a kerf of 0.2
    widths = {}
    for name, drawn in (("just", 1.39), ("less", 1.3), ("more", 1.5)):
        file = tmp_path / f"{name}.svg"
        file.write_text(page(bar.format(18 + drawn), 60), encoding="utf-8")
        report = Linter(Wanted(stock="plywood-3")).file(str(file))
        assert ("thin-web" in {f.rule for f in report.findings}) == (name == "less")
        widths[name] = report.smallest_safe_width
    assert widths["just"] == pytest.approx(50.0)
    assert widths["less"] == pytest.approx(50 * 1.4 / 1.3)
    assert widths["more"] == pytest.approx(50 * 1.4 / 1.5)
