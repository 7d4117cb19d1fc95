"""The cut list: what a maker cuts, counts and quotes by, stock by stock.

Parts of all drawings that land on one stock stand together; equal parts are counted together (see
`congruent`: within the coincidence tolerance after a shift and a turn) if as much is engraved and
scored on them: to a maker a coaster with another picture is another part. Weight, time and price
are only there where the stock says what they follow from.
"""

from __future__ import annotations

import os
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from math import prod
from typing import TYPE_CHECKING, Any

from scantling import __version__
from scantling.drawings import drawings
from scantling.records import dataclass
from scantling.report.model import Failure, Trouble
from scantling.wanted import Wanted, shown

if TYPE_CHECKING:
    from scantling.judge.finding import Finding
    from scantling.linter import Linter
    from scantling.measure.facts import Facts
    from scantling.measure.model import Piece
    from scantling.plan.model import Sheet, Stock


UNSOUND = (
    *("open-path", "crossing-cuts", "self-crossing", "duplicate-line"),
    *("unassigned-colour", "live-text", "bitmap"),
)
"""Rules whose findings mean that what is counted is not what is meant: parts that do not come
loose, or fall into pieces, lines that are cut twice, and what is on no sheet."""
HAZARD = "unsafe-stock"
"""The rule whose findings a list of what to cut must not keep quiet about."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLine:
    """Equal parts.

    number         on its list, from 1
    drawn, sides   longer and shorter side of the least enclosing rectangle in mm, at any angle: as
                   drawn, and finished, after the kerf
    area           mm² of one part, finished: all points that the tool leaves
    drawn_area     mm² of one part, as drawn
    holes          of one part
    engraved, scored   mm² and mm of one part, as drawn: its face that is engraved, by fills and by
                   strokes as wide as they are painted, and the scored lines on it
    least_web      the least finished web in mm; None: wider than `measured_to`
    mirrors        number of the line that these are the mirror images of
    """

    number: int
    count: int
    names: tuple[str, ...]
    files: tuple[str, ...]
    drawn: tuple[float, float]
    sides: tuple[float, float]
    area: float
    drawn_area: float
    holes: int
    least_web: float | None
    measured_to: float
    engraved: float = 0.0
    scored: float = 0.0
    mirrors: int | None = None

    @property
    def name(self) -> str:
        """What to call them: their common name, or the names of the first few."""
        plain = dict.fromkeys(re.sub(r" \d+$", "", name) for name in self.names)
        if len(plain) == 1:
            return self.names[0] if self.count == 1 else next(iter(plain))
        first = ", ".join(list(plain)[:3])
        return first if len(plain) <= 3 else f"{first} and {len(plain) - 3} more"


@dataclass(frozen=True, slots=True, kw_only=True)
class StockList:
    """All that is made of one stock.

    label          the stock, with the colour where there is no job sheet
    cut, score, engrave   length of line in mm, as drawn
    engraved       mm² that are engraved, on parts or not
    sizes          width and height in mm of what each drawing puts on the stock
    parts          by falling area
    drop_outs      pieces that come loose and are not kept
    """

    label: str
    stock: Stock
    files: tuple[str, ...]
    cut: float
    score: float
    engrave: float
    engraved: float
    sizes: tuple[tuple[float, float], ...]
    parts: tuple[PartLine, ...]
    drop_outs: int

    @property
    def count(self) -> int:
        return sum(line.count for line in self.parts)

    @property
    def marked(self) -> bool:
        """Whether anything is engraved or scored on a part."""
        return any(line.engraved or line.scored for line in self.parts)

    @property
    def part_area(self) -> float:
        """mm², as drawn: what the parts take of the sheet."""
        return sum(line.count * line.drawn_area for line in self.parts)

    @property
    def used_area(self) -> float:
        """mm² of the rectangles around what each drawing puts on the stock."""
        return sum(map(prod, self.sizes))

    @property
    def sheet_area(self) -> float | None:
        return prod(self.stock.sheet) if self.stock.sheet else None

    @property
    def weight(self) -> float | None:
        """Of all parts in kg: finished area × thickness × density."""
        if self.stock.density is None:
            return None
        volume = sum(line.count * line.area for line in self.parts) * self.stock.thickness
        return volume * 1e-9 * self.stock.density

    @property
    def seconds(self) -> float | None:
        """Of cutting alone: length of cut / cutting speed. Moves, starts, scoring and engraving
        are not in it."""
        return self.cut / self.stock.speed if self.stock.speed else None

    @property
    def price(self) -> float | None:
        """Of the material, in the shop's currency: that share of the price of a sheet which the
        rectangles take."""
        if self.stock.price is None or not self.sheet_area:
            return None
        return self.stock.price * self.used_area / self.sheet_area


@dataclass(frozen=True, slots=True, kw_only=True)
class CutList:
    """The cut list of some drawings."""

    files: tuple[str, ...]
    stocks: tuple[StockList, ...]
    failures: tuple[Failure, ...] = ()
    troubles: tuple[Trouble, ...] = ()
    notices: tuple[tuple[str, str], ...] = ()
    """(file, what was assumed for want of a job sheet)"""
    unsound: tuple[tuple[str, str], ...] = ()
    """(file, why what is listed of it cannot be trusted)"""
    hazards: tuple[str, ...] = ()
    """which stocks must not go into their process, or nobody knows whether they may, and why"""
    version: str = __version__

    @property
    def exit_code(self) -> int:
        return 2 if self.failures or self.troubles else 0


def cut_list(paths: Iterable[str | os.PathLike[str]], wanted: Wanted) -> CutList:
    """The cut list of files and folders. Whatever is wrong with a file is in the list."""
    from scantling.linter import TROUBLES, Linter

    linter = Linter(wanted)
    made = _Maker()
    files, failures = [], []
    notices: list[tuple[str, str]] = []
    unsound: list[tuple[str, str]] = []
    hazards: dict[str, None] = {}
    for path, trouble in drawings(paths):
        name = shown(path)
        if trouble:
            failures.append(Failure(file=name, message=trouble))
            continue
        try:
            took = made.take(path, linter)
            notices += [(name, notice) for notice in took.assumed]
            unsound += [(name, said) for said in took.unsound]
            hazards |= dict.fromkeys(took.hazards)
            files.append(name)
        except TROUBLES as error:
            failure = linter.failed(path, error).failure
            assert failure is not None
            failures.append(failure)
    return CutList(
        files=tuple(files),
        stocks=tuple(made.lists()),
        failures=tuple(failures),
        troubles=tuple(linter.problems),
        notices=tuple(notices),
        unsound=tuple(unsound),
        hazards=tuple(hazards),
    )


@dataclass(frozen=True, slots=True)
class _Took:
    """What is to be said of one drawing: what was assumed, why it cannot be trusted, and which of
    its stocks are a hazard."""

    assumed: tuple[str, ...]
    unsound: tuple[str, ...]
    hazards: tuple[str, ...]


@dataclass(slots=True)
class _Part:
    """One part of one drawing."""

    file: str
    piece: Piece
    least_web: float | None
    reach: float
    engraved: float
    scored: float


@dataclass(slots=True)
class _Draft:
    """A stock's list in the making."""

    stock: Stock
    tolerance: float
    files: dict[str, None]
    lengths: dict[str, float]
    sizes: list[tuple[float, float]]
    parts: list[_Part]
    engraved: float = 0.0
    drop_outs: int = 0


class _Maker:
    """Gathers the sheets of one drawing after another by stock."""

    def __init__(self) -> None:
        self.drafts: dict[tuple[str, Stock], _Draft] = {}

    def take(self, path: str, linter: Linter) -> _Took:
        """Take a drawing in. Raises one of the linter's TROUBLES."""
        from scantling.measure.facts import facts_of
        from scantling.read import Source, read_drawing

        limits = linter.wanted.limits
        drawing = read_drawing(Source.open(path, limits), limits)
        plan = linter.planned(drawing, path, linter.setting(path).job, linter.wanted.stock)
        measured = [facts_of(sheet) for sheet in plan.sheets]
        for sheet, facts in zip(plan.sheets, measured, strict=True):
            self._sheet(shown(path), sheet, facts)
        verdict = linter.verdict(plan, path, measured, only=(*UNSOUND, HAZARD))
        return _Took(
            plan.notices,
            (*_unsound(verdict.findings), *verdict.troubles),
            tuple(f.message for f in verdict.findings if f.rule == HAZARD),
        )

    def _sheet(self, file: str, sheet: Sheet, facts: Facts) -> None:
        from scantling.measure.summary import lengths, size_of

        draft = self.drafts.setdefault(
            (sheet.label, sheet.stock),
            _Draft(sheet.stock, sheet.tolerances.coincidence, {}, {}, [], []),
        )
        draft.files.setdefault(file)
        for operation, length in lengths(sheet.lines).items():
            draft.lengths[operation] = draft.lengths.get(operation, 0.0) + length
        draft.sizes.append(size_of(sheet.lines))
        least: dict[int, float] = {}
        for web in facts["webs"]:
            least[web.piece] = min(web.width, least.get(web.piece, web.width))
        marked = facts["marked"]
        draft.engraved += marked.engraved
        for piece in facts["pieces"]:
            number = piece.number
            if piece.kept:
                on = marked.on.get(number, 0.0), marked.scored.get(number, 0.0)
                draft.parts.append(_Part(file, piece, least.get(number), sheet.reach, *on))
            else:
                draft.drop_outs += 1

    def lists(self) -> Iterable[StockList]:
        for (label, stock), draft in self.drafts.items():
            yield StockList(
                label=label,
                stock=stock,
                files=tuple(draft.files),
                cut=draft.lengths["cut"],
                score=draft.lengths["score"],
                engrave=draft.lengths["engrave"],
                engraved=draft.engraved,
                sizes=tuple(draft.sizes),
                parts=tuple(_lines(draft.parts, stock, draft.tolerance)),
                drop_outs=draft.drop_outs,
            )


def _unsound(findings: Iterable[Finding]) -> Iterable[str]:
    """Why what is listed of a drawing cannot be trusted, in one line, if anything says so."""
    counts = Counter(finding.rule for finding in findings if finding.accepted is None)
    why = ", ".join(f"{rule} {counts[rule]}" for rule in UNSOUND if counts[rule])
    if why:
        yield (
            f"its parts, lengths and areas cannot be trusted until it is mended ({why}); "
            "scantling lint says where"
        )


def _lines(parts: Sequence[_Part], stock: Stock, tolerance: float) -> list[PartLine]:
    """Equal parts on one line each, the largest first."""
    from scantling.catalogue.congruent import kinds

    ordered = sorted(parts, key=lambda part: -round(part.piece.area, 3))
    found: list[PartLine] = []
    first: list[int] = []  # of each kind, the number of its first line
    for kind in kinds([part.piece.polygon for part in ordered], tolerance):
        first.append(len(found) + 1)
        mirrors = None if kind.mirrors is None else first[kind.mirrors]
        for alike in _alike([ordered[k] for k in kind.members]):
            found.append(_line(len(found) + 1, alike, stock, mirrors))
    return found


def _alike(parts: Sequence[_Part]) -> list[list[_Part]]:
    """Parts on which as much is engraved and scored, by the first of them each."""
    groups: list[list[_Part]] = []
    for part in parts:
        for group in groups:
            if _near(part.engraved, group[0].engraved) and _near(part.scored, group[0].scored):
                group.append(part)
                break
        else:
            groups.append([part])
    return groups


def _near(one: float, other: float) -> bool:
    """Equal to a hundredth, or to 1 mm or mm²: a turned curve is flattened otherwise."""
    return abs(one - other) <= max(1.0, 0.01 * max(one, other))


def _line(number: int, parts: Sequence[_Part], stock: Stock, mirrors: int | None) -> PartLine:
    slot = stock.slot
    first = parts[0].piece
    polygon: Any = first.polygon
    webs = [part.least_web for part in parts if part.least_web is not None]
    long, short = first.sides
    return PartLine(
        number=number,
        count=len(parts),
        names=tuple(part.piece.name for part in parts),
        files=tuple(dict.fromkeys(part.file for part in parts)),
        drawn=(long, short),
        sides=(max(long - slot, 0.0), max(short - slot, 0.0)),
        area=float(polygon.buffer(-slot / 2, quad_segs=32).area) if slot else first.area,
        drawn_area=first.area,
        holes=len(polygon.interiors),
        least_web=max(min(webs) - slot, 0.0) if webs else None,
        measured_to=max(min(part.reach for part in parts) - slot, 0.0),
        engraved=parts[0].engraved,
        scored=parts[0].scored,
        mirrors=mirrors,
    )
