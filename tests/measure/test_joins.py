"""Joining of cut lines at their ends. Expected values are closed forms of the figures drawn."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from making import Sketch, circle, square, steady

from scantling.measure.lines.joins import LOOSE, MEETS, TOUCHES

SIDE = square(10.0)


def four_lines(apart: float = 0.0, turned: tuple[int, ...] = ()) -> Sketch:
    sketch = Sketch()
    for k in range(4):
        line = np.array([SIDE[k], SIDE[(k + 1) % 4]])
        along = (line[1] - line[0]) / 10.0
        line = line + np.outer([0.5, -0.5], along) * apart
        sketch.line(line[::-1] if k in turned else line)
    return sketch


@pytest.mark.parametrize("turned", [(), (1,), (0, 2), (1, 2, 3)])
@pytest.mark.parametrize("apart", [0.0, 0.03, 0.06])
def test_an_outline_of_four_lines_is_closed(apart: float, turned: tuple[int, ...]) -> None:
    facts = four_lines(apart, turned).facts()
    joined = facts["joined"]
    assert joined.closed.tolist() == [True]
    assert sorted(joined.contours.tolist()) == [0, 1, 2, 3]
    assert facts["open_ends"] == ()
    # where its lines follow one another they neither touch nor cross
    assert facts["grazes"] == facts["crossings"] == ()
    assert not facts["arrangement"].noded


def test_ends_farther_apart_than_the_tolerance_stay_open() -> None:
    # Ends at a corner are apart by sqrt(2) times the half that each line is short of it.
    facts = four_lines(0.08).facts()
    ends = facts["open_ends"]
    assert len(ends) == 4
    assert [end.gap for end in ends] == pytest.approx([0.04 * 2**0.5] * 4)
    assert [end.length for end in ends] == pytest.approx([9.92] * 4)


def test_the_tolerance_is_the_sheets() -> None:
    assert four_lines(0.08).facts(join=0.1)["open_ends"] == ()


def test_the_gap_is_to_the_nearest_loose_end() -> None:
    sketch = Sketch().line([(0, 0), (10, 0), (10, 10)]).line([(0, 2), (-5, 20)])
    first, second = sketch.facts()["open_ends"]
    assert first.gap == pytest.approx(2.0)
    assert second.gap == pytest.approx(2.0)
    assert first.length == pytest.approx(20.0)
    assert first.touches == (False, False)


def test_an_end_alone_is_measured_to_the_other_end_of_its_line() -> None:
    (end,) = Sketch().line([(0, 0), (3, 0), (3, 4)]).facts()["open_ends"]
    assert end.gap == pytest.approx(5.0)
    assert (end.start.at, end.end.at) == ((0.0, 0.0), (3.0, 4.0))
    assert (end.start.segment, end.end.segment) == (0, 1)


def test_a_line_whose_own_ends_meet_is_a_ring() -> None:
    facts = Sketch().line([*SIDE, SIDE[0] + 0.02]).facts()
    assert facts["joined"].closed.tolist() == [True]
    assert len(facts["joined"].point) == 4


def test_a_line_hardly_longer_than_the_tolerance_is_no_ring() -> None:
    bit = [(0, 0), (0.02, 0.02), (0.04, 0)]
    facts = Sketch().line(bit).facts()
    assert facts["joined"].closed.tolist() == [False]
    assert len(facts["open_ends"]) == 1
    facts = Sketch().line([(5, 5), (90, 5)]).line(bit).facts()  # whatever else is drawn
    assert facts["joined"].closed.tolist() == [False, False]


def test_an_end_on_the_middle_of_a_line_touches_it_and_joins_nothing() -> None:
    facts = Sketch().ring(SIDE).line([(-5.03, 0), (4.98, 0)]).facts()
    joined = facts["joined"]
    assert joined.closed.tolist() == [True, False]
    assert joined.met[1].tolist() == [TOUCHES, TOUCHES]
    (end,) = facts["open_ends"]
    assert end.touches == (True, True)
    assert (end.start.at, end.end.at) == (pytest.approx((-5.0, 0.0)), pytest.approx((5.0, 0.0)))


@pytest.mark.parametrize("length", [10.0, 40.0])
def test_a_line_that_ends_on_itself_touches(length: float) -> None:
    """By its end or by its start, on an edge that is shorter or longer than the line up to it."""
    line = [(10 - length, 0), (10, 0), (10, 10), (5, 10), (5, 0.01)]
    first, second = Sketch().line(line).line(-np.array(line[::-1]) - 50.0).facts()["open_ends"]
    assert (first.touches, second.touches) == ((False, True), (True, False))


@pytest.mark.parametrize("turned", [False, True])
def test_the_last_bits_of_a_line_are_nothing_that_it_ends_on(turned: bool) -> None:
    """A hook smaller than four tolerances (0.14 mm of line), its end 0.03 mm from its shaft."""
    line = np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 0.08), (9.99, 0.08), (9.99, 0.03)])
    (end,) = Sketch().line(line[::-1] if turned else line).facts()["open_ends"]
    assert end.touches == (False, False)


@pytest.mark.parametrize("first", [0, 3])
def test_no_end_moves_farther_than_the_tolerance_however_many_are_strewn(first: int) -> None:
    """Spokes whose inner ends stand in a row, each within 0.05 mm of the next; those that are
    joined meet."""
    order = np.roll(np.arange(8), first)
    inner = np.column_stack([order * 0.04, np.zeros(8)])
    sketch = Sketch()
    for k, start in zip(order.tolist(), inner, strict=True):
        sketch.line(np.array([(0.0, 0.0), (np.cos(k) * 20.0, 20.0 + k)]) + start)
    facts = sketch.facts(join=0.05)
    at = facts["joined"].xy[::2]
    assert 0.0 < np.hypot(*(at - inner).T).max() <= 0.05
    spokes = [np.flatnonzero(facts["joined"].chain == k) for k in range(8)]
    meet = [pair for pair in spokes if len(pair) == 2]
    assert len(meet) >= 3
    assert all((at[one] == at[other]).all() for one, other in meet)


def test_a_diagonal_does_not_open_the_square_that_it_divides() -> None:
    sketch = four_lines()
    sketch.line(SIDE[[0, 2]])
    facts = sketch.facts()
    joined = facts["joined"]
    assert joined.closed.tolist() == [True, False]
    assert joined.met[1].tolist() == [MEETS, MEETS]
    (end,) = facts["open_ends"]
    assert end.contours == (4,)
    assert end.touches == (True, True)


def test_three_ends_are_paired_straight_on() -> None:
    facts = Sketch().line([(0, 0), (5, 0)]).line([(5, 0), (5, 9)]).line([(9, 0), (5, 0)]).facts()
    joined = facts["joined"]
    assert joined.contours.tolist() == [0, 2, 1]
    assert joined.turned.tolist() == [False, True, False]
    assert joined.met.tolist() == [[LOOSE, LOOSE], [MEETS, LOOSE]]


@pytest.mark.parametrize("bit", [0.06, 1.0, 4.0])
@pytest.mark.parametrize("turned", [False, True])
def test_straight_on_is_told_by_the_way_lines_end_not_by_how_long_their_ends_are(
    bit: float, turned: bool
) -> None:
    """One line goes straight on for a bit and turns back, the other leaves at 30 degrees."""
    ways = ([(0, 0), (5, 0)], [(9, 2), (5, 0)], [(5, 0), (5 + bit, 0), (5 + bit, -9)])
    sketch = Sketch()
    for way in ways:
        sketch.line(way[::-1] if turned else way)
    joined = sketch.facts()["joined"]
    assert joined.chain[0] == joined.chain[2] != joined.chain[1]


def test_two_loops_from_one_point_are_two_rings() -> None:
    loop = np.array([(0, 0), (5, 2), (5, -2), (0, 0)])
    joined = Sketch().line(loop).line(-loop).facts()["joined"]
    assert joined.closed.tolist() == [True, True]


def test_a_doubled_line_takes_no_part() -> None:
    sketch = four_lines()
    sketch.line(SIDE[[1, 0]])
    facts = sketch.facts()
    assert facts["joined"].closed.tolist() == [True]
    assert facts["joined"].chain.tolist() == [0, 0, 0, 0, -1]
    assert facts["open_ends"] == ()


def test_only_cut_lines_are_joined() -> None:
    sketch = Sketch()
    for k, operation in enumerate(["cut", "score", "cut", "engrave"]):
        sketch.line([SIDE[k], SIDE[(k + 1) % 4]], operation=operation)
    facts = sketch.facts()
    assert facts["joined"].chain.tolist() == [0, -1, 1, -1]
    assert len(facts["open_ends"]) == 2


def test_points_without_lines_are_nothing() -> None:
    facts = Sketch().line([(1, 1)]).line([]).line([(2, 2), (2, 2)]).facts()
    assert len(facts["joined"].closed) == 0
    assert facts["open_ends"] == ()


@steady
@given(
    corners=st.integers(4, 30),
    cuts=st.integers(1, 12),
    seed=st.integers(0, 2**32 - 1),
)
def test_an_outline_cut_up_anyhow_is_one_ring_again(corners: int, cuts: int, seed: int) -> None:
    """Pieces of a circle in any order, any direction, with ends moved by less than half of what
    is allowed, make up that circle: nothing moves by more than the tolerance."""
    rng = np.random.default_rng(seed)
    ring = circle(10.0, chord=10.0 * (1.0 - np.cos(np.pi / corners)))
    cuts = min(cuts, len(ring))
    at = np.sort(rng.choice(len(ring), cuts, replace=False))
    parts = []
    for a, b in zip(at, np.append(at[1:], at[0] + len(ring)), strict=True):
        part = ring[np.arange(a, b + 1) % len(ring)].copy()
        for end in (0, -1):
            part[end] += rng.uniform(-0.0175, 0.0175, 2)
        parts.append(part[:: rng.choice([-1, 1])])
    sketch = Sketch()
    for k in rng.permutation(len(parts)):
        sketch.line(parts[k])
    facts = sketch.facts()
    joined = facts["joined"]
    assert joined.closed.tolist() == [True]
    assert sorted(joined.contours.tolist()) == list(range(cuts))
    assert len(joined.point) == len(ring)
    assert np.hypot(*(joined.xy - sketch.lines.xy).T).max() <= 0.05
    around = joined.xy[joined.point]
    twice = np.sum(
        around[:, 0] * np.roll(around[:, 1], -1) - around[:, 1] * np.roll(around[:, 0], -1)
    )
    expected = len(ring) * 100.0 * np.sin(2.0 * np.pi / len(ring))
    assert abs(twice) == pytest.approx(expected, abs=0.05 * 63.0)
