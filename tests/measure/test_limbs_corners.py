"""Limbs, inside corners and touching outlines."""

from __future__ import annotations

import math

import pytest
import shapely
from figures import CHORD, arranged, box, disc, turned
from hypothesis import given, settings
from hypothesis import strategies as st

from scantling.measure.model import InsideCorner, Limb
from scantling.measure.widths.corners import inside_corners, touches
from scantling.measure.widths.limbs import limbs
from scantling.measure.widths.thin import thin
from scantling.plan.model import Tolerances

BODY = box(-40, -40, 0, 40)


def limbs_of(*figures: shapely.Geometry, reach: float = 2.0) -> tuple[Limb, ...]:
    tolerances = Tolerances(chord=CHORD)
    arrangement = arranged(*figures)
    return limbs(arrangement, thin(arrangement, reach, tolerances), reach, tolerances)


def corners_of(figure: shapely.Geometry, start: int = 0) -> tuple[InsideCorner, ...]:
    return inside_corners(arranged(figure, start=start), 2.0, Tolerances())


@given(width=st.floats(0.5, 3.7), aspect=st.floats(3.0, 30.0), angle=st.floats(0, 360))
@settings(max_examples=30, deadline=None)
def test_a_limb_is_as_long_and_wide_as_drawn(width: float, aspect: float, angle: float) -> None:
    length = width * aspect
    (limb,) = limbs_of(turned(BODY.union(box(-1, -width / 2, length, width / 2)), angle))
    # from its end round the cap: half a width more than along its middle
    assert limb.length == pytest.approx(length + width / 2, abs=0.02 * length)
    assert limb.width == pytest.approx(width, rel=0.01)


@pytest.mark.parametrize("cut", [0.01, 0.1, 0.3, 0.5, 0.9])
@pytest.mark.parametrize("segments", [1, 3, 8])
def test_a_limb_is_as_long_with_corners_cut_off_or_rounded(cut: float, segments: int) -> None:
    width, length = 2.2, 30.0
    bar = box(cut - 10, cut - width / 2, length - cut, width / 2 - cut)
    (limb,) = limbs_of(BODY.union(bar.buffer(cut, quad_segs=segments)))
    assert limb.length == pytest.approx(length + width / 2, abs=width / 2)
    assert limb.width == pytest.approx(width, abs=0.03)


def test_curved_limbs() -> None:
    # three quarters of a ring of radius 20 and 2 mm wide on a body: about 90 mm long
    arc = disc(0, 0, 21).difference(disc(0, 0, 19)).difference(box(0, -30, 30, 0))
    (limb,) = limbs_of(arc.union(box(18, -12, 30, 0.5)))
    assert limb.length == pytest.approx(0.75 * 2 * math.pi * 20, abs=3.0)
    assert limb.width == pytest.approx(2.0, abs=0.05)


def test_horns_are_limbs_of_half_their_root() -> None:
    y = 1.8
    (limb,) = limbs_of(BODY.union(shapely.Polygon([(-0.1, -y), (60, 0), (-0.1, y)])))
    assert limb.length == pytest.approx(60.0, abs=1.0)
    assert limb.width == pytest.approx(1.8, abs=0.1)


def test_stubs_and_bodies_are_no_limbs() -> None:
    assert limbs_of(BODY.union(box(-1, 0, 5, 4))) == ()
    assert limbs_of(disc(0, 0, 30)) == ()
    assert limbs_of() == ()


def test_square_hole_has_four_sharp_corners() -> None:
    found = corners_of(BODY.difference(box(-30, -10, -10, 10)))
    assert [(c.angle, c.radius, c.piece) for c in found] == [(pytest.approx(90.0), 0.0, 1)] * 4
    assert {c.spot.at for c in found} == {(-30, -10), (-30, 10), (-10, -10), (-10, 10)}


@given(radius=st.floats(0.3, 1.8), angle=st.floats(0, 360), start=st.integers(0, 60))
@settings(max_examples=30, deadline=None)
def test_rounded_corners(radius: float, angle: float, start: int) -> None:
    step = 2 * math.acos(1 - CHORD / radius)
    segments = math.ceil(math.pi / 2 / step)
    hole = box(-30, -10, -10, 10).buffer(-radius).buffer(radius, quad_segs=segments)
    found = corners_of(turned(BODY.difference(hole), angle), start)
    assert len(found) == 4
    for corner in found:
        assert corner.radius == pytest.approx(radius, rel=0.15)
        assert corner.angle == pytest.approx(90.0, abs=1.0)


@pytest.mark.parametrize(("deep", "corners"), [(0.012, 4), (0.3, 5)])
def test_a_jag_is_no_corner(deep: float, corners: int) -> None:
    """A step in the side of a square hole: its inside corner counts where the kerf shows it."""
    step = shapely.Polygon([(-30, 0), (-30 - deep, 0), (-30 - deep, 10), (-30, 10)])
    found = corners_of(BODY.difference(box(-30, -10, -10, 10).union(step)))
    assert len(found) == corners


@given(angle=st.floats(0, 360), start=st.integers(0, 8))
def test_a_zigzag_at_the_end_of_an_outline_is_no_corner(angle: float, start: int) -> None:
    """Where an outline is closed a few hundredths beside its start, it runs back."""
    zigzag = [(0, 0), (10.03, 0), (9.99, 0.004), (20, 0), (20, 10), (0, 10)]
    assert corners_of(turned(shapely.Polygon(zigzag), angle), start) == ()


def test_wide_roundings_and_outside_corners_are_nothing() -> None:
    assert corners_of(BODY) == ()
    assert corners_of(BODY.difference(disc(-20, 0, 5))) == ()
    assert inside_corners(arranged(), 2.0, Tolerances()) == ()


def test_small_round_holes_are_roundings() -> None:
    (corner,) = corners_of(BODY.difference(disc(-20, 0, 1)))
    assert corner.radius == pytest.approx(1.0, rel=0.1)


def test_touching_outlines() -> None:
    plate = shapely.Polygon(
        [(0, 0), (5, 0), (10, 0), (10, 10), (0, 10)], [[(5, 0), (7, 3), (3, 3)]]
    )
    (touch,) = touches(arranged(plate))
    assert touch.first.at == touch.second.at == (5.0, 0.0)
    assert touch.piece == 1
    (touch,) = touches(arranged(box(0, 0, 10, 10), box(10, 10, 20, 20)))
    assert (touch.first.at, touch.piece) == ((10.0, 10.0), 0)


def test_shared_lines_are_no_touches() -> None:
    assert touches(arranged(box(0, 0, 10, 10), box(10, 0, 20, 10))) == ()
    assert touches(arranged(box(0, 0, 10, 10))) == ()
    assert touches(arranged()) == ()
