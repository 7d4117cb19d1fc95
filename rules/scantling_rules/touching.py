"""Outlines that touch at a point: the solid has no width there, and neither has the void.

Where the places belong to one part or one shape, they were drawn as hanging together, and
thin-web says that nothing holds them; between other parts narrow-gap says how near they are.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from scantling.measure.model import Narrow, Touch
from scantling.plan.model import Lines
from scantling_rules.causes import Causes

SAME_PLACE = 1.0
"""mm: a touch this near to a thin place that is told is the end of it, as between two discs."""


def points(
    touches: Sequence[Touch], lines: Lines, told: Iterable[Narrow], cause: Causes, *, held: bool
) -> Iterator[tuple[Touch, str]]:
    """The touches of what was drawn as hanging together (`held`), or the others, one at a point,
    each with the rule that tells of it already; but for those at thin places that are `told`."""
    if not touches:
        return
    ends = np.concatenate([np.zeros((0, 2)), *(place.path for place in told)])
    seen = set()
    for touch in touches:
        at = touch.first.at
        one, other = lines.shape[[touch.first.contour, touch.second.contour]].tolist()
        if (touch.piece > 0 or one == other) is not held or at in seen:
            continue
        seen.add(at)
        if len(ends) and np.hypot(*(ends - at).T).min() <= SAME_PLACE:
            continue
        yield touch, cause.of_touch(touch)
