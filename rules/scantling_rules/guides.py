"""What stands on a layer of guides: dimensions, notes, a photograph to draw over. It is never made,
so it need not be fit for it."""

from scantling.plan.model import GUIDE, Plan
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
    layers = {
        entry.layer: entry.operation == GUIDE
        for entry in plan.job.assignments
        if entry.layer is not None and entry.colour is None
    }
    around: Node | None = node if layers else None
    while around is not None:
        for name in names_of(around, own=around is node):
            if name in layers:
                return layers[name]
        around = around.parent
    return False
