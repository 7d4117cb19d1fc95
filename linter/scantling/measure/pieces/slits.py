"""Slits: cut lines that end within a part and part nothing off.

The cut takes its width away from what lies on either side of such a line, as along any outline. So
for widths a slit is a hole of next to no width, there along the line and back.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.lines.joins import LOOSE, Joined
from scantling.measure.model import Arrangement, Piece
from scantling.measure.segments import length
from scantling.plan.model import Lines

if TYPE_CHECKING:
    from scantling.arrays import Index, Points


WIDE = 1e-4
"""mm: how far apart the two sides of a slit's ring are. Little beside the chord tolerance."""
SHARP = 0.25
"""Least cosine of half the turn at a corner by which its sides are moved apart; beyond, the corner
is cut off."""


def slitted(
    arrangement: Arrangement, lines: Lines, joined: Joined, pieces: tuple[Piece, ...]
) -> Arrangement:
    """Fact: the solid faces with their slits, each as an inner ring of the face that it lies in
    (`Arrangement.slit`). Lines that leave their face are no slits: what they cross is told."""
    loose = (joined.met == LOOSE).any(axis=1) & ~joined.ring
    chains = np.flatnonzero(loose & (np.diff(joined.start) > 1))
    if not len(chains) or not len(arrangement.xy):
        return arrangement
    face = _faces_of(joined, chains, [piece for piece in pieces if piece.kept])
    chains, face = chains[face >= 0], face[face >= 0]
    if not len(chains):
        return arrangement
    contour_of = np.repeat(np.arange(len(lines.closed)), np.diff(lines.first))
    rings, sources = [], []
    for chain in chains.tolist():
        mine = slice(joined.start[chain], joined.start[chain + 1])
        edge = joined.edge[mine][:-1]
        rings.append(_there_and_back(joined.xy[joined.point[mine]]))
        # along one side, round the end, back along the other, and round the start
        sources.append(np.concatenate([edge, edge[-1:], edge[::-1], edge[:1]]))
    source = np.concatenate(sources)
    size = np.array([len(ring) for ring in rings])
    return replace(
        arrangement,
        xy=np.concatenate([arrangement.xy, *rings]),
        first=np.concatenate([arrangement.first, arrangement.first[-1] + np.cumsum(size)]),
        face=np.concatenate([arrangement.face, face]),
        outer=np.concatenate([arrangement.outer, np.zeros(len(size), bool)]),
        contour=np.concatenate([arrangement.contour, contour_of[source]]),
        segment=np.concatenate([arrangement.segment, lines.segment[source]]),
        edge=np.concatenate([arrangement.edge, np.full(len(source), -1)]),
        slit=np.arange(len(arrangement.face) + len(size)) >= len(arrangement.face),
    )


def _faces_of(joined: Joined, chains: Index, parts: list[Piece]) -> Index:
    """The solid face that each chain lies in, all of it; -1: in none."""
    import shapely

    drawn = np.array(
        [
            shapely.linestrings(joined.xy[joined.point[joined.start[k] : joined.start[k + 1]]])
            for k in chains.tolist()
        ]
    )
    polygons = np.array([part.polygon for part in parts])
    chain, part = shapely.STRtree(polygons).query(drawn, predicate="intersects")
    whole = shapely.length(drawn)[chain]
    inside = shapely.length(shapely.intersection(drawn[chain], polygons[part]))
    held = inside >= whole - WIDE
    face = np.full(len(chains), -1)
    face[chain[held]] = part[held]
    return face


def _there_and_back(line: Points) -> Points:
    """(2k, 2) a ring round a line (k, 2), half of `WIDE` away from it. It turns as the inner rings
    of an arrangement do, so that what is solid lies around it."""
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
