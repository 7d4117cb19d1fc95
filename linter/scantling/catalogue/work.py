"""The work of one task, wherever it is done: in this process, a worker's, or another machine's.

Answers are plain JSON, the same that is kept: a result is the same whether it was measured just
now, found in the store or sent from elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING

from scantling.catalogue.codec import dump
from scantling.catalogue.row import Thumb, row_of
from scantling.catalogue.stamp import stands_for
from scantling.catalogue.task import Task
from scantling.records import NamedTuple, dataclass
from scantling.report.model import Failure, FileReport, Trouble
from scantling.wanted import Wanted, shown

if TYPE_CHECKING:
    from scantling.linter import Linter
    from scantling.measure.facts import Facts
    from scantling.plan.model import Plan, Sheet


class Result(NamedTuple):
    """One report, as its row and as a whole, both JSON; `lasting` is False where the same drawing
    may fare otherwise another time (out of memory, a job sheet that could not be read, rules that
    may change unseen)."""

    row: bytes
    body: bytes
    lasting: bool


class Judged(NamedTuple):
    """One report, the stock that it was asked for on, and a small picture of the design."""

    report: FileReport
    trial: str
    thumb: Thumb | None


class Answer(NamedTuple):
    """A result for each trial; and what is wrong with the job sheet, said once for the run."""

    results: tuple[Result, ...]
    problems: tuple[Trouble, ...] = ()


class Given(NamedTuple):
    """What every task of an audit has in common."""

    wanted: Wanted
    trials: tuple[str, ...]


def prepare(given: Given) -> Callable[[Task], Answer]:
    """Get ready for work: the rules and stock tables are read once, and what measures is imported
    before any clock runs."""
    from importlib import import_module

    from scantling.linter import Linter
    from scantling.measure.facts import SHEET_FACTS

    for module in sorted({"shapely", *SHEET_FACTS.values()}):
        with suppress(ImportError):  # whoever asks for it will say so
            import_module(module)
    return Bench(Linter(given.wanted), given.trials).work


@dataclass(slots=True)
class Bench:
    """Reads and measures a drawing once, and judges it for each trial."""

    linter: Linter
    trials: tuple[str, ...]
    _lasting: bool | None = None
    """whether the rules cannot change unseen; None: not known yet"""

    def work(self, task: Task) -> Answer:
        results = tuple(map(self.result, self.judged(task)))
        return Answer(results, self.problems())

    def judged(self, task: Task) -> Iterator[Judged]:
        """What there is to say for each trial."""
        plans = self._plans(task)
        return map(Judged, self._reports(task, plans), self.trials, _thumbs(plans))

    def result(self, judged: Judged) -> Result:
        if self._lasting is None:
            self._lasting = stands_for(self.linter.book)
        result = result_of(*judged)
        return result if self._lasting else result._replace(lasting=False)

    def problems(self) -> tuple[Trouble, ...]:
        """What is wrong with the job sheets met since this was last asked."""
        problems = tuple(self.linter.problems)
        self.linter.problems.clear()
        return problems

    def _plans(self, task: Task) -> list[Plan | FileReport]:
        """The plan of each trial, or why there is none."""
        from scantling.linter import TROUBLES
        from scantling.read import Source, read_drawing

        limits = self.linter.wanted.limits
        try:
            if task.data is None:
                source = Source.open(task.path, limits)
            else:
                source = Source.from_bytes(task.data, task.path, limits)
            job = self.linter.setting_of(task.job, task.job_data).job
            drawing = read_drawing(source, limits)
        except TROUBLES as error:
            return [self.linter.failed(task.path, error)] * len(self.trials)
        plans: list[Plan | FileReport] = []
        for trial in self.trials:
            try:
                plans.append(self.linter.planned(drawing, task.path, job, trial or None))
            except TROUBLES as error:
                plans.append(self.linter.failed(task.path, error))
        return plans

    def _reports(self, task: Task, plans: Sequence[Plan | FileReport]) -> Iterator[FileReport]:
        from scantling.linter import TROUBLES

        measured = Measured.of(plan for plan in plans if not isinstance(plan, FileReport))
        for trial, plan in zip(self.trials, plans, strict=True):
            if isinstance(plan, FileReport):
                yield plan
                continue
            try:
                yield self._report(task, plan, measured, trial)
            except TROUBLES as error:
                yield self.linter.failed(task.path, error)
            except Exception as error:  # a fault of ours must not cost the other drawings
                name = shown(task.path)
                said = f"could not be judged: {type(error).__name__}: {error}"
                yield FileReport(file=name, failure=Failure(file=name, message=said, passing=True))

    def _report(self, task: Task, plan: Plan, measured: Measured, trial: str) -> FileReport:
        from scantling.linter import summarise

        plan, facts = measured.on(plan)
        tried = bool(trial) and plan.job.path is not None
        verdict = self.linter.verdict(plan, task.path, facts, trial=tried)
        report = summarise(plan, verdict, shown(task.path), self.linter.scale(plan, verdict))
        return self._repaired(task, report, plan, trial) if self.linter.wanted.repairs else report

    def _repaired(self, task: Task, report: FileReport, plan: Plan, trial: str) -> FileReport:
        """The report with a tried repair beside each finding that has one."""
        from scantling.linter import Linter
        from scantling.mend.offers import may_be_mended, with_fixes

        if not may_be_mended(report):
            return report
        # The job sheet is as it was when the task was made, wherever this is done.
        wanted = replace(self.linter.wanted, job=task.job, stock=trial or None)
        mender = Linter(wanted, self.linter.book)
        mender.setting_of(task.job, task.job_data)
        return with_fixes(report, plan.drawing.source, task.path, mender)

    def plan(self, task: Task) -> Plan:
        """The plan of the first trial. Raises one of TROUBLES."""
        from scantling.read import Source, read_drawing

        limits = self.linter.wanted.limits
        assert task.data is not None
        drawing = read_drawing(Source.from_bytes(task.data, task.path, limits), limits)
        job = self.linter.setting_of(task.job, task.job_data).job
        return self.linter.planned(drawing, task.path, job, self.trials[0] or None)


@dataclass(slots=True)
class Outlines:
    """Sheets of several plans that have the same lines, so that one measurement does for all."""

    sheet: Sheet
    reach: float


@dataclass(slots=True)
class Measured:
    """The measurements of one drawing, each made when it is first asked for."""

    outlines: list[Outlines]
    facts: Sequence[Facts] | None = None
    """of each of the outlines"""

    @classmethod
    def of(cls, plans: Iterable[Plan]) -> Measured:
        made = cls([])
        for plan in plans:
            for sheet in plan.sheets:
                number = made._number(sheet)
                if number is None:
                    made.outlines.append(Outlines(sheet, sheet.reach))
                else:
                    found = made.outlines[number]
                    found.reach = max(found.reach, sheet.reach)
        return made

    def on(self, plan: Plan) -> tuple[Plan, list[Facts]]:
        """A plan with its sheets measured as far as any plan needs, and their facts."""
        from scantling.measure.together import facts_of_all

        if self.facts is None:
            far = [replace(one.sheet, reach=one.reach) for one in self.outlines]
            self.facts = facts_of_all(far)
        sheets, facts = [], []
        for sheet in plan.sheets:
            number = self._number(sheet)
            assert number is not None
            sheets.append(replace(sheet, reach=self.outlines[number].reach))
            facts.append(self.facts[number].on(sheets[-1]))
        return replace(plan, sheets=tuple(sheets)), facts

    def _number(self, sheet: Sheet) -> int | None:
        same = (k for k, one in enumerate(self.outlines) if _same(one.sheet, sheet))
        return next(same, None)


def _same(a: Sheet, b: Sheet) -> bool:
    """Facts depend on nothing else of a sheet than this and its reach."""
    import numpy as np

    names = ("first", "xy", "closed", "shape", "operation", "filled", "width", "segment")
    return a.tolerances == b.tolerances and all(
        np.array_equal(getattr(a.lines, name), getattr(b.lines, name)) for name in names
    )


def _thumbs(plans: Sequence[Plan | FileReport]) -> Iterator[Thumb | None]:
    """A small picture of each plan."""
    from scantling.catalogue.thumb import thumb_of

    for plan in plans:
        yield None if isinstance(plan, FileReport) else thumb_of(plan)


def result_of(report: FileReport, trial: str, thumb: Thumb | None = None) -> Result:
    """A report as it is handed on and kept, by the stock that was tried; `thumb` for its row."""
    lasting = report.failure is None or not report.failure.passing
    return Result(dump(row_of(report, trial, thumb)), dump(report), lasting)
