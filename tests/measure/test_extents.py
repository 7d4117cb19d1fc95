"""Figures in rectangles at any angle, against closed forms and against trying every angle."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scantling.arrays import Array
from scantling.measure.pieces.extents import fits_into


def box(width: float, height: float) -> Array:
    return np.array([(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)])


def turned(points: Array, degrees: float, shift: tuple[float, float] = (0.0, 0.0)) -> Array:
    a = math.radians(degrees)
    turn = np.array([[math.cos(a), math.sin(a)], [-math.sin(a), math.cos(a)]])
    return points @ turn + shift


def carver(part: tuple[float, float], sheet: tuple[float, float]) -> float:
    """How much room is left where a rectangle longer than the sheet is laid aslant: W. B. Carver
    (1957), as given in J. E. Wetzel, Rectangles in rectangles, Mathematics Magazine 73 (2000):
    from memory. p x q goes into a x b, p > a, if b is at least
    (2 p q a + (p² - q²) √(p² + q² - a²)) / (p² + q²)."""
    q, p = sorted(part)
    b, a = sorted(sheet)
    assert p > a
    return b - (2 * p * q * a + (p * p - q * q) * math.sqrt(p * p + q * q - a * a)) / (
        p * p + q * q
    )


def by_trying(points: Array, sides: tuple[float, float]) -> float:
    """The least excess in either direction over 1800 angles, mm."""
    angle = np.linspace(0.0, np.pi, 1801)
    long, short = max(sides), min(sides)
    across = [points @ np.stack([np.cos(t), np.sin(t)]) for t in (angle, angle + np.pi / 2)]
    wide, high = (np.ptp(extent, axis=0) for extent in across)
    return float(np.maximum(wide - long, high - short).min())


def test_a_rectangle_that_needs_to_lie_aslant():
    # 12 x 1 in 10 x 8: the least height is (240 + 143 √45) / 145 = 8.27
    assert not fits_into(box(12, 1), (10, 8))
    assert fits_into(box(12, 1), (8.3, 10))


def test_a_rectangle_just_fits_itself():
    for degrees in (0, 17, 45, 90, 133, 180):
        assert fits_into(turned(box(30, 20), degrees, (500, -7)), (20, 30))
        assert not fits_into(turned(box(30, 20), degrees), (19.999, 30))


def test_a_triangle_fits_where_its_least_rectangle_does_not():
    # an equilateral triangle of side 1: least height √3/2; it goes into a square of side
    # cos 15° = 0.9659, the least square around it
    triangle = 100 * np.array([(0.0, 0.0), (1.0, 0.0), (0.5, math.sqrt(3) / 2)])
    side = 100 * math.cos(math.radians(15))
    assert fits_into(triangle, (side + 1e-6, side + 1e-6))
    assert not fits_into(triangle, (side - 1e-6, side - 1e-6))


def test_a_disc_fits_by_its_diameter():
    angle = 2 * np.pi * np.arange(360) / 360
    disc = np.column_stack([np.cos(angle), np.sin(angle)]) * 25
    assert fits_into(disc, (50, 50))
    assert not fits_into(disc, (49.9, 80))


def test_no_area():
    line = np.array([(0.0, 0.0), (30.0, 40.0), (15.0, 20.0)])
    assert fits_into(line, (30, 40))
    assert not fits_into(line, (30, 39.9))
    assert fits_into(np.array([(3.0, 4.0), (3.0, 4.0)]), (1, 1))


@given(
    st.floats(1.0, 40.0),
    st.floats(10.5, 60.0),
    st.floats(1.0, 10.0),
    st.floats(0.0, 180.0),
)
@settings(max_examples=80, deadline=None)
def test_rectangles_by_carver(q: float, p: float, b: float, degrees: float):
    room = carver((min(p, q), max(p, q)), (b, 10.0))
    if abs(room) > 1e-6:
        assert fits_into(turned(box(p, q), degrees), (10.0, b)) is (room > 0)


@given(
    st.lists(st.tuples(st.floats(-50, 50), st.floats(-50, 50)), min_size=3, max_size=12),
    st.floats(5.0, 120.0),
    st.floats(5.0, 120.0),
)
@settings(max_examples=120, deadline=None)
def test_any_points_by_trying(given_points: list[tuple[float, float]], a: float, b: float):
    points = np.array(given_points)
    excess = by_trying(points, (a, b))
    size = float(np.ptp(points, axis=0).max())
    # between two of the angles tried an extent changes by less than this
    step = math.sqrt(2) * size * math.pi / 1800
    if excess <= 0:
        assert fits_into(points, (a, b))
    elif excess > step:
        assert not fits_into(points, (a, b))


@pytest.mark.parametrize("sides", [(10.0, 10.0), (3.0, 200.0)])
def test_order_of_sides_does_not_matter(sides):
    part = turned(box(9.5, 2.5), 31)
    assert fits_into(part, sides) is fits_into(part, sides[::-1]) is True
