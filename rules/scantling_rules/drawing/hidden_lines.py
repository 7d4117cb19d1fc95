"""hidden-lines: geometry that is not seen but that a machine would still follow."""

from collections.abc import Iterator, Mapping, Sequence

from scantling.judge import Example, Fault, page
from scantling.plan.model import Plan
from scantling.read.drawing import Drawing, Remark
from scantling_rules.guides import NOTES, guide_if_seen, on_guides
from scantling_rules.told import told_of

id = "hidden-lines"
level = "warning"
title = "geometry that is not painted but is still in the file"
why = """
Machines follow lines, not paint. A hidden layer, a leftover construction line, a box without fill
and stroke or a shape outside its clip is cut all the same by many programs. Hidden text or a hidden
picture may come out there too.
"""
remedy = """
Delete it, or keep it in a file of its own or on a layer of guides. This report judges only what is
seen.
"""
source = "common practice, no source"
_BODY = '<rect x="5" y="5" width="30" height="30"/>{}'
passes = (
    Example(page(_BODY.format(""))),
    Example(
        page(_BODY.format('<g id="notes" display="none"><path d="M0 20h40"/></g>')),
        NOTES,
        "on a layer of guides",
    ),
)
fails = (
    Example(
        page(_BODY.format('<path d="M0 0h40v40H0z" fill="none"/>')), note="neither fill nor stroke"
    ),
    Example(page(_BODY.format('<g display="none"><circle cx="20" cy="20" r="5"/></g>'))),
    Example(page(_BODY.format('<circle cx="20" cy="20" r="5" opacity="0"/>'))),
    Example(
        page(_BODY.format('<text display="none" x="9" y="20">live copy</text>')), note="hidden text"
    ),
)
_REASONS: Mapping[str, str] = {
    "display": "its display is none",
    "visibility": "its visibility is hidden",
    "opacity": "its opacity is 0",
    "no paint": "it has neither fill nor stroke",
    "clipped": "it lies outside its clip",
    "condition": "a condition or a switch leaves it out",
    "transform": "its transform leaves nothing of it",
    "viewport": "the viewport or viewBox that it is drawn in has no size",
}


def check(drawing: Drawing, remarks: Sequence[Remark], plan: Plan) -> Iterator[Fault]:
    """Of a shape whose paint refers to nothing broken-reference tells."""
    unpainted = {
        remark.node
        for remark in remarks
        if remark.kind == "reference" and remark.message.startswith(("fill ", "stroke "))
    }
    for shape in drawing.shapes:
        if not shape.hidden or not len(shape.contours) or guide_if_seen(shape, plan):
            continue
        broken = shape.hidden == "no paint" and not unpainted.isdisjoint(shape.around())
        yield Fault(
            message=f"{shape.node.tag} is not seen ({_REASONS[shape.hidden]}) "
            "but a machine would still follow it",
            on=shape,
            told_by=told_of(plan, "broken-reference") if broken else "",
        )
    for remark in remarks:
        if remark.hidden and not on_guides(remark.node, plan):
            yield Fault(
                message=f"{remark.message} ({_REASONS[remark.hidden]}) but is still in the file",
                on=remark.node,
                offset=remark.offset,
            )
