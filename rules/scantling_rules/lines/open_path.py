"""open-path: a cut outline that does not close."""

from collections.abc import Iterator, Mapping, Sequence
from math import dist

import numpy as np

from scantling.judge import Example, Fault, page
from scantling.measure.model import OpenEnd, Piece
from scantling.plan.model import Lines, Tolerances
from scantling_rules.causes import Causes, cause

id = "open-path"
level = "error"
title = "a cut outline that does not close"
why = """
An open outline leaves a bridge: the part stays in the sheet, or tears out of it. A fill hides the
gap on screen, because a renderer closes it.
"""
remedy = """
Join the two ends in the drawing program (or close the path with `Z`). A line that is meant to
stay open belongs to an operation `score` or `engrave`; or it is a slit, as of a hinge that bends
or for a ribbon: accept it with its reason, or allow `slits` where a shop cuts many. A wide stroke
that is meant as a bar must be converted to an outline.
"""
source = "common practice, no source"
parameters = {
    "slits": {
        "type": "boolean",
        "default": False,
        "description": "lines without a fill within a part may stay open: they are cut as "
        "slits, and only ends that nearly meet are reported; what they leave between them is "
        "judged by thin-web either way",
    },
}
_BODY = '<g fill="none" stroke="#000" stroke-width="0.1">{}</g>'
passes = (
    Example(
        page(
            _BODY.format(
                '<line x1="5" y1="5" x2="35" y2="5"/><line x1="35" y1="35" x2="35" y2="5"/>'
                '<line x1="35" y1="35" x2="5" y2="35"/><line x1="5" y1="35" x2="5" y2="5"/>'
            )
        ),
        note="four lines whose ends touch are a closed outline",
    ),
    Example(
        page(
            _BODY.format(
                '<rect x="5" y="5" width="15" height="30"/><path d="M20 5H35V35H20"/>'
                '<path d="M5 20H20"/>'
            )
        ),
        note="lines between other lines divide them; the parts share their edges",
    ),
    Example(
        page(_BODY.format('<rect x="5" y="5" width="30" height="30"/><path d="M20 12V28"/>')),
        job="[rules.open-path]\nslits = true\n",
        note="a slit, where the job sheet allows them",
    ),
)
fails = (
    Example(page(_BODY.format('<path d="M5 5H35V35H5V6"/>')), note="1 mm is missing"),
    Example(
        '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" '
        'viewBox="0 0 40 40"><path d="M5 5H35V35"/></svg>',
        note="a fill hides the open side",
    ),
    Example(
        page(
            _BODY.format(
                '<rect x="5" y="5" width="30" height="30"/><path d="M12 12H28V28H12V12.4"/>'
            )
        ),
        job="[rules.open-path]\nslits = true\n",
        note="no slit: the ends nearly meet",
    ),
)
facts = (cause,)

NEAR = 2.0
"""mm: the end of another line this near may be meant to meet it (common practice, no source)."""
ON = 0.1
"""mm: a slit that begins on an outline may begin beyond it by so much."""
NEARLY = 0.5
"""mm: ends this near are no slit's (common practice, no source)."""


def check(
    open_ends: Sequence[OpenEnd],
    lines: Lines,
    pieces: Sequence[Piece],
    tolerances: Tolerances,
    options: Mapping[str, bool],
    cause: Causes,
) -> Iterator[Fault]:
    for chain in open_ends:
        if all(chain.touches):  # it divides what it touches
            continue
        if options["slits"] and chain.gap > NEARLY and _within(chain, lines, pieces):
            continue
        apart = dist(chain.start.at, chain.end.at)
        what = f"its ends are {apart:.2f} mm apart"
        if chain.gap < apart - 0.005 and chain.gap <= NEAR:
            what += f", the nearest end of another line is {chain.gap:.2f} mm away"
        yield Fault(
            message=f"outline is open: {what}; "
            f"only ends within {tolerances.join:.2f} mm are joined",
            on=chain.start,
            measured=chain.gap,
            required=tolerances.join,
            extent=chain.length,
            told_by=cause.of_chain(chain),
            others=(("the other end", chain.end),),
        )


def _within(chain: OpenEnd, lines: Lines, pieces: Sequence[Piece]) -> bool:
    """Whether lines without a fill lie in one part, as a slit does."""
    import shapely

    from scantling.measure.pieces.slits import lies_in

    contours = list(chain.contours)
    if lines.filled[contours].any():
        return False
    drawn = shapely.multilinestrings(
        [lines.xy[lines.first[k] : lines.first[k + 1]] for k in contours]
    )
    parts = [piece.polygon for piece in pieces if piece.kept]
    return bool(lies_in(np.array([drawn]), parts, ON)[0] >= 0)
