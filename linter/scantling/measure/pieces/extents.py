"""Whether a flat figure fits into a rectangle at any angle, exactly.

Turned by t, a convex polygon is as wide as its widest pair of opposite corners along the direction
t: w(t) = |d| cos(t - arg d), with one pair d as long as no edge is crossed by the direction's
normal. Between two such angles the width is a cosine near its top, so that the angles at which it
is small enough lie at the ends of the interval and end where |d| cos(t - arg d) meets the limit.
The same holds for the height, a quarter turn on. The figure fits where both are small enough.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.distinct import distinct

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scantling.arrays import Array

QUARTER, HALF = np.pi / 2, np.pi


def fits_into(points: Array, sides: tuple[float, float], slack: float = 1e-9) -> bool:
    """Whether the convex hull of the points goes into a rectangle by a shift and a turn.

    points   (n, 2) mm
    sides    of the rectangle, mm, in any order
    slack    mm by which it may be larger
    """
    corners = hull(points)
    if len(corners) < 2:
        return True
    short, long = min(sides) + slack, max(sides) + slack
    # Directions at which a normal crosses an edge of the hull, for the width and for the height.
    edge = np.diff(corners, axis=0, append=corners[:1])
    along = np.arctan2(edge[:, 1], edge[:, 0])
    angle = distinct(np.concatenate([along % HALF, (along + QUARTER) % HALF, [0.0, HALF]]))
    since, until = angle[:-1], angle[1:]
    middle = (since + until) / 2.0
    wide = _small_enough(corners, middle, since, until, long)
    high = _small_enough(corners, middle + QUARTER, since + QUARTER, until + QUARTER, short)
    high = high - QUARTER
    # Either end of an interval for the width may meet either end for the height.
    low = np.maximum(wide[:, :, None, 0], high[:, None, :, 0])
    top = np.minimum(wide[:, :, None, 1], high[:, None, :, 1])
    return bool((low <= top).any())


def _small_enough(
    corners: Array, middle: Array, since: Array, until: Array, limit: float
) -> NDArray[np.float64]:
    """(k, 2, 2) the stretches of each interval in which the extent along an angle is no larger
    than the limit: one from its start, one to its end; since > until where there is none."""
    d = _spans(corners, middle)
    size, phase = np.abs(d), np.angle(d)
    # the interval's angles relative to the cosine's top, where it lies within a quarter turn
    shift = np.round((middle - phase) / (2.0 * HALF)) * 2.0 * HALF + phase
    reach = np.arccos(np.clip(limit / np.maximum(size, 1e-300), -1.0, 1.0))
    start = np.stack([since, np.minimum(until, shift - reach)], axis=-1)
    stop = np.stack([np.maximum(since, shift + reach), until], axis=-1)
    return np.stack([start, stop], axis=1)


def _spans(corners: Array, angle: Array) -> NDArray[np.complex128]:
    """(k,) from the hindmost to the foremost corner along each angle."""
    z = corners[:, 0] + 1j * corners[:, 1]
    found = np.empty(len(angle), np.complex128)
    # corners come in order of turning, so that the foremost one is found by the edges' angles
    edge = np.angle(np.roll(z, -1) - z)
    first = int(np.argmin(edge))
    rising = np.roll(edge, -first)
    for ahead in (0.0, HALF):
        normal = (angle + ahead + QUARTER + HALF) % (2.0 * HALF) - HALF
        at = (np.searchsorted(rising, normal) + first) % len(z)
        found = z[at] if ahead == 0.0 else found - z[at]
    return found


def hull(points: Array) -> Array:
    """(k, 2) corners of the convex hull, in the order of rising angle."""
    import shapely

    around = shapely.convex_hull(shapely.multipoints(points))
    corners: Array = shapely.get_coordinates(shapely.normalize(around))
    if shapely.get_type_id(around) != 3:
        return corners
    ring = corners[:-1]
    following = np.roll(ring, -1, axis=0)
    twice = (ring[:, 0] * following[:, 1] - ring[:, 1] * following[:, 0]).sum()
    return ring if twice > 0 else ring[::-1]
