"""Holes whose largest disc is known in closed form."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from figures import CHORD, arranged, box, disc, turned
from hypothesis import given, settings
from hypothesis import strategies as st

from scantling.measure.model import Hole
from scantling.measure.pieces.holes import holes
from scantling.plan.model import Tolerances

TOLERANCE = 2.0 * CHORD


def drilled(*openings: shapely.Geometry, reach: float = 3.0) -> tuple[Hole, ...]:
    plate = box(-60, -60, 60, 60).difference(shapely.union_all(openings))
    return holes(arranged(plate), reach, Tolerances(chord=CHORD))


def test_round_hole() -> None:
    (hole,) = drilled(disc(3, 4, 0.5))
    assert hole.diameter == pytest.approx(1.0, abs=TOLERANCE)
    assert hole.at == pytest.approx((3, 4), abs=CHORD)
    assert math.dist(hole.at, hole.spot.at) == pytest.approx(hole.diameter / 2, abs=CHORD)
    assert hole.area == pytest.approx(math.pi / 4, rel=0.05)
    assert hole.piece == 1


def test_large_holes_are_left_out() -> None:
    assert drilled(disc(0, 0, 1.6), box(20, 20, 30, 23.1)) == ()


def test_slot_is_as_large_as_it_is_wide() -> None:
    (hole,) = drilled(turned(box(0, 0, 40, 0.8), 33))
    assert hole.diameter == pytest.approx(0.8, abs=0.006)


def test_triangle() -> None:
    # incircle of a right triangle: a + b - c
    (hole,) = drilled(shapely.Polygon([(0, 0), (3, 0), (0, 4)]))
    assert hole.diameter == pytest.approx(2.0, abs=0.006)


def test_keyhole_is_as_large_as_its_round_end() -> None:
    (hole,) = drilled(disc(0, 0, 1.2).union(box(0, -0.2, 10, 0.2)))
    assert hole.diameter == pytest.approx(2.4, abs=TOLERANCE)


def test_a_part_in_a_hole_leaves_a_ring_between() -> None:
    plate = disc(0, 0, 30).difference(disc(0, 0, 10))
    (hole,) = holes(arranged(plate, disc(0.2, 0, 9.4)), 3.0, Tolerances(chord=CHORD))
    # eccentric ring: 10 - 9.4 + 0.2 at its widest
    assert hole.diameter == pytest.approx(0.8, abs=TOLERANCE)
    assert math.hypot(*hole.at) == pytest.approx(9.6, abs=0.05)
    assert hole.at[0] < -9.1  # within 0.01 mm of the widest, which is flat


def test_what_a_part_fills_is_no_hole() -> None:
    plate = box(-20, -20, 20, 20)
    insert = box(-1, -1, 1, 1)
    assert holes(arranged(plate.difference(insert), insert), 3.0, Tolerances(chord=CHORD)) == ()


def test_no_holes() -> None:
    assert holes(arranged(), 3.0, Tolerances()) == ()
    assert holes(arranged(disc(0, 0, 0.4)), 3.0, Tolerances()) == ()


@given(
    width=st.floats(0.3, 2.5),
    height=st.floats(0.3, 20.0),
    angle=st.floats(0.0, 360.0),
    far=st.sampled_from([0.0, 1e3, 1e5]),
)
@settings(max_examples=40, deadline=None)
def test_rectangles(width: float, height: float, angle: float, far: float) -> None:
    opening = turned(box(0, 0, width, height), angle, far, -far)
    plate = turned(box(-9, -9, 30, 30), angle, far, -far).difference(opening)
    (hole,) = holes(arranged(plate), 3.0, Tolerances(chord=CHORD))
    assert hole.diameter == pytest.approx(min(width, height), abs=TOLERANCE)


def test_many_holes_come_smallest_first() -> None:
    sizes = np.random.default_rng(5).permutation(np.linspace(0.3, 1.4, 12))
    found = drilled(*(disc(4 * k - 24, 0, r) for k, r in enumerate(sizes)))
    assert [h.diameter for h in found] == pytest.approx(sorted(2 * sizes), abs=TOLERANCE)
