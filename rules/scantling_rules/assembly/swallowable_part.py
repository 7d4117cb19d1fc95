"""swallowable-part: a part that a small child could choke on, by the small-parts cylinder."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING

from scantling.judge import Example, Fault, assigned, page, stocked
from scantling.judge.limits import least_factor
from scantling.measure.assembly.finish import finished
from scantling.measure.model import Piece
from scantling.plan.model import Stock

if TYPE_CHECKING:
    from scantling.measure.assembly.cylinder import Cylinder, Fit

id = "swallowable-part"
level = "off"
title = "a part that fits entirely into the small-parts cylinder"
why = """
A part that fits entirely into the small-parts cylinder, in any orientation and without being
pressed, can choke a small child. Toys and other articles intended for children under 3 years
must not contain such a part, nor release one in use and abuse.

The finished part is tried in all orientations as a flat plate of the stock's thickness. This rule
knows nothing of glued or laminated assemblies, nor of what may break off: a part may be safe only
because it is glued to another, and then only if it stays there.
"""
remedy = """
Make the part so large that no orientation fits, merge it with its neighbour, engrave it instead,
or do not offer the article for children under 3. A part said to fit to within the tolerance is
too close to call: real stock varies more than that in thickness. This is a help for the drawing
board, not a test: the local authority and the test laboratory decide, on the real article.
"""
source = (
    "16 CFR 1501.4 and its figure 1, for articles under 16 CFR 1501.2 (intended for children "
    "under 3); the cylinder's dimensions (1.25 in across, 1.00 to 2.25 in deep) are from memory"
)
parameters = {
    "diameter": {
        "type": "number",
        "default": 31.75,
        "exclusiveMinimum": 0,
        "x-unit": "mm",
        "description": "inner diameter of the cylinder, 1.25 in",
    },
    "least-depth": {
        "type": "number",
        "default": 25.4,
        "exclusiveMinimum": 0,
        "x-unit": "mm",
        "description": "depth at the highest place of its slanted floor, 1.00 in",
    },
    "greatest-depth": {
        "type": "number",
        "default": 57.15,
        "exclusiveMinimum": 0,
        "x-unit": "mm",
        "description": "depth at the lowest place of its slanted floor, 2.25 in",
    },
    "tolerance": {
        "type": "number",
        "default": 0.05,
        "minimum": 0.01,
        "x-unit": "mm",
        "description": "a part that stands out by no more than this is reported too",
    },
}
_JOB = (
    stocked("ply", "plywood", 'kerf = "0.2 mm"', thickness="{}")
    + assigned("#000", "ply")
    + """
[rules.swallowable-part]
level = "error"
"""
)
_BODY = '<rect x="5" y="5" width="{}" height="{}"/>'
passes = (
    Example(page(_BODY.format(33, 33), 80), _JOB.format("3 mm"), "wider than the cylinder"),
    Example(page(_BODY.format(70, 8), 80), _JOB.format("3 mm"), "longer than its diagonal"),
    Example(page(_BODY.format(31, 31), 80), _JOB.format("12 mm"), "too thick to stand on edge"),
)
fails = (
    Example(page(_BODY.format(20, 20), 80), _JOB.format("3 mm"), "fits lying flat"),
    Example(page(_BODY.format(31, 31), 80), _JOB.format("3 mm"), "fits on edge"),
    Example(page(_BODY.format(60, 5), 80), _JOB.format("3 mm"), "a strip fits aslant"),
)


def check(pieces: Sequence[Piece], stock: Stock, options: Mapping[str, float]) -> Iterator[Fault]:
    """A larger part of the same thickness fits no better: it passes from some size on, which is
    sought to a thousandth."""
    import shapely

    from scantling.measure.assembly.cylinder import Cylinder, fit

    cylinder = Cylinder(options["diameter"], options["least-depth"], options["greatest-depth"])
    kept = [piece for piece in pieces if piece.kept]
    left = finished([piece.polygon for piece in kept], stock.slot)
    bodies, of = shapely.get_parts(left, return_index=True)
    raised: set[int] = set()
    for body, number in zip(bodies, of.tolist(), strict=True):
        if number in raised or body.is_empty:
            continue
        corners = shapely.get_coordinates(body)
        found = fit(corners, stock.thickness, cylinder, options["tolerance"])
        if not found.may:
            continue
        raised.add(number)
        piece = kept[number]
        long, short = (max(side - stock.slot, 0.0) for side in piece.sides)
        yield Fault(
            message=f"part {long:.2f} x {short:.2f} x {stock.thickness:.2f} mm "
            f"{_how(found, options['tolerance'])}: a choking hazard for children under 3 "
            f"(16 CFR 1501.4)",
            on=piece.outer,
            at=piece.centre,
            part=piece.name,
            drawn=piece.sides[0],
            needed=partial(_drawn_side, piece, stock, cylinder, options["tolerance"]),
        )


def _drawn_side(piece: Piece, stock: Stock, cylinder: Cylinder, tolerance: float) -> float | None:
    """The longer side, as drawn, of the same part so large that nothing of it fits."""
    import shapely

    from scantling.measure.assembly.cylinder import fit

    def passes(scale: float) -> bool:
        [left] = finished([piece.polygon], stock.slot / scale)
        return not any(
            fit(scale * shapely.get_coordinates(body), stock.thickness, cylinder, tolerance).may
            for body in shapely.get_parts(left)
            if not body.is_empty
        )

    scale = least_factor(passes, 1e-3)
    return None if scale is None else scale * piece.sides[0]


def _how(found: Fit, tolerance: float) -> str:
    into = (
        "fits entirely into the small-parts cylinder"
        if found.fits
        else ("may fit entirely into the small-parts cylinder")
    )
    if found.tilt is None:
        return into
    if found.tilt < 0.5:
        pose = "lying flat"
    elif found.tilt > 89.5:
        pose = "on edge"
    else:
        pose = f"tilted by {found.tilt:.0f}°"
    return f"{into}, {pose}" if found.fits else f"{into}, {pose} and to within {tolerance:.2f} mm"
