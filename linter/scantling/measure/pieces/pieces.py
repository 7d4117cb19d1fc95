"""Pieces: what comes off the machine."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.groups import leads, onward, stretches
from scantling.measure.model import Arrangement, Piece, Spot
from scantling.measure.pieces.faces import Faces
from scantling.measure.segments import cross, dot, length
from scantling.plan.model import Lines
from scantling.read.drawing import Drawing

if TYPE_CHECKING:
    from scantling.arrays import Index, Points

TURN = 2.0 * np.pi
TIE = 1e-3
"""Rectangles that are larger than the least by no more than this share count as equally large:
which of them is less may depend on the last digit of a coordinate."""


def arrangement(faces: Faces) -> Arrangement:
    """Fact: the solid faces as clean rings. Where two solid faces share a line, it is there
    twice, once for each."""
    mine = np.flatnonzero(faces.solid[faces.face])
    size = np.diff(faces.first)[mine]
    pick, _ = stretches(faces.first[mine], size)
    return Arrangement(
        xy=faces.xy[pick],
        first=np.concatenate([[0], np.cumsum(size)]).astype(np.int64),
        face=faces.face[mine],
        outer=faces.outer[mine],
        contour=faces.contour[pick],
        segment=faces.segment[pick],
        edge=faces.edge[pick],
        noded=faces.noded,
    )


def pieces(lines: Lines, drawing: Drawing, faces: Faces) -> tuple[Piece, ...]:
    """Fact: the pieces of a sheet, parts first, then drop-outs, each in reading order: row by
    row from the top, each row from the left. Piece k of this tuple is face k of the
    arrangement and has the number k + 1."""
    import shapely

    sides = _sides(faces)
    area = shapely.area(faces.polygon)
    after = np.searchsorted(faces.face, np.arange(len(faces.polygon) + 1))
    bounds = faces.first[after].tolist()
    starts = _main_edges(faces)
    outer = faces.contour[starts].tolist()
    contours = [
        tuple(dict.fromkeys([main, *faces.contour[a:b].tolist()]))
        for main, a, b in zip(outer, bounds[:-1], bounds[1:], strict=True)
    ]
    kept = faces.solid.tolist()
    called = numbered(drawing, lines.shape[outer].tolist(), kept)
    return tuple(
        Piece(
            number=k + 1,
            kept=kept[k],
            polygon=faces.polygon[k],
            sides=sides[k],
            area=float(area[k]),
            centre=(float(faces.centre[k, 0]), float(faces.centre[k, 1])),
            outer=Spot(
                (float(faces.xy[starts[k], 0]), float(faces.xy[starts[k], 1])),
                outer[k],
                int(faces.segment[starts[k]]),
            ),
            contours=contours[k],
            name=called[k],
        )
        for k in range(len(kept))
    )


def names(pieces: tuple[Piece, ...]) -> dict[int, str]:
    """Fact: the name of each piece, by its number."""
    return {piece.number: piece.name for piece in pieces}


def _main_edges(faces: Faces) -> Index:
    """For each face the first edge on its outer ring of the contour that has most of that ring."""
    size = np.diff(faces.first)
    ring = np.repeat(np.arange(len(size)), size)
    of = np.flatnonzero(faces.outer[ring])
    share = length(faces.xy[onward(faces.first)[of]] - faces.xy[of])
    face, contour = faces.face[ring[of]], faces.contour[of]
    many = int(contour.max(initial=0)) + 1
    pair, first, which = np.unique(face * many + contour, return_index=True, return_inverse=True)
    total = np.round(np.bincount(which, share, len(pair)), 6)
    order = np.lexsort((first, -total, pair // many))
    best = leads(pair[order] // many)
    return np.asarray(of[first[order[best]]])


def _sides(faces: Faces) -> list[tuple[float, float]]:
    """Longer and shorter side of the least enclosing rectangle, at any angle, of each face.

    One side of it lies along an edge of the convex hull. Where the hull has a corner of less than
    a right angle, the rectangles along both its edges are often equally large, as with triangles:
    the longest of such is told.
    """
    import shapely

    if not len(faces.polygon):
        return []
    corners, face = shapely.get_coordinates(
        shapely.orient_polygons(shapely.convex_hull(faces.polygon)), return_index=True
    )
    here = np.flatnonzero(face[1:] == face[:-1])
    way, of = corners[here + 1] - corners[here], face[here]
    angle = np.arctan2(way[:, 1], way[:, 0]) % TURN
    order = np.lexsort((angle, of))
    start, way, of, angle = corners[here][order], way[order], of[order], angle[order]
    rising = of * (2.0 * TURN) + angle
    first = np.searchsorted(of, np.arange(len(faces.polygon) + 1))

    def foremost(ahead: float) -> Points:
        """For each edge the corner of its hull that is foremost when one looks along the edge,
        turned to the left by so much: the edges before it turn less far than a quarter more."""
        beyond = of * (2.0 * TURN) + (angle + ahead + TURN / 4.0) % TURN
        at = np.searchsorted(rising, beyond)
        return np.asarray(start[np.where(at == first[of + 1], first[of], at)])

    along = way / length(way)[:, None]
    wide = dot(foremost(0.0) - foremost(TURN / 2.0), along)
    high = cross(along, foremost(TURN / 4.0) - start)
    area = wide * high
    least = np.minimum.reduceat(area, first[:-1])[of] * (1.0 + TIE)
    longer, shorter = np.maximum(wide, high), np.minimum(wide, high)
    best = np.lexsort((-np.where(area <= least, longer, 0.0), of))[first[:-1]]
    return list(zip(longer[best].tolist(), shorter[best].tolist(), strict=True))


def numbered(drawing: Drawing, shapes: Sequence[int], kept: Sequence[bool]) -> list[str]:
    """The name of each piece, by the shape that it comes from, and a number where several parts
    or several drop-outs share it."""
    names = [drawing.shapes[k].name for k in shapes]
    shared = Counter(zip(names, kept, strict=True))
    seen: Counter[tuple[str, bool]] = Counter()
    called = []
    for key in zip(names, kept, strict=True):
        seen[key] += 1
        called.append(f"{key[0]} {seen[key]}" if shared[key] > 1 else key[0])
    return called
