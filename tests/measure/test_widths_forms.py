"""Widths of random figures against closed forms, wherever they lie and however they are turned.

Two flattened curves may be off by twice the chord tolerance; straight ones are exact.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from figures import CHORD, arc, arranged, box, disc, measured, turned
from hypothesis import given, settings
from hypothesis import strategies as st

from scantling.measure.model import Narrow, Tip
from scantling.measure.widths.telling import told
from scantling.measure.widths.thin import thin, tips
from scantling.plan.model import Tolerances

TOLERANCE = 2.0 * CHORD
EXACT = 1e-6
few = settings(max_examples=25, deadline=None)

angles = st.floats(0.0, 360.0)
places = st.sampled_from([(0.0, 0.0), (137.0, -52.0), (1e5, 1e5), (-3e6, 2e6)])
"""mm; the last is three kilometres from the origin"""


def one(figure: shapely.Geometry, reach: float = 1.5) -> Narrow:
    found, _ = measured(figure, reach=reach)
    assert len(found) == 1
    return found[0]


def tips_of(figure: shapely.Geometry, reach: float = 1.5) -> tuple[Tip, ...]:
    arrangement = arranged(figure)
    return tips(thin(arrangement, reach, Tolerances(chord=CHORD)))


@given(
    outer=st.floats(2.0, 40.0),
    wall=st.floats(0.1, 1.4),
    share=st.floats(0.1, 0.8),
    angle=angles,
    place=places,
)
@few
def test_eccentric_rings(
    outer: float, wall: float, share: float, angle: float, place: tuple[float, float]
) -> None:
    inner = (outer - wall) * share
    apart = outer - inner - wall  # wall = outer - inner - apart
    web = one(turned(disc(0, 0, outer).difference(disc(apart, 0, inner)), angle, *place))
    assert web.width == pytest.approx(wall, abs=TOLERANCE)
    assert web.kind == "wall"
    assert math.dist(web.p.at, web.q.at) == pytest.approx(web.width, abs=1e-3)


@given(
    a=st.floats(6.0, 30.0),
    b=st.floats(4.0, 6.0),
    hole=st.floats(0.5, 0.95),
    flat=st.floats(0.5, 0.95),
    angle=angles,
    place=places,
)
@few
def test_rings_of_ellipses(
    a: float, b: float, hole: float, flat: float, angle: float, place: tuple[float, float]
) -> None:
    def ellipse(x: float, y: float) -> shapely.Polygon:
        k = math.ceil(2 * math.pi / (2 * math.acos(1 - CHORD / max(x, y))))
        t = 2 * math.pi * np.arange(k) / k
        return shapely.Polygon(np.stack((x * np.cos(t), y * np.sin(t)), axis=1))

    # convex in convex: the wall is the least difference of their support functions
    t = np.linspace(0, math.pi, 20001)
    c, s = np.cos(t), np.sin(t)
    wall = (np.hypot(a * c, b * s) - np.hypot(hole * a * c, hole * flat * b * s)).min()
    ring = turned(ellipse(a, b).difference(ellipse(hole * a, hole * flat * b)), angle, *place)
    found, _ = measured(ring, reach=2.0)
    if wall < 2.0 - TOLERANCE:
        assert found[0].width == pytest.approx(wall, abs=TOLERANCE)
    elif wall > 2.0 + TOLERANCE:
        assert not found


@given(gap=st.floats(0.1, 1.3), spread=st.floats(0.3, 1.4), angle=angles, place=places)
@few
def test_hourglass_of_lines(
    gap: float, spread: float, angle: float, place: tuple[float, float]
) -> None:
    x = gap / 2
    y = 5.0 * spread
    glass = shapely.Polygon([(-5 - x, -y), (5 + x, -y), (x, 0), (5 + x, y), (-5 - x, y), (-x, 0)])
    web = one(turned(glass, angle, *place))
    assert web.width == pytest.approx(gap, abs=EXACT)


@given(gap=st.floats(0.1, 1.3), r=st.floats(1.0, 30.0), other=st.floats(1.0, 30.0), angle=angles)
@few
def test_hourglass_of_arcs(gap: float, r: float, other: float, angle: float) -> None:
    half = 0.9 * min(r, other)
    plate = box(-r / 2, -half, gap + other / 2, half)
    plate = plate.difference(disc(-r, 0, r)).difference(disc(gap + other, 0, other))
    web = one(turned(plate, angle))
    assert web.width == pytest.approx(gap, abs=TOLERANCE)


@given(
    width=st.floats(0.05, 1.4),
    length=st.floats(2.5, 60.0),
    angle=angles,
    place=places,
    around=st.booleans(),
)
@few
def test_limbs_of_constant_width(
    width: float, length: float, angle: float, place: tuple[float, float], around: bool
) -> None:
    limb = box(-1, -width / 2, length, width / 2)
    if around:
        limb = limb.union(disc(length, 0, width / 2))
    web = one(turned(box(-20, -10, 0, 10).union(limb), angle, *place))
    assert web.width == pytest.approx(width, abs=TOLERANCE if around else EXACT)
    assert web.kind == "limb"
    if not around:
        assert web.length == pytest.approx(length - width / 2, rel=1e-3)


@given(width=st.floats(0.2, 1.4), length=st.floats(4.0, 40.0), angle=angles, place=places)
@few
def test_bridges(width: float, length: float, angle: float, place: tuple[float, float]) -> None:
    plates = box(-10, -10, 0, 10).union(box(length, -10, length + 10, 10))
    web = one(turned(plates.union(box(-1, 2, length + 1, 2 + width)), angle, *place))
    assert web.width == pytest.approx(width, abs=EXACT)
    assert web.kind == ("bridge" if length > 2 * width else "neck")
    assert web.length == pytest.approx(length, rel=1e-3)


@given(
    end=st.floats(0.3, 1.2),
    taper=st.floats(0.5, 6.0),  # a bar that widens faster from its end is a tip
    cut=st.floats(0.01, 0.45),
    segments=st.integers(1, 5),
    slot=st.booleans(),
    angle=angles,
)
@few
def test_a_tapering_bar_is_thinnest_at_its_end_whatever_its_corners(
    end: float, taper: float, cut: float, segments: int, slot: bool, angle: float
) -> None:
    """The disc between both sides and the end wall clears corners that are cut off or rounded by
    less than a quarter of the end."""
    a = math.radians(taper / 2.0)
    y = end / 2.0 + 12.0 * math.tan(a)
    sharp = shapely.Polygon([(0, -y), (12, -end / 2), (12, end / 2), (0, y)])
    r = cut * end / 2.0
    bar = sharp.buffer(-r, join_style="mitre").buffer(r, quad_segs=segments)
    least = end * math.cos(a) / (1.0 - math.sin(a))
    if slot:
        _, (found, *_) = measured(turned(box(-5, -9, 17, 9).difference(bar), angle))
    else:
        (found, *_), _ = measured(turned(bar.union(box(-5, -9, 0.5, 9)), angle))
    assert found.width == pytest.approx(least, abs=TOLERANCE)


@pytest.mark.parametrize("count", [2, 5, 20])
def test_a_gap_is_one_though_its_ends_hang_together_with_others(count: int) -> None:
    """Bars side by side, every other one shifted: beyond the end of one its neighbours face each
    other, so all gaps hang together at both ends, but not by a measure between the two."""
    bars = [box(k, 5.0 * (k % 2), k + 0.6, 40.0 + 5.0 * (k % 2)) for k in range(count)]
    _, gaps = measured(*bars, reach=2.0)
    below = [part for gap in gaps for part in gap.below(1.0)]
    assert [part.width for part in below] == [pytest.approx(0.4, abs=EXACT)] * (count - 1)
    assert all(part.length == pytest.approx(35.0, abs=1.0) for part in below)


@given(count=st.integers(2, 30), tooth=st.floats(0.2, 1.4), slot=st.floats(0.2, 1.4), angle=angles)
@few
def test_combs(count: int, tooth: float, slot: float, angle: float) -> None:
    pitch = tooth + slot
    teeth = [box(k * pitch, -1, k * pitch + tooth, 6) for k in range(count)]
    comb = shapely.union_all([box(-3, -10, count * pitch + 3, 0), *teeth])
    found_webs, found_gaps = measured(turned(comb, angle))
    assert [n.width for n in found_webs] == pytest.approx([tooth] * count, abs=EXACT)
    assert [n.width for n in found_gaps] == pytest.approx([slot] * (count - 1), abs=EXACT)
    assert {n.kind for n in (*found_webs, *found_gaps)} == {"limb"}


@given(taper=st.floats(5.0, 28.0), angle=angles, place=places)
@few
def test_sharp_tapers_are_tips(taper: float, angle: float, place: tuple[float, float]) -> None:
    half = math.radians(taper / 2)
    y = 30 * math.tan(half)
    wedge = shapely.Polygon([(0, -y), (30, 0), (0, y)]).union(box(-30, -30, 0, 30))
    figure = turned(wedge, angle, *place)
    assert measured(figure)[0] == ()
    (tip,) = tips_of(figure)
    assert tip.angle == pytest.approx(taper, abs=1e-3)
    assert tip.width == 0.0
    for width in (0.3, 1.2):  # a disc of that width has its middle at width / 2 / sin(half)
        expected = width / 2 / math.sin(half)
        if expected < 29.0:
            assert tip.length_below(width) == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize("taper", [31, 45, 60, 75, 90])
def test_blunter_tapers_are_nothing(taper: float) -> None:
    y = 30 * math.tan(math.radians(taper / 2))
    figure = shapely.Polygon([(0, -y), (30, 0), (0, y)]).union(box(-30, -30, 0, 30))
    for angle in range(0, 90, 7):
        assert measured(turned(figure, angle)) == ((), ())
        assert tips_of(turned(figure, angle)) == ()


@given(end=st.floats(0.2, 0.9), taper=st.floats(9.0, 28.0), angle=angles)
@few
def test_blunt_tapers_are_tips_too(end: float, taper: float, angle: float) -> None:
    half = math.radians(taper / 2)
    y = end / 2 + 30 * math.tan(half)
    wedge = shapely.Polygon([(0, -y), (30, -end / 2), (30, end / 2), (0, y)])
    figure = turned(wedge.union(box(-30, -30, 0, 30)), angle)
    assert measured(figure)[0] == ()
    (tip,) = tips_of(figure)
    # circle that touches the end and both sides: the corners are 90 degrees and half the taper
    assert tip.width == pytest.approx(end * math.tan(math.radians(45) + half / 2), abs=1e-4)


@given(end=st.floats(0.3, 1.2), taper=st.floats(0.1, 6.0), angle=angles)
@few
def test_slow_blunt_tapers_are_limbs(end: float, taper: float, angle: float) -> None:
    half = math.radians(taper / 2)
    y = end / 2 + 30 * math.tan(half)
    wedge = shapely.Polygon([(0, -y), (30, -end / 2), (30, end / 2), (0, y)])
    web = one(turned(wedge.union(box(-30, -30, 0, 30)), angle))
    assert web.width == pytest.approx(end * math.tan(math.radians(45) + half / 2), abs=1e-4)
    assert web.kind == "limb"


@given(
    pitch=st.floats(2.0, 6.0), width=st.floats(0.4, 1.4), turns=st.floats(1.5, 5.0), angle=angles
)
@few
def test_spirals(pitch: float, width: float, turns: float, angle: float) -> None:
    t = np.linspace(0, 2 * math.pi * turns, 1200)
    r = 4.0 + pitch * t / (2 * math.pi)
    middle = shapely.LineString(np.stack((r * np.cos(t), r * np.sin(t)), axis=1))
    band = turned(middle.buffer(width / 2, quad_segs=16, cap_style="flat"), angle)
    found_webs, found_gaps = measured(band.simplify(CHORD / 4), reach=1.5)
    assert [n.width for n in found_webs] == [pytest.approx(width, abs=TOLERANCE)]
    # the turns are pitch apart along the radius; across they are nearer by the spiral's slope
    slot = pitch * math.cos(math.atan(pitch / (2 * math.pi) / 4.0)) - width
    if slot < 1.4:
        assert len(found_gaps) == 1
        assert slot - TOLERANCE < found_gaps[0].width < pitch - width + TOLERANCE


@given(horn=st.floats(8.0, 25.0), thick=st.floats(2.0, 6.0), r=st.floats(8.0, 15.0), angle=angles)
@few
def test_crescents_have_two_tips(horn: float, thick: float, r: float, angle: float) -> None:
    # inner circle of radius s about (d, 0) with r + d - s = thick and the wanted angle between
    # the circles: cos(horn) = (r² + s² - d²) / 2 r s
    cos = math.cos(math.radians(horn))
    # s = r + d - thick, solved for d
    a = r - thick
    d = (r * r + a * a - 2 * r * a * cos) / (2 * r * cos - 2 * a)
    s = a + d
    if not 0.2 * r < s < 5 * r:
        return
    crescent = turned(disc(0, 0, r).difference(disc(d, 0, s)), angle)
    assert measured(crescent)[0] == ()
    found = tips_of(crescent)
    assert len(found) == 2
    assert found[0].length_below(1.2) == pytest.approx(found[1].length_below(1.2), rel=0.05)


def test_a_thin_crescent_is_a_web_with_two_tips() -> None:
    # 10 + 1 - 9.7 at its thickest; the body is where it holds its width
    crescent = disc(0, 0, 10).difference(disc(1, 0, 9.7))
    web = one(crescent)
    assert 0.99 * 1.3 <= web.width <= 1.3 + TOLERANCE
    assert web.at[0] < -8
    assert len(tips_of(crescent)) == 2


@given(thick=st.floats(0.5, 0.9), r=st.floats(5.0, 12.0), times=st.floats(1.0, 8.0), angle=angles)
@few
def test_tips_end_at_the_same_place_at_any_size(
    thick: float, r: float, times: float, angle: float
) -> None:
    # a crescent of arcs, flattened as finely at every size
    def crescent(k: float) -> tuple[float, float]:
        figure = disc(0, 0, k * r).difference(disc(k * (thick + 0.02 * r), 0, k * 1.02 * r))
        arrangement = arranged(turned(figure, angle))
        found = thin(arrangement, 1.5 * k, Tolerances(chord=CHORD))
        [web] = told(found)[0]
        return web.width, tips(found)[0].length_below(np.inf)

    width, length = crescent(1.0)
    wider, longer = crescent(times)
    assert 0.98 * thick - TOLERANCE <= width <= thick + TOLERANCE
    assert wider / times == pytest.approx(width, abs=TOLERANCE)
    assert longer / times == pytest.approx(length, rel=0.1)


@given(teeth=st.integers(6, 40), land=st.floats(0.4, 1.3), angle=angles)
@few
def test_gears(teeth: int, land: float, angle: float) -> None:
    root = 3.0 * teeth / math.pi
    tooth = box(root - 1, -land / 2, root + 3, land / 2)
    gear = shapely.union_all(
        [disc(0, 0, root), *(turned(tooth, 360 * k / teeth) for k in range(teeth))]
    )
    found, _ = measured(turned(gear, angle))
    assert [n.width for n in found] == pytest.approx([land] * teeth, abs=EXACT)


@given(size=st.sampled_from([0.1, 1.0, 30.0, 3000.0]), share=st.floats(0.02, 0.3), angle=angles)
@few
def test_any_size(size: float, share: float, angle: float) -> None:
    # a square with a square hole nearer to one side
    wall = size * share / 2
    frame = box(0, 0, size, size).difference(box(wall, wall * 1.5, size * 0.6, size * 0.6))
    found, _ = measured(turned(frame, angle), reach=1.2 * wall, chord=min(CHORD, size / 1000))
    assert [n.width for n in found] == [pytest.approx(wall, rel=1e-6)]
    assert found[0].kind == "wall"


# -- letters ----------------------------------------------------------------------------------


def test_thin_serifs_are_limbs() -> None:
    stem = box(0, 0, 4, 20)
    serif = box(-3, 0, 7, 0.7)
    found, gaps_found = measured(stem.union(serif))
    assert [(n.width, n.kind) for n in found] == [(pytest.approx(0.7), "limb")] * 2
    assert not gaps_found


def test_acute_joins_of_strokes_are_nothing() -> None:
    # a letter v of 3 mm strokes and 25 degrees: its inner notch is acute, its outside blunt
    a = math.radians(12.5)
    x, y = 30 * math.sin(a), 30 * math.cos(a)
    v = shapely.LineString([(-x, y), (0, 0), (x, y)]).buffer(
        1.5, join_style="mitre", mitre_limit=2, cap_style="flat"
    )
    assert measured(v) == ((), ())


def test_counter_near_the_outside() -> None:
    # round letter of 8 and 5 mm, its counter 2.2 mm off centre: 8 - 5 - 2.2
    found, _ = measured(disc(0, 0, 8).difference(disc(0, 2.2, 5)))
    assert [n.width for n in found] == [pytest.approx(0.8, abs=TOLERANCE)]


# -- touching ---------------------------------------------------------------------------------


def test_parts_that_share_an_edge_have_no_gap() -> None:
    assert measured(box(0, 0, 10, 10), box(10, 0, 20, 10)) == ((), ())
    other = shapely.Polygon([(10, 3), (20, 3), (20, 13), (10, 13), (10, 10)])
    assert measured(box(0, 0, 10, 10), other) == ((), ())


def test_parts_that_touch_at_a_corner_have_no_gap() -> None:
    assert measured(box(0, 0, 10, 10), box(10, 10, 20, 20)) == ((), ())


def test_thin_part_beside_a_shared_edge_is_still_thin() -> None:
    found, _ = measured(box(0, 0, 10, 10), box(10, 0, 10.9, 10))
    assert [(n.width, n.piece) for n in found] == [(pytest.approx(0.9), 2)]


def test_holes_that_touch_the_outline_or_each_other() -> None:
    plate = shapely.Polygon([(0, 0), (10, 0), (10, 10), (0, 10)], [[(5, 0), (7, 3), (3, 3)]])
    assert measured(plate) == ((), ())
    holes = [[(5, 5), (10, 10), (5, 15)], [(10, 10), (15, 5), (15, 15)]]
    assert measured(shapely.Polygon(box(0, 0, 20, 20).exterior, holes)) == ((), ())


# -- what must not matter -----------------------------------------------------------------------


def _facts(places: tuple[Narrow, ...]) -> list[tuple[float, str, float]]:
    return sorted((round(n.width, 6), n.kind, round(n.length, 4)) for n in places)


def _lace(seed: int) -> shapely.Geometry:
    """A plate with random holes, some of them near each other, and a few limbs."""
    rng = np.random.default_rng(seed)
    plate = box(0, 0, 60, 60)
    cut = [disc(*rng.uniform(2, 58, 2), rng.uniform(0.8, 4)) for _ in range(60)]
    bars = [
        turned(box(0, 0, 9, rng.uniform(0.4, 1.3)), rng.uniform(0, 360), *rng.uniform(5, 55, 2))
        for _ in range(8)
    ]
    return plate.difference(shapely.union_all(cut)).union(shapely.union_all(bars))


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("start", [1, 17])
def test_ring_starts_do_not_matter(seed: int, start: int) -> None:
    figure = _lace(seed)
    webs_0, gaps_0 = measured(figure)
    webs_1, gaps_1 = measured(figure, start=start)
    assert len(webs_0) > 5
    assert _facts(webs_1) == _facts(webs_0)
    assert _facts(gaps_1) == _facts(gaps_0)
    for one_, other in zip(webs_0, webs_1, strict=True):
        assert one_.at == pytest.approx(other.at, abs=1e-6)


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("turn", [0.0, 180.0])
def test_a_path_runs_from_its_left_end(seed: int, turn: float) -> None:
    """Whichever way the outline beside it runs, so that reports do not change with that."""
    for some in measured(turned(_lace(seed), turn)):
        assert len(some) > 5
        assert all(place.path[0, 0] <= place.path[-1, 0] + 2e-6 for place in some)


@pytest.mark.parametrize("seed", range(4))
def test_the_order_of_parts_does_not_matter(seed: int) -> None:
    parts = list(shapely.get_parts(_lace(seed)))
    parts += [box(60.5 + 9 * k, 0, 69 + 9 * k, 20) for k in range(3)]
    webs_0, gaps_0 = measured(*parts)
    webs_1, gaps_1 = measured(*parts[::-1])
    assert _facts(webs_1) == _facts(webs_0)
    assert _facts(gaps_1) == _facts(gaps_0)


@pytest.mark.parametrize("seed", range(4))
def test_mirrored_figures_have_the_same_widths(seed: int) -> None:
    figure = _lace(seed)
    mirrored = shapely.transform(figure, lambda p: p * (-1, 1))
    assert _facts(measured(mirrored)[0]) == _facts(measured(figure)[0])


@pytest.mark.parametrize("seed", range(4))
def test_the_reach_only_adds(seed: int) -> None:
    figure = _lace(seed)
    near, far = (
        sorted(
            round(part.width, 6) for n in measured(figure, reach=reach)[0] for part in n.below(0.8)
        )
        for reach in (0.88, 2.0)
    )
    assert near == far


@pytest.mark.parametrize("seed", range(4))
def test_every_disc_is_empty_and_as_wide_as_it_says(seed: int) -> None:
    figure = _lace(seed)
    arrangement = arranged(figure)
    found = thin(arrangement, 1.5, Tolerances(chord=CHORD))
    for solid, some in zip((True, False), told(found), strict=True):
        for place in some:
            middle = shapely.points(place.path)
            assert (shapely.contains(figure, middle) == solid).all()
            away = shapely.distance(figure.boundary, middle)
            assert np.abs(2 * away - place.widths).max() <= TOLERANCE
            sides = shapely.points(place.sides)
            assert shapely.distance(figure.boundary, sides).max() < 1e-6


def test_arc_helper_ends() -> None:
    assert np.allclose(arc(0, 0, 2, 0, math.pi)[[0, -1]], [(2, 0), (-2, 0)])


def test_what_another_part_fills_is_no_gap() -> None:
    # an inlay 0.8 mm wide in a slot of a plate: a thin web of its own, and no gap in the plate
    plate, inlay = box(0, 0, 20, 20), box(5, 5, 15, 5.8)
    arrangement = replace(arranged(plate.difference(inlay), inlay), noded=True)
    found, none = told(thin(arrangement, 1.5, Tolerances(chord=CHORD)))
    assert [(n.width, n.piece) for n in found] == [(pytest.approx(0.8), 2)]
    assert not none


@pytest.mark.parametrize("spacing", [0.001, 0.01])
def test_crowded_points_do_not_matter(spacing: float) -> None:
    def circle(x: float, r: float) -> shapely.Polygon:
        t = np.arange(0, 2 * math.pi, spacing / r)
        return shapely.Polygon(np.stack((x + r * np.cos(t), r * np.sin(t)), axis=1))

    (web,) = measured(circle(0, 5).difference(circle(0.7, 3.5)))[0]
    assert web.width == pytest.approx(0.8, abs=TOLERANCE / 4)  # 5 - 3.5 - 0.7


@given(
    seed=st.integers(0, 2**32 - 1),
    points=st.integers(3, 40),
    grid=st.booleans(),
    reach=st.floats(0.02, 2.0),
    place=places,
)
@settings(max_examples=40, deadline=None)
def test_random_figures(
    seed: int, points: int, grid: bool, reach: float, place: tuple[float, float]
) -> None:
    # scribbles of size 2, cleaned by GEOS: slivers, pinches, faces that share lines
    xy = np.random.default_rng(seed).uniform(-1, 1, (points, 2))
    figure = shapely.make_valid(shapely.Polygon(np.round(xy, 1) if grid else xy))
    parts = [p for p in shapely.get_parts(shapely.get_parts(figure)) if p.area > 1e-6]
    figure = turned(shapely.union_all(parts), 0, *place)
    found, gaps = measured(figure, reach=reach, chord=1e-3)
    for solid, some in ((True, found), (False, gaps)):
        for narrow in some:
            assert 0 < narrow.width <= reach * (1 + 1e-9)
            middle = shapely.Point(narrow.at)
            if narrow.width > 1e-5:
                # (lines nearer than the chord tolerance are told apart by no disc)
                ends = shapely.points([narrow.p.at, narrow.q.at])
                near = shapely.dwithin(ends[:, None], shapely.get_parts(figure), 1e-3).sum(axis=1)
                assert figure.contains(middle) == solid or near.max() > 1
                away = figure.boundary.distance(middle)
                assert 2 * away == pytest.approx(narrow.width, abs=2e-3 + 1e-6)
            for part in narrow.below(0.7 * reach):
                assert part.width < 0.7 * reach
                assert part.length_below(reach) <= narrow.length + 1e-6
                assert len(np.concatenate(part.lines())) == len(part.path)


@pytest.mark.parametrize("angle", [0.0, 27.0])
def test_long_edges_side_by_side(angle: float) -> None:
    # a hinge of 120 slots, 90 mm long and 0.5 mm wide, 0.9 mm of web between them
    slots = [box(5, 5 + 1.4 * k, 95, 5.5 + 1.4 * k) for k in range(120)]
    hinge = turned(box(0, 0, 100, 180).difference(shapely.union_all(slots)), angle)
    found, gaps = measured(hinge, reach=1.3)
    assert [n.width for n in found] == pytest.approx([0.9] * 119)
    assert [n.length for n in found] == pytest.approx([90.0] * 119, rel=0.01)
    assert [n.width for n in gaps] == pytest.approx([0.5] * 120)


@given(angle=st.floats(0, 360), seed=st.integers(0, 2**32 - 1), apart=st.floats(0.1, 1.2))
@settings(max_examples=60, deadline=None)
def test_points_on_straight_lines_do_not_turn_a_gap_inside_out(
    angle: float, seed: int, apart: float
) -> None:
    """What such points turn by is rounding, on either side of a gap, and no web has its width."""
    x = np.linspace(0.0, 40.0, 41)
    noise = np.random.default_rng(seed)

    def bar(low: float, high: float) -> shapely.Polygon:
        sides = np.concatenate(
            [np.column_stack([x, np.full(41, low)]), np.column_stack([x[::-1], np.full(41, high)])]
        )
        return shapely.Polygon(sides + noise.normal(0.0, 1e-11, sides.shape))

    webs, gaps = measured(turned(bar(0.0, 10.0), angle), turned(bar(10.0 + apart, 20.0), angle))
    assert webs == ()
    assert [gap.width for gap in gaps] == [pytest.approx(apart, abs=1e-6)]
