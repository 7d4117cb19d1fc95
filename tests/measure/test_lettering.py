"""Characters, lines and strokes from outlines. Letters are drawn as strokes of known thickness."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate, scale, translate

from scantling.measure.assembly.lettering import (
    capital_height,
    is_bar,
    is_round,
    stroke_width,
    text_lines,
)

# Centre lines in a box 0.6 wide and 1 high, y down; the stroke is added round them.
LETTERS = {
    "E": [[(0.6, 0), (0, 0), (0, 1), (0.6, 1)], [(0, 0.5), (0.5, 0.5)]],
    "H": [[(0, 0), (0, 1)], [(0.6, 0), (0.6, 1)], [(0, 0.5), (0.6, 0.5)]],
    "I": [[(0, 0), (0, 1)]],
    "K": [[(0, 0), (0, 1)], [(0.6, 0), (0, 0.5), (0.6, 1)]],
    "L": [[(0, 0), (0, 1), (0.6, 1)]],
    "M": [[(0, 1), (0, 0), (0.35, 0.9), (0.7, 0), (0.7, 1)]],
    "N": [[(0, 1), (0, 0), (0.6, 1), (0.6, 0)]],
    "T": [[(0, 0), (0.6, 0)], [(0.3, 0), (0.3, 1)]],
    "V": [[(0, 0), (0.3, 1), (0.6, 0)]],
    "X": [[(0, 0), (0.6, 1)], [(0.6, 0), (0, 1)]],
}


def letter(name: str, height: float = 20.0, stroke: float = 2.4):
    """A letter whose strokes are so thick, flat at their ends and mitred at their corners."""
    runs = [shapely.LineString(np.array(run) * height) for run in LETTERS[name]]
    return shapely.union_all(
        [shapely.buffer(r, stroke / 2, cap_style="flat", join_style="mitre") for r in runs]
    )


def ring(width: float, height: float, stroke: float):
    outer = scale(shapely.Point(0, 0).buffer(0.5, 64), width, height)
    return outer.difference(
        scale(shapely.Point(0, 0).buffer(0.5, 64), width - 2 * stroke, height - 2 * stroke)
    )


def boxes(*parts: tuple[float, float, float, float]):
    return np.array(parts, float)


def grouped(*parts: tuple[float, float, float, float]) -> list[list[tuple[int, ...]]]:
    return [[tuple(sorted(c.parts)) for c in line] for line in text_lines(boxes(*parts))]


@pytest.mark.parametrize("name", sorted(LETTERS))
@pytest.mark.parametrize("stroke", [1.5, 2.4, 3.0])
def test_stroke_of_letters(name: str, stroke: float):
    thick, at = stroke_width(letter(name, stroke=stroke))
    assert thick == pytest.approx(stroke, rel=0.03)
    assert letter(name, stroke=stroke).contains(shapely.Point(at))


def test_largest_disc_would_be_too_thick():
    # in a T of stroke w the largest disc sits where the strokes meet and is 1.25 w across:
    # r² = (w/2)² + (w − r)², so r = 0.625 w
    t = letter("T", stroke=2.4)
    assert 2 * shapely.maximum_inscribed_circle(t, 1e-3).length == pytest.approx(3.0, abs=0.01)
    assert stroke_width(t)[0] == pytest.approx(2.4, rel=0.01)


def test_stroke_of_rings_and_discs():
    assert stroke_width(ring(16, 20, 2.4))[0] == pytest.approx(2.4, rel=0.02)
    assert stroke_width(shapely.Point(0, 0).buffer(10, 64))[0] == pytest.approx(20, rel=0.01)


@settings(deadline=None, max_examples=40)
@given(st.sampled_from(sorted(LETTERS)), st.floats(0, 360), st.floats(0.2, 5.0))
def test_stroke_turns_and_scales_along(name: str, angle: float, size: float):
    one = letter(name)
    other = scale(rotate(one, angle), size, size, origin=(0, 0))
    assert stroke_width(other)[0] == pytest.approx(size * stroke_width(one)[0], rel=0.02)


def test_no_parts_no_lines():
    assert text_lines(np.zeros((0, 4))) == []


def test_letters_side_by_side_are_a_line_from_the_left():
    assert grouped((30, 0, 40, 20), (0, 0, 10, 20), (15, 0, 25, 20)) == [[(1,), (2,), (0,)]]


def test_kerned_capitals_stay_apart():
    # A and V lean into each other: their boxes overlap, more so in a light typeface
    assert grouped((0, 0, 18, 20), (11, 0, 29, 20)) == [[(0,), (1,)]]


def test_two_lines():
    upper, lower = (0, 0, 10, 20), (0, 28, 10, 48)
    assert grouped(lower, upper) == [[(1,)], [(0,)]]
    assert grouped(upper, (12, 0, 22, 20), lower, (12, 28, 22, 48)) == [[(0,), (1,)], [(2,), (3,)]]


def test_dot_belongs_to_its_stem():
    assert grouped((0, 6, 3, 20), (0, 0, 3, 3), (8, 0, 18, 20)) == [[(0, 1), (2,)]]


def test_accents_belong_to_their_letters():
    # É Ü: an acute, and two dots, above letters of 20
    acute, dots = (4, -6, 9, -2), ((22, -5, 25, -2), (29, -5, 32, -2))
    assert grouped((0, 0, 12, 20), acute, (20, 0, 34, 20), *dots) == [[(0, 1), (2, 3, 4)]]


def test_accents_of_one_line_are_not_given_to_another():
    # the cedilla of the upper line and the accent of the lower one, 7 mm of space between
    above, below = (0, 0, 12, 20), (0, 27, 12, 47)
    assert grouped(above, (4, 20.5, 8, 23), below, (4, 23.5, 8, 26)) == [[(0, 1)], [(2, 3)]]


def test_colon_and_quotes_are_one_character():
    colon = ((16, 6, 19, 9), (16, 17, 19, 20))
    quotes = ((24, 0, 27, 6), (29, 0, 32, 6))
    found = text_lines(boxes((0, 0, 12, 20), *colon, *quotes, (38, 0, 50, 20)))
    assert [[(c.parts, c.mark) for c in line] for line in found] == [
        [((0,), False), ((1, 2), True), ((3, 4), True), ((5,), False)]
    ]


def test_hyphen_and_full_stop_are_marks_of_their_own():
    found = text_lines(boxes((0, 0, 12, 20), (16, 9, 23, 11), (27, 0, 39, 20), (43, 17, 46, 20)))
    assert [(c.parts, c.mark) for c in found[0]] == [
        ((0,), False),
        ((1,), True),
        ((2,), False),
        ((3,), True),
    ]


def test_percent_sign_is_one_character():
    assert grouped((0, 0, 9, 13), (4, 0, 19, 20), (14, 7, 23, 20)) == [[(0, 1, 2)]]


def test_small_print_beside_large_figures_is_a_line_of_its_own():
    figures = [(x, 0.0, x + 30, 50.0) for x in (0, 35, 70)]
    words = [(110.0 + 15 * k, 5.0, 121.0 + 15 * k, 21.0) for k in range(6)]
    assert [len(line) for line in text_lines(boxes(*figures, *words))] == [3, 6]


@settings(deadline=None)
@given(st.permutations(range(6)), st.floats(-100, 100), st.floats(0.1, 10))
def test_order_place_and_size_do_not_matter(order: list[int], shift: float, size: float):
    parts = boxes(
        (0, 0, 12, 20),
        (4, -6, 9, -2),
        (16, 0, 28, 20),
        (32, 17, 35, 20),
        (0, 30, 10, 50),
        (12, 30, 22, 50),
    )
    found = text_lines(parts[order] * size + shift)
    named = [[tuple(sorted(order[k] for k in c.parts)) for c in line] for line in found]
    assert named == [[(0, 1), (2,), (3,)], [(4,), (5,)]]


def test_capital_height():
    # overshoot of round letters, a Q's tail, a bracket
    assert capital_height(np.array([20, 20, 20.4, 20, 24, 26])) == pytest.approx(20, abs=0.2)
    # capitals among many lower-case letters
    assert capital_height(np.array([20, 20, *[14.5] * 4])) == 20
    assert capital_height(np.array([17.0])) == 17


def test_bar_and_round():
    assert is_bar(letter("I"))
    assert not is_bar(letter("L"))
    assert not is_bar(rotate(letter("I"), 12))
    assert is_round(ring(16, 20, 2.4))
    assert is_round(translate(ring(10, 20, 2.4), 5, 7))
    d = shapely.box(0, 0, 8, 20).union(scale(shapely.Point(8, 10).buffer(1, 64), 8, 10))
    inner = shapely.box(2.4, 2.4, 8, 17.6).union(
        scale(shapely.Point(8, 10).buffer(1, 64), 5.6, 7.6)
    )
    assert not is_round(d.difference(inner))
    assert not is_round(letter("H"))
    assert not is_round(shapely.box(0, 0, 16, 20).difference(shapely.box(2, 2, 14, 18)))
