"""ambiguous-outline: a cut shape whose visible stroke makes it look bigger than it is cut."""

from collections.abc import Iterator

from scantling.judge import Example, Fault, page
from scantling.measure.distinct import distinct
from scantling.plan.model import BAND, CUT, Plan, Sheet
from scantling.read.drawing import Shape

id = "ambiguous-outline"
level = "warning"
title = "a cut shape whose stroke is so wide that what is seen is not what is cut"
why = """
The tool follows the middle of the stroke. On screen the shape ends at its outer edge (and a hole
at its inner edge), so the part comes out smaller by the stroke's width than it looks; a ring drawn
as one thick stroke is cut as a disc.
"""
remedy = """
Convert the stroke to an outline and unite it with the fill if its outer edge was meant; make it a
hairline if its middle was meant.
"""
source = "common practice, no source"
parameters = {
    "visible": {
        "type": "number",
        "default": BAND,
        "exclusiveMinimum": 0,
        "x-unit": "mm",
        "description": "stroke width at finished size from which the difference counts",
    }
}
_BODY = '<circle cx="20" cy="20" r="14" fill="{}" stroke="#000" stroke-width="{}"/>'
passes = (
    Example(page(_BODY.format("none", 0.1))),
    Example(page(_BODY.format("#000", 0.2))),
)
fails = (
    Example(page(_BODY.format("none", 3)), note="a ring on screen, a disc on the machine"),
    Example(page(_BODY.format("#000", 3)), note="1.5 mm larger all round on screen"),
)


def check(plan: Plan, sheet: Sheet, options: dict[str, float]) -> Iterator[Fault]:
    """One finding for all shapes of a sheet that have a stroke of one width."""
    lines = sheet.lines
    cut = lines.of(CUT)
    by_width: dict[float, list[Shape]] = {}
    for index in distinct(lines.shape[cut]):
        shape = plan.drawing.shapes[int(index)]
        if shape.stroke is None:
            continue
        width = shape.stroke_width * plan.scale
        if width >= options["visible"]:
            by_width.setdefault(round(width, 3), []).append(shape)
    for width, (first, *more) in by_width.items():
        many = f" around {1 + len(more)} shapes" if more else ""
        yield Fault(
            message=f"stroke {width:.2f} mm wide{many}, but the cut follows its middle: what is "
            f"seen ends {width / 2:.2f} mm further out",
            on=first,
            measured=width,
            required=options["visible"],
            others=tuple(("another such shape", shape) for shape in more),
        )
