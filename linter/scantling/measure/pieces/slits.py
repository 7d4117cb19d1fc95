"""Slits: cut lines that end within a part and part nothing off.

The cut takes its width away from what lies on either side of such a line, as along any outline. So
for widths a slit is a notch or a hole of next to no width, there along the line and back.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.groups import stretches
from scantling.measure.lines.joins import LOOSE, Joined
from scantling.measure.model import Arrangement, Piece
from scantling.measure.segments import length
from scantling.plan.model import Lines
from scantling.records import NamedTuple

if TYPE_CHECKING:
    from scantling.arrays import Index, Points, Shapes

WIDE = 1e-4
"""mm: how far apart the two sides of a slit are. Little beside the chord tolerance."""
SHARP = 0.25
"""Least cosine of half the turn at a corner by which its sides are moved apart; beyond, the corner
is cut off."""
ON = 1e-5
"""mm: noding moves points by less."""


class Slit(NamedTuple):
    """points  (k, 2) along one side, round the end and back along the other
    edge    (k,) index in Lines of the edge that starts at each; the last of a notch is replaced
    face    the solid face that it lies in
    corner  the point of the arrangement that it begins at as a notch; -1: it is a ring of its own
    """

    points: Points
    edge: Index
    face: int
    corner: int


def slitted(
    arrangement: Arrangement, lines: Lines, joined: Joined, pieces: tuple[Piece, ...]
) -> Arrangement:
    """Fact: the solid faces with their slits (`Arrangement.slit`). One that begins on an outline is
    a notch of it, any other an inner ring of its own. Lines that leave their face are not slits:
    what they cross is told."""
    loose = (joined.met == LOOSE).any(axis=1) & ~joined.ring
    chains = np.flatnonzero(loose & (np.diff(joined.start) > 1))
    if not len(chains) or not len(arrangement.xy):
        return arrangement
    slits = list(_slits(arrangement, joined, chains, [piece for piece in pieces if piece.kept]))
    return _with(arrangement, lines, slits) if slits else arrangement


def _slits(
    arrangement: Arrangement, joined: Joined, chains: Index, parts: list[Piece]
) -> Iterator[Slit]:
    face_of = np.repeat(arrangement.face, np.diff(arrangement.first))
    taken = set()
    for chain, face in zip(chains.tolist(), _faces_of(joined, chains, parts).tolist(), strict=True):
        if face < 0:
            continue
        mine = slice(joined.start[chain], joined.start[chain + 1])
        line, edge = joined.xy[joined.point[mine]], joined.edge[mine][:-1]
        if joined.met[chain, 0] == LOOSE:  # then it may be the other end that is on an outline
            line, edge = line[::-1], edge[::-1]
        around = np.flatnonzero(face_of == face)
        away = length(arrangement.xy[around] - line[0])
        corner = int(around[away.argmin()]) if away.min() <= ON else -1
        if corner in taken:
            corner = -1
        taken.add(corner)
        there_and_back = np.concatenate([edge, edge[-1:], edge[::-1], edge[:1]])
        yield Slit(_sides(line), there_and_back, face, corner)


def _with(arrangement: Arrangement, lines: Lines, slits: Sequence[Slit]) -> Arrangement:
    """The arrangement with the points of slits: of a notch in the place of the corner that it
    begins at, of the others behind all that are there."""
    n, r = len(arrangement.xy), len(arrangement.face)
    contour_of = np.repeat(np.arange(len(lines.closed)), np.diff(lines.first))
    ring = np.repeat(np.arange(r), np.diff(arrangement.first))
    own = (ring, arrangement.xy, arrangement.contour, arrangement.segment, arrangement.edge)
    stay = np.ones(n, bool)
    stay[[slit.corner for slit in slits if slit.corner >= 0]] = False
    rows = [(np.flatnonzero(stay), *(values[stay] for values in own), np.zeros(stay.sum(), bool))]
    faces: list[int] = []
    for slit in slits:
        k, corner = len(slit.points), slit.corner
        contour, segment = contour_of[slit.edge], lines.segment[slit.edge]
        edge, along = np.full(k, -1), np.ones(k, bool)
        if corner < 0:
            rank, on = n + len(faces), r + len(faces)
            faces.append(slit.face)
        else:
            rank, on = corner, int(ring[corner])
            # the outline goes on from the last point
            for values, was in zip((contour, segment, edge), own[2:], strict=True):
                values[-1] = was[corner]
            along[-1] = False
        rows.append((np.full(k, rank), np.full(k, on), slit.points, contour, segment, edge, along))
    place, ring, xy, contour, segment, edge, along = (
        np.concatenate(column) for column in zip(*rows, strict=True)
    )
    order = np.argsort(place, kind="stable")
    return replace(
        arrangement,
        xy=xy[order],
        first=np.concatenate([[0], np.cumsum(np.bincount(ring, minlength=r + len(faces)))]),
        face=np.concatenate([arrangement.face, np.array(faces, np.int64)]),
        outer=np.concatenate([arrangement.outer, np.zeros(len(faces), bool)]),
        contour=contour[order],
        segment=segment[order],
        edge=edge[order],
        slit=along[order],
    )


def _faces_of(joined: Joined, chains: Index, parts: list[Piece]) -> Index:
    """The solid face that each chain lies in; -1: in none."""
    import shapely

    pick, of = stretches(joined.start[chains], np.diff(joined.start)[chains])
    drawn = shapely.linestrings(joined.xy[joined.point[pick]], indices=of)
    return lies_in(drawn, [part.polygon for part in parts], WIDE)


def lies_in(drawn: Shapes, parts: Sequence[object], slack: float) -> Index:
    """(k,) which of some polygons each of k lines lies in, all of it but for `slack` mm of its
    length; -1: in none."""
    import shapely

    polygons = np.array(parts, object)
    line, part = shapely.STRtree(polygons).query(drawn, predicate="intersects")
    inside = shapely.length(shapely.intersection(drawn[line], polygons[part]))
    held = inside >= shapely.length(drawn)[line] - slack
    found = np.full(len(drawn), -1)
    found[line[held]] = part[held]
    return found


def _sides(line: Points) -> Points:
    """(2k, 2) the two sides of a line (k, 2), half of `WIDE` away from it: along it and back,
    turning as the inner rings of an arrangement do, so that what is solid lies around it."""
    along = np.diff(line, axis=0)
    along /= length(along)[:, None]
    before, after = np.concatenate([along[:1], along]), np.concatenate([along, along[-1:]])
    middle = before + after
    half = length(middle) / 2.0
    # a line that doubles back has no direction at that point: take that before it
    aim = np.where((half < 1e-9)[:, None], before, middle / np.maximum(2.0 * half, 1e-9)[:, None])
    aside = np.column_stack([-aim[:, 1], aim[:, 0]])
    aside *= (WIDE / 2.0 / np.maximum(half, SHARP))[:, None]
    return np.concatenate([line + aside, (line - aside)[::-1]])
