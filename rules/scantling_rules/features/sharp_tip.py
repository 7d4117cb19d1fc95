"""sharp-tip: a taper that stays thin for too long."""

from collections.abc import Iterator, Mapping, Sequence

from scantling.judge import Example, Fault, page
from scantling.judge.limits import mm
from scantling.measure.model import Piece, Tip
from scantling.plan.model import Minimums, Stock

id = "sharp-tip"
level = "warning"
title = "a tip that is thin for longer than the allowance"
why = """
Every sharp corner ends in nothing, and that is no fault. A long slender tip is: its end chars,
curls or breaks off, and what breaks off leaves the part blunt at some random place.
"""
remedy = """
Round the tip, cut it off where it reaches the minimum, or widen the taper.
"""
source = "common practice, no source: the stock's minimum.web, and an allowance in multiples of it"
parameters = {
    "allowance": {
        "type": "number",
        "default": 3.0,
        "exclusiveMinimum": 0,
        "description": "how long a tip may stay below the minimum, in multiples of the minimum; "
        "a straight taper of 19 degrees has 3",
    }
}
_BODY = '<path d="{}"/>'
passes = (
    Example(page(_BODY.format("M20 3L24 15L37 15L26 22L30 35L20 27L10 35L14 22L3 15L16 15Z"))),
    Example(page(_BODY.format("M5 35H35L20 5Z")), note="a corner of 53 degrees"),
)
fails = (
    Example(page(_BODY.format("M16 36H24L20 4Z")), note="a taper of 14 degrees"),
    Example(
        page(_BODY.format("M20 5A15 15 0 0 1 20 35A15.3 15.3 0 0 0 20 5Z")),
        note="a crescent's horns",
    ),
)


def check(
    tips: Sequence[Tip],
    pieces: Sequence[Piece],
    stock: Stock,
    minimum: Minimums,
    options: Mapping[str, float],
) -> Iterator[Fault]:
    names = {piece.number: piece.name for piece in pieces}
    allowed = options["allowance"] * minimum.web
    for tip in tips:
        thin = tip.length_below(minimum.web + stock.slot)
        if thin <= allowed:
            continue
        yield Fault(
            message=f"tip is thinner than {mm(minimum.web)} finished for {mm(thin)}, "
            f"{stock.name} allows {mm(allowed)}",
            on=tip.spot,
            measured=thin,
            required=allowed,
            extent=thin,
            part=names.get(tip.piece, ""),
            mark=(tip.path,),
        )
