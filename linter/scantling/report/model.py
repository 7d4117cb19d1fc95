"""What a run has to report: plain values only, so that it can be pickled, cached and written."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import field
from typing import Any

from scantling.judge.finding import Finding, Level
from scantling.plan.checked import Problem
from scantling.records import dataclass

Trouble = str | Problem
"""Something wrong with a run itself: with a job sheet, at its place, or in words alone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Failure:
    """A file that could not be judged. `line` and `column` count from 1; 0: the whole file."""

    file: str
    message: str
    line: int = 0
    column: int = 0
    passing: bool = False
    """True: not the drawing's fault; the very same file may do another time"""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetSummary:
    """One sheet in figures, drawn size: parts kept, drop-outs, lengths in mm, size in mm."""

    label: str
    stock: str
    parts: int
    dropouts: int
    cut: float
    score: float
    engrave: float
    size: tuple[float, float]
    least_web: float | None = None
    least_web_at: tuple[float, float] | None = None
    colours: tuple[str, ...] = ()
    passing_stocks: tuple[str, ...] = ()
    """other stocks on which this sheet raises nothing at this size"""
    slot: float = 0.0
    """mm to take from a drawn web for its finished width"""

    @property
    def finished_web(self) -> float | None:
        """The least web as it will be, mm; None where every web is wider than was measured for."""
        return None if self.least_web is None else max(self.least_web - self.slot, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class FileReport:
    """One drawing judged: findings in the order of the text, accepted ones among them."""

    file: str
    findings: tuple[Finding, ...] = ()
    notices: tuple[str, ...] = ()
    failure: Failure | None = None
    size: tuple[float, float] | None = None
    """finished size, mm"""
    scale: float = 0.0
    """mm per page pixel"""
    sheets: tuple[SheetSummary, ...] = ()
    smallest_safe_width: float | None = None
    """the least finished width at which nothing that scales is too small, mm"""
    safe_bound: bool = False
    """True: it was measured no further; the design may be made smaller still"""
    job: str | None = None
    """path of the job sheet"""
    encoding: str = "utf-8"
    """of the file, as its reader found it"""

    def standing(self) -> Iterator[Finding]:
        """Findings that nobody has accepted; those that are gone since a baseline left out."""
        return (
            finding
            for finding in self.findings
            if finding.accepted is None and finding.baseline != "absent"
        )

    def accepted(self) -> Iterator[Finding]:
        """Findings that somebody has accepted, with a written reason."""
        return (finding for finding in self.findings if finding.accepted is not None)


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleText:
    """A rule as reports quote it."""

    id: str
    family: str
    level: Level
    title: str
    why: str
    remedy: str
    source: str
    parameters: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """Everything a run has found. `files` are in the order they were given or found."""

    files: tuple[FileReport, ...]
    rules: tuple[RuleText, ...]
    version: str
    fail_at: Level = Level.ERROR
    troubles: tuple[Trouble, ...] = ()
    """What belongs to no drawing: a pack that did not load, a job sheet that cannot be used."""

    @property
    def findings(self) -> tuple[Finding, ...]:
        return tuple(finding for file in self.files for finding in file.findings)

    @property
    def failures(self) -> tuple[Failure, ...]:
        return tuple(file.failure for file in self.files if file.failure)

    @property
    def exit_code(self) -> int:
        """2: some work could not be done; 1: findings at or above the failing level; else 0."""
        if self.failures or self.troubles:
            return 2
        return int(any(f.level >= self.fail_at for file in self.files for f in file.standing()))


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """Some of a drawing's lines, to be drawn again by us.

    path       SVG path data in mm on the page, made of numbers and the letters M L C Z alone
    sheet      label of the sheet they land on; '' for guides and for what is not assigned
    operation  'cut', 'score', 'engrave' or 'guide'
    colour     '#rrggbb' in the drawing, '' where not known
    """

    path: str
    sheet: str
    operation: str = "cut"
    colour: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """What a picture of one drawing shows: never its source, only its geometry.

    size   of the page, mm at finished size; `strokes` in drawing order, best one for each
           element or colour and sheet, so that they can be switched and coloured
    """

    size: tuple[float, float]
    strokes: tuple[Stroke, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Manner:
    """How a report is shown. Nothing of it changes what was found.

    accepted  True: accepted findings are listed too, not only counted
    fold      findings of one rule, level, sheet and file beyond this number share one line in
              forms that are read line by line; 0: never
    root      the folder that file names are relative to
    width     columns to wrap text at on a terminal; None: those of the terminal
    scenes    by FileReport.file, for the forms that draw
    target    the file that is written, '' for standard output
    """

    accepted: bool = False
    fold: int = 12
    root: str = "."
    width: int | None = None
    scenes: Mapping[str, Scene] = field(default_factory=dict)
    target: str = ""
