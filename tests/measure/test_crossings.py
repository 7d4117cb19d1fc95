"""Crossings of cut lines. Expected places are closed forms; in general position shapely (GEOS)
is asked instead."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st
from making import Points, Sketch, box, circle, square, steady

from scantling.measure.model import Crossing

SIDE = square(10.0)


def found(sketch: Sketch, **more: float) -> tuple[Crossing, ...]:
    crossings: tuple[Crossing, ...] = sketch.facts(**more)["crossings"]
    return crossings


def places(sketch: Sketch, **more: float) -> list[tuple[float, float]]:
    return sorted((round(c.first.at[0], 6), round(c.first.at[1], 6)) for c in found(sketch, **more))


def test_two_squares_cross_twice() -> None:
    crossings = found(Sketch().ring(SIDE).ring(SIDE + 5.0))
    assert [c.first.at for c in crossings] == [(5.0, 0.0), (0.0, 5.0)]
    assert all(not c.own for c in crossings)
    assert all((c.first.contour, c.second.contour) == (0, 1) for c in crossings)
    assert [(c.first.segment, c.second.segment) for c in crossings] == [(1, 4), (2, 7)]


def test_a_figure_of_eight_crosses_itself_once() -> None:
    for start in (0.0, 0.3):
        t = start + np.linspace(0.0, 2.0 * np.pi, 200, endpoint=False)
        (crossing,) = found(Sketch().ring(np.column_stack([np.sin(t), np.sin(2 * t)]) * 10.0))
        assert crossing.own
        assert crossing.first.at == pytest.approx((0.0, 0.0), abs=1e-4)


def test_a_star_drawn_in_one_go_crosses_itself_five_times() -> None:
    angle = 4.0 * np.pi * np.arange(5) / 5.0
    star = np.column_stack([np.cos(angle), np.sin(angle)]) * 10.0
    # The inner corners of a pentagram lie at cos 72° / cos 36° of its radius.
    inner = 10.0 * np.cos(np.radians(72.0)) / np.cos(np.radians(36.0))
    crossings = found(Sketch().ring(star))
    assert len(crossings) == 5
    assert [np.hypot(*c.first.at) for c in crossings] == pytest.approx([inner] * 5)


def test_lines_that_pass_through_corners_cross_once() -> None:
    level = [(0, 0), (5, 0), (10, 0)]
    upright = [(5, -5), (5, 0), (5, 5)]
    for one in (level, level[::2]):
        for other in (upright, upright[::2]):
            assert places(Sketch().line(one).line(other)) == [(5.0, 0.0)]
            assert places(Sketch().line(other[::-1]).line(one)) == [(5.0, 0.0)]


def test_a_line_is_crossed_whichever_of_its_parts_was_drawn_first() -> None:
    """A line of two, the later of which comes first along it and is crossed there."""
    parts = ([(10, 0), (20, 0)], [(5, -5), (5, 5)], [(0, 0), (10, 0)])
    sketch = Sketch()
    for part in parts:
        sketch.line(part)
    (crossing,) = found(sketch)
    assert (crossing.first.at, crossing.own) == ((5.0, 0.0), False)
    assert (crossing.first.contour, crossing.second.contour) == (1, 2)


def test_lines_that_touch_at_corners_do_not_cross() -> None:
    roof = [(0, -5), (5, 0), (10, -5)]
    for other in ([(0, 0), (10, 0)], [(0, 0), (5, 0), (10, 0)], [(0, 5), (5, 0), (10, 5)]):
        assert found(Sketch().line(roof).line(other)) == ()
        assert found(Sketch().line(other[::-1]).line(roof)) == ()


def test_neighbours_and_inscribed_figures_do_not_cross() -> None:
    diamond = np.array([(5, 0), (0, 5), (-5, 0), (0, -5)], float)
    assert found(Sketch().ring(SIDE).ring(diamond)) == ()
    assert found(Sketch().ring(SIDE).ring(square(10.0, (10.0, 0.0)))) == ()
    assert found(Sketch().ring(SIDE).ring(square(10.0, (10.0, 3.0)))) == ()
    assert found(Sketch().ring(SIDE).ring(SIDE + 10.0)) == ()


@pytest.mark.parametrize("deep", [-0.04, 0.0, 0.02, 0.04])
def test_circles_that_touch_do_not_cross(deep: float) -> None:
    assert found(Sketch().ring(circle(10.0)).ring(circle(5.0, (15.0 - deep, 0.0)))) == ()
    assert found(Sketch().ring(circle(10.0)).ring(circle(5.0, (5.0 + deep, 0.0)))) == ()


def test_circles_that_overlap_cross_where_they_should() -> None:
    # Two circles of radii 10 and 5, 12 apart: x = (12² + 10² - 5²) / 24.
    x = (144.0 + 100.0 - 25.0) / 24.0
    y = (100.0 - x * x) ** 0.5
    crossings = found(Sketch().ring(circle(10.0)).ring(circle(5.0, (12.0, 0.0))))
    assert sorted(c.first.at for c in crossings) == [
        pytest.approx((x, -y), abs=0.02),
        pytest.approx((x, y), abs=0.02),
    ]


def test_a_line_that_ends_a_little_beyond_another_does_not_cross_it() -> None:
    level = [(0, 0), (10, 0)]
    facts = Sketch().line(level).line([(5, -5), (5, 0.03)]).facts()
    assert facts["crossings"] == ()
    assert [graze.first.at for graze in facts["grazes"]] == [(5.0, 0.0)]
    assert places(Sketch().line(level).line([(5, -5), (5, 0.08)])) == [(5.0, 0.0)]


def test_ends_that_overshoot_each_other_are_a_corner() -> None:
    sketch = (
        Sketch().line([(0, 0), (10.02, 0)]).line([(10, -0.02), (10, 9)]).line([(10, 9), (0, 0)])
    )
    assert found(sketch) == ()


@pytest.mark.parametrize("degrees", [0.0, 45.0, 90.0, 133.0, 205.0, 290.0])
def test_an_outline_that_comes_by_its_corner_again(degrees: float) -> None:
    """Through the very same corner it crosses itself; where it only comes back to it, it does
    not, however steep its sides are."""
    turn = np.radians(degrees)
    turned = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    through = [(-7, -7), (0, 0), (7, 7), (7, -7), (0, 0), (-7, 7)]
    back = [(-7, -7), (0, 0), (7, -7), (7, 7), (0, 0), (-7, 7)]
    cusp = [(-7, -7), (7, -7), (7, 7), (1, 7), (0, 0), (-1, 7), (-2, 7), (0, 0), (-7, 6)]
    for ring, times in ((through, 1), (back, 0), (cusp, 0)):
        crossings = found(Sketch().ring(np.array(ring, float) @ turned))
        assert [c.first.at for c in crossings] == [(0.0, 0.0)] * times


@pytest.mark.parametrize("turn", [0.0, 29.0, 90.0, 160.0])
def test_lines_from_line_to_line_divide_what_they_cross_in(turn: float) -> None:
    """Tiles and jigsaws: they may be drawn across or from crossing to crossing. A line with a loose
    end, or one that is closed, does not divide."""
    angle = np.radians(turn)
    turned = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])

    def drawn(*paths: list[tuple[float, float]], ring: bool = False) -> int:
        sketch = Sketch().ring(square(20.0) @ turned)
        if ring:
            sketch.ring(square(8.0) @ turned, filled=False)
        for path in paths:
            sketch.line(np.array(path, float) @ turned)
        return len(found(sketch))

    level, upright = [(-10.0, 0.0), (10.0, 0.0)], [(0.0, -10.0), (0.0, 10.0)]
    wave = [(-10.0, 2.0), (-4.0, -3.0), (4.0, 3.0), (10.0, -2.0)]
    assert drawn(level, upright) == 0
    assert drawn(wave, upright) == 0
    assert drawn([*level[:1], (0.0, 0.0)], [(0.0, 0.0), *level[1:]], upright) == 0
    assert drawn(level, [(0.0, -10.0), (0.0, 5.0)]) == 1
    assert drawn(level, ring=True) == 2


def test_a_thin_bar_crosses_a_line_twice() -> None:
    bar = Sketch().line([(0, 0), (10, 0)]).ring(box(0.04, 4.0, (5.0, 0.0)))
    assert places(bar) == [(4.98, 0.0), (5.02, 0.0)]


def test_a_shallow_crossing_is_one() -> None:
    assert places(Sketch().line([(0, 0), (10, 0)]).line([(0, -0.1), (10, 0.1)])) == [(5.0, 0.0)]


def test_what_happens_along_a_double_is_no_crossing() -> None:
    assert found(Sketch().line([(0, 0), (9, 0)]).line([(2, -1), (3, 0), (7, 0), (8, 1)])) == ()
    assert found(Sketch().ring(circle(10.0)).ring(circle(10.0, turn=0.1))) == ()


@pytest.mark.parametrize("mirror", [1.0, -1.0])
@pytest.mark.parametrize("back", [False, True])
def test_a_double_is_none_either_on_a_line_that_another_is_joined_to(
    mirror: float, back: bool
) -> None:
    """The doubled line is one with what was drawn before it, and may run against it."""
    over = np.array([(2, -9), (3, 0), (7, 0), (7.5, 1)]) * (1.0, mirror)
    lead = np.array([(2, -9), (2, -20)]) * (1.0, mirror)
    for beneath in ([(0, 0), (9, 0)], [(9, 0), (0, 0)]):
        sketch = Sketch().line(beneath).line(lead).line(over[::-1] if back else over)
        assert found(sketch) == ()


def test_stripes_that_share_three_sides_do_not_cross() -> None:
    """Bands of one height drawn over each other from one corner, wherever their outlines begin."""
    whole, half = box(60, 28.8, (30, 14.4)), box(60, 14.4, (30, 7.2))
    for one in range(4):
        for other in range(4):
            bands = Sketch().ring(np.roll(whole, one, axis=0)).ring(np.roll(half, other, axis=0))
            for drawn in (bands, bands.ring(SIDE + 100.0)):
                assert found(drawn) == ()


def test_a_kink_is_no_crossing() -> None:
    kink = [(0, 0), (5, 0), (5.05, 0.03), (5.05, -0.03), (5, 0.02), (0, 5)]
    assert found(Sketch().ring(kink)) == ()
    big = [(0, 0), (5, 0), (7, 2), (7, -2), (5, 1), (0, 5)]
    assert places(Sketch().ring(big)) == [(5.4, 0.4)]


def test_only_cut_lines_cross() -> None:
    assert found(Sketch().ring(SIDE).line([(-9, 0), (9, 0)], operation="score")) == ()


@steady
@given(seed=st.integers(0, 2**32 - 1), many=st.integers(2, 3))
def test_against_geos(seed: int, many: int) -> None:
    """Rings through random places cross where GEOS finds their edges to meet, as long as no two
    crossings, corners or ends come so near to each other that tolerances have a say."""
    rng = np.random.default_rng(seed)
    rings = [rng.uniform(-200.0, 200.0, (rng.integers(3, 6), 2)) for _ in range(many)]
    edges = np.concatenate([np.stack([p, np.roll(p, -1, axis=0)], axis=1) for p in rings])
    lines = shapely.linestrings(edges)
    i, j = np.triu_indices(len(lines), 1)
    shared = (edges[i, 1] == edges[j, 0]).all(axis=1) | (edges[j, 1] == edges[i, 0]).all(axis=1)
    i, j = i[~shared], j[~shared]
    meet = shapely.intersection(lines[i], lines[j])
    expected = shapely.get_coordinates(meet[~shapely.is_empty(meet)])
    everything = np.concatenate([expected, *rings])
    apart = np.hypot(*(everything[:, None] - everything).transpose(2, 0, 1))
    assume(apart[np.triu_indices(len(everything), 1)].min() > 1.0)
    assume(_clear(rings))
    sketch = Sketch()
    for ring in rings:
        sketch.outline(ring)
    got = sorted(c.first.at for c in found(sketch))
    assert got == [pytest.approx(tuple(p)) for p in sorted(map(tuple, expected))]


def _clear(rings: list[Points]) -> bool:
    """True if no corner lies near an edge that it does not belong to."""
    for ring in rings:
        for k, corner in enumerate(shapely.points(ring)):
            for other in rings:
                for n in range(len(other)):
                    own = other is ring and k in (n, (n + 1) % len(other))
                    edge = shapely.LineString([other[n], other[(n + 1) % len(other)]])
                    if not own and corner.distance(edge) < 0.5:
                        return False
    return True


@steady
@given(seed=st.integers(0, 2**32 - 1))
def test_corners_on_a_grid(seed: int) -> None:
    """With corners on a grid most meetings are through corners. Two closed lines then cross as
    often, at each place, as they do when one of them is moved by next to nothing, or, if that is
    even, not at all."""
    rng = np.random.default_rng(seed)
    rings = [10.0 * rng.integers(-4, 5, (rng.integers(3, 6), 2)) for _ in range(2)]
    polygons = [shapely.Polygon(ring) for ring in rings]
    assume(all(p.is_valid and p.area > 0.0 for p in polygons))
    facts = Sketch().outline(rings[0]).outline(rings[1]).facts()
    assume(not len(facts["runs"].contour))
    moved = shapely.transform(polygons[1].exterior, lambda xy: xy + np.array([1.3e-6, 0.7e-6]))
    points = shapely.get_coordinates(polygons[0].exterior.intersection(moved))
    near = np.hypot(*(points[:, None] - points).transpose(2, 0, 1)) < 0.005
    first = near.argmax(axis=1) if len(points) else np.zeros(0, int)
    places, times = np.unique(first, return_counts=True)
    expected = points[places[times % 2 == 1]]
    got = np.array([c.first.at for c in facts["crossings"]]).reshape(-1, 2)
    assert len(got) == len(expected)
    if len(got):
        apart = np.hypot(*(got[:, None] - expected).transpose(2, 0, 1))
        assert apart.min(axis=0).max() < 0.01


@pytest.mark.parametrize("off", [0.0, 1e-10, -1e-10])
def test_a_line_that_carries_on_from_a_corner_does_not_cross(off: float):
    """An open line from a corner on, along the edge before it: touching is no crossing, however
    rounding has moved its end."""
    sketch = Sketch()
    corners = [(67.28, 71.59), (48.41, 67.28), (52.72, 48.41), (71.59, 52.72)]
    sketch.ring(np.array(corners))
    sketch.line([(71.59, 52.72 + off), (75.364, 53.582)])
    assert sketch.facts(reach=3.0)["crossings"] == ()
