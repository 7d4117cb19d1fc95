"""paint-only-effect: an effect that is seen on screen but not followed by the tool."""

from collections.abc import Iterator, Sequence

from scantling.judge import Example, Fault, page
from scantling.read.drawing import Remark

id = "paint-only-effect"
level = "warning"
title = "clips, masks, filters, gradients, patterns, markers, dashes: seen, not followed"
why = """
A clip hides on screen what the machine still cuts; a dashed line is cut through; a gradient, a
pattern, a marker or a filter has no line at all to follow.
"""
remedy = """
Apply the effect to the geometry in the drawing program (intersect with the clip, expand dashes
and markers to paths), or remove it.
"""
source = "common practice, no source"
_RECT = '<rect x="5" y="5" width="30" height="30"{}/>'
_CLIP = '<defs><clipPath id="c"><circle cx="20" cy="20" r="10"/></clipPath></defs>'
_DASHED = '<path d="M5 5H35V35H5Z" fill="none" stroke="#000" stroke-dasharray="2 1"/>'
passes = (Example(page(_RECT.format(""))),)
fails = (
    Example(page(_CLIP + _RECT.format(' clip-path="url(#c)"')), note="a clip"),
    Example(page(_DASHED), note="dashes"),
)


def check(remarks: Sequence[Remark]) -> Iterator[Fault]:
    for remark in remarks:
        if remark.kind == "effect":
            yield Fault(message=remark.message, on=remark.node, offset=remark.offset)
