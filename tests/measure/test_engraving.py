"""Engraved areas that lie on each other, against closed forms and against counting squares."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from making import Sketch, box, circle, square, steady

from scantling.plan.model import CUT, ENGRAVE, SCORE


def doubled(sketch: Sketch) -> Any:
    return sketch.facts()["doubled"]


def lens(radius: float, apart: float) -> float:
    """What two circles of one radius share (the lens, as any table of areas gives it)."""
    half = apart / 2.0
    return 2.0 * radius**2 * math.acos(half / radius) - apart * math.sqrt(radius**2 - half**2)


@pytest.mark.parametrize("apart", [1.0, 6.0, 11.0, 13.9])
def test_two_discs_share_a_lens(apart: float) -> None:
    sketch = Sketch().ring(circle(7.0), operation=ENGRAVE)
    sketch.ring(circle(7.0, (apart, 0.0)), operation=ENGRAVE)
    (one,) = doubled(sketch)
    # a flattened circle lies within 0.01 mm of the true one: the lens' rim is shorter than 14 pi
    assert one.area == pytest.approx(lens(7.0, apart), abs=0.01 * 14.0 * math.pi)
    assert (one.times, one.contours) == (2, (0, 1))
    assert one.polygon.contains(shapely.Point(apart / 2.0, 0.0))


def test_discs_that_touch_or_lie_apart_share_nothing() -> None:
    sketch = Sketch().ring(square(10.0), operation=ENGRAVE)
    sketch.ring(square(10.0, (10.0, 0.0)), operation=ENGRAVE)
    sketch.ring(square(3.0, (40.0, 0.0)), operation=ENGRAVE)
    assert doubled(sketch) == ()


def test_a_hole_is_not_covered() -> None:
    sketch = Sketch().shape(square(20.0), square(10.0), rule="evenodd", operation=ENGRAVE)
    sketch.ring(square(12.0), operation=ENGRAVE)
    (one,) = doubled(sketch)
    assert one.area == pytest.approx(12.0**2 - 10.0**2)
    assert len(one.polygon.interiors) == 1
    assert one.contours == (0, 2)


def test_a_shape_never_lies_on_itself() -> None:
    sketch = Sketch().shape(square(20.0), square(10.0), operation=ENGRAVE)
    sketch.shape([(30, 0), (40, 10), (40, 0), (30, 10)], operation=ENGRAVE)
    assert doubled(sketch) == ()


def test_only_engraved_fills_count() -> None:
    sketch = Sketch().ring(square(20.0), operation=ENGRAVE)
    sketch.ring(square(10.0), operation=CUT)
    sketch.ring(square(9.0), operation=SCORE)
    sketch.outline(square(8.0), operation=ENGRAVE, width=2.0)
    assert doubled(sketch) == ()
    (area,) = sketch.facts()["engraved"]
    assert area.area == pytest.approx(400.0)


def test_nothing_engraved() -> None:
    assert doubled(Sketch()) == ()
    assert doubled(Sketch().ring(circle(5))) == ()


def test_what_hangs_together_is_one_area() -> None:
    sketch = Sketch()
    for x in (0.0, 6.0, 12.0, 40.0):
        sketch.ring(square(10.0, (x, 0.0)), operation=ENGRAVE)
    sketch.ring(box(100.0, 4.0, (30.0, 0.0)), operation=ENGRAVE)
    one, other = doubled(sketch)
    assert (one.times, one.contours) == (3, (0, 1, 2, 4))
    assert one.area == pytest.approx(2 * 4.0 * 10.0 + (22.0 - 2 * 4.0) * 4.0)
    assert (other.times, other.contours) == (2, (3, 4))
    assert other.area == pytest.approx(40.0)


side = st.integers(1, 9)
corner = st.integers(0, 12)
bars = st.lists(st.tuples(corner, corner, side, side), min_size=1, max_size=7)


@given(bars)
@steady
def test_bars_on_a_grid_cover_as_many_squares_as_can_be_counted(
    drawn: list[tuple[int, int, int, int]],
) -> None:
    sketch, count = Sketch(), np.zeros((22, 22), int)
    for x, y, wide, high in drawn:
        sketch.ring(box(wide, high, (x + wide / 2, y + high / 2)), operation=ENGRAVE)
        count[x : x + wide, y : y + high] += 1
    facts = sketch.facts()
    assert sum(one.area for one in facts["doubled"]) == pytest.approx(int((count > 1).sum()))
    assert max((one.times for one in facts["doubled"]), default=count.max()) == count.max()
    covered = sum(area.area for area in facts["engraved"])
    assert covered == pytest.approx(int((count > 0).sum()))


def copies(*rings: Any) -> Any:
    sketch = Sketch()
    for ring in rings:
        sketch.ring(ring, operation=ENGRAVE)
    return sketch.facts(coincidence=0.05)["copies"]


def test_copies_cover_the_same_however_they_are_drawn() -> None:
    disc, turned = circle(7.0), circle(7.0, turn=0.1)[::-1]
    assert copies(disc, square(3.0, (30.0, 0.0)), turned) == ((0, 2),)
    assert copies(disc, disc, turned, square(3.0), square(3.0)) == ((0, 1, 2), (3, 4))
    assert copies(disc, circle(7.0, (0.04, 0.0))) == ((0, 1),)


@pytest.mark.parametrize(
    "other",
    [
        circle(7.06),
        circle(7.0, (0.1, 0.0)),
        square(14.0),  # reaches as far
        np.array([(-7, -7), (7, -7), (7, 7)]),
        circle(7.0, (20.0, 0.0)),
    ],
)
def test_what_differs_by_more_than_lines_that_count_as_one_is_no_copy(other: Any) -> None:
    assert copies(circle(7.0), other) == ()


def test_a_hole_makes_another_shape() -> None:
    sketch = Sketch().shape(square(20.0), square(10.0), rule="evenodd", operation=ENGRAVE)
    sketch.ring(square(20.0), operation=ENGRAVE)
    sketch.shape(square(20.0), square(10.0), rule="evenodd", operation=ENGRAVE)
    assert sketch.facts(coincidence=0.05)["copies"] == ((0, 3),)


def test_what_is_narrower_than_a_line_is_no_copy() -> None:
    assert copies(box(20.0, 0.04), box(20.0, 0.04)) == ()
    assert copies(box(20.0, 0.06), box(20.0, 0.06)) == ((0, 1),)


@given(st.lists(st.tuples(*[st.integers(0, 2)] * 2, *[st.integers(1, 2)] * 2), max_size=9))
@steady
def test_bars_that_are_there_again(drawn: list[tuple[int, int, int, int]]) -> None:
    """Against comparing the numbers that they are drawn by; without copies, what lies on each other
    is what does in a drawing without them."""
    once = list(dict.fromkeys(drawn))
    many, few = Sketch(), Sketch()
    for sketch, bars_of_it in ((many, drawn), (few, once)):
        for x, y, wide, high in bars_of_it:
            sketch.ring(box(wide, high, (x + wide / 2, y + high / 2)), operation=ENGRAVE)
    facts = many.facts(coincidence=0.05)
    wanted = [[k for k, bar in enumerate(drawn) if bar == one] for one in once]
    assert facts["copies"] == tuple(tuple(same) for same in wanted if len(same) > 1)
    over, alone = facts["overlaid"], few.facts()["doubled"]
    assert [(one.area, one.times) for one in over] == [(one.area, one.times) for one in alone]
