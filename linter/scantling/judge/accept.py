"""Accepted findings: suppressed with a written reason, in the drawing or in the job sheet.

In a drawing, on an element or any group around it:

    <g data-scantling-accept="thin-web small-part: held by the transfer tape">

In a job sheet, `[[accept]]` with a rule, a reason and, as far as wanted, files, an element, a
place and an end date. An acceptance that matches nothing any more is itself a warning.
"""

from __future__ import annotations

import datetime
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fnmatch import fnmatchcase
from math import dist

from scantling.judge.finding import Finding
from scantling.plan.model import Acceptance, Plan
from scantling.read.tree import Node

ATTRIBUTE = "data-scantling-accept"


@dataclass(frozen=True, slots=True)
class Acceptances:
    """Applies what has been accepted; `today` decides about end dates."""

    today: datetime.date

    def apply(self, findings: Sequence[Finding], plan: Plan, file: str) -> list[Finding]:
        offsets, written = written_in(plan)
        done = []
        for finding in findings:
            reason = _in_drawing(finding, offsets, written)
            if reason is not None:
                done.append(replace(finding, accepted=reason, accepted_in="inSource"))
                continue
            for entry in plan.job.accepted:
                if self.stands(entry) and matches(entry, finding, file):
                    finding = replace(finding, accepted=entry.reason, accepted_in="external")
                    break
            done.append(finding)
        return done

    def stands(self, entry: Acceptance) -> bool:
        return entry.until is None or self.today <= datetime.date.fromisoformat(entry.until)


def matches(entry: Acceptance, finding: Finding, file: str) -> bool:
    """Whether an entry of the job sheet speaks of this finding."""
    return (
        entry.rule == finding.rule
        and (entry.files == "**" or fnmatchcase(file.replace("\\", "/"), entry.files))
        and (entry.element is None or entry.element == finding.element)
        and (
            entry.at is None
            or (finding.at is not None and dist(entry.at, finding.at) <= entry.within)
        )
    )


@dataclass(frozen=True, slots=True)
class Written:
    """An acceptance in the drawing: the offsets of the first and last element that it covers."""

    first: int
    last: int
    rules: frozenset[str]
    reason: str


def written_in(plan: Plan) -> tuple[list[int], list[Written]]:
    """The offsets of all elements, and every acceptance in the drawing, innermost last."""
    if ATTRIBUTE not in plan.drawing.source.text:
        return [], []
    offsets, found = [], []
    for node in plan.drawing.root.walk():
        offsets.append(node.offset)
        value = node.attrib.get(ATTRIBUTE)
        if value is not None:
            rules, _, reason = value.partition(":")
            found.append(
                Written(node.offset, _last(node), frozenset(rules.split()), reason.strip())
            )
    return offsets, found


def _last(node: Node) -> int:
    """Offset of the last element inside a node."""
    while node.children:
        node = node.children[-1]
    return node.offset


def _in_drawing(finding: Finding, offsets: Sequence[int], written: Sequence[Written]) -> str | None:
    """The reason of the innermost acceptance around a finding; one without a reason is none."""
    if not written:
        return None
    element = offsets[max(bisect_right(offsets, finding.place.offset) - 1, 0)]
    for entry in reversed(written):
        if entry.first <= element <= entry.last and finding.rule in entry.rules and entry.reason:
            return entry.reason
    return None
