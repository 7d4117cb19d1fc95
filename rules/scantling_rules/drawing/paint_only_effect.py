"""paint-only-effect: an effect that is seen on screen but not followed by the tool."""

import re
from collections.abc import Iterator, Sequence

from scantling.judge import Example, Fault, page
from scantling.plan.model import Plan
from scantling.read.drawing import Remark
from scantling_rules.guides import NOTES, made

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
_WIDE = '<defs><clipPath id="c"><circle cx="20" cy="20" r="30"/></clipPath></defs>'
passes = (
    Example(page(_RECT.format(""))),
    Example(page(_WIDE + _RECT.format(' clip-path="url(#c)"')), note="a clip that cuts nothing"),
    Example(page(_RECT.format("") + f'<g id="notes">{_DASHED}</g>'), NOTES, "on a layer of guides"),
)
fails = (
    Example(page(_CLIP + _RECT.format(' clip-path="url(#c)"')), note="a clip"),
    Example(page(_DASHED), note="dashes"),
)

_MARKER = re.compile("^marker-(start|mid|end)")


def check(remarks: Sequence[Remark], plan: Plan) -> Iterator[Fault]:
    """One finding for what is said of many elements in the same words, and for the markers of an
    element, however many of its nodes they mark. A clip that cuts nothing off is none. Of what is
    not seen at all hidden-lines tells."""
    effects = [remark for remark in remarks if remark.kind == "effect"]
    followed = made((remark.node for remark in effects), plan)
    groups: dict[str, list[Remark]] = {}
    for remark in effects:
        if remark.node in followed:
            groups.setdefault(_MARKER.sub("marker", remark.message), []).append(remark)
    for message, (first, *more) in groups.items():
        elements = dict.fromkeys(remark.node for remark in (first, *more))
        many = f" ({len(elements)} elements)" if len(elements) > 1 else ""
        yield Fault(
            message=message + many,
            on=first.node,
            offset=first.offset,
            others=tuple(("another such element", node) for node in list(elements)[1:]),
        )
