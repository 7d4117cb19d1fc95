"""sharp-inside-corner: an inside corner without a radius in a brittle stock."""

from collections.abc import Iterator, Mapping, Sequence

from scantling.judge import Example, Fault, page
from scantling.judge.limits import mm
from scantling.measure.model import InsideCorner
from scantling.plan.model import Stock
from scantling_rules.causes import Causes, cause

id = "sharp-inside-corner"
level = "note"
title = "an inside corner without a radius in a brittle stock"
why = """
Stress gathers in a sharp inside corner. In a brittle stock a crack starts there: when the part is
washed with a solvent, glued, screwed down or dropped.
"""
remedy = """
Round the inside corners. A small radius does: a quarter of the thickness is a common choice.
"""
source = "common practice, no source"
parameters = {
    "radius": {
        "type": "number",
        "default": 0.5,
        "exclusiveMinimum": 0,
        "x-unit": "mm",
        "description": "least radius of an inside corner",
    },
    "angle": {
        "type": "number",
        "default": 120.0,
        "exclusiveMinimum": 0,
        "maximum": 180,
        "x-unit": "degrees",
        "description": "widest corner that counts as sharp",
    },
}
_ROUND = "M5 5H35V35H25V22A2 2 0 0 0 23 20H17A2 2 0 0 0 15 22V35H5Z"
passes = (
    Example(page(f'<path d="{_ROUND}"/>'), note="rounded by 2 mm"),
    Example(page('<path d="M5 5H35V35H25V20H15V35H5Z"/>'), stock="cork-2", note="cork gives way"),
)
fails = (Example(page('<path d="M5 5H35V35H25V20H15V35H5Z"/>')),)
facts = (cause,)


def check(
    inside_corners: Sequence[InsideCorner],
    names: Mapping[int, str],
    stock: Stock,
    options: Mapping[str, float],
    cause: Causes,
) -> Iterator[Fault]:
    """One finding a sheet, as the stock is what makes them matter. A corner without a radius has
    none at any size; a small radius grows with the design."""
    if not stock.brittle:
        return
    sharp = [
        corner
        for corner in inside_corners
        if corner.angle <= options["angle"]
        and corner.radius < options["radius"]
        and not cause.of_corner(corner.spot)
    ]
    if not sharp:
        return
    worst, *more = sorted(sharp, key=lambda corner: (corner.radius, corner.angle, corner.piece))
    parts = len({corner.piece for corner in sharp})
    some = "inside corner"
    if more:
        of = f" of {parts} parts" if parts > 1 else ""
        some = f"{len(sharp)} inside corners{of}, the sharpest"
    # A corner of the drawing has no radius; "rounded by 0.00 mm" would read like one.
    rounded = worst.radius >= 0.005
    how = f"rounded by {mm(worst.radius)}" if rounded else "without a radius"
    yield Fault(
        message=f"{some} {how}; {stock.name} is brittle and wants {mm(options['radius'])}",
        on=worst.spot,
        measured=worst.radius,
        required=options["radius"],
        drawn=worst.radius if rounded else None,
        needed=options["radius"] if rounded else None,
        by_stock=True,
        part=names.get(worst.piece, ""),
        others=tuple(("another sharp inside corner", corner.spot) for corner in more),
    )
