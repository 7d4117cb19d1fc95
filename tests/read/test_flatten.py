"""Flattening and extents, against closed forms and dense sampling."""

from __future__ import annotations

import math

import numpy as np
import pytest
from drawings import drawn, examples
from hypothesis import given
from hypothesis import strategies as st

from scantling.read.drawing import ARC, CUBIC, LINE, Curves
from scantling.read.flatten import bounds, edge_counts, flatten, outline_length, points_at
from scantling.read.pathdata import read_path


def curves(kinds: list[int], data: np.ndarray, closed: bool = False) -> Curves:
    """Each segment a contour of its own."""
    n = len(kinds)
    return Curves(
        np.array(kinds, np.int8), data, np.arange(n + 1), np.full(n, closed), np.zeros(n, np.int64),
        np.arange(n),
    )  # fmt: skip


coordinates = st.floats(-100, 100).map(lambda v: round(v, 6))
segments = st.one_of(
    st.tuples(st.just(CUBIC), st.tuples(*[coordinates] * 8)),
    # nearly straight cubics of uneven speed
    st.builds(
        lambda x, y, s, a, b: (
            CUBIC, (x, y, x + s * a, y + a / 9, x + s * b, y - b / 9, x + s, y),
        ),
        coordinates, coordinates, coordinates, st.floats(0, 1), st.floats(0, 1),
    ),
    st.tuples(
        st.just(ARC),
        st.tuples(*[coordinates] * 6, st.floats(-math.pi, math.pi), st.floats(-6.3, 6.3)),
    ),
    st.tuples(st.just(LINE), st.tuples(*[coordinates] * 4, *[st.just(0.0)] * 4)),
)  # fmt: skip


def away(points: np.ndarray, start: np.ndarray, end: np.ndarray) -> float:
    """Greatest distance of points from a chord."""
    along = end - start
    size = float(along @ along)
    t = np.clip((points - start) @ along / size, 0, 1) if size else np.zeros(len(points))
    return float(np.hypot(*(points - start - t[:, None] * along).T).max())


@examples(70)
@given(st.lists(segments, min_size=1, max_size=6), st.sampled_from([0.003, 0.05, 1.0]))
def test_no_chord_is_further_away_than_the_tolerance(parts: list, tolerance: float) -> None:
    kinds = [kind for kind, _ in parts]
    some = curves(kinds, np.array([data for _, data in parts]))
    counts = edge_counts(some.kind, some.data, tolerance)
    for index in range(len(kinds)):
        k = int(counts[index])
        t = np.linspace(0, 1, 12 * k + 1)
        on = points_at(some.kind, some.data, np.full(len(t), index), t)
        worst = max(away(on[12 * j : 12 * j + 13], on[12 * j], on[12 * j + 12]) for j in range(k))
        assert worst <= tolerance * (1 + 1e-9) + 1e-9


@examples(50)
@given(st.lists(segments, min_size=1, max_size=5))
def test_extents_are_those_of_dense_samples(parts: list) -> None:
    some = curves([kind for kind, _ in parts], np.array([data for _, data in parts]))
    box = bounds(some)
    t = np.linspace(0, 1, 2001)
    for index in range(len(parts)):
        on = points_at(some.kind, some.data, np.full(len(t), index), t)
        low, high = on.min(axis=0), on.max(axis=0)
        assert (box[index, :2] <= low + 1e-9).all()
        assert (box[index, 2:] >= high - 1e-9).all()
        np.testing.assert_allclose(box[index], np.concatenate((low, high)), atol=0.01)


def test_circles_by_their_sagitta() -> None:
    """A chord of a circle of radius r over the angle h is off by r (1 - cos(h/2))."""
    drawing = drawn('<circle cx="50" cy="50" r="40"/>')
    tolerance = 0.01
    flat = flatten(drawing.curves, tolerance)
    count = len(flat.xy)
    assert 40 * (1 - math.cos(math.pi / count)) <= tolerance
    assert 40 * (1 - math.cos(math.pi / (count - 1))) > tolerance
    np.testing.assert_allclose(np.hypot(*(flat.xy - 50).T), 40, rtol=1e-12)
    np.testing.assert_allclose(bounds(drawing.curves), [[10, 10, 90, 90]], atol=1e-12)


def test_straight_cubics_are_one_edge() -> None:
    flat = flatten(drawn('<path d="M0 0C10 0 60 0 90 0M0 5C0 5 80 5 80 5"/>').curves, 0.001)
    assert list(np.diff(flat.first)) == [2, 2]


def test_layout_of_what_is_flattened() -> None:
    drawing = drawn(
        '<path d="M0 0H10V10ZM20 20L30 20M5 5M40 40V40H50V40Z"/><path d="M1 1L2 2 1 1z"/>'
    )
    flat = flatten(drawing.curves, 0.01)
    assert list(flat.first) == [0, 3, 5, 6, 8, 10]
    assert list(flat.contour) == [0, 1, 2, 3, 4]
    assert flat.xy.tolist() == [
        [0, 0], [10, 0], [10, 10], [20, 20], [30, 20], [5, 5], [40, 40], [50, 40], [1, 1], [2, 2],
    ]  # fmt: skip
    # an edge belongs to the segment that starts there, past those of no length
    ordinals = drawing.curves.ordinal[flat.segment].tolist()
    assert ordinals == [1, 2, 3, 5, 5, 6, 9, 11, 1, 2]


def test_some_contours_only() -> None:
    drawing = drawn('<path d="M0 0H10M0 5C5 9 9 9 10 5M0 9H10"/>')
    whole = flatten(drawing.curves, 0.01)
    flat = flatten(drawing.curves, 0.01, np.array([False, True, True]))
    assert list(flat.contour) == [1, 2]
    np.testing.assert_array_equal(flat.xy, whole.xy[whole.first[1] :])
    np.testing.assert_array_equal(flat.segment, whole.segment[whole.first[1] :])
    assert len(flatten(drawing.curves, 0.01, np.zeros(3, np.bool_)).xy) == 0
    assert len(flatten(drawn("").curves, 0.01).xy) == 0
    assert bounds(drawn("").curves).shape == (0, 4)


@pytest.mark.parametrize("tolerance", [0.0, -1.0, math.nan])
def test_the_tolerance_must_be_above_nothing(tolerance: float) -> None:
    with pytest.raises(ValueError, match="above 0"):
        flatten(drawn("").curves, tolerance)


def test_lengths() -> None:
    outline, _ = read_path("M0 0H30V40ZA5 5 0 0 1 10 0")
    assert outline_length(outline) == pytest.approx(120 + 5 * math.pi, rel=1e-4)
