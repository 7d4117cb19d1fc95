"""One drawing from file to report: read → plan → measure → judge → report, in that order.

A `Linter` holds what is the same for every file of a run (rules, job sheets, limits), so that
an audit's worker, a watcher or an editor can ask for one file after another.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import field, replace
from typing import TYPE_CHECKING, Any

from scantling.judge.accept import Acceptances
from scantling.judge.finding import Level
from scantling.judge.packs import Rulebook, installed
from scantling.plan.find import find_job
from scantling.plan.jobsheet import BadJob, Problem, load_job, read_job
from scantling.plan.planner import plan_drawing
from scantling.plan.stocks import UnknownStock, load_tables
from scantling.read import Source, Unreadable, read_drawing
from scantling.records import dataclass
from scantling.report.model import Failure, FileReport, RuleText, SheetSummary, Trouble
from scantling.wanted import Wanted as Wanted
from scantling.wanted import shown as shown

if TYPE_CHECKING:
    from scantling.judge.engine import Verdict
    from scantling.judge.rule import Rule
    from scantling.judge.scale import Scale
    from scantling.measure.facts import Facts
    from scantling.plan.model import Job, Plan, Sheet, Stock
    from scantling.read.drawing import Drawing


TROUBLES = (Exception,)
"""What may keep one file from being judged: Unreadable, BadJob, out of memory, and whatever is
wrong with Scantling itself. None of it may cost the other files, or end in a traceback."""


@dataclass(frozen=True, slots=True)
class Setting:
    """What a drawing is judged by: a job sheet, and the rules that there are under it."""

    job: Job
    book: Rulebook


@dataclass(slots=True)
class Linter:
    """Judges one file at a time."""

    wanted: Wanted = field(default_factory=Wanted)
    book: Rulebook = field(default_factory=installed)
    problems: dict[Trouble, None] = field(default_factory=dict)
    """What is wrong with job sheets met so far, each problem once, in the order met."""
    _settings: dict[str | None, Setting | BadJob] = field(default_factory=dict)
    _tables: dict[str, Stock] | None = None

    @property
    def tables(self) -> dict[str, Stock]:
        """The stock tables of all packs, by name of stock."""
        if self._tables is None:
            self._tables = dict(load_tables(self.book.tables))
        return self._tables

    def rule_texts(self) -> tuple[RuleText, ...]:
        """The installed rules, then those that the job sheets met so far have brought along."""
        rules = {rule.id: rule for rule in self.book.rules}
        for setting in self._settings.values():
            if isinstance(setting, Setting):
                rules |= {rule.id: rule for rule in setting.book.rules if rule.id not in rules}
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
            for rule in rules.values()
        )

    def setting(self, path: str) -> Setting:
        """What a drawing is judged by. Raises BadJob, each time it is asked for."""
        return self.setting_of(self.wanted.job or find_job(path))

    def setting_of(self, name: str | None, data: bytes | None = None) -> Setting:
        """The same for a job sheet by its path; None: there is none. `data` is what the file
        holds, where that is known already."""
        if name not in self._settings:
            try:
                self._settings[name] = self._read(name, _decoded(data))
            except BadJob as error:
                self._settings[name] = error
        setting = self._settings[name]
        if isinstance(setting, BadJob):
            raise setting
        return setting

    def job_problems(self, text: str, path: str) -> tuple[Problem, ...]:
        """What is wrong with the text of a job sheet."""
        try:
            self._read(path, text)
        except BadJob as error:
            return error.problems
        return ()

    def refresh(self) -> None:
        """Forget the job sheets met so far: they may have changed on disk."""
        self._settings.clear()
        self.problems.clear()

    def brought(self, name: str) -> tuple[str, ...]:
        """Paths of the rules that a job sheet brings along and that are run."""
        setting = self._settings.get(name)
        if isinstance(setting, Setting) and self.wanted.own_rules:
            return setting.job.rules_from
        return ()

    def _read(self, name: str | None, text: str | None) -> Setting:
        """A job sheet, from its file or from a text that is not saved yet."""
        book = self.book

        def own_rules(paths: tuple[str, ...]) -> Mapping[str, Mapping[str, Any]] | None:
            from scantling.judge.own import with_own

            nonlocal book
            book, troubles = with_own(self.book, paths)
            self.problems |= dict.fromkeys(troubles)
            return None if troubles else book.parameters()

        words: dict[str, Any] = {
            "rules": self.book.parameters(),
            "tables": self.book.tables,
            "own_rules": own_rules if self.wanted.own_rules else None,
            "forbids": self.book.forbids,
        }
        if text is None or name is None:
            job = load_job(name, **words)
        else:
            job = read_job(text, name, **words)
        return Setting(job, book)

    def file(self, path: str) -> FileReport:
        """Judge a file. Whatever is wrong with it is in the report; nothing is raised."""
        return self._guarded(path, lambda: Source.open(path, limits=self.wanted.limits))

    def text(self, text: str, path: str = "<text>") -> FileReport:
        """Judge a drawing given as text; `path` says where job sheets are looked for."""
        return self._guarded(path, lambda: Source.from_text(text, path))

    def _guarded(self, path: str, source: Callable[[], Source]) -> FileReport:
        try:
            return self.judged(source(), path)[0]
        except TROUBLES as error:
            return self.failed(path, error)

    def failed(self, path: str, error: BaseException) -> FileReport:
        """The report on a file that one of TROUBLES has kept from being judged."""
        name = shown(path)
        if isinstance(error, Unreadable):
            failure = Failure(
                file=name, message=error.message, line=error.line, column=error.column
            )
        elif isinstance(error, UnknownStock):
            failure = Failure(file=name, message=error.problems[0].message, passing=True)
        elif isinstance(error, BadJob):
            # Its problems are told once for the run, however many drawings it stands above.
            self.problems |= dict.fromkeys(error.problems)
            failure = Failure(
                file=name, message="not judged, because of its job sheet", passing=True
            )
        elif isinstance(error, RecursionError):
            failure = Failure(file=name, message="nested too deeply to be read")
        elif isinstance(error, MemoryError):
            failure = Failure(file=name, message="out of memory", passing=True)
        else:
            what = f"{type(error).__name__}: {error}"
            said = f"not judged, because of a fault in Scantling: {what}"
            failure = Failure(file=name, message=said)
        return FileReport(file=name, failure=failure)

    def judged(self, source: Source, path: str) -> tuple[FileReport, Plan]:
        """The same for callers that want the plan as well (pages, pictures). Raises one of
        TROUBLES."""
        drawing = read_drawing(source, self.wanted.limits)
        plan = self.planned(drawing, path, self.setting(path).job, self.wanted.stock)
        verdict = self.verdict(plan, path)
        return summarise(plan, verdict, shown(path), self.scale(plan, verdict)), plan

    def planned(
        self, drawing: Drawing, path: str, job: Job, stock: str | None, also: Iterable[Stock] = ()
    ) -> Plan:
        """A drawing on its sheets; `also` are further stocks that will be asked about the same
        facts. Raises UnknownStock."""
        plan = plan_drawing(
            drawing,
            job,
            file=path,
            stock=stock,
            width=self.wanted.width,
            height=self.wanted.height,
            tables=self.tables,
            also=also,
            forbids=self.book.forbids,
        )
        if job.rules_from and not self.wanted.own_rules:
            from scantling.rules_here import not_run

            plan = replace(plan, notices=(*plan.notices, not_run(job.rules_from)))
        return plan

    def verdict(
        self,
        plan: Plan,
        path: str,
        facts: Sequence[Facts] | None = None,
        *,
        trial: bool = False,
        only: Collection[str] | None = None,
    ) -> Verdict:
        """What the rules say of a plan. `facts` are those of its sheets, if measured before;
        `trial`: the plan's stocks are not those that are really meant; `only`: ids of the rules to
        ask, None: all."""
        from scantling.judge.engine import judge_plan

        rules = self._rules(plan.job)
        return judge_plan(
            plan,
            rules if only is None else [rule for rule in rules if rule.id in only],
            shown(path),
            acceptances=Acceptances(
                self.wanted.today, trial or (plan.job.path is not None and self.wanted.tries)
            ),
            others=self._others(plan.job),
            facts=facts,
        )

    def scale(self, plan: Plan, verdict: Verdict) -> Scale | None:
        """How small the design may be made; None where its findings say so already, because
        something is too small as it is."""
        if _decided(plan, verdict):
            return None
        from scantling.judge.scale import least_scale, least_scale_of_all

        ask = least_scale_of_all if self.wanted.how_small else least_scale
        return ask(plan, self._rules(plan.job), verdict.facts)

    def _rules(self, job: Job) -> Sequence[Rule]:
        setting = self._settings.get(job.path)
        return (setting.book if isinstance(setting, Setting) else self.book).rules

    def _others(self, job: Job) -> Sequence[Stock]:
        """Stocks to try for "what would pass": the job sheet's, then the built-in ones."""
        return tuple((dict(self.tables) | dict(job.stocks)).values())


def _decoded(data: bytes | None) -> str | None:
    """None where the bytes are not text: whoever opens the file says what is wrong with it."""
    try:
        return None if data is None else data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return None


def _decided(plan: Plan, verdict: Verdict) -> bool:
    """Whether something is too small at this size: then no larger scale is found by looking
    farther, since whatever asks for one is a finding."""
    if plan.extents is None:
        return False
    width = plan.extents[2] - plan.extents[0]
    return any(
        finding.smallest_safe_width is not None
        and finding.smallest_safe_width > width
        and finding.level > Level.NOTE
        for finding in verdict.findings
    )


def summarise(plan: Plan, verdict: Verdict, name: str, scale: Scale | None = None) -> FileReport:
    """A verdict as plain values, with the figures of each sheet; `scale` is the least at which
    nothing is too small."""
    told = {(finding.stock, finding.at) for finding in verdict.findings}
    sheets = tuple(
        _summary(sheet, facts, passing, told)
        for sheet, facts, passing in zip(plan.sheets, verdict.facts, verdict.passing, strict=True)
    )
    if not any(sheet.parts or sheet.score or sheet.engrave for sheet in sheets) and (
        scale is not None and scale.bound
    ):
        scale = None  # nothing comes loose, so nothing was measured that might be too small
    x0, y0, x1, y1 = plan.extents or (0.0, 0.0, 0.0, 0.0)
    safe = [
        finding.smallest_safe_width
        for finding in verdict.findings
        if finding.smallest_safe_width is not None and finding.level > Level.NOTE
    ]
    bound = scale is not None and scale.bound and not safe
    if scale is not None and plan.extents:
        # what is at its minimum to within the measuring error passes as it is
        safe.append(min(scale.value, 1.0) * (x1 - x0))
    troubles = verdict.troubles
    return FileReport(
        file=name,
        findings=verdict.findings,
        notices=plan.notices,
        failure=Failure(file=name, message="; ".join(troubles)) if troubles else None,
        size=(x1 - x0, y1 - y0) if plan.extents else None,
        scale=plan.scale,
        sheets=sheets,
        smallest_safe_width=max(safe, default=None),
        safe_bound=bound,
        job=plan.job.path,
        encoding=plan.drawing.source.encoding,
    )


def _summary(
    sheet: Sheet,
    facts: Facts,
    passing: tuple[str, ...],
    told: Collection[tuple[str, tuple[float, float] | None]],
) -> SheetSummary:
    """The figures of one sheet. `told`: stock and place of every finding."""
    from scantling.judge.limits import short
    from scantling.measure.summary import lengths, size_of

    pieces = facts["pieces"]
    # A web that is too thin and that no finding is about comes of something else: of lines
    # that cross, say, and goes when they do.
    enough = sheet.stock.minimum.web + sheet.stock.slot
    webs = [
        web
        for web in facts["webs"]
        if not short(web.width, enough, facts["tolerances"]) or (sheet.label, web.at) in told
    ]
    least = min(webs, key=lambda web: web.width, default=None)
    run = lengths(sheet.lines)
    return SheetSummary(
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
        slot=sheet.stock.slot,
        passing_stocks=passing,
    )
