"""What stands on a layer of guides: dimensions, notes, a photograph to draw over. It is never made,
so it need not be fit for it."""

from collections.abc import Iterable, Mapping, Sequence

from scantling.plan.model import GUIDE, Plan
from scantling.read.drawing import Shape
from scantling.read.place import names_of
from scantling.read.tree import Node

NOTES = """
[[assign]]
colour = "#000"
stock = "card-1.5"
operation = "cut"

[[assign]]
layer = "notes"
operation = "guide"
"""
"""A job sheet for examples: a layer of guides beside what is cut."""


def on_guides(node: Node, plan: Plan) -> bool:
    """Whether the innermost assigned layer around an element is one of guides."""
    layers = _layers(plan)
    around: Node | None = node if layers else None
    while around is not None:
        found = _first(names_of(around, own=around is node), layers)
        if found is not None:
            return found
        around = around.parent
    return False


def guide_if_seen(shape: Shape, plan: Plan) -> bool:
    """Whether a shape that is not seen would be a guide if it were: by its innermost assigned
    layer, or else by its colours."""
    layers = _layers(plan)
    for names in reversed(shape.layers):
        found = _first(names, layers)
        if found is not None:
            return found
    guides = {
        entry.colour[:3]
        for entry in plan.job.assignments
        if entry.colour is not None and entry.layer is None and entry.operation == GUIDE
    }
    paints = [paint for paint in (shape.fill, shape.stroke) if paint is not None]
    return bool(paints) and all(
        paint.colour is not None and paint.colour[:3] in guides for paint in paints
    )


def made(nodes: Iterable[Node], plan: Plan) -> set[Node]:
    """Those of some elements that draw anything which is seen and no guide, or that draw nothing
    at all and are on no layer of guides."""
    asked = set(nodes)
    idle: set[Node] = set()
    busy: set[Node] = set()
    guides = {shape.index for shape in plan.guides}
    for shape in plan.drawing.shapes if asked else ():
        unseen = shape.hidden not in ("", "clipped")  # of the clip itself nothing else tells
        group = idle if unseen or shape.index in guides else busy
        group |= asked.intersection(shape.around())
    return {node for node in asked - (idle - busy) if node in busy or not on_guides(node, plan)}


def _layers(plan: Plan) -> Mapping[str, bool]:
    """Whether they are guides, of the layers that are assigned as a whole."""
    return {
        entry.layer: entry.operation == GUIDE
        for entry in plan.job.assignments
        if entry.layer is not None and entry.colour is None
    }


def _first(names: Sequence[str], layers: Mapping[str, bool]) -> bool | None:
    return next((layers[name] for name in names if name in layers), None)
