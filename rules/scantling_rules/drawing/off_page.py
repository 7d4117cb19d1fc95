"""off-page: geometry outside the drawing's page."""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from scantling.judge import Example, Fault, page
from scantling.plan.model import Plan
from scantling.read.drawing import Remark
from scantling_rules.told import told_of

id = "off-page"
level = "warning"
title = "geometry wholly or partly outside the page"
why = """
Outside the page nothing is seen on screen, yet the machine follows it: off the sheet, or into the
neighbouring job. A clip at the page's edge does not cut the outline either.
"""
remedy = """
Move or delete it, or enlarge the page (`viewBox`) so that what is made can be seen.
"""
source = "common practice, no source"
parameters = {
    "within": {
        "type": "number",
        "default": 0.1,
        "minimum": 0,
        "x-unit": "mm",
        "description": "how far geometry may reach beyond the page; a drawing that fills its page "
        "does so by the rounding of its coordinates",
    }
}
_BODY = '<rect x="5" y="5" width="20" height="20"/>{}'
passes = (
    Example(page(_BODY.format('<rect x="30" y="30" width="10" height="10"/>'))),
    Example(
        page(_BODY.format('<rect x="30" y="30" width="10.04" height="8"/>')),
        note="0.04 mm is rounding",
    ),
    Example(
        page(_BODY.format('<rect x="30" y="30" width="15" height="8" fill="#00f"/>')),
        job='[[assign]]\ncolour = "#000"\nstock = "card-1.5"\noperation = "cut"\n'
        '[[assign]]\ncolour = "#00f"\noperation = "guide"\n',
        note="a guide",
    ),
)
fails = (
    Example(page(_BODY.format('<rect x="30" y="30" width="15" height="8"/>')), note="partly"),
    Example(page(_BODY.format('<rect x="50" y="50" width="8" height="8"/>')), note="wholly"),
)


def check(plan: Plan, options: Mapping[str, float], remarks: Sequence[Remark]) -> Iterator[Fault]:
    """Of a shape that a clip cuts off paint-only-effect tells."""
    drawing, scale = plan.drawing, plan.scale
    if not len(drawing.curves.shape):
        return
    box = plan.boxes
    page = (drawing.page.width, drawing.page.height)
    beyond = np.maximum(np.maximum(-box[:, :2], box[:, 2:] - page), 0.0).max(axis=1) * scale
    within = max(options["within"], plan.job.chord)
    if beyond.max() <= within:
        return
    outside = (box[:, 0] > page[0]) | (box[:, 1] > page[1]) | (box[:, 2] < 0) | (box[:, 3] < 0)
    clipped = {
        remark.node for remark in remarks if remark.kind == "effect" and "clip" in remark.word
    }
    guides = {shape.index for shape in plan.guides}  # never made, and often beside the page
    for shape in drawing.shapes:
        if shape.hidden or not len(shape.contours) or shape.index in guides:
            continue
        own = slice(shape.contours.start, shape.contours.stop)
        far = float(beyond[own].max())
        if far <= within:
            continue
        wholly = bool(outside[own].all())
        middle = (box[own, :2].min(axis=0) + box[own, 2:].max(axis=0)) * (scale / 2)
        yield Fault(
            message=f"{shape.node.tag} lies {'wholly' if wholly else 'partly'} outside the page, "
            f"by {far:.2f} mm",
            on=shape,
            at=(float(middle[0]), float(middle[1])),
            measured=far,
            required=options["within"],
            told_by=""
            if clipped.isdisjoint(shape.around())
            else told_of(plan, "paint-only-effect"),
        )
