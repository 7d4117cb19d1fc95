"""A text with what is found in it, judged as far as is needed.

Repairs are made from the findings of a few rules. Trying one asks whether anything new is found:
that concerns only sheets whose lines have changed, and the rules that are quick to ask come
first, because most repairs that do not hold fail them. So the slow rules are asked about few
texts and few sheets, and about many drawings not at all.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace

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

STAGES = range(3)
"""Rules about the drawing and its lines, those about parts and corners, those about widths: the
quickest first."""
QUICK = frozenset({"drawing", "lines"})
"""Families of rules of the first stage."""
WIDTHS = frozenset({"webs", "gaps", "tips", "limbs"})
"""Facts that take longest to measure: what asks for one of them is of the last stage."""

WHOLE = ""
"""In the place of a sheet's label: the rules about whole drawings."""


@dataclass(slots=True)
class Look:
    """A text, read and planned, with the facts of its sheets, and what is known of its findings,
    by stage and sheet."""

    source: Source
    plan: Plan
    facts: Sequence[Facts]
    found: dict[tuple[int, str], list[Finding]] = field(default_factory=dict)

    @property
    def labels(self) -> list[str]:
        return [sheet.label for sheet in self.plan.sheets]

    def judged(self, findings: Sequence[Finding]) -> Judged:
        return Judged.of(self.plan.drawing, findings, self.plan.scale)


@dataclass(slots=True)
class Judge:
    """Looks at drawings by the rules of a linter."""

    linter: Linter

    def planned(self, source: Source, path: str) -> Look:
        """A text of which nothing is asked yet. Each sheet is measured by itself, so that those
        that stay as they are get the very same numbers. Raises one of linter.TROUBLES."""
        drawing = read_drawing(source, self.linter.wanted.limits)
        job = self.linter.setting(path).job
        plan = self.linter.planned(drawing, path, job, self.linter.wanted.stock)
        return Look(source, plan, [facts_of(sheet) for sheet in plan.sheets])

    def findings(
        self, look: Look, path: str, stage: int, sheets: Collection[str]
    ) -> Sequence[Finding]:
        """What the rules of a stage find on some sheets (by label), and about the whole
        drawing."""
        rules = [rule for rule in self.rules(path) if stage_of(rule) == stage]
        wanted = [k for k, label in enumerate(look.labels) if label in sheets]
        missing = [k for k in wanted if (stage, look.labels[k]) not in look.found]
        if missing:
            plan = replace(look.plan, sheets=tuple(look.plan.sheets[k] for k in missing))
            facts = [look.facts[k] for k in missing]
            look.found |= {(stage, look.labels[k]): [] for k in missing}
            for one in self._said([rule for rule in rules if rule.per_sheet], plan, facts, path):
                look.found[stage, one.stock].append(one)
        if (stage, WHOLE) not in look.found:
            of_all = [rule for rule in rules if not rule.per_sheet]
            look.found[stage, WHOLE] = self._said(of_all, look.plan, look.facts, path)
        labels = [WHOLE, *(look.labels[k] for k in wanted)]
        return [one for label in labels for one in look.found[stage, label]]

    def _said(
        self, rules: Sequence[Rule], plan: Plan, facts: Sequence[Facts], path: str
    ) -> list[Finding]:
        accepts = Acceptances(self.linter.wanted.today, True)
        return list(judge_plan(plan, rules, shown(path), acceptances=accepts, facts=facts).findings)

    def of_rules(self, look: Look, path: str, ids: Collection[str]) -> list[Finding]:
        """All that some rules find, in the order of the text."""
        stages = {stage_of(rule) for rule in self.rules(path) if rule.id in ids}
        found = [
            finding
            for stage in sorted(stages)
            for finding in self.findings(look, path, stage, look.labels)
            if finding.rule in ids
        ]
        return sorted(
            found, key=lambda f: (f.place.offset, f.rule, f.stock, f.at or (0.0, 0.0), f.message)
        )

    def rules(self, path: str) -> Sequence[Rule]:
        """All but those that ask what the others have found."""
        return [rule for rule in self.linter.setting(path).book.rules if not rule.last]


def stage_of(rule: Rule) -> int:
    """The stage that a rule belongs to."""
    if rule.family in QUICK:
        return STAGES[0]
    return STAGES[1] if WIDTHS.isdisjoint(rule.asks) else STAGES[2]


def concerned(before: Look, after: Look) -> set[str]:
    """The labels of the sheets whose lines differ."""
    old = {sheet.label: sheet for sheet in before.plan.sheets}
    new = {sheet.label: sheet for sheet in after.plan.sheets}
    return {
        label
        for label in old.keys() | new.keys()
        if label not in old or label not in new or not same(old[label], new[label])
    }


def same(a: Sheet, b: Sheet) -> bool:
    """Whether two sheets have the same lines, whatever else the drawings have."""
    names = ("first", "xy", "closed", "operation", "filled", "width")
    return (a.reach, a.tolerances, a.stock) == (b.reach, b.tolerances, b.stock) and all(
        np.array_equal(getattr(a.lines, name), getattr(b.lines, name)) for name in names
    )
