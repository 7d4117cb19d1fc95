"""score-on-cut: a line that is scored or traced where it is cut as well."""

from collections.abc import Iterator, Mapping, Sequence

from scantling.judge import Example, Fault, assigned, page, stocked
from scantling.measure.model import Overlap
from scantling.plan.model import CUT, ENGRAVE, OPERATIONS, SCORE, Lines, Plan

id = "score-on-cut"
level = "warning"
title = "a scored line, or an engraved stroke, that runs along a cut line of the same stock"
why = """
The tool goes along that edge once to mark it and once to cut it. The mark falls into the slot, so
nothing is seen of it but a scorched or rounded edge, and the cut may wander in the groove.
"""
remedy = """
Delete the scored line where it only repeats the cut, or the part of it that does. A border is
drawn inside the edge, away from it by more than the kerf; a crease that ends at the edge stays.
"""
source = "common practice, no source; lines within the coincidence tolerance of the cut"
parameters = {
    "least": {
        "type": "number",
        "default": 2.0,
        "minimum": 0,
        "x-unit": "mm",
        "description": "length of a shape's lines on cut lines from which it is reported",
    }
}
_JOB = stocked("ply", "plywood") + assigned("#000", "ply") + assigned("#06c", "ply", "{}")
_BODY = (
    '<rect x="5" y="5" width="30" height="30"/>'
    '<g fill="none" stroke="#06c" stroke-width="0.3">{}</g>'
)
_SQUARE = '<rect x="{0}" y="{0}" width="{1}" height="{1}"/>'
passes = (
    Example(page(_BODY.format(_SQUARE.format(6, 28))), _JOB.format("score"), "1 mm inside"),
    Example(
        page(_BODY.format('<path d="M20 5V35"/>')),
        _JOB.format("score"),
        "a crease from edge to edge",
    ),
    Example(
        page('<rect x="5" y="5" width="30" height="30" fill="#06c" stroke="#000"/>'),
        _JOB.format("engrave"),
        "an engraved area up to the edge",
    ),
)
fails = (
    Example(page(_BODY.format(_SQUARE.format(5, 30))), _JOB.format("score")),
    Example(
        page(_BODY.format('<path d="M20 20L35 20V30"/>')), _JOB.format("score"), "a part of it"
    ),
    Example(
        page(_BODY.format(_SQUARE.format(5, 30))),
        _JOB.format("engrave"),
        "an engraved outline is a line that the tool traces",
    ),
)


def applies(plan: Plan) -> bool:
    """Only where one sheet has lines to follow of both kinds."""
    return any(
        bool((lines.of(SCORE) | (lines.of(ENGRAVE) & ~lines.filled)).any())
        and bool(lines.of(CUT).any())
        for lines in (sheet.lines for sheet in plan.sheets)
    )


def check(
    scored_cuts: Sequence[Overlap], lines: Lines, options: Mapping[str, float]
) -> Iterator[Fault]:
    """One finding for each shape that is scored or traced."""
    shapes: dict[int, list[Overlap]] = {}
    for overlap in scored_cuts:
        shapes.setdefault(int(lines.shape[overlap.second.contour]), []).append(overlap)
    for overlaps in shapes.values():
        longest = max(overlaps, key=lambda overlap: overlap.length)
        length = sum(overlap.length for overlap in overlaps)
        if length < options["least"]:
            continue
        scored = lines.operation[longest.second.contour] == OPERATIONS.index(SCORE)
        yield Fault(
            message=f"{length:.2f} mm of {'scored line' if scored else 'engraved stroke'} run "
            "along a cut line: the edge is marked and then cut",
            on=longest.second,
            measured=length,
            required=0.0,
            extent=length,
            others=tuple(("the cut line", overlap.first) for overlap in overlaps),
            mark=tuple(run for overlap in overlaps for run in overlap.runs),
        )
