"""wrong-fit: a part and the opening that it goes into, with too much or too little room."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from scantling.judge import Example, Fault, Level, OnSheet, assigned, page, stocked
from scantling.judge.limits import mm
from scantling.plan.model import Design, Plan, Stock
from scantling.records import NamedTuple

if TYPE_CHECKING:
    from scantling.measure.assembly.fits import Fit
    from scantling.measure.assembly.slots import Slot

id = "wrong-fit"
level = "error"
title = "a part in a matching opening with more or less clearance than the wanted fit"
why = """
Both cuts take half a kerf on each side: an opening grows by it and its part shrinks, so that two
equal outlines are a loose fit. A press fit that comes out loose falls apart; a drop-in part that
comes out tight has to be filed, or cracks the sheet.

The job sheet says which fit is wanted: `fit` of the design, `drop-in`, `snug` or `press`. Openings
and parts, of one stock or of two, are judged where they share their outline, shifted or turned, up
to an even margin: inlays, pieces of a jigsaw, jigs and templates drawn around the parts that they
place. A part is not turned over. Where several openings nearly match a part, it is compared with
the one that it is drawn in, or else with the one that it fits best.

Slots about as wide as one of the design's sheets is thick are judged too: there the thickness of
that sheet decides, and its tolerance.
"""
remedy = """
Draw the part, or its opening, larger or smaller by as much as the finding says. Measure the sheet
before slots are cut, and try the fit on a corner of waste: kerf and thickness vary from sheet to
sheet.
"""
source = (
    "common practice, no source, for the clearances; the thickness of cast acrylic sheet by "
    "ISO 7823-1: ±(0.4 mm + 0.1 of the thickness), from memory"
)


def _bound(fit: str, end: str, default: float) -> dict[str, Any]:
    return {
        "type": "number",
        "default": default,
        "x-unit": "mm",
        "description": f"{end} clearance per side of a {fit} fit, finished"
        + ("; below 0 the part is larger than the opening" if default < 0 else ""),
    }


parameters = {
    "drop-in-least": _bound("drop-in", "least", 0.1),
    "drop-in-most": _bound("drop-in", "greatest", 0.4),
    "snug-least": _bound("snug", "least", 0.0),
    "snug-most": _bound("snug", "greatest", 0.1),
    "press-least": _bound("press", "least", -0.1),
    "press-most": _bound("press", "greatest", 0.0),
    "measured": {
        "type": "array",
        "items": {"type": "string"},
        "default": [],
        "description": "stocks whose thickness in the job sheet has been measured on the sheet: "
        "its tolerance does not count",
    },
}
_JOB = (
    stocked("ply", "plywood", 'kerf = "0.2 mm"')
    + stocked("clear", "{}", 'kerf = "0.2 mm"')
    + assigned("#7a4b2a", "ply")
    + assigned("#e9e4d8", "clear")
    + """
[[design]]
files = "*.svg"
fit = "{}"
"""
)
_STAR = "M20 8L23.5 17L33 17.5L25.5 23L28 32L20 27L12 32L14.5 23L7 17.5L16.5 17Z"
_BODY = (
    '<path fill="#7a4b2a" fill-rule="evenodd" d="M2 2H38V38H2Z{0}"/><path fill="#e9e4d8" d="{1}"/>'
)
_SLOT = _BODY.format("M10 10H{}V30H10Z", "M50 5H90V35H50Z")
passes = (
    Example(
        page(_BODY.format(_STAR, _STAR)),
        _JOB.format("cast acrylic", "drop-in"),
        "equal outlines: 0.2 mm a side, the kerf",
    ),
    Example(
        page(_BODY.format("M10 10H30V25H10Z", "M9.85 9.85H30.15V25.15H9.85Z")),
        _JOB.format("cast acrylic", "snug"),
        "drawn 0.15 mm larger on every side: 0.05 mm a side are left",
    ),
    Example(
        page(_SLOT.format(12.8), 100),
        _JOB.format("plywood", "snug"),
        "a slot 2.8 mm wide as drawn, 3 mm finished, for a sheet of 3 mm",
    ),
)
fails = (
    Example(
        page(_BODY.format(_STAR, _STAR)),
        _JOB.format("cast acrylic", "press"),
        "equal outlines are not a press fit",
    ),
    Example(
        page(_BODY.format("M10 10H30V25H10Z", "M9.75 9.75H30.25V25.25H9.75Z")),
        _JOB.format("cast acrylic", "drop-in"),
        "0.25 mm larger on every side: it does not go in",
    ),
    Example(
        page(_SLOT.format(13.2), 100),
        _JOB.format("plywood", "snug"),
        "a slot 3.2 mm wide as drawn: 0.2 mm a side",
    ),
    Example(
        page(_SLOT.format(12.8), 100),
        _JOB.format("cast acrylic", "snug"),
        "cast acrylic sold as 3 mm is 2.3 to 3.7 mm thick: a note",
    ),
)


class Wanted(NamedTuple):
    """A fit and its clearance per side."""

    fit: str
    least: float
    most: float

    def order(self, fit: Fit) -> tuple[bool, float]:
        """Fits that are right come first, then outlines drawn most alike."""
        right = self.least <= fit.clearance <= self.most and fit.tightest >= self.least
        return not right, abs(fit.drawn)

    def __str__(self) -> str:
        return f"a {self.fit} fit needs {self.least:.2f} to {self.most:.2f} mm"


def applies(plan: Plan) -> bool:
    return plan.design is not None and plan.design.fit is not None


def check(
    fits: Sequence[Fit],
    slots: Sequence[Slot],
    plan: Plan,
    design: Design | None,
    options: Mapping[str, Any],
) -> Iterator[Fault]:
    if design is None or design.fit is None:
        return
    wanted = Wanted(design.fit, options[f"{design.fit}-least"], options[f"{design.fit}-most"])
    slack = 2.0 * plan.job.chord
    yield from _of_outlines(fits, wanted, slack)
    stocks = {sheet.stock.name: sheet.stock for sheet in plan.sheets}
    stocks |= {n: plan.job.stocks[n] for n in design.stack if n in plan.job.stocks}
    yield from _of_slots(slots, tuple(stocks.values()), wanted, slack, options["measured"])


def _of_outlines(fits: Sequence[Fit], wanted: Wanted, slack: float) -> Iterator[Fault]:
    """Parts of one sheet and openings of another with the same clearance are one finding: the kerf
    has been left out of account, or the same offset was drawn, in all of them."""
    groups: dict[tuple[str, str, bool, float], list[Fit]] = {}
    for fit in _meant(fits, wanted):
        even = fit.clearance - fit.tightest <= slack  # two flattened curves touch at corners
        least = fit.clearance if even else fit.tightest
        tight = least < wanted.least - slack
        if tight or fit.clearance > wanted.most + slack:
            labels = fit.parts[0].sheet.label, fit.openings[0].sheet.label
            found = least if tight else fit.clearance
            groups.setdefault((*labels, tight, round(found, 2)), []).append(fit)
    for (*_, tight, found), group in groups.items():
        yield _of_outline(group, tight, found, wanted)


def _meant(fits: Sequence[Fit], wanted: Wanted) -> list[Fit]:
    """The fits that are meant: parts drawn in their openings; and what is left of both in pairs, as
    they go together best. A disc is not held against every hole that is not much larger."""
    placed = [fit for fit in fits if fit.in_place]
    paired = {kind for fit in placed for kind in fit.kinds}
    left = [fit for fit in fits if not fit.in_place and not paired & set(fit.kinds)]
    taken: set[tuple[int, str]] = set()
    chosen = []
    for fit in sorted(left, key=wanted.order):
        opening, part = fit.kinds
        both = {(part, fit.openings[0].sheet.label), (opening, fit.parts[0].sheet.label)}
        if not taken & both:
            taken |= both
            chosen.append(fit)
    meant = {fit.kinds for fit in (*placed, *chosen)}
    return [fit for fit in fits if fit.kinds in meant]


def _of_outline(group: Sequence[Fit], tight: bool, found: float, wanted: Wanted) -> Fault:
    parts = [side for fit in group for side in fit.parts]
    openings = [side for fit in group for side in fit.openings]
    part, opening = parts[0], openings[0]
    number = "part and opening"
    if len(parts) > 1 or len(openings) > 1:
        number = f"{_number(parts, 'part')} and {_number(openings, 'opening')}"
    shapes = "one outline" if len(group) == 1 else f"{len(group)} outlines"
    bound = wanted.least if tight else wanted.most
    change = f"{mm(abs(found - bound))} {'smaller' if tight else 'larger'}"
    return Fault(
        message=f"{number} of {shapes}: clearance {mm(found)} per side finished, {wanted}; "
        f"draw {'the part' if len(parts) == 1 else 'parts'} {change} on every side",
        on=OnSheet(part.sheet, part.spot),
        at=part.piece.centre,
        measured=found,
        required=bound,
        part=part.piece.name,
        others=(
            (f"the opening, in {opening.sheet.label}", OnSheet(opening.sheet, opening.spot)),
            *(("another such part", OnSheet(side.sheet, side.spot)) for side in parts[1:]),
        ),
    )


def _number(sides: Sequence[object], word: str) -> str:
    return f"{len(sides)} {word}{'s' if len(sides) > 1 else ''}"


def _of_slots(
    slots: Sequence[Slot],
    stocks: Sequence[Stock],
    wanted: Wanted,
    slack: float,
    measured: Collection[str],
) -> Iterator[Fault]:
    """Slots by the nominal thickness of the sheets that may go in, and where that is right, by
    what the thickness may be: the latter once a stock."""
    from scantling.measure.assembly.fits import LOOSE

    told = set(measured)
    for group in _alike(slots):
        for thickness in dict.fromkeys(stock.thickness for stock in stocks):
            clearance = (group[0].width + group[0].sheet.stock.slot - thickness) / 2.0
            if abs(clearance) > LOOSE or not _goes_in(group[0], thickness):
                continue
            these = [stock for stock in stocks if stock.thickness == thickness]
            if not wanted.least - slack <= clearance <= wanted.most + slack:
                yield _slot(
                    group,
                    f"for {' or '.join(stock.name for stock in these)} of {mm(thickness)}: "
                    f"clearance {mm(clearance)} per side, {wanted}",
                    clearance,
                    wanted,
                    Level.WARNING,
                )
                continue
            for stock in these:
                if stock.name not in told and (
                    fault := _by_tolerance(group, stock, clearance, wanted, slack)
                ):
                    told.add(stock.name)
                    yield fault


def _by_tolerance(
    group: Sequence[Slot], stock: Stock, clearance: float, wanted: Wanted, slack: float
) -> Fault | None:
    """What slots of the right nominal clearance come to with a sheet that is as thick or as thin as
    it may be; None where they still fit."""
    off = thickness_tolerance(stock)
    least, most = clearance - off / 2.0, clearance + off / 2.0
    if least >= wanted.least - slack and most <= wanted.most + slack:
        return None
    return _slot(
        group,
        f"for {stock.name}: {stock.material} sold as {mm(stock.thickness)} is "
        f"{stock.thickness - off:.2f} to {mm(stock.thickness + off)} thick (ISO 7823-1), so the "
        f"clearance is {least:.2f} to {mm(most)} per side, {wanted}; measure the sheet",
        least if least < wanted.least - slack else most,
        wanted,
        Level.NOTE,
    )


def _slot(
    group: Sequence[Slot], says: str, clearance: float, wanted: Wanted, level: Level
) -> Fault:
    slot = group[0]
    number = "slot" if len(group) == 1 else f"{len(group)} slots"
    return Fault(
        message=f"{number} {mm(slot.width + slot.sheet.stock.slot)} wide finished, {says}",
        on=OnSheet(slot.sheet, slot.spot),
        at=slot.at,
        measured=clearance,
        required=wanted.least if clearance < wanted.least else wanted.most,
        part=slot.piece.name,
        others=tuple(("another such slot", OnSheet(s.sheet, s.spot)) for s in group[1:]),
        level=level,
    )


def _alike(slots: Sequence[Slot]) -> list[list[Slot]]:
    """Slots of one sheet and width together, in the order of the first of each."""
    groups: dict[tuple[str, float], list[Slot]] = {}
    for slot in slots:
        groups.setdefault((slot.sheet.label, round(slot.width, 2)), []).append(slot)
    return list(groups.values())


def _goes_in(slot: Slot, thickness: float) -> bool:
    """Whether a sheet may be meant to stand in a slot. A notch just as deep as the sheet is thick
    is one of a comb of fingers: those fit side by side."""
    return slot.closed or slot.depth >= 1.5 * thickness


def thickness_tolerance(stock: Stock) -> float:
    """By how much a sheet may be thicker or thinner than it is sold as, in mm; 0 where no standard
    is known."""
    if stock.material.casefold() in CAST_ACRYLIC:
        return 0.4 + 0.1 * stock.thickness
    return 0.0


CAST_ACRYLIC = frozenset({"cast acrylic", "cast acrylic sheet", "cast pmma"})
