"""blade-engraving: engraving on a stock that is cut with a blade."""

from collections.abc import Iterator

import numpy as np

from scantling.judge import Example, Fault, assigned, page, stocked
from scantling.plan.model import ENGRAVE, Lines, Plan, Stock

id = "blade-engraving"
level = "error"
title = "engraving on a stock that is cut with a blade"
why = """
A blade follows lines and cuts them: it takes no material away. What is to be engraved is left out,
or its outlines are cut through.
"""
remedy = """
Assign it to a stock that is cut by laser or router. Of a stock for blades cut it out, score its
lines, or make it a sheet of its own in another colour. Where the plotter holds an engraving tip
for it, turn this rule off in the job sheet.
"""
source = "common practice, no source"
BLADE = "blade"
_JOB = (
    stocked("film", "film", thickness="0.1 mm", process="{}")
    + assigned("#000", "film")
    + assigned("#06c", "film", "{}")
)
_BODY = (
    '<rect x="5" y="5" width="30" height="30"/>'
    '<rect x="10" y="10" width="20" height="20" fill="#06c"/>'
)
_LASER = stocked("ply", "plywood") + assigned("#000", "ply") + assigned("#06c", "ply", "engrave")
passes = (
    Example(page(_BODY), _LASER, "a laser takes material away"),
    Example(page(_BODY), _JOB.format("blade", "score"), "a blade may score lines"),
)
fails = (Example(page(_BODY), _JOB.format("blade", "engrave")),)


def applies(plan: Plan) -> bool:
    """Only where something is engraved on a stock for blades."""
    return any(
        sheet.stock.process == BLADE and bool(sheet.lines.of(ENGRAVE).any())
        for sheet in plan.sheets
    )


def check(lines: Lines, stock: Stock, plan: Plan) -> Iterator[Fault]:
    """One finding a sheet."""
    engraved = np.unique(lines.shape[lines.of(ENGRAVE)]).tolist()
    if stock.process != BLADE or not engraved:
        return
    first, *more = (plan.drawing.shapes[index] for index in engraved)
    what = f"{len(engraved)} shapes are" if more else f"{first.node.tag} is"
    yield Fault(
        message=f"{what} engraved on {stock.name}, but a blade only cuts along lines",
        on=first,
        others=tuple(("another engraved shape", shape) for shape in more),
    )
