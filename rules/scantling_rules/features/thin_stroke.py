"""thin-stroke: a scored or engraved stroke too fine to show."""

from collections.abc import Iterator, Sequence

from scantling.judge import Example, Fault, page
from scantling.judge.limits import mm
from scantling.measure.model import ThinStroke
from scantling.plan.model import Minimums, Stock

id = "thin-stroke"
level = "warning"
title = "a scored or engraved stroke below the stock's minimum"
why = """
A stroke finer than the spot of the beam or the grain of the material comes out broken or not at
all. Strokes scale with the design: a logo drawn at poster size has hairlines at coaster size.
"""
remedy = """
Thicken the stroke or the engraved area, or make the design larger.
"""
source = "the stock's minimum.stroke, with the source that the stock table or the job sheet gives"
_JOB = """
[[stock]]
name = "ply"
material = "plywood"
thickness = "3 mm"
process = "laser"
minimum = {{ stroke = "0.2 mm" }}

[[assign]]
colour = "#000"
stock = "ply"
operation = "{}"
"""
_LINE = '<path d="M5 5L35 35" fill="none" stroke="#000" stroke-width="{}"/>'
passes = (
    Example(page(_LINE.format(0.4)), _JOB.format("score")),
    Example(page('<rect x="5" y="5" width="30" height="0.5"/>'), _JOB.format("engrave")),
)
fails = (
    Example(page(_LINE.format(0.1)), _JOB.format("score")),
    Example(
        page('<rect x="5" y="5" width="30" height="0.1"/>'),
        _JOB.format("engrave"),
        "an engraved area is as thin as its narrowest place",
    ),
)


def check(thin_strokes: Sequence[ThinStroke], stock: Stock, minimum: Minimums) -> Iterator[Fault]:
    for stroke in thin_strokes:
        if stroke.width < minimum.stroke - 1e-6:
            done = "scored" if stroke.operation == "score" else "engraved"
            yield Fault(
                message=f"{done} stroke {mm(stroke.width)} wide, "
                f"{stock.name} needs {mm(minimum.stroke)}",
                on=stroke.spot,
                at=stroke.at,
                measured=stroke.width,
                required=minimum.stroke,
                extent=stroke.length,
                drawn=stroke.width,
                needed=minimum.stroke,
            )
