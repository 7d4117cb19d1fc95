"""What lies beyond the parts of a sheet: how much of an engraved area or of a line, and where."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.groups import stretches
from scantling.plan.model import Lines
from scantling.records import NamedTuple

if TYPE_CHECKING:
    from scantling.arrays import Flags, Index, Lengths, Shapes

WHOLE = 0.01
"""Share of a thing that may lie on the parts though it lies beside them: it touches their edge."""


class Beyond(NamedTuple):
    """Things that reach beyond all parts by more than a slack: k of them.

    number  (k,)  which of the things
    shape   (k,)  what of it lies on no part, a shapely geometry
    size    (k,)  its area or length; `total` that of the whole thing
    whole   (k,)  True where that is all of it
    """

    number: Index
    shape: Shapes
    size: Lengths
    total: Lengths
    whole: Flags


def beyond(things: Shapes, parts: Sequence[object], slack: float) -> Beyond:
    """Which of some polygons, or of some lines, reach more than `slack` mm beyond all of some
    polygons (parts as drawn)."""
    import shapely

    solid = shapely.union_all(np.array(parts, object))
    grown = shapely.buffer(solid, slack, quad_segs=32) if slack > 0.0 else solid
    shapely.prepare(grown)
    number = np.flatnonzero(~shapely.covers(grown, things))
    number = number[_size(shapely.difference(things[number], grown)) > 0.0]
    shape = np.asarray(shapely.difference(things[number], solid), object)
    size, total = _size(shape), _size(things[number])
    return Beyond(number, shape, size, total, size >= total * (1.0 - WHOLE))


def _size(shapes: Shapes) -> Lengths:
    """mm² of areas, mm of lines."""
    import shapely

    lines = shapely.get_dimensions(shapes) == 1
    return np.asarray(np.where(lines, shapely.length(shapes), shapely.area(shapes)))


def followed(lines: Lines, which: Flags) -> tuple[Index, Shapes]:
    """Some contours as shapely LineStrings, closed ones with their closing edge, and the number of
    each; those of one point are left out."""
    import shapely

    size = np.diff(lines.first)
    contour = np.flatnonzero(which & (size > 1))
    more = size[contour] + lines.closed[contour]
    point, of = stretches(lines.first[contour], more)
    last = np.cumsum(more)[lines.closed[contour]] - 1
    point[last] = lines.first[contour][lines.closed[contour]]
    return contour, np.asarray(shapely.linestrings(lines.xy[point], indices=of), object)
