"""One drawing from file to report: read → plan → measure → judge → report, in that order.

A `Linter` holds what is the same for every file of a run (rules, job sheets, limits), so that
an audit's worker, a watcher or an editor can ask for one file after another.
"""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from scantling.judge.accept import Acceptances
from scantling.judge.packs import Rulebook, installed
from scantling.plan.jobsheet import BadJob, find_job, load_job
from scantling.plan.planner import plan_drawing
from scantling.plan.stocks import UnknownStock, load_tables
from scantling.read import Limits, Source, Unreadable, read_drawing
from scantling.report.model import Failure, FileReport, RuleText, SheetSummary

if TYPE_CHECKING:
    from scantling.judge.engine import Verdict
    from scantling.plan.model import Job, Plan, Stock


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What a run asks for besides the files: as given on the command line. Lengths in mm."""

    job: str | None = None
    stock: str | None = None
    width: float | None = None
    height: float | None = None
    limits: Limits = field(default_factory=Limits)
    today: datetime.date = field(default_factory=datetime.date.today)


@dataclass(slots=True)
class Linter:
    """Judges one file at a time."""

    wanted: Wanted = field(default_factory=Wanted)
    book: Rulebook = field(default_factory=installed)
    problems: dict[str, None] = field(default_factory=dict)
    """What is wrong with job sheets met so far, each problem once, in the order met."""
    _jobs: dict[str | None, Job | BadJob] = field(default_factory=dict)
    _tables: dict[str, Stock] | None = None

    @property
    def tables(self) -> dict[str, Stock]:
        """The stock tables of all packs, by name of stock."""
        if self._tables is None:
            self._tables = dict(load_tables(self.book.tables))
        return self._tables

    def rule_texts(self) -> tuple[RuleText, ...]:
        return tuple(
            RuleText(
                id=rule.id,
                family=rule.family,
                level=rule.level,
                title=rule.title,
                why=rule.why,
                remedy=rule.remedy,
                source=rule.source,
                parameters=rule.parameters,
            )
            for rule in self.book.rules
        )

    def job_for(self, path: str) -> Job:
        """The job sheet that a drawing is judged by. Raises BadJob, each time it is asked for."""
        name = self.wanted.job or find_job(path)
        if name not in self._jobs:
            try:
                self._jobs[name] = load_job(
                    name, rules=self.book.parameters(), tables=self.book.tables
                )
            except BadJob as error:
                self._jobs[name] = error
        job = self._jobs[name]
        if isinstance(job, BadJob):
            raise job
        return job

    def file(self, path: str) -> FileReport:
        """Judge a file. Whatever is wrong with it is in the report; nothing is raised."""
        return self._guarded(path, lambda: Source.open(path, limits=self.wanted.limits))

    def text(self, text: str, path: str = "<text>") -> FileReport:
        """Judge a drawing given as text; `path` says where job sheets are looked for."""
        return self._guarded(path, lambda: Source.from_text(text, path))

    def _guarded(self, path: str, source: Callable[[], Source]) -> FileReport:
        name = shown(path)
        try:
            return self.judged(source(), path)[0]
        except Unreadable as error:
            failure = Failure(
                file=name, message=error.message, line=error.line, column=error.column
            )
        except UnknownStock as error:
            failure = Failure(file=name, message=error.problems[0].message)
        except BadJob as error:
            # Its problems are told once for the run, however many drawings it stands above.
            self.problems |= dict.fromkeys(str(problem) for problem in error.problems)
            failure = Failure(file=name, message="not judged, because of its job sheet")
        except RecursionError:
            failure = Failure(file=name, message="nested too deeply to be read")
        except MemoryError:
            failure = Failure(file=name, message="out of memory")
        return FileReport(file=name, failure=failure)

    def judged(self, source: Source, path: str) -> tuple[FileReport, Plan]:
        """The same for callers that want the plan as well (pages, pictures). Raises Unreadable
        and BadJob."""
        from scantling.judge.engine import judge_plan

        name = shown(path)
        job = self.job_for(path)
        plan = plan_drawing(
            read_drawing(source, self.wanted.limits),
            job,
            file=path,
            stock=self.wanted.stock,
            width=self.wanted.width,
            height=self.wanted.height,
            tables=self.tables,
        )
        verdict = judge_plan(
            plan,
            self.book.rules,
            name,
            acceptances=Acceptances(self.wanted.today),
            others=self._others(job),
        )
        return summarise(plan, verdict, name), plan

    def _others(self, job: Job) -> Sequence[Stock]:
        """Stocks to try for "what would pass": the job sheet's, then the built-in ones."""
        return tuple((dict(self.tables) | dict(job.stocks)).values())


def shown(path: str) -> str:
    """A path as reports show it: with forward slashes on every system."""
    return os.fspath(path).replace(os.sep, "/")


def summarise(plan: Plan, verdict: Verdict, name: str) -> FileReport:
    """A verdict as plain values, with the figures of each sheet."""
    from scantling.measure.summary import lengths, size_of

    sheets = []
    for sheet, facts in zip(plan.sheets, verdict.facts, strict=True):
        pieces = facts["pieces"]
        webs = [web for web in facts["webs"] if web.kind != "tip"]
        least = min(webs, key=lambda web: web.width, default=None)
        run = lengths(sheet.lines)
        sheets.append(
            SheetSummary(
                label=sheet.label,
                stock=sheet.stock.name,
                parts=sum(piece.kept for piece in pieces),
                dropouts=sum(not piece.kept for piece in pieces),
                cut=run["cut"],
                score=run["score"],
                engrave=run["engrave"],
                size=size_of(sheet.lines),
                least_web=least.width if least else None,
                least_web_at=least.at if least else None,
                colours=sheet.colours,
            )
        )
    troubles = verdict.troubles
    x0, y0, x1, y1 = plan.extents or (0.0, 0.0, 0.0, 0.0)
    safe = [f.smallest_safe_width for f in verdict.findings if f.smallest_safe_width is not None]
    return FileReport(
        file=name,
        findings=verdict.findings,
        notices=plan.notices,
        failure=Failure(file=name, message="; ".join(troubles)) if troubles else None,
        size=(x1 - x0, y1 - y0) if plan.extents else None,
        scale=plan.scale,
        sheets=tuple(sheets),
        smallest_safe_width=max(safe, default=None),
        job=plan.job.path,
    )
