"""Widths of figures whose widths are known in closed form.

Every expected number here is a closed form worked out beside it.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from figures import CHORD, arc, arranged, box, disc, measured, turned

TOLERANCE = 2.0 * CHORD
"""Twice the chord tolerance: what two flattened curves may be off."""


def star(points: int, outer: float, inner: float) -> shapely.Polygon:
    t = np.pi * np.arange(2 * points) / points
    r = np.where(np.arange(2 * points) % 2 == 0, outer, inner)
    return shapely.Polygon(np.stack((r * np.cos(t), r * np.sin(t)), axis=1))


BAR = box(0, 0, 10, 10).union(box(10, 5, 20, 5.8))
"""A square with a bar of 0.8 mm joined to its right side."""


def test_eccentric_ring_is_thin_where_the_circles_come_nearest() -> None:
    # wall = 20 - 15 - 4
    webs, gaps = measured(disc(0, 0, 20).difference(disc(4, 0, 15)))
    assert len(webs) == 1
    assert not gaps
    assert webs[0].width == pytest.approx(1.0, abs=TOLERANCE)
    assert webs[0].kind == "wall"
    # the wall is flat there: 0.01 mm of width is 0.7 mm along it
    assert webs[0].at == pytest.approx((19.5, 0.0), abs=1.0)
    assert sorted(math.hypot(*s.at) for s in (webs[0].p, webs[0].q)) == pytest.approx(
        [19.0, 20.0], abs=TOLERANCE
    )


@pytest.mark.parametrize("points", [5, 8, 16])
@pytest.mark.parametrize("inner", [3.0, 5.0, 8.0])
def test_corners_of_stars_are_no_webs(points: int, inner: float) -> None:
    assert measured(star(points, 10.0, inner)) == ((), ())


def test_corners_at_both_ends_of_an_edge_make_a_thin_place_each() -> None:
    """A triangle on its point in a larger one; the solid above it is wide all along its edge."""
    outer = shapely.Polygon([(0, 0), (60, 0), (30, 50)])
    webs, _ = measured(outer.difference(shapely.Polygon([(15.5, 25), (44.5, 25), (30, 1.5)])))
    sides = [web for web in webs if web.at[1] > 20]
    # the corner is half a millimetre from a side that falls by 50 on 30
    assert [web.width for web in sides] == pytest.approx([0.5 * 50 / math.hypot(30, 50)] * 2)
    assert max(web.length for web in sides) < 5.0


@pytest.mark.parametrize("points", [5, 8, 16])
def test_notches_of_stars_are_no_gaps(points: int) -> None:
    plate = disc(0, 0, 15).difference(star(points, 10.0, 4.0))
    assert measured(plate) == ((), ())


def test_bar_joined_to_a_square_is_one_finding() -> None:
    webs, gaps = measured(BAR)
    assert [n.width for n in webs] == [pytest.approx(0.8)]
    assert webs[0].kind == "limb"
    assert webs[0].length == pytest.approx(9.6)  # to the disc that touches its square end
    assert not gaps


@pytest.mark.parametrize("k", range(0, 200, 10))
def test_bar_with_rounded_coordinates_is_found_at_every_angle(k: int) -> None:
    for angle in range(k, k + 10):
        figure = shapely.transform(turned(BAR, 1.8 * angle), lambda p: np.round(p, 2))
        webs, _ = measured(figure)
        assert [n.width for n in webs] == [pytest.approx(0.8, abs=TOLERANCE)], angle


def test_waist_between_two_points() -> None:
    glass = shapely.Polygon([(-5, -5), (5, -5), (0.4, 0), (5, 5), (-5, 5), (-0.4, 0)])
    webs, _ = measured(glass)
    assert [n.width for n in webs] == [pytest.approx(0.8)]
    assert webs[0].at == pytest.approx((0, 0))
    assert webs[0].kind == "neck"


def test_waist_between_two_arcs() -> None:
    # two circles of 6 mm bitten out of a plate, 0.7 mm apart
    plate = box(-4, -5, 4, 5).difference(disc(-6.35, 0, 6)).difference(disc(6.35, 0, 6))
    webs, _ = measured(plate)
    assert [n.width for n in webs] == [pytest.approx(0.7, abs=TOLERANCE)]
    assert webs[0].kind == "neck"


def test_gap_between_two_parts() -> None:
    webs, gaps = measured(disc(0, 0, 5), disc(10.6, 0, 5))
    assert not webs
    assert [n.width for n in gaps] == [pytest.approx(0.6, abs=TOLERANCE)]
    assert gaps[0].at == pytest.approx((5.3, 0.0), abs=0.5)


def test_nothing_to_measure() -> None:
    assert measured() == ((), ())
    assert measured(box(0, 0, 10, 10)) == ((), ())
    assert len(arranged().xy) == 0


def test_arc_helper_keeps_the_chord_tolerance() -> None:
    points = arc(0, 0, 5)
    middles = (points[1:] + points[:-1]) / 2
    assert 5 - np.hypot(*middles.T).min() <= CHORD
