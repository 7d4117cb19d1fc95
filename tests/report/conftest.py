"""An invented workshop's report, made by hand: no drawing is read in this room's tests."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from scantling.judge.finding import Finding, Fix, Level, Place, Related
from scantling.report.model import (
    Failure,
    FileReport,
    Report,
    RuleText,
    Scene,
    SheetSummary,
    Stroke,
)

WIDE = Place(14, 5, 14, 46, 412, 453)


def finding(**given: Any) -> Finding:
    values: dict[str, Any] = {
        "rule": "thin-web",
        "level": Level.ERROR,
        "message": "web 0.82 mm finished, walnut-3 needs 1.20 mm",
        "file": "clock.svg",
        "place": WIDE,
        "at": (112.4, 63.18),
        "measured": 0.82,
        "required": 1.2,
        "extent": 4.5,
        "stock": "walnut-3",
        "part": "crescent",
        "element": "crescent",
        "layer": "moon",
        "mark": (((110.0, 63.0), (112.4, 63.18), (115.0, 63.3)),),
        "smallest_safe_width": 312.4,
        "passing_stocks": ("card-1.5",),
        "fingerprint": "00aa11bb22cc33dd44ee55ff",
        "snippet": '<path id="crescent" d="M0 0C1 2 3 4 5 6">',
    }
    return Finding(**(values | given))


def rule(id: str, level: Level = Level.ERROR, family: str = "features") -> RuleText:
    return RuleText(
        id=id,
        family=family,
        level=level,
        title=f"finds {id.replace('-', ' ')}",
        why="It breaks\nat the machine.",
        remedy="Make it wider.\n\n- or thicker",
        source="common practice, no source",
        parameters={"allowance": {"type": "number", "default": 2}},
    )


def clock() -> FileReport:
    note = finding(
        rule="off-page",
        level=Level.NOTE,
        message="shape lies outside the page",
        place=Place(20, 3, 22, 9, 600, 700),
        at=None,
        measured=None,
        required=None,
        extent=None,
        stock="",
        part="",
        element="",
        layer="stars",
        mark=(),
        smallest_safe_width=None,
        passing_stocks=(),
        fingerprint="f" * 24,
        snippet="",
    )
    double = finding(
        rule="duplicate-line",
        level=Level.WARNING,
        message="12.00 mm of line cut twice",
        place=Place(16, 3, 16, 20, 500, 517),
        at=(40.0, 40.0),
        measured=12.0,
        required=None,
        extent=12.0,
        stock="cork-2",
        part="",
        element="ring",
        related=(Related(message="the other line", place=Place(17, 3, 17, 9, 530, 536),
                         at=(40.0, 41.0)),),
        fingerprint="d" * 24,
        mark=(((40.0, 40.0), (52.0, 40.0)),),
        smallest_safe_width=None,
        passing_stocks=(),
        fixes=(Fix(message="take the second line away",
                   replacements=((Place(17, 3, 17, 9, 530, 536), ""),)),),
    )  # fmt: skip
    accepted = finding(
        place=Place(18, 3, 18, 9, 540, 546),
        at=(12.0, 13.0),
        fingerprint="a" * 24,
        accepted="held by the transfer tape",
        accepted_in="inSource",
    )
    return FileReport(
        file="clock.svg",
        findings=(finding(), double, accepted, note),
        size=(260.0, 258.4),
        scale=0.264583,
        sheets=(
            SheetSummary(label="walnut-3", stock="walnut-3", parts=3, dropouts=2, cut=1240.4,
                         score=0, engrave=0, size=(250, 240), least_web=0.82,
                         least_web_at=(112.4, 63.18), passing_stocks=("card-1.5", "birch-4")),
            SheetSummary(label="cork-2", stock="cork-2", parts=1, dropouts=0, cut=320,
                         score=12.5, engrave=0, size=(100, 100), colours=("#aa8844",)),
        ),
        smallest_safe_width=312.4,
        job="jobsheet.toml",
    )  # fmt: skip


def scene() -> Scene:
    return Scene(
        size=(260.0, 258.4),
        strokes=(
            Stroke(path="M20 20L240 20L240 238L20 238Z", sheet="walnut-3", colour="#7a4b2a"),
            Stroke(path="M100 60C104 52 120 52 125 63C120 74 104 74 100 60Z", sheet="walnut-3",
                   colour="#7a4b2a"),
            Stroke(path="M40 40L52 40L52 60", sheet="cork-2", operation="score",
                   colour="#aa8844"),
            Stroke(path="M0 129L260 129", sheet="", operation="guide"),
        ),
    )  # fmt: skip


def whole() -> Report:
    return Report(
        files=(
            clock(),
            FileReport(
                file="trail/marker 1.svg",
                notices=("no job sheet: judged as acrylic-3, drawn size 60.00 mm",),
                size=(60.0, 40.0),
                scale=0.26,
                sheets=(
                    SheetSummary(label="acrylic-3 #112233", stock="acrylic-3", parts=1,
                                 dropouts=0, cut=180, score=0, engrave=0, size=(60, 40)),
                ),
            ),
            FileReport(
                file="broken.svg",
                failure=Failure(file="broken.svg", message="not well-formed: no element found",
                                line=3, column=7),
            ),
        ),
        rules=(
            rule("thin-web"),
            rule("duplicate-line", Level.WARNING, "lines"),
            rule("off-page", Level.NOTE, "drawing"),
            rule("bitmap", family="drawing"),
            rule("swallowable-part", Level.OFF, "assembly"),
        ),
        version="0.1.0",
    )  # fmt: skip


class Samples:
    """The builders, for tests: `samples.finding(level=…)`."""

    finding = staticmethod(finding)
    rule = staticmethod(rule)
    clock = staticmethod(clock)
    scene = staticmethod(scene)
    whole = staticmethod(whole)

    @staticmethod
    def report(*findings: Finding, **given: Any) -> Report:
        """A report of one file with these findings."""
        file = replace(clock(), findings=findings, **given)
        return replace(whole(), files=(file,))


@pytest.fixture(scope="session")
def samples() -> type[Samples]:
    return Samples


@pytest.fixture
def report() -> Report:
    return whole()
