"""wrong-size: the drawing and the job disagree about the size."""

from collections.abc import Iterator

from scantling.judge import Example, Fault, page
from scantling.plan.model import Plan
from scantling.read.drawing import MM_PER_PX

id = "wrong-size"
level = "note"
title = "the drawing's own size is not the job's finished size"
why = """
The report judges the finished size; the file as it is would be cut at its own. And a width and a
height that do not fit the drawing's proportions cannot both be had.
"""
remedy = """
Scale the drawing to the finished size before it is sent, or correct the size in the job sheet.
"""
source = "common practice, no source"
parameters = {
    "within": {
        "type": "number",
        "default": 0.1,
        "minimum": 0,
        "x-unit": "mm",
        "description": "difference in finished width or height that is let pass",
    }
}
_BODY = '<rect x="5" y="5" width="30" height="20"/>'
passes = (Example(page(_BODY), width=30.0),)
fails = (Example(page(_BODY), width=60.0, note="the drawing is 30 mm wide"),)


def check(plan: Plan, options: dict[str, float]) -> Iterator[Fault]:
    if plan.extents is None:
        return
    wide = plan.extents[2] - plan.extents[0]
    high = plan.extents[3] - plan.extents[1]
    node = plan.drawing.page.node
    for wanted, got, word in zip(plan.asked, (wide, high), ("width", "height"), strict=True):
        if wanted is not None and abs(got - wanted) > options["within"]:
            yield Fault(
                message=f"the job wants {wanted:.2f} mm in {word}, but in the drawing's "
                f"proportions it comes out {wide:.2f} x {high:.2f} mm",
                on=node,
                measured=got,
                required=wanted,
            )
    factor = plan.scale / MM_PER_PX
    if plan.sized_by == "job" and plan.drawing.page.real:
        size, word = (high, "high") if _by_height(plan.asked, wide, high) else (wide, "wide")
        own = size / factor
        if abs(own - size) > options["within"]:
            yield Fault(
                message=f"the drawing is {own:.2f} mm {word}, the job wants {size:.2f} mm: "
                f"judged at {factor:.4g} times its size",
                on=node,
                measured=own,
                required=size,
            )


def _by_height(asked: tuple[float | None, float | None], wide: float, high: float) -> bool:
    """Whether the height decides the scale: it alone is asked for, or it is the one that is met."""
    width, height = asked
    if width is None or height is None:
        return width is None
    return abs(high - height) < abs(wide - width)
