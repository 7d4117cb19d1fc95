"""Mending one drawing: propose, try, and keep what does what it says.

Repairs are made from the findings of the text as it is, tried together, and the result is judged
by all rules. A repair that leaves its finding, brings another, or changes what it must not is
left out, and said so. That goes on, round by round, until a round mends nothing more: so doing
it all again changes nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from scantling.judge.engine import Verdict, settings
from scantling.judge.finding import Finding
from scantling.judge.places import Subjects
from scantling.linter import TROUBLES, Linter
from scantling.measure.facts import Facts
from scantling.mend import guard
from scantling.mend.compare import Judged, change
from scantling.mend.edit import Edit, Moves, applied, meet
from scantling.mend.kinds import Kind, chosen
from scantling.mend.repair import Case, Refusal, Repair, Wish
from scantling.plan.model import Plan
from scantling.read import Source, Unreadable, read_drawing

ROUNDS = 100
"""More than any drawing needs: each round mends at least one finding."""


@dataclass(frozen=True, slots=True)
class Look:
    """A text with what is found in it."""

    source: Source
    plan: Plan
    verdict: Verdict

    def judged(self) -> Judged:
        return Judged.of(self.plan.drawing, self.verdict.findings, self.plan.scale)


@dataclass(frozen=True, slots=True)
class Offer:
    """A repair with the findings that it mends."""

    repair: Repair
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Left:
    """A finding that stays, and why in one clause."""

    finding: Finding
    reason: str


class Done(NamedTuple):
    """What was done, the finding that it was done for, and where that and the elements that have
    changed were in the source."""

    message: str
    finding: Finding
    offset: int
    elements: tuple[int, ...]


@dataclass(slots=True)
class Mended:
    """What has become of one drawing."""

    source: Source
    text: str
    done: list[Done] = field(default_factory=list)
    left: list[Left] = field(default_factory=list)
    """places in them are those of the mended text"""
    rounds: list[Moves] = field(default_factory=list)

    @property
    def changed(self) -> bool:
        return self.text != self.source.text

    def back(self, offset: int) -> int:
        """Where in the source a place of the mended text was."""
        for moves in reversed(self.rounds):
            offset = moves.back(offset)
        return offset


@dataclass(slots=True)
class Mender:
    """Mends drawings, judging them by a linter. Raises ValueError for a wish for rules whose
    findings nothing mends."""

    linter: Linter
    wish: Wish = field(default_factory=Wish)
    kinds: tuple[Kind, ...] = ()

    def __post_init__(self) -> None:
        self.kinds = chosen(self.wish.rules)

    def mended(self, source: Source, path: str) -> Mended:
        """Mend a drawing. Raises one of linter.TROUBLES for one that cannot be judged."""
        if not source.lossless:
            raise Unreadable(f"cannot be written again byte for byte in {source.encoding}")
        look = self.look(source, path)
        result = Mended(source, source.text)
        for _ in range(ROUNDS):
            offers, left = self.offers(look, path)
            kept, refused = self._kept(look, offers, path)
            if not kept:
                result.left = _in_order([*left, *refused])
                break
            edits = [edit for offer in kept for edit in offer.repair.edits]
            result.done += [
                Done(
                    offer.repair.message,
                    finding,
                    result.back(finding.place.offset),
                    tuple(result.back(node.offset) for node in offer.repair.nodes),
                )
                for offer in kept
                for finding in offer.findings
            ]
            result.text = applied(result.text, edits)
            result.rounds.append(Moves(edits))
            look = self.look(Source.from_text(result.text, source.path), path)
        return result

    def look(self, source: Source, path: str) -> Look:
        """Read and judge a text. Raises one of linter.TROUBLES."""
        drawing = read_drawing(source, self.linter.wanted.limits)
        job = self.linter.setting(path).job
        plan = self.linter.planned(drawing, path, job, self.linter.wanted.stock)
        return Look(source, plan, self.linter.verdict(plan, path))

    # What could be done

    def offers(self, look: Look, path: str) -> tuple[list[Offer], list[Left]]:
        """The repairs for findings that stand, in the order of the text, one for each set of
        edits; and the findings of the chosen rules that nothing is offered for."""
        standing = [f for f in look.verdict.findings if f.accepted is None]
        offers: dict[tuple[Edit, ...], Offer] = {}
        left: dict[int, Left] = {}
        met: set[int] = set()
        for kind in self.kinds:
            mine = [finding for finding in standing if finding.rule == kind.rule]
            if not mine:
                continue
            for found, findings in self._proposed(look, kind, mine, path):
                if isinstance(found, Refusal):
                    left |= {id(f): Left(f, found.reason) for f in findings if id(f) not in left}
                    continue
                met |= {id(finding) for finding in findings}
                if known := offers.get(found.edits):
                    found, findings = _one(known, found, findings)
                offers[found.edits] = Offer(found, findings)
        ordered = sorted(offers.values(), key=lambda o: (min(o.repair.edits), o.findings[0].place))
        rules = {kind.rule for kind in self.kinds}
        for finding in standing:
            if finding.rule in rules and id(finding) not in met:
                left.setdefault(id(finding), Left(finding, "nothing mends it"))
        return ordered, [one for key, one in left.items() if key not in met]

    def _proposed(
        self, look: Look, kind: Kind, mine: Sequence[Finding], path: str
    ) -> Iterator[tuple[Repair | Refusal, tuple[Finding, ...]]]:
        """What one kind of repair offers, with the findings meant."""
        plan = look.plan
        rule = self.linter.setting(path).book.by_id()[kind.rule]
        _, options = settings(rule, plan.job.rules)
        sheets = zip(plan.sheets, look.verdict.facts, strict=True)
        scopes = list(sheets) if kind.of_sheet else [(None, Facts({}, {}))]
        for sheet, facts in scopes:
            label = sheet.label if sheet is not None else ""
            subjects = Subjects(plan.drawing, sheet)
            here = [f for f in mine if sheet is None or f.stock == label]
            if not here:
                continue
            for found in kind.repairs(Case(plan, facts, self.wish, sheet, options)):
                on = found.on if isinstance(found, Repair) else (found.on,)
                places = {subjects.place(subject) for subject in on}
                findings = tuple(f for f in here if f.place in places and found.words in f.message)
                if findings:
                    yield found, findings

    # What does what it says

    def _kept(
        self, look: Look, offers: Sequence[Offer], path: str
    ) -> tuple[list[Offer], list[Left]]:
        """The offers that hold, all of which can be applied together; and those that do not."""
        batch: list[Offer] = []
        for offer in offers:
            if not any(meet(offer.repair.edits, other.repair.edits) for other in batch):
                batch.append(offer)
        trial = Trial(self, look, path)
        trial.run(batch)
        return trial.kept, trial.refused

    def fixes(self, look: Look, path: str) -> list[Offer]:
        """The repairs of which each can be applied to the text as it is."""
        offers, _ = self.offers(look, path)
        kept: list[Offer] = []
        while offers:
            batch: list[Offer] = []
            for offer in offers:
                if not any(meet(offer.repair.edits, other.repair.edits) for other in batch):
                    batch.append(offer)
            taken = {id(offer) for offer in batch}
            offers = [offer for offer in offers if id(offer) not in taken]
            trial = Trial(self, look, path)
            trial.run(batch)
            kept += trial.kept
        return kept


@dataclass(slots=True)
class Trial:
    """Tries offers on one text, together as far as they hold."""

    mender: Mender
    look: Look
    path: str
    kept: list[Offer] = field(default_factory=list)
    refused: list[Left] = field(default_factory=list)

    def run(self, batch: Sequence[Offer]) -> None:
        """Keep the offers of a batch that hold together with those that are kept."""
        if not batch:
            return
        trouble, suspects = self._tried([*self.kept, *batch])
        if not trouble:
            self.kept += batch
            return
        if len(batch) == 1:
            self.refused += [Left(finding, trouble) for finding in batch[0].findings]
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
        mended = [finding for offer in offers for finding in offer.findings]
        try:
            text = applied(before.source.text, edits)
            after = self.mender.look(Source.from_text(text, before.source.path), self.path)
        except (*TROUBLES, ValueError):
            return "the drawing could not be read any more", set()
        drawing = before.plan.drawing
        wrong = guard.damage(drawing, after.plan.drawing, repairs, before.plan.scale)
        if wrong:
            return wrong, set()
        if any(repair.same_pieces for repair in repairs) and all(
            repair.same_pieces or repair.paints for repair in repairs
        ):
            wrong = guard.pieces_changed(
                before.plan, before.verdict.facts, after.plan, after.verdict.facts
            )
            if wrong:
                return wrong, set()
        old = before.judged()
        come, still = change(old, after.judged(), edits, mended)
        if come:
            new = come[0]
            return f"that would bring a new finding: {new.message} [{new.rule}]", set()
        if still:
            ids = {id(finding) for finding in still}
            blamed = {id(o) for o in offers if any(id(f) in ids for f in o.findings)}
            return "that would not mend it", blamed
        return "", set()


def _one(
    known: Offer, found: Repair, findings: tuple[Finding, ...]
) -> tuple[Repair, tuple[Finding, ...]]:
    """Two repairs with the same edits as one."""
    first = known.repair
    both = replace(
        first,
        on=(*first.on, *found.on),
        nodes=tuple(dict.fromkeys((*first.nodes, *found.nodes))),
        contours=first.contours | found.contours,
        same_pieces=first.same_pieces and found.same_pieces,
    )
    more = tuple(f for f in findings if all(f is not one for one in known.findings))
    return both, (*known.findings, *more)


def _in_order(left: Sequence[Left]) -> list[Left]:
    return sorted(left, key=lambda one: (one.finding.place.offset, one.finding.rule))
