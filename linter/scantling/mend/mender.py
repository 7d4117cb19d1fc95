"""Mending one drawing: propose, try, and keep what does what it says.

Repairs are made from the findings of the text as it is, tried together, and the result is judged
by all rules. A repair that leaves its finding, brings another, or changes what it must not is
left out, and said so. That goes on, round by round, until a round mends nothing more: so doing
it all again changes nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from scantling.judge.engine import settings
from scantling.judge.finding import Finding
from scantling.judge.places import Subjects, spot_at
from scantling.linter import Linter
from scantling.measure.facts import Facts
from scantling.mend.edit import Edit, Moves, applied
from scantling.mend.kinds import Kind, chosen
from scantling.mend.look import Judge, Look
from scantling.mend.repair import Case, Refusal, Repair, Wish
from scantling.mend.trial import Offer, Trial, meets
from scantling.read import Source, Unreadable
from scantling.records import NamedTuple


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
    judge: Judge = field(init=False)

    def __post_init__(self) -> None:
        self.kinds = chosen(self.wish.rules)
        self.judge = Judge(self.linter)

    def mended(self, source: Source, path: str) -> Mended:
        """Mend a drawing. Raises one of linter.TROUBLES for one that cannot be judged."""
        if not source.lossless:
            raise Unreadable(f"cannot be written again byte for byte in {source.encoding}")
        look = self.look(source, path)
        result = Mended(source, source.text)
        refused: set[tuple[object, ...]] = set()
        most = 0
        while True:
            offers, left = self.offers(look, path)
            most = most or len(offers) + len(left) + 1  # every round has one finding less
            if len(result.rounds) >= most:
                offers = []
            fresh = [offer for offer in offers if offer.key not in refused]
            trial = Trial(self.judge, look, path)
            if len(fresh) < len(offers):
                trial = self._tried(look, fresh, path)
            if not trial.kept:  # what did not hold in an earlier text may hold in this one
                trial = self._tried(look, offers, path)
            refused |= {offer.key for offer, _ in trial.refused}
            if not trial.kept:
                for offer, why in trial.refused:
                    left += [Left(finding, why) for finding in offer.findings]
                result.left = _in_order(left)
                return result
            look = self._applied(result, trial, path)

    def _applied(self, result: Mended, trial: Trial, path: str) -> Look:
        """Apply what a trial has kept."""
        result.done += [
            Done(
                offer.repair.message,
                finding,
                result.back(finding.place.offset),
                tuple(result.back(node.offset) for node in offer.repair.nodes),
            )
            for offer in trial.kept
            for finding in offer.findings
        ]
        edits = [edit for offer in trial.kept for edit in offer.repair.edits]
        result.text = applied(result.text, edits)
        result.rounds.append(Moves(edits))
        known = trial.last
        if known is None or known.source.text != result.text:
            return self.look(Source.from_text(result.text, result.source.path), path)
        return known

    def look(self, source: Source, path: str) -> Look:
        """Read a text. Raises one of linter.TROUBLES."""
        return self.judge.planned(source, path)

    # What could be done

    def offers(self, look: Look, path: str) -> tuple[list[Offer], list[Left]]:
        """The repairs for findings that stand, in the order of the text, one for each set of
        edits; and the findings of the chosen rules that nothing is offered for."""
        rules = {kind.rule for kind in self.kinds}
        standing = [f for f in self.judge.of_rules(look, path, rules) if f.accepted is None]
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
        for finding in standing:
            if id(finding) not in met:
                left.setdefault(id(finding), Left(finding, "there is no repair for it"))
        return ordered, [one for key, one in left.items() if key not in met]

    def _proposed(
        self, look: Look, kind: Kind, mine: Sequence[Finding], path: str
    ) -> Iterator[tuple[Repair | Refusal, tuple[Finding, ...]]]:
        """What one kind of repair offers, with the findings meant."""
        plan = look.plan
        rule = self.linter.setting(path).book.by_id()[kind.rule]
        _, options = settings(rule, plan.job.rules)
        sheets = zip(plan.sheets, look.facts, strict=True)
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
                spots = {spot_at(subject) for subject in on}
                about = [f for f in here if f.place in places and found.words in f.message]
                # a long line may have several findings at one place in the text
                findings = [finding for finding in about if finding.at in spots] or about
                if findings:
                    yield found, tuple(findings)

    # What does what it says

    def _tried(self, look: Look, offers: Sequence[Offer], path: str) -> Trial:
        """The offers that hold and can be applied together, and those that do not hold. What
        meets one that is kept waits for the next round."""
        trial = Trial(self.judge, look, path)
        waiting = list(offers)
        while waiting:
            batch: list[Offer] = []
            rest: list[Offer] = []
            for offer in waiting:
                if meets(offer, trial.kept):
                    continue
                (rest if meets(offer, batch) else batch).append(offer)
            trial.run(batch)
            waiting = rest
        return trial

    def fixes(self, look: Look, path: str) -> list[Offer]:
        """The repairs of which each can be applied to the text as it is."""
        waiting, _ = self.offers(look, path)
        kept: list[Offer] = []
        while waiting:
            trial = self._tried(look, waiting, path)
            kept += trial.kept
            over = {id(offer) for offer in trial.kept} | {id(o) for o, _ in trial.refused}
            waiting = [offer for offer in waiting if id(offer) not in over]
        return kept


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
        same_engraving=first.same_engraving and found.same_engraving,
    )
    more = tuple(f for f in findings if all(f is not one for one in known.findings))
    return both, (*known.findings, *more)


def _in_order(left: Sequence[Left]) -> list[Left]:
    return sorted(left, key=lambda one: (one.finding.place.offset, one.finding.rule))
