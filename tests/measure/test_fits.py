"""Parts in openings: clearances in closed form, and what is a fit and what is none."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from figures import box, disc, turned
from hypothesis import given, settings
from hypothesis import strategies as st
from layering import Layer, design, layer

from scantling.arrays import Array
from scantling.measure.assembly.fits import LOOSE, Fit, fits

PLATE = box(-100, -100, 100, 100)
KEY = shapely.Polygon([(0, 0), (30, 0), (30, 4), (22, 4), (22, 9), (18, 9), (18, 4), (0, 4)])
"""A figure without any symmetry."""


def star(points: int = 5, outer: float = 20.0, inner: float = 9.0) -> shapely.Polygon:
    t = np.pi * np.arange(2 * points) / points
    r = np.where(np.arange(2 * points) % 2, inner, outer)
    return shapely.Polygon(np.column_stack([r * np.sin(t), r * np.cos(t)]))


def ring(polygon: shapely.Polygon) -> Array:
    return shapely.get_coordinates(polygon.exterior)[:-1]


def found(*layers: Layer) -> tuple[Fit, ...]:
    return fits(layers, design(fit="snug"))


def mitred(figure: shapely.Polygon, by: float) -> shapely.Polygon:
    return figure.buffer(by, join_style="mitre", mitre_limit=50)


def test_only_where_a_fit_is_wanted():
    layers = (layer("a", PLATE.difference(KEY)), layer("b", KEY))
    assert fits(layers, None) == ()
    assert fits(layers, design()) == ()
    assert len(fits(layers, design(fit="press"))) == 1


@pytest.mark.parametrize("figure", [KEY, star(), disc(0, 0, 12), box(0, 0, 30, 8)])
@pytest.mark.parametrize("margin", [0.0, 0.15, -0.1])
def test_margin(figure: shapely.Polygon, margin: float):
    """Mitred outlines and discs have lengths in proportion to the margin: exact."""
    opening = turned(mitred(figure, margin), 37, 20, -30)
    (fit,) = found(layer("a", PLATE.difference(opening), kerf=0.2), layer("b", figure, kerf=0.3))
    assert fit.drawn == pytest.approx(margin, abs=1e-4)
    assert fit.kerf == pytest.approx(0.25)
    assert fit.clearance == pytest.approx(margin + 0.25, abs=1e-4)
    # two flattened discs touch at their corners
    assert fit.tightest == pytest.approx(
        margin + 0.25, abs=0.005 if len(ring(figure)) > 20 else 1e-3
    )


def test_rounded_corners_have_the_same_margin():
    # Steiner: length + 2 π d, area + length d + π d²
    opening = box(-15, -4, 15, 4).buffer(0.3, quad_segs=64)
    (fit,) = found(layer("a", PLATE.difference(opening)), layer("b", box(-15, -4, 15, 4)))
    assert fit.drawn == pytest.approx(0.3, abs=1e-3)
    assert fit.least == pytest.approx(0.3, abs=1e-3)


def test_a_sharp_part_in_a_rounded_opening_is_tight_at_its_corners():
    sharp = box(-15, -10, 15, 10)
    rounded = sharp.buffer(-0.5).buffer(0.5, quad_segs=64)
    (fit,) = found(layer("a", PLATE.difference(rounded)), layer("b", sharp))
    assert fit.drawn == pytest.approx(0.0, abs=0.01)
    # a corner stands out of a fillet of radius r by (√2 - 1) r, and draws back by √2 for each
    # millimetre that its sides do
    assert fit.least == pytest.approx(-0.5 * (1 - 1 / math.sqrt(2)), abs=1e-3)


def test_a_part_scaled_instead_of_offset():
    # 30.4 x 10.1 around 30 x 10: 0.2 and 0.05 a side
    (fit,) = found(
        layer("a", PLATE.difference(box(-15.2, -5.05, 15.2, 5.05))),
        layer("b", box(-15, -5, 15, 5)),
    )
    assert fit.drawn == pytest.approx((30.4 * 10.1 - 300) / 80.5)
    assert fit.least == pytest.approx(0.05)


@pytest.mark.parametrize(
    ("opening", "part"),
    [
        (KEY, shapely.transform(KEY, lambda p: p * (-1.0, 1.0))),  # a mirror image
        (KEY, mitred(KEY, LOOSE + 0.05)),
        (KEY, mitred(KEY, -LOOSE - 0.05)),
        (box(0, 0, 40, 40), box(0, 0, 40, 40).difference(box(20, 38, 23, 40))),  # a notch more
        (disc(0, 0, 10), box(0, 0, 17.72, 17.72)),  # equal areas
        (star(5), star(6)),
        (box(0, 0, 20, 18), box(0, 0, 21, 17)),
    ],
)
def test_no_fit(opening: shapely.Polygon, part: shapely.Polygon):
    assert found(layer("a", PLATE.difference(opening)), layer("b", part)) == ()


@pytest.mark.parametrize(
    ("side", "margin", "fit"),
    [(4.0, 0.38, True), (4.0, 0.42, False), (6.0, 0.48, True), (1.9, 0.0, False), (2.1, 0.0, True)],
)
def test_slight_outlines_fit_closer_and_the_slightest_not_at_all(
    side: float, margin: float, fit: bool
):
    """Squares have half their side as their breadth: a fifth of that is the most that they may be
    loose by, up to half a millimetre."""
    hole = box(-side / 2, -side / 2, side / 2, side / 2)
    sheets = layer("a", PLATE.difference(hole)), layer("b", mitred(hole, -margin))
    assert [one.drawn for one in found(*sheets)] == [pytest.approx(margin)] * fit


def test_openings_and_parts_of_a_kind_are_one_fit():
    at = [(-60, 0, 0), (-20, 40, 90), (60, -50, 211)]
    openings = shapely.union_all([turned(KEY, a, x, y) for x, y, a in at])
    parts = [turned(KEY, a, x, y) for x, y, a in [*at[1:], (0, -300, 5), (0, 300, 77)]]
    (fit,) = found(layer("a", PLATE.difference(openings)), layer("b", *parts))
    assert (len(fit.openings), len(fit.parts)) == (3, 4)
    assert fit.apart == pytest.approx(0.0, abs=1e-6)
    first = shapely.Point(fit.openings[0].spot.at).distance(shapely.Point(fit.parts[0].spot.at))
    assert first < 40


def test_a_jigsaw_of_one_line():
    """A piece lies in the opening that it is cut from, on one sheet."""
    sheet = layer("a", PLATE.difference(KEY), KEY, kerf=0.2)
    (fit,) = found(sheet)
    assert fit.apart == pytest.approx(0.0, abs=1e-9)
    assert fit.clearance == pytest.approx(0.2)
    assert fit.openings[0].piece.number != fit.parts[0].piece.number


def test_a_thin_ring_does_not_go_into_itself():
    assert found(layer("a", disc(0, 0, 20).difference(disc(0, 0, 19.7)))) == ()


def test_a_template_around_several_parts():
    letters = [turned(star(n), 0, 60 * (n - 4), 0) for n in (3, 4, 5)]
    placed = shapely.union_all([mitred(letter, 0.2) for letter in letters])
    template = box(-150, -50, 150, 50).difference(placed)
    three = found(layer("letters", *letters), layer("card", template))
    assert [fit.drawn for fit in three] == pytest.approx([0.2] * 3)
    assert [fit.apart for fit in three] == pytest.approx([0.0] * 3, abs=1e-6)


def test_sheets_without_parts():
    assert found(layer("a"), layer("b")) == ()
    assert found(layer("a", PLATE), layer("b", KEY)) == ()


@given(
    angle=st.floats(0, 360),
    margin=st.integers(-400, 400).map(lambda n: n / 1000),
    far=st.sampled_from([0.0, 500.0, 1e5]),
    figure=st.sampled_from([KEY, star(), star(7, 15, 12), box(0, 0, 60, 5)]),
    start=st.integers(0, 9),
)
@settings(max_examples=30, deadline=None)
def test_wherever_it_lies(
    angle: float, margin: float, far: float, figure: shapely.Polygon, start: int
):
    opening = np.roll(ring(turned(mitred(figure, margin), angle, far, -far)), start, axis=0)
    plate = shapely.Polygon(ring(turned(PLATE, 0, far, -far)), [opening])
    (fit,) = found(layer("a", plate), layer("b", shapely.Polygon(ring(figure)[::-1])))
    assert fit.least == pytest.approx(margin, abs=1e-3)
