"""The judge: runs the rules over a plan and completes what they say to findings.

It only orchestrates. Which rules run, at which level and with which options, comes from the job
sheet; what they find is up to them; where that is in the text is `judge.places`' business.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from scantling.digests import blake2b
from scantling.judge.accept import Acceptances, Ran
from scantling.judge.finding import Finding, Level, Related
from scantling.judge.passing import (
    alternatives,
    faults_on,
    passing_all,
    passing_stocks,
    subject,
)
from scantling.judge.places import Subjects
from scantling.judge.rule import Rule
from scantling.judge.whereabouts import Whereabouts
from scantling.measure.facts import DRAWING_FACTS, Facts, facts_of
from scantling.measure.together import facts_of_all
from scantling.plan.model import Plan, Sheet, Stock
from scantling.plan.planner import far_enough, reach
from scantling.read.source import Unreadable
from scantling.records import dataclass

LONGEST_SNIPPET = 240
"""Characters of a place that are worth quoting: a start tag, but not a page of path data."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the judge says of one plan."""

    findings: tuple[Finding, ...]
    troubles: tuple[str, ...]
    """Rules that failed to run, each named with its error."""
    facts: tuple[Facts, ...]
    """The facts of each sheet, in the order of Plan.sheets."""
    passing: tuple[tuple[str, ...], ...] = ()
    """Other stocks on which nothing above a note that a stock decides is left of each sheet at
    this size; empty where there is no such finding on its own stock."""


def judge_plan(
    plan: Plan,
    rules: Sequence[Rule],
    file: str,
    *,
    acceptances: Acceptances | None = None,
    others: Sequence[Stock] = (),
    facts: Sequence[Facts] | None = None,
) -> Verdict:
    """Judge one drawing.

    acceptances   None: nothing is accepted, and rules about idle acceptances are not run
    others   stocks to try for "what would pass" (those of the job sheet and the built-in table)
    facts    of the sheets, where they have been measured before
    Raises Unreadable for a drawing beyond the limits of what is measured.
    """
    measured = tuple(facts) if facts is not None else facts_of_all(plan.sheets)
    given = {
        "plan": plan,
        "job": plan.job,
        "design": plan.design,
        "drawing": plan.drawing,
        "remarks": plan.drawing.remarks,
        "file": file,
        "layers": tuple(zip(plan.sheets, measured, strict=True)),
    }
    where = Whereabouts(plan)
    troubles: list[str] = []
    done: set[str] = set()
    chosen = {rule.id: settings(rule, plan.job.rules) for rule in rules}

    def found_by(asked: Iterable[Rule], whole: Facts) -> list[Finding]:
        findings: list[Finding] = []
        for rule in asked:
            level, options = chosen[rule.id]
            if level is Level.OFF:
                continue
            try:
                if not rule.has_to_do_with(plan):
                    done.add(rule.id)
                    continue
                for sheet, known in _scopes(rule, plan, whole, measured):
                    findings += _of_rule(
                        rule, level, options, sheet, known, plan, file, others, where
                    )
                done.add(rule.id)
            except Unreadable:  # beyond a limit, whichever rule has come to it first
                raise
            except (Exception, SystemExit) as error:  # it must not cost the other findings
                troubles.append(f"{rule.called} failed: {type(error).__name__}: {error}")
        findings.sort(key=_order)
        return fingerprints(findings, plan.drawing.source.text)

    marked = found_by((rule for rule in rules if not rule.last), Facts(given, DRAWING_FACTS))
    if acceptances is not None:
        ran = Ran([rule.id for rule in rules], done)
        stays = [finding for finding in marked if not finding.acceptable]
        asked_for = [finding for finding in marked if finding.acceptable]
        marked, idle = acceptances.apply(asked_for, plan, file, ran)
        late = found_by(
            (rule for rule in rules if rule.last), Facts(given | {"idle": idle}, DRAWING_FACTS)
        )
        marked = sorted(marked + stays + late, key=_order)
    asked = [
        (rule, *chosen[rule.id]) for rule in rules if rule.id in done and rule.has_to_do_with(plan)
    ]
    passing = _passing(plan, asked, marked, measured, others)
    return Verdict(tuple(marked), tuple(troubles), measured, tuple(passing))


def _passing(
    plan: Plan,
    rules: Sequence[tuple[Rule, Level, dict[str, Any]]],
    findings: Sequence[Finding],
    measured: Sequence[Facts],
    others: Sequence[Stock],
) -> Iterator[tuple[str, ...]]:
    """For each sheet, the stocks on which all of it passes: at most those on which each finding
    would vanish. The rules that spoke are asked first: they decide soonest; and what was not
    measured far enough is, for those that pass so far."""
    counted = [f for f in findings if f.by_stock and f.level > Level.NOTE]
    spoken = {finding.rule for finding in findings}
    of_stock = [
        (rule, options)
        for rule, level, options in sorted(rules, key=lambda one: one[0].id not in spoken)
        if level > Level.NOTE and not {"stock", "minimum"}.isdisjoint(rule.asks)
    ]
    per_sheet = {rule.id for rule, _, _ in rules if rule.per_sheet}
    for sheet, known in zip(plan.sheets, measured, strict=True):
        told = [finding for finding in counted if finding.stock == sheet.label]
        candidates: list[Stock] = []
        # what concerns several sheets is not asked again of one of them on another stock
        if told and per_sheet.issuperset(finding.rule for finding in told):
            vanish = set.intersection(*(set(finding.passing_stocks) for finding in told))
            candidates = [s for s in alternatives(sheet.stock, others) if s.name in vanish]
        passing = passing_all(of_stock, known, plan, candidates)
        far = [stock for stock in passing if not far_enough(sheet, stock)]
        if far:
            wider = facts_of(replace(sheet, reach=reach(sheet.stock, far)))
            fails = set(far) - set(passing_all(of_stock, wider, plan, far))
            passing = [stock for stock in passing if stock not in fails]
        yield tuple(stock.name for stock in passing)


def _order(f: Finding) -> tuple[Any, ...]:
    return (f.place.offset, f.rule, f.stock, f.at or (0.0, 0.0), f.message)


def settings(rule: Rule, chosen: Mapping[str, Mapping[str, Any]]) -> tuple[Level, dict[str, Any]]:
    """A rule's level and options under a job sheet's `[rules.ID]`."""
    own = dict(chosen.get(rule.id, {}))
    word = own.pop("level", None)
    return (Level[word.upper()] if word else rule.level), rule.defaults() | own


def _scopes(
    rule: Rule, plan: Plan, whole: Facts, measured: Sequence[Facts]
) -> Iterator[tuple[Sheet | None, Facts]]:
    if rule.per_sheet:
        yield from zip(plan.sheets, measured, strict=True)
    else:
        yield None, whole


def _of_rule(
    rule: Rule,
    level: Level,
    options: Mapping[str, Any],
    sheet: Sheet | None,
    known: Facts,
    plan: Plan,
    file: str,
    others: Sequence[Stock],
    where: Whereabouts,
) -> Iterator[Finding]:
    stock = sheet.stock if sheet else None
    faults = list(faults_on(rule, options, known, stock, plan))
    if not faults:
        return
    subjects = Subjects(plan.drawing, sheet)
    passing = passing_stocks(rule, options, known, plan, faults, stock, others)
    width = plan.extents[2] - plan.extents[0] if plan.extents else None
    faults = [fault for fault in faults if not fault.told_by]
    where.prepare(fault.on for fault in faults)
    for fault in faults:
        scale = fault.scale()
        safe = width * scale if width is not None and scale is not None else None
        at = where.at(fault.on, fault)
        mark = tuple(
            tuple(map(tuple, line.tolist()))
            for line in (fault.mark() if callable(fault.mark) else fault.mark)
        )
        yield Finding(
            rule=rule.id,
            level=level if fault.level is None else min(level, fault.level),
            message=fault.message() if callable(fault.message) else fault.message,
            file=file,
            place=subjects.place(fault.on, fault.offset),
            at=at,
            extent=fault.extent() if callable(fault.extent) else fault.extent,
            measured=fault.measured,
            required=fault.required,
            unit=fault.unit,
            stock=subjects.label(fault.on),
            part=fault.part,
            layer=subjects.layer(fault.on),
            element=subjects.node(fault.on).id,
            uses=subjects.uses(fault.on),
            related=tuple(
                Related(message=what, place=subjects.place(other), at=where.at(other))
                for what, other in fault.others
            ),
            mark=mark or where.mark(fault.on),
            scope=where.scope(fault.on, at),
            smallest_safe_width=safe if scale is not None and scale >= 1.0 else None,
            largest_safe_width=safe if scale is not None and scale < 1.0 else None,
            by_stock=fault.decided_by_stock,
            passing_stocks=passing.get(subject(fault), ()),
            acceptable=rule.acceptable,
        )


def fingerprints(findings: Sequence[Finding], text: str) -> list[Finding]:
    """Mark each finding with a hash that stays when other things in the file move: of the rule,
    the stock and the text of the place itself, with a number where those are equal. The text is
    quoted too, where it is short."""
    seen: dict[str, int] = {}
    marked = []
    for finding in findings:
        own = text[finding.place.offset : finding.place.end_offset]
        base = f"{finding.rule}\0{finding.stock}\0{finding.element}\0{own}"
        number = seen[base] = seen.get(base, 0) + 1
        digest = blake2b(f"{base}\0{number}".encode(), digest_size=12).hexdigest()
        snippet = own if len(own) <= LONGEST_SNIPPET else ""
        marked.append(replace(finding, fingerprint=digest, snippet=snippet))
    return marked
