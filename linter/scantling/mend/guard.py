"""What a repair must leave alone, checked on the drawing that it makes.

Shapes of other elements stay as they are, bit for bit and in their order; of the elements that
are mended, all but the contours concerned stay where they are to 1e-9.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.measure.pieces.doubled import no_wider
from scantling.measure.pieces.marked import painted
from scantling.mend.look import Look
from scantling.mend.repair import Repair
from scantling.read.drawing import Curves, Drawing, Shape
from scantling.records import NamedTuple

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Contour = tuple[bool, NDArray[np.int8], NDArray[np.float64]]

SAME = 1e-9
"""Pixels and mm by which geometry may be off that a repair does not concern."""


def damage(before: Drawing, after: Drawing, repairs: Sequence[Repair], scale: float) -> str:
    """What repairs have changed that they must not, in one clause; '' where it is nothing."""
    if _page(before) != _page(after):
        return "the page would change"
    mended = {id(node) for repair in repairs for node in repair.nodes}
    touched = [shape for shape in before.shapes if _through(shape, mended)]
    others = [shape for shape in before.shapes if not _through(shape, mended)]
    left = _without(after, [_key(before, shape) for shape in others])
    if left is None:
        return "other elements would change"
    styles = {_style(shape) for shape in touched}
    free = {id(n) for r in repairs if r.paints or r.shapes for n in r.nodes}
    if not any(_through(shape, free) for shape in touched) and not all(
        _style(shape) in styles for shape in left
    ):
        return "its paint would change"
    loose = {curve for repair in repairs for curve in repair.contours}
    whole = {id(n) for r in repairs if r.shapes for n in r.nodes}
    stay = [
        _contour(before.curves, curve)
        for shape in touched
        if not _through(shape, whole)
        for curve in shape.contours
        if curve not in loose
    ]
    have = [_contour(after.curves, curve) for shape in left for curve in shape.contours]
    within = SAME / max(1.0, scale)
    if not _all_there(stay, have, within):
        return "other parts of it would move"
    return ""


def _page(drawing: Drawing) -> tuple[float, float, bool]:
    return drawing.page.width, drawing.page.height, drawing.page.real


def _through(shape: Shape, nodes: set[int]) -> bool:
    return id(shape.node) in nodes or any(id(use) in nodes for use in shape.uses)


def _style(shape: Shape) -> tuple[Any, ...]:
    """All of a shape but where it is and what its element is called; of one that is not seen,
    not its paint."""
    paints = () if shape.hidden else (shape.fill, shape.stroke)
    return (
        paints, shape.stroke_width, shape.fill_rule, shape.matrix,
        shape.linecap, shape.linejoin, shape.miterlimit, shape.dashes, shape.dash_offset,
        shape.non_scaling_stroke, shape.paint_order, shape.opacity, shape.hidden, shape.layers,
    )  # fmt: skip


def _key(drawing: Drawing, shape: Shape) -> tuple[Any, ...]:
    curves = drawing.curves
    first = curves.first[shape.contours.start : shape.contours.stop + 1]
    span = slice(int(first[0]), int(first[-1])) if len(shape.contours) else slice(0, 0)
    closed = curves.closed[shape.contours.start : shape.contours.stop]
    return (
        _style(shape), shape.node.tag, shape.node.id, (first - first[0]).tobytes(),
        closed.tobytes(), curves.kind[span].tobytes(), curves.data[span].tobytes(),
    )  # fmt: skip


def _without(drawing: Drawing, keys: Sequence[tuple[Any, ...]]) -> list[Shape] | None:
    """The shapes of a drawing that are left when those of the keys, in this order, are taken
    away; None where they are not all there."""
    left = []
    place = 0
    for shape in drawing.shapes:
        if place < len(keys) and _key(drawing, shape) == keys[place]:
            place += 1
        else:
            left.append(shape)
    return left if place == len(keys) else None


def _contour(curves: Curves, contour: int) -> Contour:
    span = slice(int(curves.first[contour]), int(curves.first[contour + 1]))
    return bool(curves.closed[contour]), curves.kind[span], curves.data[span]


def _all_there(wanted: Sequence[Contour], have: Sequence[Contour], within: float) -> bool:
    """Whether each of the contours is among the others, each once."""
    pool: dict[tuple[bool, bytes], list[NDArray[np.float64]]] = {}
    for closed, kind, data in have:
        pool.setdefault((closed, kind.tobytes()), []).append(data)
    for closed, kind, data in wanted:
        mates = pool.get((closed, kind.tobytes()), [])
        for k, other in enumerate(mates):
            if np.abs(other - data).max(initial=0.0) <= within:
                del mates[k]
                break
        else:
            return False
    return True


def pieces_changed(
    before: Look, after: Look, sheets: Collection[str]
) -> tuple[str, set[int], set[int]]:
    """Whether the pieces differ that are cut of some sheets (by label), in one clause, '' where
    they do not; and the offsets of the elements around those that differ, in each text."""
    old, new = _pieces(before, sheets), _pieces(after, sheets)
    if old.keys() != new.keys():
        return "the sheets would change", set(), set()
    gone: set[int] = set()
    come: set[int] = set()
    for label in old:
        ours, theirs = old[label], new[label]
        k = n = 0
        while k < len(ours) or n < len(theirs):
            one = ours[k] if k < len(ours) else None
            other = theirs[n] if n < len(theirs) else None
            if one and other and one.kept == other.kept and abs(one.area - other.area) <= one.room:
                k, n = k + 1, n + 1
            elif other is None or (one and (one.kept, one.area) < (other.kept, other.area)):
                assert one is not None
                gone |= one.elements
                k += 1
            else:
                come |= other.elements
                n += 1
    return ("the pieces that are cut would change" if gone or come else ""), gone, come


def engraving_changed(before: Look, after: Look, sheets: Collection[str]) -> str:
    """Whether what is engraved of some sheets differs, fills and strokes, by more than is taken for
    the same line; in one clause, '' where it does not."""
    import shapely

    old, new = _engraved(before, sheets), _engraved(after, sheets)
    for label in old.keys() | new.keys():
        within, one = old.get(label, (0.0, shapely.Polygon()))
        _, other = new.get(label, (0.0, shapely.Polygon()))
        if not no_wider(np.array([one.symmetric_difference(other)], object), within).all():
            return "what is engraved would change"
    return ""


def _engraved(look: Look, sheets: Collection[str]) -> dict[str, tuple[float, Any]]:
    """The engraved area of each sheet (shapely), with the tolerance in mm."""
    import shapely

    return {
        sheet.label: (
            sheet.tolerances.coincidence,
            shapely.union_all(painted(sheet.lines, sheet.drawing, known["engraved"])),
        )
        for sheet, known in zip(look.plan.sheets, look.facts, strict=True)
        if sheet.label in sheets
    }


class Cut(NamedTuple):
    """A piece that is cut: kept or not, its area in mm², by how much that may differ, and the
    offsets of the elements that it is cut along."""

    kept: bool
    area: float
    room: float
    elements: frozenset[int]


def _pieces(look: Look, sheets: Collection[str]) -> dict[str, list[Cut]]:
    """The pieces of each sheet by size."""
    found: dict[str, list[Cut]] = {}
    for sheet, known in zip(look.plan.sheets, look.facts, strict=True):
        if sheet.label in sheets:
            within = 2.0 * sheet.tolerances.coincidence
            offsets = [sheet.drawing.shapes[k].node.offset for k in sheet.lines.shape.tolist()]
            found[sheet.label] = sorted(
                Cut(
                    piece.kept,
                    piece.area,
                    within * piece.polygon.length,
                    frozenset(offsets[k] for k in piece.contours),
                )
                for piece in known["pieces"]
            )
    return found
