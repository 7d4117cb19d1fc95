"""A text with what is found in it, judged as far as is needed.

Trying a repair asks whether anything new is found. That concerns only sheets whose lines have
changed, and the rules that are quick to ask come first: most repairs that do not hold fail them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from scantling.judge.accept import Acceptances
from scantling.judge.engine import judge_plan
from scantling.judge.finding import Finding
from scantling.judge.rule import Rule
from scantling.linter import Linter
from scantling.measure.facts import Facts, facts_of
from scantling.mend.compare import Judged
from scantling.plan.model import Plan, Sheet
from scantling.read import Source, read_drawing
from scantling.wanted import shown

SLOW = frozenset({"features"})
"""Families of rules that ask for widths, which take longest to measure."""


@dataclass(frozen=True, slots=True)
class Look:
    """A text, read and planned, with the facts of its sheets and what the rules say."""

    source: Source
    plan: Plan
    facts: Sequence[Facts]
    findings: Sequence[Finding] = ()

    def judged(self) -> Judged:
        return Judged.of(self.plan.drawing, self.findings, self.plan.scale)


@dataclass(slots=True)
class Judge:
    """Looks at drawings by the rules of a linter."""

    linter: Linter

    def planned(self, source: Source, path: str) -> Look:
        """A text that is not judged yet. Raises one of linter.TROUBLES."""
        drawing = read_drawing(source, self.linter.wanted.limits)
        job = self.linter.setting(path).job
        plan = self.linter.planned(drawing, path, job, self.linter.wanted.stock)
        return Look(source, plan, [facts_of(sheet) for sheet in plan.sheets])

    def whole(self, look: Look, path: str) -> Look:
        """The same, judged by all rules."""
        wanted = self.linter.wanted
        tries = look.plan.job.path is not None and wanted.tries
        verdict = judge_plan(
            look.plan,
            self.rules(path),
            shown(path),
            acceptances=Acceptances(wanted.today, tries),
            facts=look.facts,
        )
        return replace(look, findings=verdict.findings)

    def rules(self, path: str) -> Sequence[Rule]:
        return self.linter.setting(path).book.rules

    def stages(
        self, look: Look, path: str, sheets: Collection[str]
    ) -> Iterator[tuple[Collection[str], Sequence[Finding]]]:
        """What is found on some sheets (by label), and by the rules about whole drawings, stage
        by stage: the ids of the rules, and their findings."""
        rules = [rule for rule in self.rules(path) if not rule.last]
        mine = [k for k, sheet in enumerate(look.plan.sheets) if sheet.label in sheets]
        plan = replace(look.plan, sheets=tuple(look.plan.sheets[k] for k in mine))
        facts = [look.facts[k] for k in mine]
        accepts = Acceptances(self.linter.wanted.today, True)
        for slow in (False, True):
            stage = [rule for rule in rules if (rule.family in SLOW) is slow]
            of_sheets = [rule for rule in stage if rule.per_sheet]
            of_all = [rule for rule in stage if not rule.per_sheet]
            found: list[Finding] = []
            for some, of, known in ((of_sheets, plan, facts), (of_all, look.plan, look.facts)):
                verdict = judge_plan(of, some, shown(path), acceptances=accepts, facts=known)
                found += verdict.findings
            yield {rule.id for rule in stage}, found


def concerned(before: Look, after: Look, path_rules: Sequence[Rule]) -> tuple[set[str], set[str]]:
    """The labels of the sheets whose lines differ, and ids of the rules that ask for a sheet."""
    old = {sheet.label: sheet for sheet in before.plan.sheets}
    new = {sheet.label: sheet for sheet in after.plan.sheets}
    differ = {
        label
        for label in old.keys() | new.keys()
        if label not in old or label not in new or not same(old[label], new[label])
    }
    return differ, {rule.id for rule in path_rules if rule.per_sheet}


def same(a: Sheet, b: Sheet) -> bool:
    """Whether two sheets have the same lines, whatever else the drawings have."""
    names = ("first", "xy", "closed", "operation", "filled", "width")
    return (a.reach, a.tolerances, a.stock) == (b.reach, b.tolerances, b.stock) and all(
        np.array_equal(getattr(a.lines, name), getattr(b.lines, name)) for name in names
    )
