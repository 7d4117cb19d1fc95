"""unsupported-part: an upper part that does not rest on the layers below."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from scantling.judge import Example, Fault, Level, OnSheet, assigned, page, stocked
from scantling.judge.limits import mm
from scantling.plan.model import Plan

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scantling.measure.assembly.stack import Rest, Stacked

id = "unsupported-part"
level = "error"
title = "an upper part that does not rest on the layers below"
why = """
A part with nothing below it cannot be glued on at all. One that reaches far beyond what carries it
tips over while the glue sets, catches on clothes and cloths, and breaks off at the edge.

Parts are laid on one another as drawn, layer by layer in the order of the design's stack. A part
lies on the highest of what is below it: one that lies wholly in an opening of the layer below lies
on the layer beneath. What lies between two places that carry a part is carried too. A part with
nothing below but with other parts close around most of its outline is an inlay, held by its fit.
A copy of a part that is carried, laid beside all that is below, is taken for a spare: a note.
"""
remedy = """
Move the part, make it or what is below it larger, or give it a support of its own. Where the order
of the layers is wrong, change the design's stack in the job sheet.
"""
source = "common practice, no source"
parameters = {
    "carried": {
        "type": "number",
        "default": 0.5,
        "minimum": 0,
        "maximum": 1,
        "description": "least share of a part's area that is carried",
    },
    "overhang": {
        "type": "number",
        "default": 3.0,
        "minimum": 0,
        "description": "how far a part may reach beyond what carries it, in multiples of its "
        "thickness; further is a warning",
    },
    "least-overhang": {
        "type": "number",
        "default": 2.0,
        "minimum": 0,
        "x-unit": "mm",
        "description": "how far any part may, however thin it is",
    },
}
_JOB = (
    stocked("base", "plywood")
    + stocked("top", "cast acrylic")
    + assigned("#7a4b2a", "base")
    + assigned("#e9e4d8", "top")
    + """
[[design]]
files = "*.svg"
stack = ["base", "top"]
"""
)
_BODY = '<path fill="#7a4b2a" fill-rule="evenodd" d="{}"/><path fill="#e9e4d8" d="{}"/>'
_PLATE = "M5 5H35V35H5Z"
_RING = _PLATE + "M10 10V30H30V10Z"
passes = (
    Example(page(_BODY.format(_PLATE, "M20 10H40V20H20Z")), _JOB, "5 mm over the edge"),
    Example(page(_BODY.format(_RING, "M8 8H32V32H8Z")), _JOB, "a lid on a rim"),
    Example(page(_BODY.format(_RING, "M10 10H30V30H10Z")), _JOB, "an inlay"),
)
fails = (
    Example(page(_BODY.format(_RING, "M14 14H26V26H14Z")), _JOB, "loose in the opening"),
    Example(page(_BODY.format(_PLATE, "M30 10H55V20H30Z"), 60), _JOB, "it tips over"),
    Example(page(_BODY.format(_PLATE, "M7 10H55V20H7Z"), 60), _JOB, "a long overhang: a warning"),
)


def applies(plan: Plan) -> bool:
    return plan.design is not None and len(plan.design.stack) > 1


def check(stacked: Stacked, plan: Plan, options: Mapping[str, float]) -> Iterator[Fault]:
    slack = 2.0 * plan.job.chord
    for _, layer in groupby(stacked.rests, lambda rest: rest.body.layer):
        rests = list(layer)
        loose = [rest for rest in rests if not rest.on and not rest.held and not rest.spare]
        spares = [rest for rest in rests if rest.spare]
        if len(loose) == len(rests) > 1:
            yield _whole_layer(loose)
        else:
            yield from map(_loose, loose)
        if spares:
            yield _spares(spares)
        for rest in rests:
            if rest.on:
                yield from _carried(rest, stacked, options, slack)


def _whole_layer(loose: Sequence[Rest]) -> Fault:
    """A layer that lies beside the others as a whole: one cause, one finding."""
    sheet, part = loose[0].body.sheet, loose[0].body.piece
    return Fault(
        message=f"none of the {len(loose)} parts of {sheet.label} has any layer of the stack "
        f"below it",
        on=OnSheet(sheet, part.outer),
        at=part.centre,
        measured=0.0,
        unit="%",
        others=tuple(("another of them", OnSheet(sheet, r.body.piece.outer)) for r in loose[1:]),
    )


def _spares(spares: Sequence[Rest]) -> Fault:
    """Copies beside the stack: spares, or cut to make a jig by."""
    sheet, part = spares[0].body.sheet, spares[0].body.piece
    some = "a part lies" if len(spares) == 1 else f"{len(spares)} parts lie"
    return Fault(
        message=f"{some} beside the stack, of the same outline as others of {sheet.label}: taken "
        f"for spare",
        on=OnSheet(sheet, part.outer),
        at=part.centre,
        part=part.name,
        others=tuple(("another of them", OnSheet(sheet, r.body.piece.outer)) for r in spares[1:]),
        level=Level.NOTE,
    )


def _loose(rest: Rest) -> Fault:
    sheet, part = rest.body.sheet, rest.body.piece
    return Fault(
        message="part has no layer of the stack below it",
        on=OnSheet(sheet, part.outer),
        at=part.centre,
        measured=0.0,
        unit="%",
        part=part.name,
        mark=_rings(rest.body.shape),
    )


def _carried(
    rest: Rest, stacked: Stacked, options: Mapping[str, float], slack: float
) -> Iterator[Fault]:
    sheet, part = rest.body.sheet, rest.body.piece
    below = [stacked.bodies[k] for k in rest.on]
    names = " and ".join(dict.fromkeys(body.sheet.label for body in below))
    fault = partial(
        Fault,
        on=OnSheet(sheet, part.outer),
        at=rest.furthest,
        extent=rest.overhang,
        part=part.name,
        others=tuple(
            ("the part below it", OnSheet(b.sheet, replace(b.piece.outer, at=rest.furthest)))
            for b in below[:1]
        ),
    )
    allowed = max(options["least-overhang"], options["overhang"] * sheet.stock.thickness)
    least = options["carried"]
    share = f"{int(100 * rest.carried)} % of its area"
    if rest.carried < least - 1e-6 and rest.overhang > slack:
        yield fault(
            message=f"part is carried by {names} on {share}, {100 * least:.0f} % are needed; "
            f"it overhangs by {mm(rest.overhang)}",
            measured=100 * rest.carried,
            required=100 * least,
            unit="%",
            mark=_rings(rest.overhanging),
        )
    elif rest.overhang > allowed + slack:
        yield fault(
            message=f"part overhangs {names} by {mm(rest.overhang)}, {mm(allowed)} are usual; "
            f"{share} is carried",
            measured=rest.overhang,
            required=allowed,
            mark=_rings(rest.overhanging),
            level=Level.WARNING,
        )


def _rings(shape: object) -> tuple[NDArray[np.float64], ...]:
    """Outlines for pictures, to a twentieth of a millimetre."""
    import shapely

    plain = shapely.simplify(shape, 0.05)
    rings = shapely.get_exterior_ring(shapely.get_parts(plain))
    return tuple(shapely.get_coordinates(ring) for ring in rings if ring is not None)
