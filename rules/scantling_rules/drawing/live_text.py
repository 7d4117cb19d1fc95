"""live-text: lettering that has not been turned into outlines."""

from collections.abc import Iterator, Sequence

from scantling.judge import Example, Fault
from scantling.plan.model import Plan
from scantling.read.drawing import Remark
from scantling_rules.guides import NOTES, on_guides

id = "live-text"
level = "error"
title = "text that is not converted to outlines"
why = """
A cutter follows lines. Live text is drawn by whichever font the opening computer has, so the
letters are left out, or come out in another face and at another size. Where they start is written
in the drawing; how far they reach is not, so the frame that marks them is estimated from their
size.
"""
remedy = """
Convert the text to outlines in the drawing program, and keep the live copy in another file or on a
layer of guides.
"""
source = "common practice, no source"
passes = (
    Example(
        '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="20mm" '
        'viewBox="0 0 40 20"><path d="M5 5h20v10h-20z"/>'
        '<g id="notes"><text x="5" y="4" font-size="3">20 mm</text></g></svg>',
        NOTES,
        "a dimension on a layer of guides",
    ),
    Example(
        '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="20mm" '
        'viewBox="0 0 40 20"><path d="M5 5h20v10h-20z"/></svg>'
    ),
)
fails = (
    Example(
        '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="20mm" '
        'viewBox="0 0 40 20"><text x="5" y="15" font-family="serif">Moon</text></svg>'
    ),
)


def check(remarks: Sequence[Remark], plan: Plan) -> Iterator[Fault]:
    """Of text that is not seen hidden-lines tells."""
    for remark in remarks:
        if remark.kind == "text" and not remark.hidden and not on_guides(remark.node, plan):
            yield Fault(message=remark.message, on=remark.node, offset=remark.offset)
