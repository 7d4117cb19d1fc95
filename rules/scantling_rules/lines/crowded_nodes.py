"""crowded-nodes: nodes so close together that the motion stutters."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import groupby
from typing import TYPE_CHECKING

from scantling.judge import Example, Fault, page
from scantling.judge.limits import mm
from scantling.measure.model import Crowd
from scantling.plan.model import Lines

if TYPE_CHECKING:
    from scantling.measure.lines.crowding import Crowding

id = "crowded-nodes"
level = "note"
title = "nodes so dense that the machine's motion stutters"
why = """
A machine slows down at every node. Traced outlines have thousands: the head crawls and shakes, the
laser dwells and chars, and the edge comes out rough.
"""
remedy = """
Simplify the outline in the drawing program to curves, within a few hundredths of a millimetre.
"""
source = "common practice, no source"
parameters = {
    "spacing": {
        "type": "number",
        "default": 0.1,
        "exclusiveMinimum": 0,
        "x-unit": "mm",
        "description": "mean distance between nodes below which they are crowded",
    },
    "nodes": {
        "type": "integer",
        "default": 20,
        "minimum": 3,
        "description": "fewest nodes in a row that count",
    },
}


def _zigzag(step: float, count: int) -> str:
    points = " ".join(f"{5 + k * step:g} {10 + (k % 2) * step / 4:g}" for k in range(count + 1))
    return page(f'<path d="M{points} L35 35 H5 Z"/>')


passes = (Example(_zigzag(1.0, 30)),)
fails = (Example(_zigzag(0.05, 200), note="a node every 0.05 mm"),)


def check(crowding: Crowding, lines: Lines, options: Mapping[str, float]) -> Iterator[Fault]:
    """One finding an element."""
    dense = crowding.closer(options["spacing"], int(options["nodes"]))

    def shape(crowd: Crowd) -> int:
        return int(lines.shape[crowd.start.contour])

    for _, group in groupby(sorted(dense, key=shape), key=shape):
        worst, *more = sorted(group, key=lambda crowd: -crowd.nodes)
        some = f", and {len(more)} more stretches" if more else ""
        yield Fault(
            message=f"{worst.nodes} nodes in {mm(worst.length)}, one every "
            f"{worst.spacing:.3f} mm{some}",
            on=worst.start,
            measured=worst.spacing,
            required=options["spacing"],
            extent=worst.length,
            others=tuple(("another crowded stretch", crowd.start) for crowd in more),
            mark=(worst.path, *(crowd.path for crowd in more)),
        )
