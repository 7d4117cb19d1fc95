"""double-engraving: keep one of several engraved shapes that cover the same.

The upper copies go where all are painted alike and nothing is painted between them; else those
below the uppermost, which are not seen. What is engraved, and what is seen, stays as it is.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from scantling.measure.model import Spot
from scantling.measure.pieces.doubled import groups, largest, spot_in, start_of
from scantling.measure.pieces.engraving import Engraving
from scantling.mend.cover import opaque, parted
from scantling.mend.edit import Edit
from scantling.mend.path import Unwritable
from scantling.mend.repair import Case, Found, Refusal, Repair
from scantling.mend.taking import free, whole
from scantling.read.drawing import Shape
from scantling.read.tree import Node

rule = "double-engraving"

SAME, OVER = "the same shape is there", "lie on each other"
"""What tells findings about copies from the others at one place, as the rule words them."""


def repairs(case: Case) -> Found:
    """One repair for the copies of a shape, as there is one finding."""
    for same in case.fact("copies"):
        on = start_of(same[-1], case.lines)
        try:
            yield _mended(case, on, [case.shape(contour) for contour in same])
        except Unwritable as error:
            yield Refusal(on, str(error), words=SAME)
    engraving: Engraving = case.fact("engraving")
    for group in groups(case.fact("overlaid"), case.options["trap"], case.lines):
        most = largest(group)
        on = spot_in(most.polygon, most.contours[-1], case.lines, engraving)
        why = "its shapes are not the same one: nobody can tell which is meant"
        yield Refusal(on, why, words=OVER)


def _mended(case: Case, on: Spot, copies: Sequence[Shape]) -> Repair:
    """`copies` are in drawing order."""
    lowest, uppermost = copies[0], copies[-1]
    _no_effects(case, copies)
    if not _plain(uppermost):
        raise Unwritable("it may be seen through, so that one looks other than the two together")
    looks = {(shape.fill, shape.opacity, shape.stroke and _stroke(shape)) for shape in copies}
    either = len(looks) == 1 and not parted(case, lowest, uppermost)
    try:
        return _without(case, on, copies[1:] if either else copies[:-1], copies)
    except Unwritable:
        if not either:
            raise
        return _without(case, on, copies[:-1], copies)


def _without(case: Case, on: Spot, gone: Sequence[Shape], copies: Sequence[Shape]) -> Repair:
    (kept,) = (shape for shape in copies if all(shape is not other for other in gone))
    edits: list[Edit] = []
    nodes: list[Node] = []
    for shape in gone:
        if shape.stroke is not None and _stroke(shape) != _stroke(kept):
            raise Unwritable("its stroke would go with it")
        free(case, shape)
        node, new = whole(case, shape)
        nodes.append(node)
        edits += new
    return Repair(
        on=(on,),
        message="Keep one of two engraved shapes"
        if len(copies) == 2
        else f"Keep one of {len(copies)} engraved shapes",
        edits=tuple(edits),
        nodes=tuple(nodes),
        contours=frozenset(contour for shape in gone for contour in shape.contours),
        same_pieces=True,
        same_engraving=True,
        words=SAME,
    )


def _no_effects(case: Case, copies: Collection[Shape]) -> None:
    """Raise Unwritable where a clip, a mask or the like works on some of the copies and not on all
    of them, so that they do not look the same."""
    around: list[set[int]] = [{id(node) for node in shape.around()} for shape in copies]
    some = set().union(*around) - around[0].intersection(*around)
    for remark in case.drawing.remarks:
        if remark.kind == "effect" and id(remark.node) in some:
            raise Unwritable(f"a {remark.word} makes it look other than its copy")


def _plain(shape: Shape) -> bool:
    return shape.fill is not None and not shape.fill.server and opaque(shape)


def _stroke(shape: Shape) -> tuple[object, ...]:
    """All that a stroke looks like."""
    return (
        shape.stroke, shape.stroke_width, shape.matrix, shape.linecap, shape.linejoin,
        shape.miterlimit, shape.dashes, shape.dash_offset, shape.paint_order, shape.opacity,
    )  # fmt: skip
