"""Trying repairs: which of them hold, together.

A repair holds that mends its findings, brings no other, and changes nothing else. What fails may
bring a note: a hole that is closed at last has a drop-out. A batch is
tried as one; where it does not hold, those that may be to blame are tried apart from the others.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

from scantling.judge.finding import Finding, Level
from scantling.linter import TROUBLES
from scantling.mend import guard
from scantling.mend.compare import Judged, change
from scantling.mend.edit import Edit, Moves, applied, meet
from scantling.mend.look import STAGES, Judge, Look, concerned
from scantling.mend.repair import Repair
from scantling.read import Source
from scantling.report.plain import counted

MOST_TRIES = 40
"""Texts that are judged in one go through the offers (common practice, no source): judging one
takes as long as a lint may take, and where so many do not hold together the rest seldom does."""
MOST_POINTS = 1_000_000
"""Points on the sheets of those texts (common practice, no source): of very large drawings fewer
are judged."""


@dataclass(frozen=True, slots=True)
class Offer:
    """A repair with the findings that it mends."""

    repair: Repair
    findings: tuple[Finding, ...]

    @property
    def key(self) -> tuple[object, ...]:
        """What tells it from others, from one round to the next."""
        marks = tuple(finding.fingerprint for finding in self.findings)
        return (*marks, self.repair.message, *(edit.text for edit in self.repair.edits))


def meets(offer: Offer, others: Sequence[Offer]) -> bool:
    """Whether an offer changes what one of the others does."""
    return any(meet(offer.repair.edits, other.repair.edits) for other in others)


@dataclass(slots=True)
class Trial:
    """Tries offers on one text, together as far as they hold.

    last   the text with all that are kept, as far as it has been judged
    tries  texts judged so far
    points   points on the sheets that were judged for them
    """

    judge: Judge
    look: Look
    path: str
    kept: list[Offer] = field(default_factory=list)
    refused: list[tuple[Offer, str]] = field(default_factory=list)
    last: Look | None = None
    tries: int = 0
    points: int = 0

    def run(self, batch: Sequence[Offer]) -> None:
        """Keep the offers of a batch that hold together with those that are kept."""
        if not batch:
            return
        if self.tries >= MOST_TRIES or self.points >= MOST_POINTS:
            judged = counted(self.tries, "text was", "texts were")
            why = f"not tried: {judged} judged before its turn; --rule begins with it"
            self.refused += [(offer, why) for offer in batch]
            return
        self.tries += 1
        trouble, suspects = self._tried([*self.kept, *batch])
        if not trouble:
            self.kept += batch
            return
        if len(batch) == 1:
            self.refused.append((batch[0], trouble))
            return
        doubtful = [offer for offer in batch if id(offer) in suspects]
        good = [offer for offer in batch if id(offer) not in suspects]
        if not doubtful or not good:
            middle = len(batch) // 2
            good, doubtful = list(batch[:middle]), list(batch[middle:])
        self.run(good)
        self.run(doubtful)

    def _tried(self, offers: Sequence[Offer]) -> tuple[str, set[int]]:
        """What is wrong with a text mended so, in one clause, and which offers may be to blame;
        '' where nothing is."""
        before = self.look
        repairs = [offer.repair for offer in offers]
        edits = [edit for repair in repairs for edit in repair.edits]
        try:
            text = applied(before.source.text, edits)
            source = Source.from_text(text, before.source.path)
            after = self.judge.planned(source, self.path)
        except (*TROUBLES, ValueError):
            return "the drawing could not be read any more", set()
        drawing = before.plan.drawing
        wrong = guard.damage(drawing, after.plan.drawing, repairs, before.plan.scale)
        if wrong:
            return wrong, set()
        wrong, suspects = self._compared(after, offers, edits)
        if not wrong:
            self.last = after
        return wrong, suspects

    def _compared(
        self, after: Look, offers: Sequence[Offer], edits: Sequence[Edit]
    ) -> tuple[str, set[int]]:
        """The same of a text that can be read: the pieces, and the findings."""
        before = self.look
        sheets = concerned(before, after)
        self.points += sum(len(s.lines.xy) for s in after.plan.sheets if s.label in sheets)
        if any(offer.repair.same_pieces for offer in offers) and all(
            offer.repair.same_pieces or offer.repair.paints for offer in offers
        ):
            wrong, gone, come = guard.pieces_changed(before, after, sheets)
            if wrong:
                moves = Moves(edits)
                return wrong, _around(offers, gone | {moves.back(offset) for offset in come})
        if any(offer.repair.same_engraving for offer in offers):
            wrong = guard.engraving_changed(before, after, sheets)
            if wrong:
                return wrong, {id(offer) for offer in offers if offer.repair.same_engraving}
        marks = {finding.fingerprint for offer in offers for finding in offer.findings}
        for stage in STAGES:
            found = self.judge.findings(before, self.path, stage, sheets)
            mended = [finding for finding in found if finding.fingerprint in marks]
            old = before.judged(found)
            new = after.judged(self.judge.findings(after, self.path, stage, sheets))
            fresh, still = change(old, new, edits, mended)
            near = [(finding, _near(finding, old, new, offers, edits)) for finding in fresh]
            bad = [
                (finding, blamed)
                for finding, blamed in near
                if not _let_pass(finding, blamed, offers)
            ]
            if bad:
                said = _said([finding for finding, _ in bad], offers[-1].repair)
                return said, set().union(*(blamed for _, blamed in bad))
            if still:
                prints = {finding.fingerprint for finding in still}
                blamed = {id(o) for o in offers if any(f.fingerprint in prints for f in o.findings)}
                return "that would not mend it", blamed
        return "", set()


def _said(come: Sequence[Finding], repair: Repair) -> str:
    """What new findings speak against a repair, in one clause: its own words where it knows why
    they come."""
    known = (repair.causes[finding.rule] for finding in come if finding.rule in repair.causes)
    new = f"that would bring a new finding: {come[0].message} [{come[0].rule}]"
    return next(known, new)


def _let_pass(come: Finding, blamed: Collection[int], offers: Sequence[Offer]) -> bool:
    """Whether a new finding does not speak against the offers that bring it: a note, where each of
    them mends something graver."""
    near = [offer for offer in offers if id(offer) in blamed]
    return come.level is Level.NOTE and all(
        finding.level > Level.NOTE for offer in near or offers for finding in offer.findings
    )


def _near(
    come: Finding,
    before: Judged,
    after: Judged,
    offers: Sequence[Offer],
    edits: Sequence[Edit],
) -> set[int]:
    """The offers that change an element that a new finding is about."""
    moves = Moves(edits)
    places = [come.place, *(other.place for other in come.related)]
    elements = {before.element(moves.back(after.element(place.offset))) for place in places}
    return _around(offers, elements)


def _around(offers: Sequence[Offer], elements: Collection[int]) -> set[int]:
    """The offers that change one of some elements, by their offsets."""
    return {
        id(offer) for offer in offers if any(node.offset in elements for node in offer.repair.nodes)
    }
