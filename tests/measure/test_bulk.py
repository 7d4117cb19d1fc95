"""The helpers that work in bulk, each against the plain way of doing one thing at a time."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from making import steady

from scantling.measure.groups import connected, stretches
from scantling.measure.lines.intervals import through_start, unite
from scantling.measure.pieces.winding import counts, rays
from scantling.measure.segments import distance_to, near_stretch

seeds = st.integers(0, 2**32 - 1)


@steady
@given(seed=seeds, many=st.integers(0, 40))
def test_unions_of_intervals(seed: int, many: int) -> None:
    rng = np.random.default_rng(seed)
    group = rng.integers(0, 4, many)
    low = rng.uniform(0.0, 50.0, many).round(1)
    high = low + rng.uniform(0.0, 6.0, many).round(1)
    of, begin, finish, member = unite(group, low, high)
    assert (of[member] == group).all()
    assert (begin[member] <= low + 1e-9).all()
    assert (finish[member] >= high - 1e-9).all()
    for k in range(4):
        lines = [
            shapely.LineString([(a, 0), (b + 1e-9, 0)]) for a, b in zip(low, high, strict=True)
        ]
        whole = shapely.union_all([line for line, g in zip(lines, group, strict=True) if g == k])
        assert (finish - begin)[of == k].sum() == pytest.approx(whole.length, abs=1e-5)


def test_an_interval_through_the_start_is_one() -> None:
    group, low, high = (
        np.array([0, 0, 0, 1, 1]),
        [0.0, 3.0, 8.0, 0.0, 8.0],
        [1.0, 4.0, 9.0, 1.0, 9.0],
    )
    total, closed = np.full(5, 9.0), np.array([True, True, True, False, False])
    number = through_start(group, np.array(low), np.array(high), total, closed)
    assert number.tolist() == [0, 1, 0, 3, 4]


@steady
@given(seed=seeds, many=st.integers(1, 60), ties=st.integers(0, 60))
def test_connected_groups(seed: int, many: int, ties: int) -> None:
    rng = np.random.default_rng(seed)
    a, b = rng.integers(0, many, (2, ties))
    plain = list(range(many))
    for _ in range(many):
        for i, j in zip(a.tolist(), b.tolist(), strict=True):
            plain[i] = plain[j] = min(plain[i], plain[j])
    assert connected(many, a, b).tolist() == plain


def test_a_long_chain_is_one_group() -> None:
    order = np.random.default_rng(1).permutation(5000)
    assert (connected(5000, order[:-1], order[1:]) == 0).all()


def test_stretches_of_indices() -> None:
    pick, of = stretches(np.array([5, 0, 9]), np.array([3, 0, 2]))
    assert pick.tolist() == [5, 6, 7, 9, 10]
    assert of.tolist() == [0, 0, 0, 2, 2]


@steady
@given(seed=seeds, within=st.floats(0.05, 3.0))
def test_what_lies_near_an_edge(seed: int, within: float) -> None:
    """The ends of a stretch are as far from the other edge as allowed, or ends of its own edge;
    between them it is nearer, beyond them farther."""
    rng = np.random.default_rng(seed)
    start, end, other, to = rng.uniform(-3.0, 3.0, (4, 50, 2))
    low, high = near_stretch(start, end, other, to, within)
    size = np.hypot(*(end - start).T)
    for t in np.linspace(0.0, 1.0, 23):
        apart = distance_to(start + t * (end - start), other, to)
        inside = (t * size >= low - 1e-9) & (t * size <= high + 1e-9)
        clear = np.abs(apart - within) > 1e-6
        assert (inside == (apart <= within))[clear].all()
        plain = shapely.distance(
            shapely.points(start + t * (end - start)),
            shapely.linestrings(np.stack([other, to], axis=1)),
        )
        assert apart == pytest.approx(plain)


@pytest.mark.parametrize("many", [5, 4000])
def test_winding_against_geos(many: int) -> None:
    """Few and many points take different ways to the same answer."""
    rng = np.random.default_rng(3)
    angle = np.sort(rng.uniform(0.0, 2.0 * np.pi, 200))
    ring = np.column_stack([np.cos(angle), np.sin(angle)]) * rng.uniform(3.0, 9.0, 200)[:, None]
    points = rng.uniform(-10.0, 10.0, (many, 2))
    point, edge, sign = rays(points, ring, np.roll(ring, -1, axis=0))
    face, group, winding, number, _ = counts(point, np.zeros(len(edge), np.int64), sign, 1)
    inside = np.zeros(many, bool)
    inside[face[number % 2 == 1]] = True
    assert (inside == shapely.contains_xy(shapely.Polygon(ring), points)).all()
    assert set(winding[number % 2 == 1]) <= {1, -1}
    assert (group == 0).all()
