"""Other curves in place of stretches of a contour, the rest of it as it is."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

from scantling.mend.course import Course
from scantling.mend.curves import nearest, part, point
from scantling.mend.drawn import Bit, Drawn
from scantling.mend.edit import Edit
from scantling.mend.path import Changes, Op, Point
from scantling.mend.repair import Case
from scantling.records import NamedTuple

Spot = tuple[int, float]
"""A place on a contour: the number of a bit, and how far along it, 0 to 1."""


class Stretch(NamedTuple):
    """From one place of a contour to another, and the commands that take its place.

    `low` is after `high` where it runs through the contour's first point.
    """

    low: Spot
    high: Spot
    ops: tuple[Op, ...] = ()

    @property
    def around(self) -> bool:
        return self.low > self.high

    def holds(self, at: Spot) -> bool:
        """Whether a place of the contour is in it."""
        if self.around:
            return at >= self.low or at <= self.high
        return self.low <= at <= self.high


def spot_at(
    case: Case, drawn: Drawn, bits: Sequence[Bit], course: Course, curve: int, at: Point
) -> Spot:
    """The place on one of a contour's curves that is nearest to a point on the sheet, mm."""
    scale = case.plan.scale
    target = drawn.user((at[0] / scale, at[1] / scale))
    many = len(bits) // max(len(course.ends) - 1, 1)
    found = []
    for k in range(curve * many, (curve + 1) * many):
        t = nearest(bits[k].pen, bits[k].op, target)
        x, y = point(bits[k].pen, bits[k].op, t)
        found.append((hypot(x - target[0], y - target[1]), k, t))
    _, k, t = min(found)
    return k, t


def splice(
    drawn: Drawn, bits: Sequence[Bit], closed: bool, stretches: Sequence[Stretch], changes: Changes
) -> list[Edit]:
    """Put what stretches of a contour say in their place: in path data as changes of its steps,
    which are added to `changes`; of any other shape as edits that make it a path. The stretches
    do not overlap; Z closes a contour as before."""
    ordered = sorted(stretches, key=lambda one: one.low)
    if drawn.is_path and not any(stretch.around for stretch in ordered):
        _in_place(drawn, bits, ordered, changes)
        return []
    begin, ops = _anew(bits, ordered)
    whole = (Op("M", begin), *ops, *((Op("Z", ()),) if closed else ()))
    if not drawn.is_path:
        return drawn.drawn_as(whole)
    subpath = drawn.steps[bits[0].step].subpath
    own = [k for k, step in enumerate(drawn.steps) if step.subpath == subpath]
    changes.instead.update(dict.fromkeys(own, ()))
    changes.instead[own[0]] = whole
    return []


def _anew(bits: Sequence[Bit], stretches: Sequence[Stretch]) -> tuple[Point, list[Op]]:
    """The whole contour: where it begins, and its commands."""
    start, end = (0, 0.0), (len(bits) - 1, 1.0)
    closing: tuple[Op, ...] = ()
    for stretch in stretches:
        if stretch.around:
            start, end, closing = stretch.high, stretch.low, stretch.ops
    ops: list[Op] = []
    at = start
    for stretch in stretches:
        if not stretch.around:
            ops += [*_between(bits, at, stretch.low), *stretch.ops]
            at = stretch.high
    ops += [*_between(bits, at, end), *closing]
    return point(bits[start[0]].pen, bits[start[0]].op, start[1]), ops


def _between(bits: Sequence[Bit], start: Spot, end: Spot) -> list[Op]:
    ops = []
    for k in range(start[0], end[0] + 1):
        low, high = (start[1] if k == start[0] else 0.0), (end[1] if k == end[0] else 1.0)
        if low < high:
            ops.append(part(bits[k].pen, bits[k].op, low, high)[1])
    return ops


def _in_place(
    drawn: Drawn, bits: Sequence[Bit], stretches: Sequence[Stretch], changes: Changes
) -> None:
    for k, bit in enumerate(bits):
        mine = [one for one in stretches if one.low[0] <= k <= one.high[0]]
        if not mine:
            continue
        ops: list[Op] = []
        at = 0.0
        for stretch in mine:
            low = stretch.low[1] if stretch.low[0] == k else 0.0
            if low > at:
                ops.append(part(bit.pen, bit.op, at, low)[1])
            if stretch.low[0] == k:
                ops += stretch.ops
            at = stretch.high[1] if stretch.high[0] == k else 1.0
        closes = drawn.steps[bit.step].op.letter == "Z"
        if closes:
            ops.append(Op("Z", ()))
        elif at < 1.0:
            ops.append(part(bit.pen, bit.op, at, 1.0)[1])
        changes.instead[bit.step] = ops
