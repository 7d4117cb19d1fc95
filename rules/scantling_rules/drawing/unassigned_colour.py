"""unassigned-colour: painted geometry that the job sheet gives no stock."""

from collections.abc import Iterator

from scantling.judge import Example, Fault, assigned, page, stocked
from scantling.plan.model import Plan

id = "unassigned-colour"
level = "error"
title = "a colour or layer without a stock and an operation"
why = """
What has no assignment is not made. A colour that is a shade off its neighbour, after an export or
an edit, quietly drops its shapes from the job.
"""
remedy = """
Give the colour or layer an `[[assign]]` entry in the job sheet, with operation `guide` if it is
never made, or recolour the shape to the assigned colour that was meant.
"""
source = (
    "colour difference: CIE DE2000, ISO/CIE 11664-6:2014; 'close' below `near`: common practice, "
    "no source"
)
parameters = {
    "near": {
        "type": "number",
        "default": 10.0,
        "minimum": 0,
        "maximum": 100,
        "description": "CIEDE2000 difference up to which an assigned colour is named as the "
        "likely intent",
    }
}
_JOB = stocked("walnut", "plywood") + assigned("#7a4b2a", "walnut")
_BODY = '<rect x="5" y="5" width="30" height="30" fill="{}"/>'
passes = (Example(page(_BODY.format("#7a4b2a")), _JOB),)
fails = (
    Example(page(_BODY.format("#7b4b2a")), _JOB, "one step of red away"),
    Example(page(_BODY.format("teal")), _JOB, "no colour close by"),
)


def check(plan: Plan, options: dict[str, float]) -> Iterator[Fault]:
    for item in plan.unassigned:
        what = item.colour.hex if item.colour else item.paint
        message = f"{what} has no stock and no operation"
        if item.nearest is not None and (item.difference or 0.0) <= options["near"]:
            message += f"; the nearest assigned colour is {item.nearest}"
            message += f" (colour difference {item.difference:.1f})"
        yield Fault(message=message, on=item.shape)
