"""What a run has to report: plain values only, so that it can be pickled, cached and written."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from scantling.judge.finding import Finding, Level


@dataclass(frozen=True, slots=True, kw_only=True)
class Failure:
    """A file that could not be judged. `line` and `column` count from 1; 0: the whole file."""

    file: str
    message: str
    line: int = 0
    column: int = 0


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
    job: str | None = None
    """path of the job sheet"""

    def standing(self) -> Iterator[Finding]:
        """Findings that nobody has accepted."""
        return (finding for finding in self.findings if finding.accepted is None)


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
    troubles: tuple[str, ...] = ()
    """Problems of the run itself that belong to no file (a pack that did not load)."""

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
