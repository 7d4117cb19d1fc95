"""no-real-size: nothing says how big the finished thing is."""

from collections.abc import Iterator

from scantling.judge import Example, Fault
from scantling.plan.model import Plan

id = "no-real-size"
level = "warning"
title = "neither the drawing nor the job gives a physical size"
why = """
A drawing made for a screen is measured in pixels. Programs take a pixel for 1/96, 1/72 or 1/90
inch, so the same file comes out at three sizes, and every width in this report hangs on it.
"""
remedy = """
Give the finished width or height in the job sheet (or with `--width`), or write the drawing's
`width` and `height` in millimetres.
"""
source = (
    "CSS Values and Units Level 4, section 6.2: 1in = 96px is the reference pixel, not a length "
    "on material"
)
_RECT = '<rect x="5" y="5" width="30" height="30"/></svg>'
passes = (
    Example(
        '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" '
        'viewBox="0 0 40 40">' + _RECT
    ),
    Example('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 40">' + _RECT, width=60.0),
)
fails = (Example('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 40">' + _RECT),)


def check(plan: Plan) -> Iterator[Fault]:
    if plan.sized_by == "screen" and plan.extents is not None:
        wide = plan.extents[2] - plan.extents[0]
        yield Fault(
            message=f"no physical size: judged {wide:.2f} mm wide, taking 96 pixels to the inch",
            on=plan.drawing.page.node,
        )
