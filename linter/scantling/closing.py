"""What can only be said when every file of a run is judged.

Entries of a job sheet speak of many drawings, so whether one is idle is known last; so is what
has gone from a list of known findings. Both are findings of the rule `idle-acceptance`, at a
place in the job sheet or the list, and come as reports on those files.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from scantling.catalogue.find import drawings
from scantling.judge.accept import matches, stands
from scantling.judge.engine import fingerprints, settings
from scantling.judge.finding import Finding, Level
from scantling.judge.known import Entry, Known
from scantling.judge.places import place_of
from scantling.judge.rule import Rule
from scantling.linter import Linter, Setting
from scantling.plan.checked import BadJob, read_text
from scantling.plan.find import find_job
from scantling.plan.model import Acceptance, Job
from scantling.plan.patterns import compiled, relative_to
from scantling.read.source import Source
from scantling.report.model import FileReport
from scantling.report.plain import counted
from scantling.wanted import shown

RULE = "idle-acceptance"


def closed(
    files: Iterable[FileReport], linter: Linter, known: Known | None = None
) -> tuple[FileReport, ...]:
    """The reports of a run with known findings accepted, and behind them a report on each job
    sheet with idle entries and on the list, if something has gone from it."""
    done = tuple(files)
    if known is not None:
        done = tuple(replace(file, findings=known.mark(file.findings, file.file)) for file in done)
    more = []
    for setting in _settings(done, linter):
        found = tuple(_idle(setting, done, linter))
        if found:
            more.append(FileReport(file=found[0].file, findings=found))
    if known is not None:
        more += _gone(known, done, linter)
    return (*done, *more)


def _settings(files: Sequence[FileReport], linter: Linter) -> Iterator[Setting]:
    """The job sheets of a run that accept something, in the order met."""
    for name in dict.fromkeys(file.job for file in files if file.job is not None):
        try:
            setting = linter.setting_of(name)
        except BadJob:  # changed on disk meanwhile
            continue
        if setting.job.accepted:
            yield setting


# Entries of a job sheet


def _idle(setting: Setting, files: Sequence[FileReport], linter: Linter) -> Iterator[Finding]:
    job = setting.job
    rules = setting.book.by_id()
    level = _level(rules.get(RULE), job)
    if job.path is None or level is Level.OFF:
        return
    run = _Run(job, linter.wanted.job is not None, [f for f in files if f.job == job.path])
    said: dict[int, str] = {}
    for entry in job.accepted:
        if not stands(entry, linter.wanted.today):
            said[entry.line] = f"accepts {entry.rule} until {entry.until}; that day is over"
        elif linter.wanted.tries or _level(rules.get(entry.rule), job) is Level.OFF:
            continue
        elif why := run.idle(entry):
            said[entry.line] = f"accepts {entry.rule}, but {why}"
    if not said:
        return
    try:
        source = Source.from_text(read_text(job.path), job.path)
    except BadJob:  # gone meanwhile
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
class _Run:
    """The drawings of one job sheet: those that were judged, and those that were not."""

    job: Job
    named: bool
    """True where the command line named the job sheet, for whatever drawing"""
    files: list[FileReport]
    _judged: dict[str, FileReport] = field(init=False)
    _left: list[str] | None = None

    def __post_init__(self) -> None:
        self._judged = {relative_to(file.file, self.folder): file for file in self.files}

    @property
    def folder(self) -> str:
        return os.path.dirname(os.path.abspath(self.job.path or ""))

    def idle(self, entry: Acceptance) -> str:
        """Why an entry accepts nothing, or '' where it does, or where nobody can tell from the
        drawings of this run."""
        named = compiled(entry.files).fullmatch
        mine = [file for name, file in self._judged.items() if named(name)]
        if any(file.failure for file in mine):
            return ""
        if any(matches(entry, finding) for file in mine for finding in file.findings):
            return ""
        if any(named(name) for name in self.left()):
            return ""
        return "nothing of it is found" if mine else f'no drawing is called "{entry.files}"'

    def left(self) -> list[str]:
        """Drawings of this job sheet that were not judged, as seen from its folder."""
        if self._left is None:
            mine = os.path.abspath(self.job.path or "")
            self._left = [
                name
                for path, trouble in drawings([self.folder])
                if not trouble
                and (name := relative_to(path, self.folder)) not in self._judged
                and (self.named or find_job(path) == mine)
            ]
        return self._left


# The list of known findings


def _gone(known: Known, files: Sequence[FileReport], linter: Linter) -> Iterator[FileReport]:
    """One note about all entries whose drawing was judged, or is not there, and that nothing
    matches any more."""
    rule = linter.book.by_id().get(RULE)
    if rule is None:
        return
    judged = {known.key(file.file) for file in files}
    gone = [
        entry
        for file in files
        if file.failure is None
        for entry in known.gone(file.findings, file.file)
    ]
    gone += [e for e in known.entries if e.file not in judged and not known.there(e.file)]
    if gone:
        name = shown(known.path)
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
