"""Pieces: what comes off the machine."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.groups import stretches
from scantling.measure.model import Arrangement, Piece, Spot
from scantling.measure.pieces.faces import Faces
from scantling.measure.segments import cross, length
from scantling.plan.model import Lines
from scantling.read.drawing import Drawing

if TYPE_CHECKING:
    from scantling.arrays import Index, Points


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
    after = np.arange(1, len(ring) + 1)
    after[faces.first[1:] - 1] = faces.first[:-1]
    share = length(faces.xy[after[of]] - faces.xy[of])
    face, contour = faces.face[ring[of]], faces.contour[of]
    many = int(contour.max(initial=0)) + 1
    pair, first, which = np.unique(face * many + contour, return_index=True, return_inverse=True)
    total = np.round(np.bincount(which, share, len(pair)), 6)
    order = np.lexsort((first, -total, pair // many))
    best = np.append(True, np.diff(pair[order] // many) > 0)[: len(order)]
    return np.asarray(of[first[order[best]]])


def _sides(faces: Faces) -> list[tuple[float, float]]:
    """Longer and shorter side of the least enclosing rectangle, at any angle, of each face."""
    import shapely

    if not len(faces.polygon):
        return []
    around = shapely.oriented_envelope(faces.polygon)
    corners = shapely.get_coordinates(around)
    corners = corners.reshape(len(faces.polygon), 5, 2)
    one = np.hypot(*(corners[:, 1] - corners[:, 0]).T)
    other = np.hypot(*(corners[:, 2] - corners[:, 1]).T)
    pairs = np.column_stack([np.maximum(one, other), np.minimum(one, other)])
    hulls = shapely.convex_hull(faces.polygon)
    three = np.flatnonzero(shapely.get_num_coordinates(hulls) == 4)
    if len(three):
        pairs[three] = _around_triangles(shapely.get_coordinates(hulls[three]).reshape(-1, 4, 2))
    return [(float(a), float(b)) for a, b in pairs]


def _around_triangles(corners: Points) -> Points:
    """(k, 2) longer and shorter side of the least rectangle around triangles (k, 4, 2), which
    repeat their first corner. Rectangles on any two of a triangle's sides with acute angles are
    equally large: the longest of them is told, so that it does not hang on the last digit."""
    side = np.diff(corners, axis=1)
    size = np.hypot(side[..., 0], side[..., 1])
    height = np.abs(cross(side[:, 0], side[:, 1]))[:, None] / size
    # along each side: the third corner may lie beyond either of its ends
    third = corners[:, [2, 0, 1]] - corners[:, :3]
    at = (third * side).sum(axis=2) / size
    wide = np.maximum(at, size) - np.minimum(at, 0.0)
    area = wide * height
    least = area <= area.min(axis=1, keepdims=True) * (1.0 + 1e-9)
    longer = np.where(least, np.maximum(wide, height), 0.0)
    best = longer.argmax(axis=1)[:, None]
    pairs = np.take_along_axis(np.stack([wide, height], axis=2), best[..., None], axis=1)[:, 0]
    return np.asarray(np.sort(pairs, axis=1)[:, ::-1])


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
