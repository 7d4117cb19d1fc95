"""ambiguous-outline: make an outline of what the stroke covers, so that it is cut as it is seen.

Only when asked for by name: whether the outer edge or the middle of the stroke was meant, the
drawing does not say.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from scantling.mend import stroked
from scantling.mend.curves import point
from scantling.mend.drawn import Bit, Drawn
from scantling.mend.edit import Edit
from scantling.mend.fit import fitted
from scantling.mend.path import Op, Unwritable
from scantling.mend.repair import Case, Found, Refusal, Repair
from scantling.plan.model import CUT
from scantling.read.cascade import read_declarations
from scantling.read.drawing import Paint, Shape
from scantling.read.flatten import flatten
from scantling.read.locate import attribute_range, element_range, inside
from scantling.read.transforms import scale_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scantling.arrays import Array


rule = "ambiguous-outline"

FINE = 0.2
"""Part of the chord tolerance to which the stroke's middle is flattened, to which its round joins
are, and to which the area is made simple; what is left is for the curves of the outline."""


def repairs(case: Case) -> Found:
    """One for all strokes of one width, as they are one finding."""
    by_width: dict[float, list[Shape]] = {}
    cut = case.lines.of(CUT)
    for index in np.unique(case.lines.shape[cut]).tolist():
        shape = case.drawing.shapes[index]
        if shape.stroke is not None:
            by_width.setdefault(round(shape.stroke_width * case.plan.scale, 3), []).append(shape)
    for shapes in by_width.values():
        try:
            edits = [edit for shape in shapes for edit in _outlined(case, shape)]
        except Unwritable as error:
            yield Refusal(shapes[0], str(error))
            continue
        yield Repair(
            on=(shapes[0],),
            message=f"Make an outline of the stroke{'s' if shapes[1:] else ''}",
            edits=tuple(edits),
            nodes=tuple(dict.fromkeys(shape.node for shape in shapes)),
            contours=frozenset(contour for shape in shapes for contour in shape.contours),
            shapes=True,
        )


def _outlined(case: Case, shape: Shape) -> list[Edit]:
    paint = _paint(shape)
    if not case.drawn_once(shape):
        raise Unwritable("its element is drawn in other places too")
    if shape.dashes:
        raise Unwritable("its stroke is dashed")
    if shape.non_scaling_stroke or shape.stroke is None:
        raise Unwritable("its stroke does not scale with it")
    drawn = Drawn(case.drawing, shape)
    assert case.sheet is not None
    chord = case.sheet.tolerances.chord / (case.plan.scale * scale_of(shape.matrix))
    covered = _covered(case, drawn, chord)
    ops: list[Op] = []
    for polygon in getattr(covered, "geoms", [covered]):
        for ring in (*polygon.interiors, polygon.exterior):  # as they are best cut
            points = np.asarray(ring.coords)
            first = tuple(points[0].tolist())
            curves = fitted(points, chord * (1.0 - 3.0 * FINE))
            if curves[-1].letter == "L":  # Z draws it
                curves.pop()
            ops += [Op("M", first), *curves, Op("Z", ())]
    drawn.coarse(chord * FINE * FINE)
    return [*drawn.drawn_as(ops), *_painted(case, shape, paint)]


def _paint(shape: Shape) -> Paint:
    """What the outline is to be filled with."""
    if shape.stroke is None or shape.stroke.colour is None:
        raise Unwritable("its stroke has no colour of its own")
    if shape.fill is not None and shape.fill != shape.stroke:
        raise Unwritable("its fill has another colour than its stroke")
    return shape.stroke


def _covered(case: Case, drawn: Drawn, chord: float) -> object:
    """The area of stroke and fill in the element's own coordinates (shapely), oriented so that
    both fill rules fill it."""
    import shapely

    shape, curves = drawn.shape, case.drawing.curves
    chosen = np.zeros(len(curves.closed), bool)
    chosen[shape.contours.start : shape.contours.stop] = True
    flat = flatten(curves, FINE * chord * scale_of(shape.matrix), chosen)
    user = np.array([drawn.user(point) for point in flat.xy.tolist()])
    lines = []
    for a, b, k in zip(flat.first[:-1], flat.first[1:], flat.contour, strict=True):
        nodes = flat.segment[a:b] != np.roll(flat.segment[a:b], 1)
        xy, closed = user[a:b], bool(curves.closed[k])
        if not closed and b - a > 1:
            xy, nodes = _ended(xy, nodes, drawn.bits(int(k)))
        lines.append(stroked.Line(xy, closed, nodes))
    width = shape.stroke_width / scale_of(shape.matrix)
    manner = (shape.linecap, shape.linejoin, shape.miterlimit)
    covered = stroked.area(lines, width, *manner, FINE * chord)
    if shape.fill is not None:
        if shape.fill_rule != "nonzero" and len(lines) > 1:
            raise Unwritable("its fill and its stroke cannot be united")
        rings = [shapely.Polygon(xy).buffer(0.0) for xy, _, _ in lines if len(xy) > 2]
        if len(rings) > 1:
            raise Unwritable("its fill and its stroke cannot be united")
        grid = chord / stroked.GRID
        covered = stroked.whole(shapely.unary_union([covered, *rings], grid_size=grid), chord)
    if covered.is_empty:
        raise Unwritable("its stroke covers nothing")
    # corners of bars and of the joins between them lie hardly apart: they would hide the tangent
    return shapely.orient_polygons(covered.simplify(FINE * chord))


def _ended(
    xy: Array, nodes: NDArray[np.bool_], bits: Sequence[Bit]
) -> tuple[Array, NDArray[np.bool_]]:
    """A flattened line with one more point close to each end, so that the caps are square to the
    curve and not to a chord of it."""
    first, last = bits[0], bits[-1]
    near = point(first.pen, first.op, NEAR_END), point(last.pen, last.op, 1.0 - NEAR_END)
    ends = np.concatenate((xy[:1], near[:1], xy[1:-1], near[1:], xy[-1:]))
    marks = np.concatenate((nodes[:1], (False,), nodes[1:-1], (False,), nodes[-1:]))
    return ends, marks


NEAR_END = 1e-3
"""Share of the last curve that lies between that point and the end."""


def _painted(case: Case, shape: Shape, paint: Paint) -> list[Edit]:
    """The edits that give the element a fill instead of a stroke, in its style, which is
    stronger than all else."""
    source, node = case.drawing.source, shape.node
    assert paint.colour is not None
    wanted = {"fill": paint.colour.hex, "stroke": "none"}
    if paint.colour.alpha != 1.0 or "fill-opacity" in source.text:
        wanted["fill-opacity"] = f"{paint.colour.alpha:g}"
    there = attribute_range(source, node, "style")
    if there is None:
        _, end = element_range(source, node)
        at = end - (2 if source.text[end - 2 : end] == "/>" else 1)
        style = ";".join(f"{name}:{value}" for name, value in wanted.items())
        return [Edit(at, at, f' style="{style}"')]
    old = node.attrib["style"]
    if any(important for _, _, important in read_declarations(old)):
        raise Unwritable("its style is marked important")
    edits = []
    for name in list(wanted):
        for found in list(re.finditer(rf"(?:^|[;\s]){name}\s*:\s*([^;]*[^;\s])", old, re.I))[-1:]:
            place = inside(source, there, found.start(1), found.end(1))
            edits.append(Edit(*place, wanted.pop(name)))
    if wanted:
        style = ";".join(f"{name}:{value}" for name, value in wanted.items())
        between = "" if not old.strip() or old.rstrip().endswith(";") else ";"
        edits.append(Edit(there[1], there[1], between + style))
    return edits
