"""broken-reference: a reference to something that is not there."""

from collections.abc import Iterator, Sequence

from scantling.judge import Example, Fault, page
from scantling.plan.model import Plan
from scantling.read.drawing import Remark
from scantling_rules.guides import NOTES, on_guides

id = "broken-reference"
level = "error"
title = "a reference to a missing id or to an outside file"
why = """
What is referred to is not drawn, on screen or on the machine. A file outside the drawing is never
fetched: the drawing must hold all that is cut.
"""
remedy = """
Put the missing thing into the drawing, or remove the reference.
"""
source = (
    "SVG 2, section 5.5 (the use element) and section 16.1 (linking): a reference that cannot be "
    "resolved renders nothing"
)
passes = (
    Example(page('<defs><rect id="a" width="30" height="30"/></defs><use href="#a" x="5" y="5"/>')),
    Example(
        page('<rect x="5" y="5" width="30" height="30"/><g id="notes"><use href="#gone"/></g>'),
        NOTES,
        "on a layer of guides",
    ),
)
fails = (
    Example(
        page('<rect x="5" y="5" width="30" height="30"/><use href="#gone"/>'),
        note="the id does not exist",
    ),
    Example(
        page('<rect x="5" y="5" width="30" height="30"/><use href="other.svg#a"/>'),
        note="another file",
    ),
)


def check(remarks: Sequence[Remark], plan: Plan) -> Iterator[Fault]:
    for remark in remarks:
        if remark.kind == "reference" and not on_guides(remark.node, plan):
            yield Fault(message=remark.message, on=remark.node, offset=remark.offset)
