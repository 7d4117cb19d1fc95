"""The audit: every drawing below a folder, on every stock asked for, as one table.

What is known from before comes out of the store; the rest is done by workers. Only rows are held
in memory: whole reports stay in the store and are read back one at a time.
"""

from __future__ import annotations

import json
import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import field, replace
from typing import Protocol

from scantling import __version__
from scantling.catalogue.accepted import Accepted
from scantling.catalogue.against import Baseline, Change, baseline, compared
from scantling.catalogue.codec import Malformed, load_as, load_file
from scantling.catalogue.folder import cache_folder
from scantling.catalogue.pool import Done, Lost, Pool, cores
from scantling.catalogue.row import FAILED, FAILS, Row, row_of
from scantling.catalogue.rulebook import rulebook
from scantling.catalogue.store import Kept, Store
from scantling.catalogue.task import Desk, Task
from scantling.catalogue.work import Answer, Given, prepare, result_of
from scantling.digests import blake2b
from scantling.drawings import drawings
from scantling.judge.finding import Level
from scantling.judge.known import Known
from scantling.records import NamedTuple, dataclass
from scantling.report.model import Failure, FileReport, Report, RuleText, Trouble
from scantling.wanted import Wanted, shown

TIME_LIMIT = 120.0
"""Seconds that one drawing may take (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What an audit is to do.

    paths      folders, and files, as given
    wanted     job sheet, size, limits
    trials     the stocks to judge by; '' is what the job sheet says
    part       (k, n): only the k-th of n parts of the drawings, the same ones in every run
    workers    processes; 0: as many as there are cores
    limit      seconds that one drawing may take; 0: as long as it likes
    scheduler  address of a scheduler whose workers do the work instead
    against    LAST, a date or a SARIF file to compare with; '': nothing
    known      a list of known findings, which are accepted
    keep       False: the store is neither read nor written
    """

    paths: tuple[str, ...]
    wanted: Wanted = field(default_factory=Wanted)
    trials: tuple[str, ...] = ("",)
    fail_at: Level = Level.ERROR
    part: tuple[int, int] | None = None
    workers: int = 0
    limit: float = TIME_LIMIT
    scheduler: str = ""
    against: str = ""
    known: Known | None = None
    keep: bool = True

    @property
    def scope(self) -> str:
        """What two audits must have in common to be compared with one another."""
        return json.dumps([sorted(map(os.path.abspath, self.paths)), self.trials, self.part])


class Outcome(NamedTuple):
    """One drawing on one stock. `digest` finds its whole report in the store; of what is said
    last, `report` is that report, which no drawing would bring back."""

    row: Row
    digest: bytes
    change: Change | None = None
    report: FileReport | None = None


class Interrupted(Exception):
    """The user has had enough."""

    def __init__(self, done: int, total: int, kept: bool) -> None:
        super().__init__(done, total, kept)
        self.done = done
        self.total = total
        self.kept = kept


class Progress(Protocol):
    """Is told how far an audit has come."""

    def begin(self, total: int) -> None: ...

    def step(self, findings: int, known: bool) -> None: ...

    def end(self) -> None: ...


class Silence:
    """Progress that nobody watches."""

    def begin(self, total: int) -> None:
        pass

    def step(self, findings: int, known: bool) -> None:
        pass

    def end(self) -> None:
        pass


Stored = list[tuple[Kept, Row]]
"""What the store has of a drawing: one of each trial."""


class Engine(Protocol):
    """Does tasks, and hands on the answers that are known, in their order."""

    def run(
        self, tasks: Iterable[Task | Done[Answer | Stored]]
    ) -> Iterator[Answer | Stored | Lost]: ...


@dataclass(slots=True)
class Audit:
    """An audit that has been made. Close it, or use it in a `with`, when its reports are not
    needed any more."""

    asked: Asked
    store: Store
    outcomes: tuple[Outcome, ...]
    rules: tuple[RuleText, ...]
    closing: tuple[Outcome, ...] = ()
    """What is said last, of job sheets and of the list of known findings"""
    troubles: tuple[Trouble, ...] = ()
    notes: tuple[str, ...] = ()
    """What the user should know of the run itself"""
    against: Baseline | None = None
    gone: tuple[tuple[str, str], ...] = ()
    """Drawings and trials that the baseline has and that are not there any more"""
    version: str = __version__

    def __enter__(self) -> Audit:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        self.store.close()

    @property
    def failures(self) -> int:
        return sum(bool(outcome.row.failure) for outcome in self.outcomes)

    @property
    def exit_code(self) -> int:
        """2: some work could not be done; 1: findings at or above the failing level, only new ones
        if there is a baseline; else 0."""
        if self.failures or self.troubles:
            return 2
        return int(any(self.fails(outcome) for outcome in self.told))

    @property
    def told(self) -> tuple[Outcome, ...]:
        """All of which something is told: the designs, then job sheets and lists."""
        return self.outcomes + self.closing

    def fails(self, outcome: Outcome) -> bool:
        if outcome.change is not None:
            return outcome.change.worst >= self.asked.fail_at
        return outcome.row.verdict(self.asked.fail_at) in (FAILS, FAILED)

    def report(self, outcome: Outcome) -> FileReport:
        """The whole report of a drawing on a stock, known findings accepted; with a baseline, the
        state of each finding."""
        row = outcome.row
        report = outcome.report
        if report is None:
            report = whole(self.store, self.asked.wanted, row, outcome.digest)
        if self.asked.known is not None:
            marked = self.asked.known.mark(report.findings, row.file)
            report = replace(report, findings=marked)
        if self.against is not None:
            report, _ = compared(report, self.against.marks(row.file, row.trial))
        return report

    def reports(self, trial: str) -> Iterator[FileReport]:
        """All reports of a trial, then what is said last, then those of drawings that are gone."""
        for outcome in self.told:
            if outcome.row.trial == trial:
                yield self.report(outcome)
        for report, of in self.gone_reports():
            if of == trial:
                yield report

    def gone_reports(self) -> Iterator[tuple[FileReport, str]]:
        """Reports on drawings that are gone, with their trials: all that was found is absent."""
        for file, trial in self.gone:
            if self.against is not None:
                yield compared(FileReport(file=file), self.against.marks(file, trial))[0], trial

    def write_known(
        self, file: str | os.PathLike[str], *, tell: Callable[[str], object] | None = None
    ) -> Audit:
        """Write the findings that stand to a list, from now on known, and return the audit with
        them accepted. An older list keeps its reasons, and what it says of drawings that this
        audit did not judge. `tell` is told in one line how many findings the list names, and how
        many of them are new, and gone. Raises ValueError where the older list cannot be read, and
        FormError where the list cannot be written."""
        from scantling.listing import write_list

        judged = (
            (o.row.file, self.report(o).findings if o.row.findings else ())
            for o in self.told
            if not o.row.failure
        )
        new = write_list(file, judged, tell)
        audit = replace(self, asked=replace(self.asked, known=new))

        def accepted(outcome: Outcome) -> Outcome:
            if not outcome.row.findings:
                return outcome
            return outcome._replace(row=row_of(audit.report(outcome), outcome.row.trial))

        audit.outcomes = tuple(map(accepted, self.outcomes))
        audit.closing = tuple(map(accepted, self.closing))
        return audit

    def shell(self, files: Sequence[FileReport] = ()) -> Report:
        """A report of some of the files."""
        return Report(
            files=tuple(files),
            rules=self.rules,
            version=self.version,
            fail_at=self.asked.fail_at,
            troubles=self.troubles,
        )


def whole(store: Store, wanted: Wanted, row: Row, digest: bytes) -> FileReport:
    """The whole report of a row; made once more where the store has been rebuilt in the
    meantime."""
    body = store.body(digest)
    if body is None:
        trials = (row.trial,)
        work = prepare(Given(wanted, trials))
        body = work(Desk(wanted, trials).task(row.file)).results[0].body
    return load_file(body)


def run(asked: Asked, progress: Progress | None = None) -> Audit:
    """Make an audit. Raises Interrupted, NoBaseline, NoWorkers and NoScheduler."""
    store = Store.open(cache_folder() if asked.keep else None)
    try:
        return _Run(asked, store, progress or Silence()).whole()
    except BaseException:
        store.abandon()
        raise


@dataclass(slots=True)
class _Run:
    asked: Asked
    store: Store
    progress: Progress
    desk: Desk = field(init=False)
    accepted: Accepted = field(init=False)
    number: int = 0
    """of the audit in the store"""
    against: Baseline | None = None
    problems: dict[Trouble, None] = field(default_factory=dict)
    waiting: deque[tuple[str, list[bytes] | None]] = field(default_factory=deque)
    """the drawings that tasks were made of and no answer has come for, with their keys"""
    outcomes: list[Outcome] = field(default_factory=list)

    def whole(self) -> Audit:
        asked, store = self.asked, self.store
        self.desk = Desk(asked.wanted, asked.trials)
        self.accepted = Accepted(
            self.desk, asked.known, lambda row, digest: whole(store, asked.wanted, row, digest)
        )
        notes = []
        if asked.against:
            self.against = baseline(asked.against, store, asked.scope)
            if self.against is None:
                notes.append(
                    f"nothing to compare with: the store has no such audit ({asked.against})"
                )
        found = [pair for pair in drawings(asked.paths) if in_part(pair[0], asked.part)]
        self.number = store.begin(asked.scope)
        self._judge(found)
        rules, troubles = rulebook(store, asked.wanted, self.desk.sheets)
        closing = tuple(self._closing())
        gone = tuple(self._gone((*self.outcomes, *closing)))
        store.finish(self.number)
        return Audit(
            asked=asked,
            store=store,
            outcomes=tuple(self.outcomes),
            closing=closing,
            rules=rules,
            troubles=(*troubles, *self.problems),
            notes=(*store.notes, *notes),
            against=self.against,
            gone=gone,
        )

    def _closing(self) -> Iterator[Outcome]:
        """What is said last, as reports among the others."""
        trial = self.asked.trials[0]
        for report in self.accepted.reports(lambda name: in_part(name, self.asked.part)):
            made = result_of(report, trial)
            kept = self.store.keep(None, made.row, made.body)
            yield self._outcome(kept.digest, row_of(report, trial))._replace(report=report)

    def _gone(self, told: Iterable[Outcome]) -> Iterator[tuple[str, str]]:
        """What the baseline tells of and this audit does not: drawings that are gone, and job
        sheets without any idle entry."""
        if self.against is None:
            return
        seen = {(outcome.row.file, outcome.row.trial) for outcome in told}
        gone = dict.fromkeys(self.against.gone(seen, self.asked.trials))
        for sheet in self.desk.sheets:
            entry = shown(sheet), self.asked.trials[0]
            if entry not in seen and self.against.marks(*entry):
                gone[entry] = None
        yield from (entry for entry in gone if in_part(entry[0], self.asked.part))

    def _judge(self, found: Sequence[tuple[str, str]]) -> None:
        self.progress.begin(len(found))
        done = 0
        try:
            for answer in self._engine().run(self._tasks(found)):
                path, keys = self.waiting.popleft()
                before = len(self.outcomes)
                for kept, row in self._kept(path, keys, answer):
                    told = self.accepted.row(path, row, kept.digest)
                    self.outcomes.append(self._outcome(kept.digest, told))
                findings = sum(outcome.row.findings for outcome in self.outcomes[before:])
                self.progress.step(findings, isinstance(answer, list))
                done += 1
        except KeyboardInterrupt:
            self.store.flush()
            raise Interrupted(done, len(found), self.store.path is not None) from None
        finally:
            self.progress.end()

    def _engine(self) -> Engine:
        asked = self.asked
        given = Given(asked.wanted, asked.trials)
        if asked.scheduler:
            from scantling.catalogue.far import Far

            return Far(asked.scheduler, given, asked.limit or None)
        return Pool(prepare, given, asked.workers or cores(), asked.limit or None)

    def _tasks(self, found: Iterable[tuple[str, str]]) -> Iterator[Task | Done[Answer | Stored]]:
        for path, trouble in found:
            if trouble:
                self.waiting.append((path, None))
                yield Done(self._failed(path, trouble))
                continue
            task = self.desk.task(path)
            keys = self.desk.keys(task)
            known = self._stored(keys) if keys else None
            self.waiting.append((path, keys))
            yield task if known is None else Done(known)

    def _stored(self, keys: list[bytes]) -> Stored | None:
        found = self.store.find(keys)
        if found is None:
            return None
        try:
            return [(kept, load_as(Row, kept.row)) for kept in found]
        except Malformed:
            return None

    def _kept(self, path: str, keys: list[bytes] | None, answer: Answer | Stored | Lost) -> Stored:
        """Keep an answer that is new."""
        if isinstance(answer, list):
            return answer
        if isinstance(answer, Lost):
            answer = self._failed(path, answer.reason)
        self.problems |= dict.fromkeys(answer.problems)
        return [
            (
                self.store.keep(
                    keys[k] if keys and result.lasting else None, result.row, result.body
                ),
                load_as(Row, result.row),
            )
            for k, result in enumerate(answer.results)
        ]

    def _failed(self, path: str, reason: str) -> Answer:
        failure = Failure(file=shown(path), message=reason, passing=True)
        report = FileReport(file=failure.file, failure=failure)
        return Answer(tuple(result_of(report, trial) for trial in self.asked.trials))

    def _outcome(self, digest: bytes, row: Row) -> Outcome:
        change = self._change(row, digest) if self.against is not None else None
        self.store.enter(self.number, row.file, row.trial, digest)
        return Outcome(row, digest, change)

    def _change(self, row: Row, digest: bytes) -> Change:
        assert self.against is not None
        if self.against.same(row.file, row.trial, digest):
            return Change(unchanged=row.findings)
        report = whole(self.store, self.asked.wanted, row, digest)
        if self.asked.known is not None:
            report = replace(report, findings=self.asked.known.mark(report.findings, row.file))
        return compared(report, self.against.marks(row.file, row.trial))[1]


def in_part(path: str, part: tuple[int, int] | None) -> bool:
    """Whether a drawing belongs to the k-th of n parts. That depends on nothing but its name, so
    that it stays there when others come and go."""
    if part is None:
        return True
    mark = blake2b(os.fsencode(shown(path)), digest_size=8).digest()
    return int.from_bytes(mark, "big") % part[1] == part[0] - 1
