"""inside-last: put inner cuts before the outline around them.

Within one path the order of its outlines is no matter on screen. Elements change places only
where neither covers the other, nor anything between them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from scantling.measure.model import Late
from scantling.mend.drawn import Drawn
from scantling.mend.edit import Edit
from scantling.mend.elements import with_line
from scantling.mend.path import Unwritable, rearranged
from scantling.mend.repair import Case, Found, Refusal, Repair
from scantling.read.drawing import Shape
from scantling.read.flatten import flatten
from scantling.read.locate import attribute_range, inside, whole_range
from scantling.read.tree import Node

rule = "inside-last"

Pairs = list[tuple[int, int]]
"""(what must come first, what must come after it)"""


def repairs(case: Case) -> Found:
    """One repair a sheet, as there is one finding."""
    order: Sequence[Late] = case.fact("order")
    if not order:
        return
    on = order[0].inner[0]
    try:
        yield _mended(case, order)
    except Unwritable as error:
        yield Refusal(on, str(error))


def _mended(case: Case, order: Sequence[Late]) -> Repair:
    within: dict[int, Pairs] = {}
    across: Pairs = []
    for late in order:
        outer = case.shape(late.outer.contour)
        for spot in late.inner:
            inner = case.shape(spot.contour)
            if inner is outer:
                pair = case.curve(spot.contour), case.curve(late.outer.contour)
                within.setdefault(outer.index, []).append(pair)
            else:
                across.append((inner.index, outer.index))
    edits: list[Edit] = []
    nodes: list[Node] = []
    for index, pairs in within.items():
        shape = case.drawing.shapes[index]
        if not case.drawn_once(shape):
            raise Unwritable("its element is drawn in other places too")
        edits += _rearranged(case.drawn(shape), pairs)
        nodes.append(shape.node)
    if across:
        moved, new = _moved(case, across)
        edits += new
        nodes += moved
    many = sum(len(late.inner) for late in order)
    return Repair(
        on=(order[0].inner[0],),
        message=f"Put {many} inner cuts first" if many > 1 else "Put the inner cut first",
        edits=tuple(edits),
        nodes=tuple(dict.fromkeys(nodes)),
        same_pieces=True,
    )


def _sorted(things: Sequence[int], pairs: Iterable[tuple[int, int]]) -> list[int]:
    """Things in their order, but each that must come after others behind the last of those."""
    after: dict[int, set[int]] = {thing: set() for thing in things}
    for first, then in pairs:
        after[then].add(first)
    done: list[int] = []
    left = list(things)
    while left:
        ready = next((thing for thing in left if after[thing] <= set(done)), None)
        if ready is None:
            raise Unwritable("its outlines lie within each other")
        done.append(ready)
        left.remove(ready)
    return done


def _rearranged(drawn: Drawn, pairs: Pairs) -> list[Edit]:
    """The subpaths of one path in another order."""
    if not drawn.is_path:
        raise Unwritable("it has no path data of its own")
    steps = drawn.steps
    subpath = {c: steps[drawn.bits(c)[0].step].subpath for c in drawn.shape.contours}
    many = steps[-1].subpath + 1
    order = _sorted(range(many), [(subpath[a], subpath[b]) for a, b in pairs])
    source, node = drawn.drawing.source, drawn.node
    value = attribute_range(source, node, "d")
    if value is None:
        raise Unwritable("its path data is written elsewhere")
    edits = rearranged(node.attrib["d"], steps, order, drawn.manner)
    return [Edit(*inside(source, value, e.start, e.end), e.text) for e in edits]


# Elements


def _moved(case: Case, pairs: Pairs) -> tuple[list[Node], list[Edit]]:
    """Each outline put behind the last element that is cut within it."""
    shapes = case.drawing.shapes
    last: dict[int, int] = {}
    for inner, outer in pairs:
        last[outer] = max(last.get(outer, -1), inner)
    nodes: list[Node] = []
    edits: list[Edit] = []
    text = case.drawing.source.text
    for outer, inner in sorted(last.items()):
        one, other = shapes[outer], shapes[inner]
        between = shapes[outer + 1 : inner + 1]
        if one.uses or other.uses or one.node.parent is not other.node.parent:
            raise Unwritable("it is in another group than what is cut within it")
        if one.node.children and any(child.children for child in one.node.children):
            raise Unwritable("other elements are inside it")
        if not _apart(case, one, between):
            raise Unwritable("it would cover on screen what is cut within it")
        own = whole_range(case.drawing.source, one.node)
        begin, end = with_line(text, *own)
        at = whole_range(case.drawing.source, other.node)
        if (begin, end) != own:
            at = with_line(text, *at)
        edits += [Edit(begin, end, ""), Edit(at[1], at[1], text[begin:end])]
        nodes.append(one.node)
    return nodes, edits


def _apart(case: Case, one: Shape, others: Sequence[Shape]) -> bool:
    """Whether what a shape paints and what each of the others paints have nothing in common."""
    mine = _painted(case, one)
    return all(other.hidden or not mine.intersects(_painted(case, other)) for other in others)


def _painted(case: Case, shape: Shape) -> Any:
    """At least the area that a shape paints (shapely), in pixels."""
    import shapely

    curves = case.drawing.curves
    chosen = np.zeros(len(curves.closed), bool)
    chosen[shape.contours.start : shape.contours.stop] = True
    flat = flatten(curves, 0.05, chosen)
    parts = []
    reach = shape.stroke_width / 2.0 * max(1.0, shape.miterlimit if shape.stroke else 1.0) + 0.1
    for a, b, k in zip(flat.first[:-1], flat.first[1:], flat.contour, strict=True):
        xy = flat.xy[a:b]
        ring = np.concatenate((xy, xy[:1])) if curves.closed[k] or shape.fill else xy
        line = shapely.LineString(ring) if len(ring) > 1 else shapely.Point(ring[0])
        parts.append(line.buffer(reach))
        if shape.fill is not None and len(xy) > 2:
            parts.append(shapely.Polygon(xy).buffer(0.1))
    return shapely.unary_union(parts)
