"""no-real-size: nothing says how big the finished thing is."""

from collections.abc import Iterator

from scantling.judge import Example, Fault, Level
from scantling.plan.model import Plan
from scantling.read.drawing import MM_PER_PX, PASSED_OVER, STYLED

id = "no-real-size"
level = "warning"
title = "neither the drawing nor the job gives a physical size"
why = """
A drawing made for a screen is measured in pixels. Programs take a pixel for 1/96, 1/72 or 1/90
inch, so the same file comes out at three sizes, and every width in this report depends on it. The
same goes for a size in the `style` of the outermost element: browsers read it there, and so does
this program where `width` and `height` leave it open, but not every program does.
"""
remedy = """
Give the finished width or height in the job sheet (or with `--width`), or write the drawing's
`width` and `height` in millimetres, as attributes.
"""
source = (
    "CSS Values and Units Level 4, section 6.2: 1in = 96px is the reference pixel, not a length "
    "on material; SVG 2, chapter 7: width and height are properties too, which a style may set"
)
_RECT = '<rect x="5" y="5" width="30" height="30"/></svg>'
passes = (
    Example(
        '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" '
        'viewBox="0 0 40 40">' + _RECT
    ),
    Example('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 40">' + _RECT, width=60.0),
)
fails = (
    Example('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 40">' + _RECT),
    Example(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 40" style="width:40mm">' + _RECT,
        note="judged at that size, and noted",
    ),
)


def check(plan: Plan) -> Iterator[Fault]:
    if plan.extents is None or plan.sized_by == "job":
        return
    page = plan.drawing.page
    if plan.sized_by == "screen":
        wide = plan.extents[2] - plan.extents[0]
        style = "; its style says another, but its width and height come first"
        yield Fault(
            message=f"no physical size: judged {wide:.2f} mm wide, taking 96 pixels to the inch"
            + (style if page.style == PASSED_OVER else ""),
            on=page.node,
        )
    elif page.style:
        size = f"{page.width * MM_PER_PX:.2f} x {page.height * MM_PER_PX:.2f} mm"
        said = {
            STYLED: f"the page's size of {size} stands in a style, where not every program looks: "
            "write it as width and height",
            PASSED_OVER: f"the page is {size} by its width and height and of another size by its "
            "style: programs differ in which they take",
        }
        yield Fault(message=said[page.style], on=page.node, level=Level.NOTE)
