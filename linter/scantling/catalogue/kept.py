"""Judging a few files with what is known from before: for `lint` and the hook."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from dataclasses import field

from scantling import __version__
from scantling.catalogue.codec import Malformed, load_file
from scantling.catalogue.folder import cache_folder
from scantling.catalogue.rulebook import rulebook
from scantling.catalogue.store import Store
from scantling.catalogue.task import Desk, Task
from scantling.catalogue.work import Bench
from scantling.drawings import drawings
from scantling.judge.finding import Level
from scantling.judge.known import Known
from scantling.records import dataclass
from scantling.report.model import Failure, FileReport, Report, Trouble
from scantling.wanted import Wanted, shown


@dataclass(slots=True)
class Keeper:
    """Judges one file after another, those that have not changed out of the store. Geometry is
    imported when there is something to measure."""

    wanted: Wanted
    store: Store
    desk: Desk = field(init=False)
    problems: dict[Trouble, None] = field(default_factory=dict)
    _bench: Bench | None = None

    def __post_init__(self) -> None:
        self.desk = Desk(self.wanted, (self.wanted.stock or "",))

    @property
    def bench(self) -> Bench:
        if self._bench is None:
            from scantling.linter import Linter

            self._bench = Bench(Linter(self.wanted), self.desk.trials)
        return self._bench

    def file(self, path: str) -> FileReport:
        """Like Linter.file."""
        task = self.desk.task(path)
        keys = self.desk.keys(task)
        return (keys and self._known(keys)) or self._new(task, keys)

    def _known(self, keys: list[bytes]) -> FileReport | None:
        found = self.store.find(keys)
        body = self.store.body(found[0].digest) if found else None
        try:
            return (body and load_file(body)) or None
        except Malformed:
            return None

    def _new(self, task: Task, keys: list[bytes] | None) -> FileReport:
        (judged,) = self.bench.judged(task)
        self.problems |= dict.fromkeys(self.bench.problems())
        result = self.bench.result(judged)
        if keys and result.lasting:
            self.store.keep(keys[0], result.row, result.body)
        return judged.report

    def report(
        self,
        paths: Iterable[str | os.PathLike[str]],
        fail_at: Level,
        known: Known | None = None,
    ) -> Report:
        """Like api.judge."""
        files = []
        for path, trouble in drawings(paths):
            if trouble:
                failure = Failure(file=shown(path), message=trouble)
                files.append(FileReport(file=failure.file, failure=failure))
            else:
                files.append(self.file(path))
        linter = self._bench.linter if self._bench else None
        rules, troubles = rulebook(self.store, self.wanted, self.desk.sheets, linter)
        return Report(
            files=self._closed(files, known),
            rules=rules,
            version=__version__,
            fail_at=fail_at,
            troubles=(*troubles, *self.problems),
        )

    def _closed(self, files: list[FileReport], known: Known | None) -> tuple[FileReport, ...]:
        """What can be said last; only entries of job sheets and lists need it."""
        if known is None and not self.desk.may_idle:
            return tuple(files)
        from scantling.closing import closed

        return closed(files, self.bench.linter, known)


def judge_kept(
    wanted: Wanted,
    paths: Iterable[str | os.PathLike[str]],
    *,
    fail_at: Level = Level.ERROR,
    known: Known | None = None,
    tell: Callable[[str], object] | None = None,
) -> Report:
    """Like api.judge, with the results of this user's cache folder."""
    with Store.open(cache_folder()) as store:
        report = Keeper(wanted, store).report(paths, fail_at, known)
    if tell is not None:
        for note in store.notes:
            tell(note)
    return report
