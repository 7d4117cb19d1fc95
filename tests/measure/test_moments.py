"""Moments of outlines in closed form, and what a shift, a turn and a mirror leave of them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from figures import arc
from hypothesis import given, settings
from hypothesis import strategies as st

from scantling.arrays import Array
from scantling.measure.assembly.moments import Figures, alike, figures, turns


def of(*rings: Array) -> Figures:
    first = np.cumsum([0, *(len(ring) for ring in rings)])
    return figures(np.concatenate([np.zeros((0, 2)), *rings]), first)


def box(width: float, height: float) -> Array:
    return np.array([(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)])


KEY = np.array([(0, 0), (30, 0), (30, 4), (22, 4), (22, 9), (18, 9), (18, 4), (0, 4)], float)
"""A figure without any symmetry."""


def laid(points: Array, degrees: float = 0.0, x: float = 0.0, y: float = 0.0) -> Array:
    a = math.radians(degrees)
    return points @ np.array([[math.cos(a), math.sin(a)], [-math.sin(a), math.cos(a)]]) + (x, y)


def mirrored(points: Array) -> Array:
    return points * (-1.0, 1.0)


def about_centroid(points: Array) -> np.ndarray:
    z = points[:, 0] + 1j * points[:, 1]
    return z - of(points).centre[0]


def test_rectangle():
    # ∬ x² dA = a³ b / 12, ∬ y² dA = a b³ / 12
    a, b = 30.0, 10.0
    found = of(box(a, b))
    assert found.area[0] == pytest.approx(300.0)
    assert found.length[0] == pytest.approx(80.0)
    assert found.centre[0] == pytest.approx(15 + 5j)
    scale = found.area[0] * found.radius[0] ** 2
    assert found.moment[0, 0] * scale == pytest.approx(a * b * (a * a + b * b) / 12)
    assert found.moment[0, 1] * scale == pytest.approx(a * b * (a * a - b * b) / 12)
    assert np.abs(found.moment[0, [2, 3]]).max() < 1e-12
    # radii of gyration of a side about the middle: side / √12
    assert found.spread[0] == pytest.approx((a / math.sqrt(12), b / math.sqrt(12)))


def test_right_triangle():
    # c(3, 0) = ∬ (x + iy)³ dA about the centroid of (0, 0), (1, 0), (0, 1): with ∬ x³ = 1/270,
    # ∬ x² y = -1/540 and the same with x and y exchanged
    found = of(np.array([(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)]))
    x3, x2y = 1 / 270, -1 / 540
    wanted = complex(x3 - 3 * x2y, 3 * x2y - x3)
    assert found.moment[0, 3] * 0.5 * found.radius[0] ** 3 == pytest.approx(wanted)


def test_disc():
    # ∬ r² dA = π r⁴ / 2, ∬ r⁴ dA = π r⁶ / 3; a flattened disc is that to the chord
    found = of(arc(7, -3, 20, chord=1e-5)[:-1])
    assert found.radius[0] == pytest.approx(20, abs=1e-4)
    assert found.moment[0, 0].real == pytest.approx(1 / 2, abs=1e-6)
    assert found.moment[0, 4].real == pytest.approx(1 / 3, abs=1e-6)
    assert np.abs(found.moment[0, [1, 2, 3, 5, 6]]).max() < 1e-6


def test_rings_are_apart_and_turn_either_way():
    one, other = of(KEY), of(box(3, 8), KEY[::-1], KEY)
    assert other.invariants()[1] == pytest.approx(one.invariants()[0])
    assert other.moment[2] == pytest.approx(one.moment[0])


def test_none():
    assert of().invariants().shape == (0, 17)
    assert len(alike(np.zeros((0, 3)), 0.1)) == 0


@given(
    angle=st.floats(0, 360),
    far=st.sampled_from([0.0, 1.0, 1e3, 1e5]),
    start=st.integers(0, 7),
)
@settings(max_examples=60, deadline=None)
def test_a_shift_and_a_turn_leave_the_invariants(angle: float, far: float, start: int):
    moved = np.roll(laid(KEY, angle, far, -far), start, axis=0)
    assert of(moved).invariants()[0] == pytest.approx(of(KEY).invariants()[0], abs=1e-7)


def test_a_mirror_image_has_others():
    key, image = of(KEY, mirrored(KEY)).invariants()
    assert np.abs(key - image).max() > 0.1
    # but not that of a figure that is its own
    bar, turned_over = of(box(30, 4), mirrored(box(30, 4))).invariants()
    assert bar == pytest.approx(turned_over, abs=1e-9)


@pytest.mark.parametrize("points", [KEY, mirrored(KEY), box(30, 4)])
@pytest.mark.parametrize("degrees", [0.0, 33.0, 180.0, 291.5])
def test_turns_find_the_angle(points: Array, degrees: float):
    found = np.degrees(turns(about_centroid(points), about_centroid(laid(points, degrees))))
    off = (found - degrees + 180) % 360 - 180
    assert np.abs(off).min() < 1e-6


@pytest.mark.parametrize("teeth", [3, 5, 6, 11, 17, 40])
def test_turns_of_a_wheel_with_teeth(teeth: int):
    t = 2 * np.pi * np.arange(2 * teeth) / (2 * teeth)
    r = np.where(np.arange(2 * teeth) % 2, 20.0, 18.0)
    wheel = np.column_stack([r * np.cos(t), r * np.sin(t)])
    found = np.degrees(turns(about_centroid(wheel), about_centroid(laid(wheel, 4.0))))
    assert len(found) % teeth == 0
    assert np.abs((found - 4.0 + 180 / teeth) % (360 / teeth) - 180 / teeth).min() < 1e-6


def test_any_angle_does_for_a_disc():
    disc = about_centroid(arc(0, 0, 10)[:-1])
    assert turns(disc, disc).tolist() == [0.0]


def test_alike_by_every_column():
    values = np.array([(1.0, 5.0), (1.01, 7.0), (3.0, 5.0), (0.99, 5.01), (1.0, 6.99)])
    label = alike(values, 0.05)
    assert label[0] == label[3]
    assert label[1] == label[4]
    assert len(set(label.tolist())) == 3


def test_alike_does_not_run_on():
    values = np.arange(0.0, 10.0, 0.04)[:, None]
    label = alike(values, 0.05)
    spans = [np.ptp(values[label == k]) for k in np.unique(label)]
    assert max(spans) <= 0.1 + 1e-9
