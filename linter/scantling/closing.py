"""What can only be said when every file of a run is judged.

Entries of a job sheet speak of many drawings, so whether one is idle is known last: an acceptance
that accepts nothing, a design behind others that take all its drawings, or one that names none by a
slip. So is what has gone from a list of known findings. All are findings of the rule
`idle-acceptance`, at a place in the job sheet or the list, and come as reports on those files.

Drawings are looked at as they come, and no more is kept of them than their names.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Container, Iterable, Iterator, Sequence
from dataclasses import field, replace

from scantling.drawings import drawings
from scantling.judge.accept import matches, stands
from scantling.judge.engine import fingerprints, settings
from scantling.judge.finding import Finding, Level
from scantling.judge.known import Entry, Known
from scantling.judge.places import place_of
from scantling.judge.rule import Rule
from scantling.linter import Linter, Setting
from scantling.plan.checked import BadJob, read_text
from scantling.plan.find import find_job
from scantling.plan.model import Acceptance, Design, Job
from scantling.plan.patterns import compiled, relative_to
from scantling.read.source import Source
from scantling.records import dataclass
from scantling.report.model import FileReport
from scantling.report.plain import counted
from scantling.wanted import shown

RULE = "idle-acceptance"


def closed(
    files: Iterable[FileReport], linter: Linter, known: Known | None = None
) -> tuple[FileReport, ...]:
    """The reports of a run with known findings accepted, and behind them a report on each job
    sheet with idle entries and on the list, if something has gone from it."""
    closing = Closing(linter, known)
    done = tuple(map(closing.see, files))
    return (*done, *closing.reports())


@dataclass(slots=True)
class Closing:
    """Sees one report after another, and says at last what follows from all of them. A drawing
    that is judged on several stocks may be seen several times."""

    linter: Linter
    known: Known | None = None
    _sheets: dict[str, _Sheet | None] = field(default_factory=dict)
    """by path; None: it has no entry that may be idle, or has changed on disk in the meantime"""
    _list: _List | None = field(init=False)

    def __post_init__(self) -> None:
        self._list = None if self.known is None else _List(self.known)

    def see(self, report: FileReport) -> FileReport:
        """A report, its known findings accepted. Of one without any accepted findings that is on
        no list, its name, its failure and its job sheet are enough."""
        if self._list is not None:
            report = self._list.see(report)
        if report.job is not None:
            if report.job not in self._sheets:
                self._sheets[report.job] = self._sheet(report.job)
            sheet = self._sheets[report.job]
            if sheet is not None:
                sheet.see(report)
        return report

    def _sheet(self, name: str) -> _Sheet | None:
        try:
            setting = self.linter.setting_of(name)
        except BadJob:
            return None
        named = self.linter.wanted.job is not None
        job = setting.job
        return _Sheet(setting, named) if job.accepted or job.designs else None

    def reports(self, ours: Callable[[str], bool] = lambda name: True) -> Iterator[FileReport]:
        """Reports on job sheets and on the list. `ours` says whether this run is the one that
        tells of a file what follows from no drawing of the run, where several share the work."""
        for sheet in self._sheets.values():
            if sheet is None:
                continue
            found = tuple(_idle(sheet, self.linter, ours))
            if found:
                report = FileReport(file=found[0].file, findings=found)
                yield report if self._list is None else self._list.see(report)
        if self._list is not None:
            yield from self._list.reports(self.linter, ours)


# Entries of a job sheet


def _idle(sheet: _Sheet, linter: Linter, ours: Callable[[str], bool]) -> Iterator[Finding]:
    job = sheet.job
    rules = sheet.setting.book.by_id()
    level = _level(rules.get(RULE), job)
    if job.path is None or level is Level.OFF:
        return
    mine = ours(job.path)
    said: dict[int, str] = {}
    for number, entry in enumerate(job.accepted):
        if not stands(entry, linter.wanted.today):
            if mine:
                said[entry.line] = f"accepts {entry.rule} until {entry.until}; that day has passed"
        elif linter.wanted.tries or _level(rules.get(entry.rule), job) is Level.OFF:
            continue
        elif (mine or number in sheet.met) and (why := sheet.idle(number, entry)):
            said[entry.line] = f"accepts {entry.rule}, but {why}"
    for behind, first in sheet.shadowed() if mine else ():
        said[behind.line] = (
            f'the design "{behind.files}" is never used: "{first.files}" in line {first.line} '
            "comes first and matches its drawings; put the more specific one first"
        )
    for design, near in sheet.misspelt() if mine else ():
        said[design.line] = f'the design "{design.files}" matches no drawing; nearest: "{near}"'
    if not said:
        return
    try:
        source = Source.from_text(read_text(job.path), job.path)
    except BadJob:  # gone in the meantime
        return
    found = [
        Finding(
            rule=RULE,
            level=level,
            message=message,
            file=shown(job.path),
            place=place_of(source, *_entry_range(source.text, line)),
        )
        for line, message in sorted(said.items())
    ]
    yield from fingerprints(found, source.text)


def _level(rule: Rule | None, job: Job) -> Level:
    return Level.OFF if rule is None else settings(rule, job.rules)[0]


def _entry_range(text: str, line: int) -> tuple[int, int]:
    """From the first character of an entry's head to the end of its last line."""
    lines = text.splitlines(keepends=True)
    start = sum(map(len, lines[: line - 1]))
    end = start + len(lines[line - 1])
    for row in lines[line:]:
        if row.lstrip().startswith("["):
            break
        end += len(row)
    return start, start + len(text[start:end].rstrip())


@dataclass(slots=True)
class _Sheet:
    """One job sheet: the drawings judged by it, and what its entries have met."""

    setting: Setting
    named: bool
    """True where the command line named the job sheet, for whatever drawing"""
    judged: set[str] = field(default_factory=set)
    met: dict[int, bool] = field(default_factory=dict)
    """numbers of the entries that speak of a drawing of this run; True: one may be accepting
    something, for a finding of it is there, or because nobody knows its findings"""
    _left: list[str] | None = None
    _named_by: dict[str, list[int]] | None = None

    @property
    def job(self) -> Job:
        return self.setting.job

    @property
    def folder(self) -> str:
        return os.path.dirname(os.path.abspath(self.job.path or ""))

    def see(self, report: FileReport) -> None:
        name = relative_to(report.file, self.folder)
        self.judged.add(name)
        for number, entry in enumerate(self.job.accepted):
            if not self.met.get(number) and compiled(entry.files).fullmatch(name):
                self.met[number] = report.failure is not None or any(
                    matches(entry, finding) for finding in report.findings
                )

    def idle(self, number: int, entry: Acceptance) -> str:
        """Why an entry accepts nothing, or '' where it does, or where nobody can tell from the
        drawings of this run."""
        if self.met.get(number):
            return ""
        if any(compiled(entry.files).fullmatch(name) for name in self.left()):
            return ""
        if number in self.met:
            return "there is no such finding"
        near = self.near(entry.files, sorted(self.judged.union(self.left())))
        return f'no drawing is called "{entry.files}"' + (f'; nearest: "{near}"' if near else "")

    def near(self, files: str, names: Iterable[str], taken: Container[str] = ()) -> str:
        """How a pattern would name one of some drawings, or '' where it is meant for none."""
        from scantling.plan.near_pattern import near_pattern

        found = (near_pattern(files, name, self.folder, taken) for name in names)
        return next(filter(None, found), "")

    def shadowed(self) -> Iterator[tuple[Design, Design]]:
        """Designs that no drawing is made by, though they name some, each with the one that takes
        the first of these. Of designs that name no drawing of this run nothing is said."""
        first = _first(self.named_by().values())
        behind = [number for number, other in first.items() if number != other]
        if behind:
            all_of_them = _first(_named_by(self.job.designs, self.left()).values())
            for number in behind:
                if all_of_them.get(number) != number:
                    yield self.job.designs[number], self.job.designs[first[number]]

    def misspelt(self) -> Iterator[tuple[Design, str]]:
        """Designs that name no drawing, but nearly one of this run, each with what would have named
        it. A drawing is not meant where a design before has it, nor by what another asks for: a
        job sheet counts for many drawings, and some may be still to come."""
        designs, named = self.job.designs, self.named_by()
        naming = {number for numbers in named.values() for number in numbers}
        for number, design in enumerate(designs):
            if number in naming:
                continue
            free = [name for name, by in named.items() if min(by, default=number) >= number]
            if not free:
                continue
            from scantling.plan.near_pattern import steps

            others = {step for d in designs if d is not design for step in steps(d.files)}
            near = self.near(design.files, free, others)
            if near and not any(_names(design, name) for name in self.left()):
                yield design, near

    def named_by(self) -> dict[str, list[int]]:
        """The drawings of this run, in order, each with the numbers of the designs that name it."""
        if self._named_by is None:
            self._named_by = _named_by(self.job.designs, sorted(self.judged))
        return self._named_by

    def left(self) -> list[str]:
        """Drawings of this job sheet that were not judged, as seen from its folder."""
        if self._left is None:
            mine = os.path.abspath(self.job.path or "")
            self._left = [
                name
                for path, trouble in drawings([self.folder])
                if not trouble
                and (name := relative_to(path, self.folder)) not in self.judged
                and (self.named or find_job(path) == mine)
            ]
        return self._left


def _names(design: Design, name: str) -> bool:
    return compiled(design.files).fullmatch(name) is not None


def _named_by(designs: Sequence[Design], names: Iterable[str]) -> dict[str, list[int]]:
    return {name: [k for k, one in enumerate(designs) if _names(one, name)] for name in names}


def _first(named_by: Iterable[Sequence[int]]) -> dict[int, int]:
    """By the number of each design that names a drawing: its own number where it is the first to
    name one, and so counts, else that of the design that does for the first of its drawings."""
    found: dict[int, int] = {}
    for met in named_by:
        for number in met:
            found.setdefault(number, met[0])
        if met:
            found[met[0]] = met[0]
    return found


# The list of known findings


@dataclass(slots=True)
class _List:
    """The list, and the entries of the drawings judged so far that nothing has matched."""

    known: Known
    judged: set[str] = field(default_factory=set)
    unmatched: dict[str, frozenset[Entry]] = field(default_factory=dict)
    """by drawing, as the list calls it"""

    def see(self, report: FileReport) -> FileReport:
        key = self.known.key(report.file)
        first = key not in self.judged
        self.judged.add(key)
        if report.failure is not None:
            gone: frozenset[Entry] = frozenset()
        else:
            gone = frozenset(self.known.gone(report.findings, report.file))
        if gone and first:
            self.unmatched[key] = gone
        elif key in self.unmatched:
            self.unmatched[key] &= gone
        return replace(report, findings=self.known.mark(report.findings, report.file))

    def reports(self, linter: Linter, ours: Callable[[str], bool]) -> Iterator[FileReport]:
        """One note about all entries whose drawing was judged, or is not there, and that nothing
        matches any more."""
        rule = linter.book.by_id().get(RULE)
        if rule is None:
            return
        gone = [entry for entries in self.unmatched.values() for entry in entries]
        if ours(self.known.path):
            gone += [
                entry
                for entry in self.known.entries
                if entry.file not in self.judged and not self.known.there(entry.file)
            ]
        if gone:
            name = shown(self.known.path)
            message = f"{counted(len(gone), 'known finding')} gone ({_by_rule(gone)})"
            source = Source.from_text("", name)
            finding = Finding(
                rule=RULE,
                level=min(rule.level, Level.NOTE),
                message=f"{message}; writing the list again forgets them",
                file=name,
                place=place_of(source, 0, 0),
            )
            yield FileReport(file=name, findings=tuple(fingerprints([finding], "")))


def _by_rule(entries: Iterable[Entry]) -> str:
    counts = Counter(entry.rule for entry in entries)
    return ", ".join(f"{rule} {number}" for rule, number in sorted(counts.items()))
