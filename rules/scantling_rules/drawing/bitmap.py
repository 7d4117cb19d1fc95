"""bitmap: an embedded or linked raster picture."""

from collections.abc import Iterator, Sequence

from scantling.judge import Example, Fault, page
from scantling.plan.model import Plan
from scantling.read.drawing import Remark
from scantling_rules.guides import NOTES, on_guides

id = "bitmap"
level = "error"
title = "an embedded or linked picture made of pixels"
why = """
A picture of pixels has no outline: a cutter leaves it out, or engraves it as a grey block.
"""
remedy = """
Trace it to outlines, or take it out of the drawing; if it is a picture to be engraved, send it by
itself.
"""
source = "common practice, no source"
_RECT = '<rect x="5" y="5" width="30" height="30"/>'
_IMAGE = '<image x="5" y="5" width="9" height="9" href="data:image/png;base64,iVBORw0KGgo="/>'
passes = (
    Example(page(_RECT)),
    Example(page(f'{_RECT}<g id="notes">{_IMAGE}</g>'), NOTES, "on a layer of guides"),
)
fails = (Example(page(_RECT + _IMAGE)),)


def check(remarks: Sequence[Remark], plan: Plan) -> Iterator[Fault]:
    """Of a picture that is not seen hidden-lines tells."""
    for remark in remarks:
        if remark.kind == "bitmap" and not remark.hidden and not on_guides(remark.node, plan):
            yield Fault(message=remark.message, on=remark.node, offset=remark.offset)
