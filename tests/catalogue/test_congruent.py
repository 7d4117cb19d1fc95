"""Equal parts: whatever their place, angle and starting point, and nothing else."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import Point, Polygon, box

from scantling.catalogue.congruent import Outline, kinds, same

TOLERANCE = 0.05


def ragged(seed: int, corners: int, holes: int) -> Polygon:
    """A figure of no symmetry about 60 mm across, with round holes."""
    rolls = np.random.default_rng(seed)
    # One corner in each slice of the round: the outline cannot cross itself.
    angle = 2 * math.pi * (np.arange(corners) + rolls.uniform(0.1, 0.9, corners)) / corners
    radius = rolls.uniform(15, 30, corners)
    outer = Polygon(np.column_stack([np.cos(angle) * radius, np.sin(angle) * radius]))
    for _ in range(holes):
        at = rolls.uniform(-8, 8, 2)
        outer = outer.difference(Point(at).buffer(float(rolls.uniform(0.8, 1.5))))
    return outer


def redrawn(polygon: Polygon, angle: float, shift: tuple[float, float], step: float) -> Polygon:
    """The same figure elsewhere, with other starting points, other way round, more points."""
    moved = affinity.translate(affinity.rotate(polygon, angle, origin=(7, -3)), *shift)
    fine = shapely.segmentize(moved, step)

    def again(ring) -> np.ndarray:
        points = np.asarray(ring.coords)[:-1]
        return np.roll(points, len(points) // 3, axis=0)[::-1]

    return Polygon(again(fine.exterior), [again(hole) for hole in fine.interiors])


@settings(max_examples=40, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    corners=st.integers(5, 40),
    holes=st.integers(0, 3),
    angle=st.floats(0, 360),
    shift=st.tuples(st.floats(-500, 500), st.floats(-500, 500)),
)
def test_a_part_is_the_same_wherever_it_lies(seed, corners, holes, angle, shift):
    part = ragged(seed, corners, holes)
    assert part.geom_type == "Polygon"
    assert part.is_valid
    other = redrawn(part, angle, shift, 3.0)
    assert same(Outline(part), Outline(other), TOLERANCE)
    flipped = affinity.scale(other, -1, 1)
    assert same(Outline(part), Outline(flipped), TOLERANCE, mirrored=True)
    assert not same(Outline(part), Outline(flipped), TOLERANCE)
    assert not same(Outline(part), Outline(affinity.scale(other, 1.02, 1.02)), TOLERANCE)


@settings(max_examples=30, deadline=None)
@given(teeth=st.integers(2, 60), angle=st.floats(0, 360))
def test_figures_that_turn_into_themselves(teeth: int, angle: float):
    turn = np.arange(4 * teeth) * (2 * math.pi / (4 * teeth))
    radius = np.tile([20.0, 20.0, 17.0, 17.0], teeth)
    gear = Polygon(np.column_stack([np.cos(turn) * radius, np.sin(turn) * radius]))
    assert same(Outline(gear), Outline(redrawn(gear, angle, (100, 50), 0.7)), TOLERANCE)


def test_discs_are_the_same_however_they_are_flattened():
    one, other = Point(0, 0).buffer(10, quad_segs=30), Point(50, 9).buffer(10, quad_segs=41)
    assert same(Outline(one), Outline(affinity.rotate(other, 3.3)), TOLERANCE)
    assert not same(Outline(one), Outline(Point(0, 0).buffer(10.2, quad_segs=30)), TOLERANCE)


@pytest.mark.parametrize("angle", [0, 17, 90, 211.5])
def test_a_disc_is_told_by_its_hole(angle: float):
    disc = Point(0, 0).buffer(20, quad_segs=60)
    part = disc.difference(box(8, -1, 12, 1))
    turned = affinity.rotate(affinity.translate(part, 60, 5), angle, origin=(60, 5))
    assert same(Outline(part), Outline(turned), TOLERANCE)
    nearer = disc.difference(box(7, -1, 11, 1))
    assert not same(Outline(part), Outline(nearer), TOLERANCE)
    askew = disc.difference(affinity.rotate(box(8, -1, 12, 1), 20))
    assert not same(Outline(part), Outline(askew), TOLERANCE)


def test_equal_area_and_length_are_not_enough():
    """Two ways of putting the same notch into a bar."""
    bar = box(0, 0, 60, 20)
    near, far = bar.difference(box(10, 15, 15, 20)), bar.difference(box(20, 15, 25, 20))
    assert near.area == far.area
    assert near.length == far.length
    assert not same(Outline(near), Outline(far), TOLERANCE)


def test_kinds_count_and_tell_mirror_images():
    foot = Polygon([(0, 0), (30, 0), (30, 8), (10, 8), (10, 25), (0, 25)])
    square = box(0, 0, 9, 9)
    parts = [
        foot,
        redrawn(square, 45, (3, 4), 2),
        redrawn(foot, 100, (80, 3), 5),
        affinity.scale(foot, -1, 1),
        square,
        affinity.rotate(affinity.scale(foot, 1, -1), 33),
        box(0, 0, 9, 9.2),
    ]
    found = kinds(parts, TOLERANCE)
    assert [kind.members for kind in found] == [[0, 2], [1, 4], [3, 5], [6]]
    assert [kind.mirrors for kind in found] == [None, None, 0, None]


def test_no_parts():
    assert kinds([], TOLERANCE) == []
