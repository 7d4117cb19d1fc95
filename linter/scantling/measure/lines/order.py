"""The order of cuts: what is cut after the outline around it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.distinct import distinct_rows
from scantling.measure.lines.joins import Joined
from scantling.measure.model import Late, Spot
from scantling.measure.pieces.faces import Faces
from scantling.plan.model import Lines

if TYPE_CHECKING:
    from scantling.arrays import Index


def order(lines: Lines, joined: Joined, faces: Faces) -> tuple[Late, ...]:
    """Fact: cuts that come after the outline around them, one for each such outline, in drawing
    order.

    The tool follows the contours as they are drawn. A face comes loose when the last contour of
    its outer ring is cut; whatever is cut within it should be done by then: its inner rings,
    when the last contour of each is cut, and open lines that lie in it.
    """
    size = np.diff(faces.first)
    if not len(size):
        return ()
    last = np.maximum.reduceat(faces.contour, faces.first[:-1])
    outer = np.flatnonzero(faces.outer)
    loose = np.full(len(faces.polygon), -1)
    loose[faces.face[outer]] = last[outer]
    inner = np.flatnonzero(~faces.outer)
    line, within = _lines_within(lines, joined, faces)
    face = np.concatenate([faces.face[inner], within])
    when = np.concatenate([last[inner], line])
    late = when > loose[face]
    pairs = distinct_rows(np.column_stack([loose[face], face, when])[late])
    found = []
    for after, piece in distinct_rows(pairs[:, :2]).tolist():
        cuts = pairs[(pairs[:, 0] == after) & (pairs[:, 1] == piece), 2]
        spots = tuple(_begins(lines, joined, int(cut)) for cut in cuts)
        found.append(Late(_begins(lines, joined, after), spots, piece + 1))
    return tuple(found)


def _lines_within(lines: Lines, joined: Joined, faces: Faces) -> tuple[Index, Index]:
    """The last contour of each open chain that bounds no face, and the face that it lies in, if
    it is in one."""
    import shapely

    bounds = np.isin(joined.contours, faces.contour)
    inside = ~np.logical_or.reduceat(bounds, joined.first[:-1]) if len(bounds) else joined.closed
    open_ = np.flatnonzero(~joined.ring & (np.diff(joined.start) > 1) & inside)
    none = np.zeros(0, np.int64)
    if not len(open_):
        return none, none
    begin = joined.start[open_]
    at = (joined.xy[joined.point[begin]] + joined.xy[joined.point[begin + 1]]) / 2.0
    chain, face = shapely.STRtree(faces.polygon).query(shapely.points(at), predicate="within")
    last = np.maximum.reduceat(joined.contours, joined.first[:-1])
    return last[open_[chain]], face


def _begins(lines: Lines, joined: Joined, contour: int) -> Spot:
    point = int(lines.first[contour])
    x, y = joined.xy[point].tolist()
    return Spot((x, y), contour, int(lines.segment[point]))
