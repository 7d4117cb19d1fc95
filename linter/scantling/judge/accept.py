"""Accepted findings: suppressed with a written reason, in the drawing or in the job sheet.

In a drawing, on an element or any group around it (or on a `use` that it is drawn through):

    <g data-scantling-accept="thin-web small-part: held by the transfer tape">

Several reasons on one element are kept apart by bars: "thin-web: … | small-part: …".

A finding about several places is accepted where it stands: at the first of them.

In a job sheet, `[[accept]]` with a rule, a reason and, as far as wanted, files, an element, a
place and an end date. An acceptance that accepts nothing is idle, and the rule `idle-acceptance`
says so.
"""

from __future__ import annotations

import datetime
import re
from bisect import bisect_right
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import replace
from math import dist

from scantling.judge.finding import Finding
from scantling.near import get_close_matches
from scantling.plan.model import Acceptance, Plan
from scantling.plan.patterns import matches_file
from scantling.read.locate import attribute_place
from scantling.read.source import Source
from scantling.read.tree import Node
from scantling.records import dataclass

ATTRIBUTE = "data-scantling-accept"
BETWEEN = "|"
"""Stands between two acceptances on one element."""
UNWRITTEN = "say why"
"""What an editor puts where the reason is still to be written; it is none."""


@dataclass(frozen=True, slots=True)
class Ran:
    """The rules of a run: ids of all that there are, and of those that were run to their end."""

    known: Collection[str]
    done: Collection[str]


@dataclass(frozen=True, slots=True)
class Idle:
    """An acceptance in a drawing that accepts nothing: the element, the character in the text
    where it begins, and why in one clause. A rule may ask for all of them as the fact `idle`."""

    node: Node
    offset: int
    message: str


@dataclass(frozen=True, slots=True)
class Acceptances:
    """Applies what has been accepted.

    today   decides about end dates
    trial   True: another stock or size is tried than is really meant, so that nothing is idle
            for having nothing to accept
    """

    today: datetime.date
    trial: bool = False

    def apply(
        self, findings: Sequence[Finding], plan: Plan, file: str, ran: Ran
    ) -> tuple[list[Finding], tuple[Idle, ...]]:
        """The findings, those that somebody has accepted marked so, and what is idle in the
        drawing. Entries of the job sheet speak of more than one drawing: see `unmatched`."""
        written = Written(plan)
        entries = [
            entry
            for entry in plan.job.accepted
            if stands(entry, self.today) and matches_file(entry.files, file, plan.job.path)
        ]
        marked = []
        for finding in findings:
            reason, kind = written.reason(finding), "inSource"
            if reason is None:
                reason, kind = _of_job(entries, finding), "external"
            if reason is not None:
                finding = replace(finding, accepted=reason, accepted_in=kind)
            marked.append(finding)
        return marked, tuple(written.idle(replace(ran, done=()) if self.trial else ran))


# In the job sheet


def stands(entry: Acceptance, today: datetime.date) -> bool:
    """Whether an entry of the job sheet has not ended; its last day is its end date."""
    return entry.until is None or today <= datetime.date.fromisoformat(entry.until)


def matches(entry: Acceptance, finding: Finding) -> bool:
    """Whether an entry of the job sheet applies to this finding, its drawing left aside."""
    return (
        entry.rule == finding.rule
        and (entry.element is None or entry.element == finding.element)
        and (
            entry.at is None
            or (finding.at is not None and dist(entry.at, finding.at) <= entry.within)
        )
    )


def _of_job(entries: Sequence[Acceptance], finding: Finding) -> str | None:
    return next((entry.reason for entry in entries if matches(entry, finding)), None)


# In the drawing


@dataclass(slots=True)
class Entry:
    """One acceptance in a drawing. It covers the elements from offset `first` to `last`."""

    node: Node
    offset: Callable[[], int]
    """of its own text, looked for only if need be"""
    first: int
    last: int
    rules: tuple[str, ...]
    reason: str
    text: str
    used: set[str]
    """rules that it has met findings of"""
    beside: dict[str, int]
    """rules of findings that speak of a place that it covers, but stand elsewhere: their lines"""

    @property
    def counts(self) -> bool:
        return bool(self.reason) and self.reason != UNWRITTEN


class Written:
    """Every acceptance in one drawing."""

    def __init__(self, plan: Plan) -> None:
        self.offsets: list[int] = []
        self.entries: list[Entry] = []
        source = plan.drawing.source
        if ATTRIBUTE not in source.text:
            return
        for node in plan.drawing.root.walk():
            self.offsets.append(node.offset)
            if ATTRIBUTE in node.attrib:
                self.entries += _entries(node, source)

    def reason(self, finding: Finding) -> str | None:
        """The reason of the innermost acceptance around a finding that has one."""
        if not self.entries:
            return None
        places = (self._element(finding.place.offset), *finding.uses)
        reason = None
        for entry in self.entries:  # in the order of the text: the innermost is the last
            if finding.rule not in entry.rules:
                continue
            if any(entry.first <= p <= entry.last for p in places):
                entry.used.add(finding.rule)
                if entry.counts:
                    reason = entry.reason
            elif any(
                entry.first <= self._element(r.place.offset) <= entry.last for r in finding.related
            ):
                entry.beside.setdefault(finding.rule, finding.place.line)
        return reason

    def _element(self, offset: int) -> int:
        """Offset of the element that a place in the text is in."""
        return self.offsets[max(bisect_right(self.offsets, offset) - 1, 0)]

    def idle(self, ran: Ran) -> Iterator[Idle]:
        """What accepts nothing, once all findings have asked for their reasons."""
        for entry in self.entries:
            for message in _complaints(entry, ran):
                yield Idle(entry.node, entry.offset(), message)


def _entries(node: Node, source: Source) -> Iterator[Entry]:
    last, at = _last(node), 0
    for text in node.attrib[ATTRIBUTE].split(BETWEEN):
        rules, _, reason = text.partition(":")
        start = at + len(text) - len(text.lstrip())
        yield Entry(
            node=node,
            offset=lambda start=start: attribute_place(source, node, ATTRIBUTE, start),  # type: ignore[misc]
            first=node.offset,
            last=last,
            rules=tuple(dict.fromkeys(filter(None, re.split(r"[\s,]+", rules)))),
            reason=" ".join(reason.split()),
            text=text,
            used=set(),
            beside={},
        )
        at += len(text) + len(BETWEEN)


def _last(node: Node) -> int:
    """Offset of the last element inside a node."""
    while node.children:
        node = node.children[-1]
    return node.offset


def _complaints(entry: Entry, ran: Ran) -> Iterator[str]:
    if ":" not in entry.text or not entry.rules:
        yield 'an acceptance is written "RULE RULE: REASON"; this one accepts nothing'
        return
    for rule in entry.rules:
        if rule not in ran.known:
            near = get_close_matches(rule, ran.known, 1)
            hint = f'; did you mean "{near[0]}"?' if near else ""
            yield f'accepts "{rule}", but no rule is called that{hint}'
        elif not entry.counts:
            yield f"accepts {rule} without a reason, so its findings still count"
        elif rule not in entry.used and rule in entry.beside:
            yield (
                f"accepts {rule}, but the finding about this place is reported at line "
                f"{entry.beside[rule]}, for all its places: accept it there"
            )
        elif rule not in entry.used and rule in ran.done:
            yield f"accepts {rule}, but there is no such finding here"
