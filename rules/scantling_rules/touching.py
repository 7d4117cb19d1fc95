"""Outlines that touch: a gap or a web that closes to nothing, however large the design is made."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from scantling.measure.model import Narrow, Touch

SAME_PLACE = 1.0
"""mm: a touch this near to a thin place is the end of it, as between two discs."""


def ends_in(narrow: Narrow, touch: Touch, limit: float) -> bool:
    """Whether a web or gap closes to the point of a touch: it is near by, or between the same two
    outlines and no farther away than the place is long, in mm, below `limit`. Two outlines that
    close in slowly are followed to within the measuring error of the point and no nearer; from
    there to the point they are nearer each other all the way, so that it is the shorter piece."""
    away = float(np.hypot(*(narrow.path - touch.first.at).T).min(initial=np.inf))
    if away <= SAME_PLACE:
        return True
    same = {narrow.p.contour, narrow.q.contour} == {touch.first.contour, touch.second.contour}
    return same and away <= narrow.length_below(limit)


def closes(narrow: Narrow, touches: Iterable[Touch], limit: float) -> bool:
    """Whether a gap, or a web, is narrow because its two sides touch at its end: the touch is of
    the same outlines."""
    sides = {narrow.p.contour, narrow.q.contour}
    return any(
        sides == {touch.first.contour, touch.second.contour} and ends_in(narrow, touch, limit)
        for touch in touches
    )
