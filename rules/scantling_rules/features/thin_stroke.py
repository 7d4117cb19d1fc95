"""thin-stroke: a scored or engraved stroke too fine to show."""

from collections.abc import Iterator, Sequence

from scantling.judge import Example, Fault, Level, assigned, page, stocked
from scantling.judge.limits import mm
from scantling.measure.model import ThinStroke
from scantling.plan.model import ENGRAVE, SCORE, Lines, Minimums, Plan, Stock

id = "thin-stroke"
level = "warning"
title = "an engraved stroke, or one drawn to be scored, below the stock's minimum"
why = """
An engraved stroke finer than the spot of the beam or the grain of the material comes out broken or
not at all. Strokes scale with the design: a logo drawn at poster size has hairlines at coaster
size. A score is another matter: the tool follows the middle of the stroke once, and the line comes
out as wide as the tool makes it, however it is drawn. That is a note, and sets no least size.
"""
remedy = """
Thicken the engraved stroke or area, or make the design larger. Where a scored line must show wider
than the tool's own mark, engrave it.
"""
source = "the stock's minimum.stroke, with the source that the stock table or the job sheet gives"
_JOB = stocked("ply", "plywood", 'minimum = {{ stroke = "0.2 mm" }}') + assigned(
    "#000", "ply", "{}"
)
_LINE = '<path d="M5 5L35 35" fill="none" stroke="#000" stroke-width="{}"/>'
passes = (
    Example(page(_LINE.format(0.4)), _JOB.format("engrave")),
    Example(page('<rect x="5" y="5" width="30" height="0.5"/>'), _JOB.format("engrave")),
)
fails = (
    Example(page(_LINE.format(0.1)), _JOB.format("engrave")),
    Example(
        page('<rect x="5" y="5" width="30" height="0.1"/>'),
        _JOB.format("engrave"),
        "an engraved area is as thin as its narrowest place",
    ),
    Example(
        page(_LINE.format(0.1)),
        _JOB.format("score"),
        "a note: the score follows the line whatever its width",
    ),
)


def applies(plan: Plan) -> bool:
    """Only where something is scored or engraved."""
    return any(bool(sheet.lines.of(SCORE, ENGRAVE).any()) for sheet in plan.sheets)


def check(
    thin_strokes: Sequence[ThinStroke], lines: Lines, stock: Stock, minimum: Minimums
) -> Iterator[Fault]:
    """One finding for all strokes of an element: they have one width, or one cause."""
    groups: dict[tuple[int, str], list[ThinStroke]] = {}
    for stroke in thin_strokes:
        if stroke.width < minimum.stroke - 1e-6:
            shape = int(lines.shape[stroke.spot.contour])
            groups.setdefault((shape, stroke.operation), []).append(stroke)
    for (_, operation), strokes in groups.items():
        thinnest = min(strokes, key=lambda stroke: stroke.width)
        scored = operation == SCORE
        some = f" at its thinnest of {len(strokes)} places" if len(strokes) > 1 else ""
        wide = f"{mm(thinnest.width)} wide{some}"
        engraved = f"engraved stroke {wide}, {stock.name} needs {mm(minimum.stroke)}"
        follows = "a score follows its middle and comes out as wide as the tool's own mark"
        yield Fault(
            message=f"scored stroke drawn {wide}: {follows}" if scored else engraved,
            on=thinnest.spot,
            at=thinnest.at,
            measured=thinnest.width,
            required=minimum.stroke,
            extent=sum(stroke.length for stroke in strokes),
            drawn=None if scored else thinnest.width,
            needed=None if scored else minimum.stroke,
            others=tuple(("another place", s.spot) for s in strokes if s is not thinnest),
            level=Level.NOTE if scored else None,
        )
