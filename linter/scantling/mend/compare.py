"""The findings before and after: what has gone, and whether anything has come."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from math import dist

from scantling.judge.finding import Finding
from scantling.mend.edit import Edit, Moves
from scantling.read.drawing import Drawing

NEAR = 1.0
"""mm between two places that may be one, as a finding is told of a place nearby"""


@dataclass(frozen=True, slots=True)
class Judged:
    """The findings of a drawing, and what places in it mean.

    size   mm at finished size for one mm on the page: places are compared at the old size
    """

    findings: Sequence[Finding]
    offsets: Sequence[int]
    """of all elements, in order"""
    scale: float

    @classmethod
    def of(cls, drawing: Drawing, findings: Sequence[Finding], scale: float) -> Judged:
        return cls(findings, [node.offset for node in drawing.root.walk()], scale)

    def element(self, offset: int) -> int:
        """The offset of the element that a place is in."""
        return self.offsets[max(bisect_right(self.offsets, offset) - 1, 0)]


def change(
    before: Judged,
    after: Judged,
    edits: Sequence[Edit],
    mended: Sequence[Finding],
) -> tuple[list[Finding], list[Finding]]:
    """The findings that have come, and those of the mended that are still there.

    A finding is the same as one of before where rule, sheet and level are, and the place on the
    sheet or, where that has moved, the element; or, where the element has moved, the words. Each
    of before is the same as one at most, so no rule finds more than before.
    """
    moves = Moves(edits)
    ratio = before.scale / after.scale if after.scale else 1.0
    pool: dict[tuple[str, str], list[Finding]] = {}
    for finding in before.findings:
        pool.setdefault((finding.rule, finding.stock), []).append(finding)
    rest: list[Finding] = []
    standing = [finding for finding in after.findings if finding.accepted is None]
    accepted = [finding for finding in after.findings if finding.accepted is not None]
    homes = {
        id(finding): before.element(moves.back(after.element(finding.place.offset)))
        for finding in after.findings
    }
    for finding in accepted + standing:
        mates = pool.get((finding.rule, finding.stock), [])
        mate = _nearest(finding, mates, ratio, before, homes[id(finding)])
        if mate is not None:
            mates.remove(mate)
        elif finding.accepted is None:
            rest.append(finding)
    still = [
        finding
        for finding in mended
        if not any(one is finding for one in pool.get((finding.rule, finding.stock), []))
    ]
    come = []
    gone = {id(finding) for finding in mended}
    for finding in rest:
        mates = pool.get((finding.rule, finding.stock), [])
        for mate in mates:
            here = before.element(mate.place.offset) == homes[id(finding)]
            moved = finding.at is mate.at is None and finding.message == mate.message
            if id(mate) not in gone and finding.level <= mate.level and (here or moved):
                mates.remove(mate)
                break
        else:
            come.append(finding)
    return come, still


def _nearest(
    finding: Finding, mates: Sequence[Finding], ratio: float, before: Judged, home: int
) -> Finding | None:
    """The finding of before that is at the same place; of those without a place, one of the same
    words about the same element."""
    best, least = None, NEAR
    for mate in mates:
        if finding.level > mate.level:
            continue
        if finding.at is None or mate.at is None:
            same = finding.at is mate.at and finding.message == mate.message
            if same and before.element(mate.place.offset) == home:
                return mate
            continue
        apart = dist((finding.at[0] * ratio, finding.at[1] * ratio), mate.at)
        if apart < least or (best is None and apart <= least):
            best, least = mate, apart
    return best
