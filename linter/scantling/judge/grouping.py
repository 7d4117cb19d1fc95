"""One finding a cause: crossings gathered by the outlines that cross."""

from __future__ import annotations

from collections.abc import Iterable

from scantling.measure.model import Crossing
from scantling.plan.model import Lines


def by_outline(crossings: Iterable[Crossing], lines: Lines) -> list[list[Crossing]]:
    """Crossings of the same pair of elements together, in the order of the first of each."""
    groups: dict[tuple[int, int], list[Crossing]] = {}
    for crossing in crossings:
        first = int(lines.shape[crossing.first.contour])
        second = int(lines.shape[crossing.second.contour])
        groups.setdefault((first, second), []).append(crossing)
    return list(groups.values())
