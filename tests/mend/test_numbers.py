"""Numbers and parts of curves."""

from __future__ import annotations

from math import cos, hypot, pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scantling.mend.curves import nearest, part, point
from scantling.mend.fit import fitted
from scantling.mend.numbers import manner_of
from scantling.mend.path import Op

SPANS = st.tuples(st.floats(0, 1), st.floats(0, 1)).map(sorted)


@pytest.mark.parametrize(
    ("value", "within", "text"),
    [
        (5.0000000000001, 1e-10, "5"),
        (1 / 3, 1e-3, "0.333"),
        (-0.00000001, 1e-6, "0"),
        (-2.5, 1e-9, "-2.5"),
        (1e6 + 0.25, 1e-9, "1000000.25"),
        (0.1 + 0.2, 1e-10, "0.3"),
    ],
)
def test_numbers_are_as_short_as_exactness_allows(value: float, within: float, text: str):
    assert manner_of("0.5", within).number(value) == text


def test_numbers_are_written_as_those_around_them():
    assert manner_of("M.5-.5L1 2", 1e-6).numbers((0.25, -0.75)) == ".25 -.75"
    assert manner_of("M0.5,1", 1e-6).numbers((0.25, -0.75)) == "0.25,-0.75"


@given(st.floats(-1e6, 1e6), st.floats(1e-9, 1e-2))
def test_written_numbers_are_near_enough(value: float, within: float):
    assert abs(float(manner_of("", within).number(value)) - value) <= max(within, 1e-9)


COORDINATE = st.floats(-100, 100)
CUBICS = st.tuples(*[COORDINATE] * 6).map(lambda values: Op("C", values))


@given(CUBICS, SPANS, st.floats(0, 1))
def test_a_part_of_a_cubic_lies_on_it(op: Op, span: list[float], t: float):
    low, high = span
    if high - low < 1e-6:
        return
    begin, piece = part((0.0, 0.0), op, low, high)
    x, y = point(begin, piece, t)
    u, v = point((0.0, 0.0), op, low + (high - low) * t)
    assert hypot(x - u, y - v) < 1e-9


@pytest.mark.parametrize("sweep", [0.0, 1.0])
@pytest.mark.parametrize("large", [0.0, 1.0])
def test_a_part_of_an_arc_is_on_the_circle(large: float, sweep: float):
    """Source: the circle itself, x² + y² = r²; the arc from 0 to 100 degrees of radius 10."""
    a = 100 * pi / 180
    pen, end = (10.0, 0.0), (10 * cos(a), 10 * sin(a))
    op = Op("A", (10.0, 10.0, 0.0, large, sweep, *end))
    begin, piece = part(pen, op, 0.25, 0.75)
    assert piece.letter == "A"
    turn = (a if sweep else a - 2 * pi) if large != sweep else None
    for t in (0.0, 0.3, 1.0):
        x, y = point(begin, piece, t)
        u, v = point(pen, op, 0.25 + 0.5 * t)
        assert hypot(x - u, y - v) < 1e-9
        if turn is not None:  # the arc whose centre is the origin
            assert hypot(x, y) == pytest.approx(10.0)
            angle = turn * (0.25 + 0.5 * t)
            assert (x, y) == pytest.approx((10 * cos(angle), 10 * sin(angle)))


@given(CUBICS, st.floats(0, 1))
def test_the_nearest_place_to_a_point_of_a_curve_is_that_point(op: Op, t: float):
    at = point((0.0, 0.0), op, t)
    x, y = point((0.0, 0.0), op, nearest((0.0, 0.0), op, at))
    assert hypot(x - at[0], y - at[1]) < 0.5  # of a curve of hundreds: never another branch's end


def test_a_circle_is_fitted_within_the_tolerance():
    import numpy as np

    t = np.linspace(0.0, 2 * pi, 400)
    ops = fitted(np.column_stack((20 * np.cos(t), 20 * np.sin(t))), 0.01)
    assert len(ops) < 14
    pen = (20.0, 0.0)
    for op in ops:
        radii = [hypot(*point(pen, op, k / 50)) for k in range(51)]
        assert max(abs(r - 20.0) for r in radii) < 0.0111  # the chords themselves are off by 0.0006
        pen = op.to
    assert hypot(pen[0] - 20.0, pen[1]) < 1e-9
