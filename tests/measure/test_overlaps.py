"""Lines on top of each other. Expected lengths are closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from making import Sketch, box, circle, square, steady
from numpy.typing import NDArray

from scantling.measure.model import Overlap

TOLERANCE = 0.05
SIDE = square(10.0)


def found(sketch: Sketch, **more: float) -> tuple[Overlap, ...]:
    overlaps: tuple[Overlap, ...] = sketch.facts(**more)["overlaps"]
    return overlaps


def arc(radius: float, begin: float, end: float, chord: float = 0.01) -> NDArray[np.float64]:
    n = int(np.ceil((end - begin) / np.arccos(1.0 - chord / radius) / 2.0)) + 1
    angle = np.linspace(begin, end, n + 1)
    return np.column_stack([np.cos(angle), np.sin(angle)]) * radius


def bezier(radius: float, quarter: int) -> NDArray[np.float64]:
    """A quarter of a circle as the usual cubic: control points at 4/3 (sqrt 2 - 1) of the
    radius, which is off the circle by 0.00027 of it at most."""
    k = 4.0 / 3.0 * (2.0**0.5 - 1.0)
    p = np.array([(1.0, 0.0), (1.0, k), (k, 1.0), (0.0, 1.0)]) * radius
    t = np.linspace(0.0, 1.0, len(arc(radius, *QUARTERS[0])))[:, None]
    points = (
        (1 - t) ** 3 * p[0] + 3 * t * (1 - t) ** 2 * p[1] + 3 * t**2 * (1 - t) * p[2] + t**3 * p[3]
    )
    for _ in range(quarter):
        points = np.column_stack([-points[:, 1], points[:, 0]])
    return points


QUARTERS = [(k * np.pi / 2.0, (k + 1) * np.pi / 2.0) for k in range(4)]


@pytest.mark.parametrize("radius", [1.0, 20.0, 100.0])
def test_a_circle_is_the_same_line_however_it_is_drawn(radius: float) -> None:
    ring = circle(radius, turn=0.3)
    around = 2.0 * radius * len(ring) * np.sin(np.pi / len(ring))
    arcs = Sketch().ring(ring)
    cubics = Sketch().ring(ring[::-1])
    for k, (begin, end) in enumerate(QUARTERS):
        arcs.line(arc(radius, begin, end))
        cubics.line(bezier(radius, k)[::-1])
    for sketch in (arcs, cubics):
        (overlap,) = found(sketch)
        assert overlap.length == pytest.approx(around, rel=2e-3)
        assert overlap.first.contour == 0
        assert len(overlap.runs) == 4
    (overlap,) = found(Sketch().ring(ring).ring(ring[::-1] @ np.array([(0, 1), (-1, 0)])))
    assert overlap.length == pytest.approx(around)


def test_both_spots_lie_where_the_lines_run() -> None:
    (overlap,) = found(Sketch().line([(0, 0), (10, 0)]).line([(15, 0.02), (5, 0.02)]))
    assert overlap.length == pytest.approx(5.0)
    assert overlap.first.at == pytest.approx((7.5, 0.0))
    assert overlap.second.at == pytest.approx((7.5, 0.02))
    assert (overlap.first.contour, overlap.second.contour) == (0, 1)
    assert (overlap.first.segment, overlap.second.segment) == (0, 2)
    assert overlap.run == pytest.approx(np.array([(10.0, 0.02), (5.0, 0.02)]))


def test_three_on_top_of_each_other_count_twice() -> None:
    sketch = Sketch().ring(SIDE).ring(SIDE[::-1]).ring(np.roll(SIDE, 1, axis=0))
    assert sum(overlap.length for overlap in found(sketch)) == pytest.approx(80.0)
    lines = Sketch().line([(0, 0), (9, 0)]).line([(9, 0), (0, 0)]).line([(2, 0), (5, 0)])
    assert sum(overlap.length for overlap in found(lines)) == pytest.approx(12.0)


def test_a_line_that_comes_back_on_itself() -> None:
    (overlap,) = found(Sketch().line([(0, 0), (10, 0), (10, 5), (10, 0), (0, 0)]))
    assert overlap.length == pytest.approx(15.0, abs=2.0 * TOLERANCE)
    assert overlap.first.contour == overlap.second.contour == 0


def test_a_contour_drawn_twice_in_one_path() -> None:
    (overlap,) = found(Sketch().shape(SIDE, SIDE[::-1]))
    assert overlap.length == pytest.approx(40.0)


def test_an_outline_of_many_lines_is_one_overlap() -> None:
    ring = circle(20.0)
    sketch = Sketch().ring(ring)
    for k in range(len(ring)):
        sketch.line(ring[[k, (k + 1) % len(ring)]])
    (overlap,) = found(sketch)
    assert overlap.length == pytest.approx(40.0 * np.pi, rel=1e-3)
    assert len(overlap.runs) == len(ring)


def test_many_lines_below_an_outline_are_one_overlap() -> None:
    ring = circle(20.0)
    sketch = Sketch()
    for k in range(len(ring)):
        sketch.line(ring[[k, (k + 1) % len(ring)]])
    (overlap,) = found(sketch.ring(ring))
    assert overlap.length == pytest.approx(40.0 * np.pi, rel=1e-3)


def test_two_outlines_that_share_many_edges_are_one_overlap() -> None:
    step = np.arange(20)
    teeth = np.column_stack([np.repeat(step, 2), np.tile([0, 1, 1, 0], 10)]).astype(float)
    one = [*teeth, (25, 0), (25, 5), (-5, 5), (-5, 0)]
    # The other side shares the long flanks of the teeth, not their tips.
    other = [*(teeth * (1, 0.8) + (0, 0.1)), (24, 0.1), (24, -5), (-4, -5), (-4, 0.1)]
    overlaps = found(Sketch().ring(one).ring(other))
    assert len(overlaps) == 1
    assert len(overlaps[0].runs) == 20
    assert overlaps[0].length == pytest.approx(20 * 0.8, abs=20 * TOLERANCE)


def test_neighbours_share_the_line_between_them() -> None:
    (overlap,) = found(Sketch().ring(SIDE).ring(square(10.0, (10.0, 3.0))))
    assert overlap.length == pytest.approx(7.0)
    assert overlap.second.at == pytest.approx((5.0, 1.5))


@pytest.mark.parametrize("operations", [("cut", "score"), ("cut", "guide"), ("guide", "guide")])
def test_only_lines_of_one_operation(operations: tuple[str, str]) -> None:
    sketch = Sketch()
    for operation in operations:
        sketch.line([(0, 0), (10, 0)], operation=operation)
    assert found(sketch) == ()


def test_scored_lines_and_engraved_areas() -> None:
    assert len(found(Sketch().line(SIDE, operation="score").line(SIDE, operation="score"))) == 1
    assert found(Sketch().ring(SIDE, operation="engrave").ring(SIDE, operation="engrave")) == ()


@pytest.mark.parametrize("degrees", [0.2, 0.5, 1.0, 3.0, 10.0, 45.0, 90.0])
def test_lines_that_cross_are_none(degrees: float) -> None:
    slope = np.tan(np.radians(degrees))
    end = np.array([np.cos(np.radians(degrees)), np.sin(np.radians(degrees))]) * 60.0
    assert slope > 0.0
    assert found(Sketch().line([(-60, 0), (60, 0)]).line([-end, end])) == ()
    assert found(Sketch().line([(-60, 0), (60, 0)]).line([(0, 0), end])) == ()


@pytest.mark.parametrize("radius", [0.5, 5.0, 50.0, 500.0])
@pytest.mark.parametrize("off", [-0.02, -0.01, 0.0, 0.01, 0.03])
@pytest.mark.parametrize("turn", [0.0, 0.5])
def test_a_circle_that_touches_a_line_is_none(radius: float, off: float, turn: float) -> None:
    ring = circle(radius)
    ring = circle(radius, turn=turn * 2.0 * np.pi / len(ring) + np.pi / 2.0)
    line = [(-60.0, radius + off), (60.0, radius + off)]
    assert found(Sketch().line(line).ring(ring)) == ()
    assert found(Sketch().ring(ring).line(line)) == ()


@pytest.mark.parametrize("ratio", [0.2, 0.5, 0.8, 0.9])
def test_circles_that_touch_are_none(ratio: float) -> None:
    for side in (-1.0, 1.0):
        inner = circle(40.0 * ratio, (40.0 + side * 40.0 * ratio, 0.0))
        assert found(Sketch().ring(circle(40.0)).ring(inner)) == ()


@pytest.mark.parametrize("length", [0.3, 1.0, 10.0])
def test_a_cusp_is_none(length: float) -> None:
    t = np.linspace(-1.0, 1.0, 81)
    assert found(Sketch().line(np.column_stack([t**2, 0.3 * t**3]) * length)) == ()


@pytest.mark.parametrize("degrees", [0.3, 1.0, 5.0])
def test_a_sharp_corner_is_none(degrees: float) -> None:
    end = np.array([np.cos(np.radians(degrees)), np.sin(np.radians(degrees))]) * 30.0
    assert found(Sketch().line([(30, 0), (0, 0), end])) == ()
    assert found(Sketch().ring([(30, 0), (0, 0), end])) == ()


def test_a_thin_wall_is_none_until_it_is_thinner_than_the_tolerance() -> None:
    assert found(Sketch().ring(box(20.0, 0.1))) == ()
    (overlap,) = found(Sketch().ring(box(20.0, 0.04)))
    assert overlap.length == pytest.approx(20.0, abs=3.0 * TOLERANCE)


def test_ends_that_touch_are_none() -> None:
    assert (
        found(Sketch().line([(0, 0), (5, 0)]).line([(5, 0), (9, 0)]).line([(9, 0), (9, 5)])) == ()
    )
    fine = np.column_stack([np.linspace(0.0, 1.0, 101), np.zeros(101)])
    assert found(Sketch().line(fine)) == ()
    assert found(Sketch().ring(circle(0.3, chord=0.0001))) == ()


def test_a_stretch_shared_by_lines_that_part() -> None:
    part = Sketch().line([(0, 0), (10, 0)]).line([(0, -1), (3, 0), (5, 0), (8, 2)])
    (overlap,) = found(part)
    assert overlap.length == pytest.approx(2.0)


def test_the_tolerance_is_the_sheets() -> None:
    lines = Sketch().line([(0, 0), (10, 0)]).line([(0, 0.08), (10, 0.08)])
    assert found(lines) == ()
    assert len(found(lines, coincidence=0.1)) == 1


@steady
@given(
    seed=st.integers(0, 2**32 - 1),
    corners=st.integers(2, 12),
    begin=st.floats(0.0, 0.4),
    end=st.floats(0.6, 1.0),
)
def test_part_of_a_line_on_that_line(seed: int, corners: int, begin: float, end: float) -> None:
    """A stretch of a polyline, drawn backwards on top of it, is doubled as long as it is: to
    within a tolerance at its ends, and at corners that another leg is near to."""
    rng = np.random.default_rng(seed)
    turn = np.cumsum(rng.uniform(-0.6, 0.6, corners))
    step = rng.uniform(1.0, 5.0, corners)[:, None]
    line = np.cumsum(np.column_stack([np.cos(turn), np.sin(turn)]) * step, axis=0)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    low, high = along[-1] * begin, along[-1] * end
    inner = (along > low) & (along < high)
    ends = np.column_stack([np.interp([low, high], along, line[:, axis]) for axis in (0, 1)])
    part = np.vstack([ends[:1], line[inner], ends[1:]])
    overlaps = found(Sketch().line(line).line(part[::-1]))
    if high - low > 0.5:
        assert sum(o.length for o in overlaps) == pytest.approx(high - low, abs=2.0 * TOLERANCE)
        assert len(overlaps) == 1


@steady
@given(seed=st.integers(0, 2**32 - 1))
def test_lines_in_general_are_none(seed: int) -> None:
    """Straight lines in any places, but for those that run nearly the same way: their ends may lie
    within the tolerance of each other for a while."""
    rng = np.random.default_rng(seed)
    ends = rng.uniform(-10.0, 10.0, (12, 2, 2))
    angle = np.arctan2(*np.diff(ends, axis=1)[:, 0, ::-1].T) % np.pi
    apart = np.abs(angle[:, None] - angle)
    apart = np.minimum(apart, np.pi - apart) + np.eye(12)
    sketch = Sketch()
    for line in ends[apart.min(axis=1) > 0.2]:
        sketch.line(line)
    assert found(sketch) == ()


@pytest.mark.parametrize("slope", [0.0, 0.02])
def test_a_line_that_parts_slowly_is_doubled_as_far_as_it_lies_on_the_other(slope: float) -> None:
    """Ten millimetres on the line, then away: with x = 0.05 mm / slope, it is within half the
    tolerance, the tolerance and twice that for 10 + x / 2, 10 + x and 10 + 2 x. At a slope of 0.02
    that grows by 1.2 to twice, but only by 1.11 from half."""
    leaves = [(5, 0), (15, 0), (25, 10 * slope), (28, 9)]
    (overlap,) = Sketch().line([(0, 0), (40, 0)]).line(leaves).facts()["overlaps"]
    assert overlap.length == pytest.approx(10.0 if slope else 20.0, abs=0.1)


def test_lines_that_are_never_at_one_distance_are_doubled_where_they_are_near() -> None:
    (overlap,) = Sketch().line([(0, 0), (20, 0)]).line([(0, 0.04), (20, -0.04)]).facts()["overlaps"]
    assert overlap.length == pytest.approx(20.0, abs=0.1)


def test_each_two_lines_are_told_by_themselves_and_by_what_lies_in_the_middle() -> None:
    sketch = Sketch()
    for k, length in enumerate((10.0, 20.0, 30.0)):
        middle = length / 2.0
        along = [0.0, middle - 0.2, middle + 0.2, length]
        sketch.line([(0, 9 * k), (40, 9 * k)]).line([(x, 9 * k) for x in along])
    told = found(sketch)
    assert [overlap.length for overlap in told] == pytest.approx([10.0, 20.0, 30.0])
    assert [(o.first.contour, o.second.contour) for o in told] == [(0, 1), (2, 3), (4, 5)]
    assert [o.second.at[0] for o in told] == pytest.approx([5.0, 10.0, 15.0])
    assert [o.second.segment for o in told] == [3, 9, 15]
