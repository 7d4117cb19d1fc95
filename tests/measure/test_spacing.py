"""Distances between parts in closed form."""

from __future__ import annotations

import math

import pytest
import shapely
from figures import box, disc, turned
from hypothesis import given, settings
from hypothesis import strategies as st
from making import Sketch

from scantling.measure.pieces.spacing import Spacing


def spacing(*parts: shapely.Polygon) -> Spacing:
    found: Spacing = Sketch().polygons(parts).facts()["spacing"]
    return found


def test_two_discs():
    found = spacing(disc(0, 0, 10, chord=1e-4), disc(15, 20, 14, chord=1e-4))
    # the middles are 25 mm apart
    (pair,) = found.nearer(1.1)
    assert pair.distance == pytest.approx(1.0, abs=2e-4)
    assert pair.way.mean(axis=0) == pytest.approx((10.5 * 0.6, 10.5 * 0.8), abs=0.05)
    assert found.nearer(0.9) == ()


def test_nearest_first_and_each_pair_once():
    tiles = [box(x, 0, x + 10, 10) for x in (0, 10.8, 21.4, 31.5)]
    found = spacing(*tiles).nearer(1.0)
    assert [pair.distance for pair in found] == pytest.approx([0.1, 0.6, 0.8])
    assert [(pair.first.number, pair.second.number) for pair in found] == [(3, 4), (2, 3), (1, 2)]


def test_parts_that_touch_are_left_out_if_asked():
    tiles = box(0, 0, 10, 10), box(10, 0, 20, 10)
    assert spacing(*tiles).nearer(1.0, apart=0.05) == ()
    assert len(spacing(*tiles).nearer(1.0, apart=-1.0)) == 1


def test_a_part_in_an_opening_of_another():
    ring = disc(0, 0, 20).difference(disc(0, 0, 10))
    (pair,) = spacing(ring, disc(1, 0, 8.5)).nearer(1.0)
    assert pair.distance == pytest.approx(0.5, abs=0.02)


def test_few_parts():
    assert spacing().nearer(5.0) == ()
    assert spacing(disc(0, 0, 5)).nearer(5.0) == ()


@given(
    gap=st.floats(0.1, 3.0),
    along=st.floats(0.0, 30.0),
    angle=st.floats(0.0, 360.0),
    far=st.sampled_from([0.0, 1e3, 1e5]),
)
@settings(max_examples=40, deadline=None)
def test_two_boxes(gap: float, along: float, angle: float, far: float):
    one, other = box(0, 0, 10, 20), box(10 + gap, along, 20 + gap, along + 20)
    found = spacing(*(turned(figure, angle, far, -far) for figure in (one, other)))
    distance = math.hypot(gap, max(along - 20.0, 0.0))
    (pair,) = found.nearer(distance + 0.01)
    assert pair.distance == pytest.approx(distance, abs=1e-6)
    assert found.nearer(distance - 0.01) == ()
