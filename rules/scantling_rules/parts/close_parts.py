"""close-parts: parts of one sheet with little room between them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from scantling.judge import Example, Fault, page
from scantling.judge.limits import mm, short
from scantling.plan.model import Minimums, Stock, Tolerances

if TYPE_CHECKING:
    from scantling.measure.pieces.spacing import Spacing

id = "close-parts"
level = "note"
title = "parts of one sheet very near to each other"
why = """
Between two parts that are cut close to each other a sliver of waste is left, too thin to carry the
sheet: the parts shift once the first is loose, the heat of the second cut chars or crazes the edge
of the first, and slivers stand up into the head. What counts is the finished distance: the drawn
distance plus the kerf.
"""
remedy = """
Move the parts apart, or let them share one line. Where they must lie so, tape the sheet and cut
slowly.
"""
source = (
    "common practice, no source; gaps below the stock's minimum.gap are left to narrow-gap, and "
    "parts that share a line are meant to"
)
parameters = {
    "spacing": {
        "type": "number",
        "default": 1.0,
        "exclusiveMinimum": 0,
        "x-unit": "mm",
        "description": "least finished distance between two parts of a sheet",
    }
}
_BODY = '<rect x="5" y="5" width="12" height="20"/><rect x="{}" y="5" width="12" height="20"/>'
passes = (
    Example(page(_BODY.format(18.2)), note="1.2 mm drawn, 1.4 mm finished"),
    Example(page(_BODY.format(17)), note="they share a line"),
)
fails = (Example(page(_BODY.format(17.6)), note="0.6 mm drawn, 0.8 mm finished"),)


SHOWN = 200
"""pairs that are shown besides the nearest: where parts are crowded there are tens of thousands,
and the message counts them all"""


def check(
    spacing: Spacing,
    stock: Stock,
    minimum: Minimums,
    tolerances: Tolerances,
    options: Mapping[str, float],
) -> Iterator[Fault]:
    """One finding a sheet, by its nearest pair. It passes at the size at which all pairs do, those
    that narrow-gap reports among them."""
    wanted = options["spacing"]
    near = [
        pair
        for pair in spacing.nearer(wanted - stock.slot, tolerances.coincidence)
        if short(pair.distance + stock.slot, wanted, tolerances)
    ]
    gaps = [p for p in near if short(p.distance + stock.slot, minimum.gap, tolerances)]
    close = near[len(gaps) :]
    for k, pair in enumerate(near):
        fault = partial(
            Fault,
            on=pair.first.outer,
            at=pair.middle,
            measured=pair.distance + stock.slot,
            required=wanted,
            drawn=near[0].distance,
            needed=wanted - stock.slot,
            part=pair.first.name,
        )
        if not close or pair is not close[0]:
            yield fault(message="", told_by="narrow-gap" if k < len(gaps) else id)
            continue
        more = close[1:]
        shown = more[:SHOWN]
        apart = mm(pair.distance + stock.slot)
        many = f"{1 + len(more)} pairs of parts are near each other, the nearest"
        marked = f"; only the nearest {SHOWN + 1} are marked"
        yield fault(
            message=f"{many if more else 'parts'} {apart} apart finished; {mm(wanted)} "
            f"between parts cuts cleanly{marked if len(more) > SHOWN else ''}",
            others=(
                ("the part beside it", replace(pair.second.outer, at=tuple(pair.way[1].tolist()))),
                *(("another part with a near neighbour", other.first.outer) for other in shown),
            ),
            mark=(pair.way, *(other.way for other in shown)),
        )
