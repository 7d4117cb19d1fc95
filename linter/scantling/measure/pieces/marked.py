"""How much is engraved and scored on each part of a sheet."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.distinct import distinct
from scantling.measure.model import Piece
from scantling.measure.pieces.beyond import followed
from scantling.plan.model import ENGRAVE, SCORE, Lines
from scantling.read.drawing import Drawing
from scantling.records import NamedTuple

if TYPE_CHECKING:
    from scantling.arrays import Lengths, Shapes


class Marked(NamedTuple):
    """What is engraved and scored of a sheet, as drawn.

    engraved  mm² of all of it: fills, and strokes as wide as they are painted; what lies on each
              other counts once
    on        mm² on each piece, by its number
    scored    mm on each piece, by its number
    """

    engraved: float
    on: dict[int, float]
    scored: dict[int, float]


def marked(lines: Lines, drawing: Drawing, engraved: Shapes, pieces: tuple[Piece, ...]) -> Marked:
    """Fact: engraved areas and scored lengths."""
    import shapely

    areas = painted(lines, drawing, engraved)
    _, scores = followed(lines, lines.of(SCORE))
    return Marked(
        float(shapely.area(areas).sum()),
        _on(areas, pieces, shapely.area),
        _on(scores, pieces, shapely.length),
    )


def painted(lines: Lines, drawing: Drawing, engraved: Shapes) -> Shapes:
    """Engraved areas with those of engraved strokes, as polygons that are apart; `engraved` is the
    fact of that name."""
    stroked = lines.of(ENGRAVE) & ~lines.filled & (lines.width > 0.0)
    contour, drawn = followed(lines, stroked)
    if not len(contour):
        return engraved
    import shapely

    shape = lines.shape[contour]
    bands = [engraved]
    for k in distinct(shape).tolist():
        style, mine = drawing.shapes[k], contour[shape == k]
        bands.append(
            shapely.buffer(
                drawn[shape == k],
                lines.width[mine] / 2.0,
                quad_segs=16,
                cap_style=CAPS[style.linecap],
                join_style=JOINS.get(style.linejoin, "mitre"),
                mitre_limit=style.miterlimit,
            )
        )
    painted: Shapes = shapely.get_parts(shapely.union_all(np.concatenate(bands)))
    return painted


CAPS = {"butt": "flat", "round": "round", "square": "square"}
JOINS = {"round": "round", "bevel": "bevel"}


def _on(
    shapes: Shapes, pieces: tuple[Piece, ...], size: Callable[[Shapes], Lengths]
) -> dict[int, float]:
    """How much of some shapes lies on each piece."""
    import shapely

    if not len(shapes) or not pieces:
        return {}
    polygons = np.array([piece.polygon for piece in pieces], object)
    shape, piece = shapely.STRtree(polygons).query(shapes, predicate="intersects")
    each = size(shapely.intersection(shapes[shape], polygons[piece]))
    total = np.bincount(piece, each, len(pieces)).tolist()
    return {one.number: much for one, much in zip(pieces, total, strict=True) if much > 0.0}
