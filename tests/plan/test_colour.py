"""Colours: CSS Color 4 notations, and CIEDE2000 against the published test pairs."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scantling.plan.colour import NAMES, difference, lab, nearest, parse_colour
from scantling.read.drawing import Colour

# Sharma, Wu and Dalal (2005), "The CIEDE2000 color-difference formula: implementation notes,
# supplementary test data, and mathematical observations", table 1: L1 a1 b1 L2 a2 b2 dE00.
# Written down from memory; test_pairs_by_another_library computes every one of them again.
PAIRS = np.array(
    [
        [50.0000, 2.6772, -79.7751, 50.0000, 0.0000, -82.7485, 2.0425],
        [50.0000, 3.1571, -77.2803, 50.0000, 0.0000, -82.7485, 2.8615],
        [50.0000, 2.8361, -74.0200, 50.0000, 0.0000, -82.7485, 3.4412],
        [50.0000, -1.3802, -84.2814, 50.0000, 0.0000, -82.7485, 1.0000],
        [50.0000, -1.1848, -84.8006, 50.0000, 0.0000, -82.7485, 1.0000],
        [50.0000, -0.9009, -85.5211, 50.0000, 0.0000, -82.7485, 1.0000],
        [50.0000, 0.0000, 0.0000, 50.0000, -1.0000, 2.0000, 2.3669],
        [50.0000, -1.0000, 2.0000, 50.0000, 0.0000, 0.0000, 2.3669],
        [50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0009, 7.1792],
        [50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0010, 7.1792],
        [50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0011, 7.2195],
        [50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0012, 7.2195],
        [50.0000, -0.0010, 2.4900, 50.0000, 0.0009, -2.4900, 4.8045],
        [50.0000, -0.0010, 2.4900, 50.0000, 0.0010, -2.4900, 4.8045],
        [50.0000, -0.0010, 2.4900, 50.0000, 0.0011, -2.4900, 4.7461],
        [50.0000, 2.5000, 0.0000, 50.0000, 0.0000, -2.5000, 4.3065],
        [50.0000, 2.5000, 0.0000, 73.0000, 25.0000, -18.0000, 27.1492],
        [50.0000, 2.5000, 0.0000, 61.0000, -5.0000, 29.0000, 22.8977],
        [50.0000, 2.5000, 0.0000, 56.0000, -27.0000, -3.0000, 31.9030],
        [50.0000, 2.5000, 0.0000, 58.0000, 24.0000, 15.0000, 19.4535],
        [50.0000, 2.5000, 0.0000, 50.0000, 3.1736, 0.5854, 1.0000],
        [50.0000, 2.5000, 0.0000, 50.0000, 3.2972, 0.0000, 1.0000],
        [50.0000, 2.5000, 0.0000, 50.0000, 1.8634, 0.5757, 1.0000],
        [50.0000, 2.5000, 0.0000, 50.0000, 3.2592, 0.3350, 1.0000],
        [60.2574, -34.0099, 36.2677, 60.4626, -34.1751, 39.4387, 1.2644],
        [63.0109, -31.0961, -5.8663, 62.8187, -29.7946, -4.0864, 1.2630],
        [61.2901, 3.7196, -5.3901, 61.4292, 2.2480, -4.9620, 1.8731],
        [35.0831, -44.1164, 3.7933, 35.0232, -40.0716, 1.5901, 1.8645],
        [22.7233, 20.0904, -46.6940, 23.0331, 14.9730, -42.5619, 2.0373],
        [36.4612, 47.8580, 18.3852, 36.2715, 50.5065, 21.2231, 1.4146],
        [90.8027, -2.0831, 1.4410, 91.1528, -1.6435, 0.0447, 1.4441],
        [90.9257, -0.5406, -0.9208, 88.6381, -0.8985, -0.7239, 1.5381],
        [6.7747, -0.2908, -2.4247, 5.8714, -0.0985, -2.2286, 0.6377],
        [2.0776, 0.0795, -1.1350, 0.9033, -0.0636, -0.5514, 0.9082],
    ]
)


def test_ciede2000_on_the_published_pairs() -> None:
    assert len(PAIRS) == 34
    for *values, published in PAIRS.tolist():
        first, second = values[:3], values[3:]
        assert difference(first, second) == pytest.approx(published, abs=5.1e-5)
        assert difference(second, first) == pytest.approx(published, abs=5.1e-5)


steps = st.integers(0, 255)
colours = st.tuples(steps, steps, steps).map(lambda c: Colour(*c))


@given(colours, colours)
def test_difference_is_one_both_ways_and_nought_to_itself(a: Colour, b: Colour) -> None:
    there, back = difference(lab(a), lab(b)), difference(lab(b), lab(a))
    assert there == pytest.approx(back, abs=1e-9)
    assert difference(lab(a), lab(a)) == 0
    assert (there > 0) is (a != b)


def test_white_grey_and_black() -> None:
    """Closed form: neutral colours have a* = b* = 0, white L* = 100, black 0."""
    assert lab(Colour(255, 255, 255)) == pytest.approx((100, 0, 0), abs=1e-3)
    assert lab(Colour(0, 0, 0)) == pytest.approx((0, 0, 0), abs=1e-9)
    assert lab(Colour(128, 128, 128))[1:] == pytest.approx((0, 0), abs=1e-3)


def test_nearest_is_the_first_of_equals() -> None:
    red, near_red, blue = Colour(255, 0, 0), Colour(250, 0, 0), Colour(0, 0, 255)
    (one, apart), (other, none) = nearest([near_red, blue], [blue, red, red])
    assert one is red
    assert 0 < apart < 2
    assert (other, none) == (blue, 0.0)


@pytest.mark.parametrize(
    ("written", "hex_"),
    [
        ("#7a4b2a", "#7a4b2a"),
        ("#7A4B2A", "#7a4b2a"),
        ("#f0c", "#ff00cc"),
        ("#f0cf", "#ff00cc"),
        ("#ff00ccff", "#ff00cc"),
        (" teal ", "#008080"),
        ("RebeccaPurple", "#663399"),
        ("rgb(122, 75, 42)", "#7a4b2a"),
        ("rgb(122 75 42 / 100%)", "#7a4b2a"),
        ("rgb(50% 20% 10%)", "#80331a"),
        ("rgb(300 -5 0)", "#ff0000"),
        ("hsl(120 100% 25%)", "#008000"),
        ("hwb(0 0% 0%)", "#ff0000"),
    ],
)
def test_notations_of_css(written: str, hex_: str) -> None:
    """CSS Color 4: sections 5 (rgb), 5.2 (hex), 6.1 (names), 7 (hsl), 8 (hwb)."""
    assert parse_colour(written).hex == hex_


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("#12", "not a colour"),
        ("#12345", "not a colour"),
        ("redd", 'nearest: "red"'),
        ("saddlebrwon", 'nearest: "saddlebrown"'),
        ("currentColor", "not a colour"),
        ("none", "not a colour"),
        ("url(#a)", "not a colour"),
        ("", "not a colour"),
        ("rgb(1 2)", "not a colour"),
        ("#ff00cc80", 'allowed: "#ff00cc"'),
        ("transparent", "not opaque"),
        ("lab(50 20 20)", "not in sRGB"),
    ],
)
def test_refuses(written: str, said: str) -> None:
    with pytest.raises(ValueError, match=re.escape(said)):
        parse_colour(written)


def test_every_name_is_a_colour() -> None:
    assert len(NAMES) == len(set(NAMES)) == 148  # CSS Color 4, section 6.1
    assert all(parse_colour(name).alpha == 1.0 for name in NAMES)


@given(st.text(max_size=12) | st.text("#0123456789abcdefghslrgb(), %/"))
def test_never_more_than_a_value_error(text: str) -> None:
    try:
        colour = parse_colour(text)
    except ValueError:
        return
    assert all(0 <= step <= 255 for step in colour[:3])
