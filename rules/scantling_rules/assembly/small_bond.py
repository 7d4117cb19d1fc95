"""small-bond: too little contact for the adhesive that holds a part on what is below it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import partial
from itertools import islice
from typing import TYPE_CHECKING, Any

from scantling.judge import Example, Fault, Level, OnSheet, assigned, page, stocked
from scantling.judge.limits import least_factor, mm
from scantling.measure.model import Piece
from scantling.plan.model import Plan, Stock

if TYPE_CHECKING:
    from scantling.measure.assembly.stack import Rest, Stacked

id = "small-bond"
level = "warning"
title = "too little contact between a part and what is below it for the adhesive"
why = """
Sheet adhesive (transfer tape, double-sided film) holds poorly on small areas and on thin strips:
its edges lift, and a part with little contact comes off. Liquid adhesive holds on less, but it too
needs some area that can be wetted.

Contact is where the finished part and the finished parts that it lies on touch, in the order of the
design's stack. A part holds by its widest places, so its contact is as wide as the largest disc
that goes into it: a thin tail beside a broad body does no harm. Of a part too small to be handled
small-part speaks, not this rule.
"""
remedy = """
Where the finding is a note, use liquid adhesive for this part: nothing needs to be redrawn.
Otherwise make the contact larger, let the part into an opening, or make it one with its neighbour.
"""
source = "common practice, no source"
parameters = {
    "adhesive": {
        "type": "string",
        "enum": ["sheet", "liquid"],
        "default": "sheet",
        "description": "what parts are held with; liquid: only its own limits are judged",
    },
    "sheet-area": {
        "type": "number",
        "default": 100,
        "minimum": 0,
        "description": "least contact for sheet adhesive, in mm²",
    },
    "sheet-width": {
        "type": "number",
        "default": 4.0,
        "minimum": 0,
        "x-unit": "mm",
        "description": "width that the contact must have somewhere for sheet adhesive",
    },
    "liquid-area": {
        "type": "number",
        "default": 10,
        "minimum": 0,
        "description": "least contact for liquid adhesive, in mm²",
    },
    "liquid-width": {
        "type": "number",
        "default": 1.0,
        "minimum": 0,
        "x-unit": "mm",
        "description": "width that the contact must have somewhere for liquid adhesive",
    },
    "self-adhesive": {
        "type": "array",
        "items": {"type": "string"},
        "default": ["adhesive film", "self-adhesive film", "sign film", "vinyl", "vinyl film"],
        "description": "materials that bring their adhesive along: not judged",
    },
}
_JOB = (
    stocked("base", "plywood")
    + stocked("top", "{}", thickness="{}", process="{}")
    + assigned("#7a4b2a", "base")
    + assigned("#e9e4d8", "top")
    + """
[[design]]
files = "*.svg"
stack = ["base", "top"]
"""
)
_ACRYLIC = _JOB.format("cast acrylic", "3 mm", "laser")
_BODY = '<path fill="#7a4b2a" d="M5 5H35V35H5Z"/><path fill="#e9e4d8" d="{}"/>'
passes = (
    Example(page(_BODY.format("M10 10H22V20H10Z")), _ACRYLIC),
    Example(
        page(_BODY.format("M10 10H17V17H10Z")),
        _JOB.format("adhesive film", "0.1 mm", "blade"),
        "film sticks by itself",
    ),
)
fails = (
    Example(page(_BODY.format("M10 10H17V17H10Z")), _ACRYLIC, "46 mm²: liquid adhesive"),
    Example(page(_BODY.format("M8 10H33V13H8Z")), _ACRYLIC, "a strip of 3 mm"),
    Example(page(_BODY.format("M33 10H55V20H33Z"), 60), _ACRYLIC, "hardly any contact"),
)


def _too_small(part: Piece, stock: Stock) -> bool:
    """Whether small-part reports a part: one cause, one finding."""
    return part.sides[0] - stock.slot < max(stock.minimum.part, stock.bed_opening or 0.0)


def _drawn_side(rest: Rest, stacked: Stacked, area: float, width: float) -> float | None:
    """The part's longer side, as drawn, at the size from which its contact is enough."""

    def passes(scale: float) -> bool:
        larger = rest.enlarged(stacked.bodies, scale)
        return float(larger.contact.area) >= area and larger.holds(width)

    scale = least_factor(passes)
    return None if scale is None else scale * rest.body.piece.sides[0]


NEEDS = {
    "sheet": "use liquid adhesive: sheet adhesive needs",
    "liquid": "too little even for liquid adhesive, which needs",
}


def applies(plan: Plan) -> bool:
    return plan.design is not None and len(plan.design.stack) > 1


def check(stacked: Stacked, plan: Plan, options: Mapping[str, Any]) -> Iterator[Fault]:
    """A finding passes at the size from which the contact is enough for the same adhesive. Another
    stock hardly helps: it differs by no more than its kerf, if it is not self-adhesive."""
    slack = 2.0 * plan.job.chord
    itself = {word.casefold() for word in options["self-adhesive"]}
    limits: list[tuple[str, Level | None]] = [("liquid", None)]
    if options["adhesive"] == "sheet":
        limits.append(("sheet", Level.NOTE))
    for rest in stacked.rests:
        sheet, part = rest.body.sheet, rest.body.piece
        if not rest.on or sheet.stock.material.casefold() in itself:
            continue
        if _too_small(part, sheet.stock):
            continue
        faults = (
            _weak(rest, stacked, adhesive, options, slack, milder) for adhesive, milder in limits
        )
        yield from islice(filter(None, faults), 1)


def _weak(
    rest: Rest,
    stacked: Stacked,
    adhesive: str,
    options: Mapping[str, Any],
    slack: float,
    milder: Level | None,
) -> Fault | None:
    """What is wrong with the contact of a part for an adhesive; None where it is enough."""
    sheet, part = rest.body.sheet, rest.body.piece
    below = stacked.bodies[rest.on[0]]
    least_area, least_width = options[f"{adhesive}-area"], options[f"{adhesive}-width"]
    fault = partial(
        Fault,
        on=OnSheet(sheet, part.outer),
        at=part.centre,
        part=part.name,
        others=(
            ("the part below it", OnSheet(below.sheet, replace(below.piece.outer, at=part.centre))),
        ),
        level=milder,
        drawn=part.sides[0],
        needed=partial(_drawn_side, rest, stacked, least_area, least_width),
    )
    what, needs = f"contact with {below.sheet.label} is", NEEDS[adhesive]
    area = float(rest.contact.area)
    # an outline that may be off by the slack makes an area that may be off by so much
    if area < least_area - slack * rest.contact.length / 2.0:
        return fault(
            message=f"{what} {area:.1f} mm², {needs} {least_area:g} mm²",
            measured=area,
            required=float(least_area),
            unit="mm2",
        )
    if not rest.holds(least_width - slack):
        return fault(
            message=f"{what} {mm(rest.widest)} wide at its widest, {needs} {mm(least_width)}",
            measured=rest.widest,
            required=float(least_width),
        )
    return None
