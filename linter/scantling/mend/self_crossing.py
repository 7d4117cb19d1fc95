"""self-crossing: take small loops out, where an outline runs past itself and comes back.

At the crossing the outline goes on as it does behind the loop; nothing else of it moves. Only
where that rids an element of all its crossings is anything done.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot, sqrt

import numpy as np

from scantling.judge.grouping import by_outline
from scantling.measure.model import Crossing
from scantling.mend.course import Course
from scantling.mend.curves import point
from scantling.mend.drawn import Bit
from scantling.mend.edit import Edit
from scantling.mend.path import Changes, Point, Unwritable
from scantling.mend.repair import Case, Found, Refusal, Repair
from scantling.mend.splice import Stretch, splice, spot_at
from scantling.records import NamedTuple

rule = "self-crossing"

STEPS = 20
"""of Newton's method; two are enough from where the flattened lines cross"""


def repairs(case: Case) -> Found:
    for group in by_outline((c for c in case.fact("crossings") if c.own), case.lines):
        try:
            yield _mended(case, group)
        except Unwritable as error:
            yield Refusal(group[0].first, str(error))


class _Loop(NamedTuple):
    """A stretch of a contour between two passes through one place, and the longer side of its
    box in mm."""

    stretch: Stretch
    size: float


def _mended(case: Case, group: Sequence[Crossing]) -> Repair:
    shape = case.shape(group[0].first.contour)
    if not case.drawn_once(shape):
        raise Unwritable("its element is drawn in other places too")
    drawn = case.drawn(shape)
    by_contour: dict[int, list[Crossing]] = {}
    for crossing in group:
        if crossing.first.contour != crossing.second.contour:
            raise Unwritable("two of its outlines cross")
        by_contour.setdefault(crossing.first.contour, []).append(crossing)
    changes = Changes()
    edits: list[Edit] = []
    for contour, crossings in by_contour.items():
        bits = drawn.bits(case.curve(contour))
        loops = _loops(case, contour, bits, crossings)
        edits += splice(drawn, bits, bool(case.lines.closed[contour]), loops, changes)
    if changes.steps:
        edits += drawn.redrawn(changes)
    return Repair(
        on=(group[0].first,),
        message="Take the loop out" if len(group) == 1 else "Take the loops out",
        edits=tuple(edits),
        nodes=(shape.node,),
        contours=frozenset(case.curve(contour) for contour in by_contour),
    )


def _loops(
    case: Case, contour: int, bits: Sequence[Bit], crossings: Sequence[Crossing]
) -> list[Stretch]:
    """The loops to be taken out; none within another."""
    course = Course(case.lines, contour, case.drawing.curves, case.curve(contour))
    found = sorted(
        (_loop(case, contour, course, bits, crossing) for crossing in crossings),
        key=lambda loop: -loop.size,
    )
    if found[0].size > case.wish.loop:
        raise Unwritable(
            f"the loop is {found[0].size:.2f} mm, and loops are taken out up to "
            f"{case.wish.loop:.2f} mm"
        )
    kept: list[Stretch] = []
    for loop in found:
        low, high = loop.stretch.low, loop.stretch.high
        if not any(other.holds(low) and other.holds(high) for other in kept):
            if any(other.holds(low) or other.holds(high) for other in kept):
                raise Unwritable("its loops cross each other")
            kept.append(loop.stretch)
    return kept


def _loop(
    case: Case, contour: int, course: Course, bits: Sequence[Bit], crossing: Crossing
) -> _Loop:
    lines, curves = case.lines, case.drawing.curves
    origin = int(curves.first[case.curve(contour)])
    first, second = (
        course.nearest(spot.segment - origin, crossing.first.at)
        for spot in (crossing.first, crossing.second)
    )
    drawn = case.drawn(case.shape(contour))
    (a, t), (b, s) = (
        spot_at(case, drawn, bits, course, k, crossing.first.at) for k, _ in sorted((first, second))
    )
    if (a, t) > (b, s):
        (a, t), (b, s) = (b, s), (a, t)
    t, s = _met(bits[a], bits[b], t, s)
    xy = lines.xy[lines.first[contour] : lines.first[contour + 1]]
    low, high = sorted((course.along(*first), course.along(*second)))
    inner = _size(np.vstack((xy[course.between(low, high)], crossing.first.at)))
    loop = _Loop(Stretch((a, t), (b, s)), inner)
    if course.closed:
        outer = _size(np.vstack((xy[~course.between(low, high)], crossing.first.at)))
        if outer < inner:
            loop = _Loop(Stretch((b, s), (a, t)), outer)
    return loop


def _size(xy: np.ndarray) -> float:
    return float((xy.max(axis=0) - xy.min(axis=0)).max())


def _met(one: Bit, other: Bit, t: float, s: float) -> tuple[float, float]:
    """Where two curves cross exactly, from where they nearly do: Newton's method."""
    if one is other:
        return _own(one)
    for _ in range(STEPS):
        p, q = point(one.pen, one.op, t), point(other.pen, other.op, s)
        dx, dy = q[0] - p[0], q[1] - p[1]
        ux, uy = _slope(one, t)
        vx, vy = _slope(other, s)
        det = uy * vx - ux * vy
        if not det:
            break
        step_t, step_s = (vx * dy - vy * dx) / det, (ux * dy - uy * dx) / det
        t, s = min(max(t + step_t, 0.0), 1.0), min(max(s + step_s, 0.0), 1.0)
        if abs(step_t) + abs(step_s) < 1e-15:
            break
    p, q = point(one.pen, one.op, t), point(other.pen, other.op, s)
    if hypot(p[0] - q[0], p[1] - q[1]) > 1e-9 * (1.0 + hypot(*p)):
        raise Unwritable("it cannot be told exactly where it crosses itself")
    return t, s


def _own(bit: Bit) -> tuple[float, float]:
    """Where a cubic at + bt² + ct³ crosses itself. Dividing its equation for t and s by t - s
    leaves a + b (t+s) + c ((t+s)² - ts) = 0, which is linear in t+s and (t+s)² - ts."""
    if bit.op.letter != "C":
        raise Unwritable("it cannot be told exactly where it crosses itself")
    p = np.array([bit.pen, *np.reshape(bit.op.values, (3, 2)).tolist()])
    a, b = 3.0 * (p[1] - p[0]), 3.0 * (p[0] - 2.0 * p[1] + p[2])
    c = p[3] - 3.0 * p[2] + 3.0 * p[1] - p[0]
    try:
        both, mixed = np.linalg.solve(np.column_stack((b, c)), -a).tolist()
        half = sqrt(both * both - 4.0 * (both * both - mixed)) / 2.0
    except (np.linalg.LinAlgError, ValueError):
        raise Unwritable("it cannot be told exactly where it crosses itself") from None
    return both / 2.0 - half, both / 2.0 + half


def _slope(bit: Bit, t: float) -> Point:
    h = 1e-6
    low, high = max(t - h, 0.0), min(t + h, 1.0)
    p, q = point(bit.pen, bit.op, low), point(bit.pen, bit.op, high)
    return (q[0] - p[0]) / (high - low), (q[1] - p[1]) / (high - low)
