"""Faces and pieces. Expected values are closed forms; on random shapes shapely (GEOS) cuts the
plane up instead, and its predicates say what covers what."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from making import Points, Sketch, box, circle, rings_of, square, steady

from scantling.measure.facts import Facts
from scantling.measure.model import Piece

SIDE = square(10.0)


def found(sketch: Sketch, **more: float) -> tuple[Piece, ...]:
    facts = sketch.facts(**more)
    pieces: tuple[Piece, ...] = facts["pieces"]
    check(sketch, facts)
    return pieces


def areas(sketch: Sketch, **more: float) -> tuple[list[float], list[float]]:
    """Areas of parts and of drop-outs, each from the smallest."""
    pieces = found(sketch, **more)
    kept = sorted(piece.area for piece in pieces if piece.kept)
    return kept, sorted(piece.area for piece in pieces if not piece.kept)


def check(sketch: Sketch, facts: Facts) -> None:
    """What must hold of any arrangement and its pieces, whatever is drawn."""
    arrangement, pieces, lines = facts["arrangement"], facts["pieces"], sketch.lines
    size = np.diff(arrangement.first)
    assert (size >= 3).all()
    ring = np.repeat(np.arange(len(size)), size)
    after = np.arange(1, len(ring) + 1)
    after[arrangement.first[1:] - 1] = arrangement.first[:-1]
    start, end = arrangement.xy, arrangement.xy[after]
    assert (np.hypot(*(end - start).T) > 0.0).all()
    twice = np.bincount(ring, start[:, 0] * end[:, 1] - start[:, 1] * end[:, 0], len(size))
    assert ((twice > 0.0) == arrangement.outer).all()
    assert [piece.number for piece in pieces] == list(range(1, len(pieces) + 1))
    for k, piece in enumerate(pieces):
        assert shapely.is_valid(piece.polygon)
        assert piece.polygon.contains(shapely.Point(piece.centre))
        if piece.kept:
            mine = np.flatnonzero(arrangement.face == k)
            assert arrangement.outer[mine].tolist() == [True] + [False] * (len(mine) - 1)
            rings = [start[arrangement.first[r] : arrangement.first[r + 1]] for r in mine]
            assert shapely.Polygon(rings[0], rings[1:]).equals(piece.polygon)
            assert {int(c) for c in arrangement.contour[np.isin(ring, mine)]} <= set(piece.contours)
    # Every edge comes from the contour and edge that it is said to come from, to within what
    # joining may move and a double may differ.
    drawn = [
        shapely.LineString(np.vstack([points, points[:1]] if len(points) > 1 else [points] * 2))
        for points in np.split(lines.xy, lines.first[1:-1])
    ]
    for contour in np.unique(arrangement.contour):
        own = arrangement.contour == contour
        middle = shapely.points((start[own] + end[own]) / 2.0)
        assert (shapely.distance(middle, drawn[contour]) <= 0.051).all()
    same = np.flatnonzero(arrangement.edge >= 0)
    next_point = np.arange(1, len(lines.xy) + 1)
    next_point[lines.first[1:][np.diff(lines.first) > 0] - 1] = lines.first[:-1][
        np.diff(lines.first) > 0
    ]
    one, two = lines.xy[arrangement.edge[same]], lines.xy[next_point[arrangement.edge[same]]]
    ahead = np.abs(np.hstack([one - start[same], two - end[same]])).max(axis=1, initial=0.0)
    back = np.abs(np.hstack([two - start[same], one - end[same]])).max(axis=1, initial=0.0)
    assert (np.minimum(ahead, back) <= 0.051).all()


def test_a_ring_with_a_disc_in_it() -> None:
    sketch = Sketch().shape(circle(20.0), circle(15.0)[::-1], name="ring").ring(circle(3.0))
    ring, disc, between = found(sketch)
    assert [piece.kept for piece in (ring, disc, between)] == [True, True, False]
    assert ring.area == pytest.approx(np.pi * (400 - 225), rel=2e-3)
    assert disc.area == pytest.approx(np.pi * 9, rel=5e-3)
    assert between.area == pytest.approx(np.pi * (225 - 9), rel=2e-3)
    assert (ring.name, disc.name) == ("ring", "path")
    assert (ring.contours, disc.contours, set(between.contours)) == ((0, 1), (2,), {1, 2})
    assert ring.outer.contour == 0
    assert between.outer.contour == 1


@pytest.mark.parametrize("degrees", [0.0, 17.0, 45.0, 80.0])
def test_sides_of_a_turned_rectangle(degrees: float) -> None:
    turn = np.radians(degrees)
    ring = box(30.0, 4.0) @ np.array([(np.cos(turn), np.sin(turn)), (-np.sin(turn), np.cos(turn))])
    (piece,) = found(Sketch().ring(ring))
    assert piece.sides == (pytest.approx(30.0), pytest.approx(4.0))
    assert piece.area == pytest.approx(120.0)


@pytest.mark.parametrize("rule", ["nonzero", "evenodd"])
@pytest.mark.parametrize("turned", [True, False])
def test_fill_rules(rule: str, turned: bool) -> None:
    inner = square(4.0)[:: -1 if turned else 1]
    kept, void = areas(Sketch().shape(SIDE, inner, rule=rule))
    if rule == "evenodd" or turned:
        assert (kept, void) == ([84.0], [16.0])
    else:
        assert (kept, void) == ([16.0, 84.0], [])


def test_stroked_rings_count_by_how_deep_they_lie() -> None:
    sketch = Sketch()
    for side in (20.0, 16.0, 10.0, 4.0):
        sketch.outline(square(side))
    assert areas(sketch) == ([84.0, 144.0], [16.0, 156.0])


def test_a_stroked_ring_in_a_fill_is_a_hole_and_a_fill_in_a_fill_a_part() -> None:
    assert areas(Sketch().ring(SIDE).outline(square(4.0))) == ([84.0], [16.0])
    assert areas(Sketch().ring(SIDE).ring(square(4.0))) == ([16.0, 84.0], [])
    board = Sketch().ring(square(20.0)).outline(SIDE).ring(square(4.0))
    assert areas(board) == ([16.0, 300.0], [84.0])
    face = Sketch().outline(SIDE).ring(square(2.0, (2.0, 2.0))).ring(square(2.0, (-2.0, 2.0)))
    assert areas(face) == ([92.0], [4.0, 4.0])
    assert areas(face.outline(square(1.0, (2.0, 2.0)))) == ([1.0, 92.0], [3.0, 4.0])


def test_an_open_fill_covers_what_its_closing_line_encloses() -> None:
    facts = Sketch().shape(SIDE, closed=False).facts()
    (piece,) = facts["pieces"]
    assert piece.area == pytest.approx(100.0)
    assert len(facts["open_ends"]) == 1
    assert facts["arrangement"].edge.tolist().count(-1) == 1
    # that line, too, is of this contour and of no other
    found(Sketch().ring(SIDE + 30.0).shape(SIDE, closed=False).ring(SIDE - 30.0))


def test_the_closing_line_of_an_open_fill_bounds_pieces_but_is_not_cut() -> None:
    # The closing line is the left side of the square, and runs through the other.
    facts = Sketch().shape(SIDE, closed=False).ring(square(4.0, (-5.0, 0.0))).facts()
    assert sorted(piece.area for piece in facts["pieces"]) == pytest.approx([8.0, 8.0, 92.0])
    assert facts["crossings"] == ()
    two = Sketch().shape(SIDE, box(10.0, 10.0, (5.0, 2.0)), closed=False)
    assert areas(two) == (pytest.approx([40.0, 60.0, 60.0]), [])
    assert [c.first.at for c in two.facts()["crossings"]] == [(5.0, -3.0)]


def test_an_outline_below_is_left_open_and_one_on_top_of_it_bounds_the_part() -> None:
    sketch = Sketch()
    for k in range(4):
        line = np.array([SIDE[k], SIDE[(k + 1) % 4]])
        sketch.line(line + np.outer([0.006, -0.006], line[1] - line[0]))
    facts = sketch.ring(SIDE).facts()
    assert [piece.area for piece in facts["pieces"]] == pytest.approx([100.0])
    assert len(facts["open_ends"]) == 4
    assert facts["overlaps"][0].length == pytest.approx(40.0 - 8 * 0.06)


def test_an_open_stroke_bounds_nothing() -> None:
    assert found(Sketch().line(SIDE)) == ()


def test_an_outline_of_four_lines_is_one_piece() -> None:
    sketch = Sketch()
    for k in (2, 0, 3, 1):
        sketch.line([SIDE[k], SIDE[(k + 1) % 4] + 0.02])
    (piece,) = found(sketch)
    assert piece.area == pytest.approx(100.0, abs=1.0)
    assert set(piece.contours) == {0, 1, 2, 3}


def test_parts_are_numbered_row_by_row_and_before_drop_outs() -> None:
    sketch = Sketch().ring(box(100.0, 70.0, (30.0, 20.0)), name="board")
    for y in (40.0, 0.0):
        for x in (60.0, 0.0, 30.0):
            sketch.outline(circle(9.0, (x, y + x / 30.0)), name="hole")
            sketch.ring(circle(5.0, (x, y + x / 30.0)), name="disc")
    pieces = found(sketch)
    parts = [piece for piece in pieces if piece.kept]
    assert [piece.name for piece in parts] == ["board", *(f"disc {k}" for k in range(1, 7))]
    assert [piece.outer.contour for piece in parts] == [0, 10, 12, 8, 4, 6, 2]
    holes = [piece for piece in pieces if not piece.kept]
    assert [piece.name for piece in holes] == [f"hole {k}" for k in range(1, 7)]


def test_a_row_ends_where_a_middle_lies_below_its_highest_bottom() -> None:
    """Top, bottom and left side of boxes; the first row's highest bottom is at 6, so that the box
    whose middle is at 5.9 is the last in it, whatever its top."""
    sketch = Sketch()
    for top, bottom, left, name in (
        (2.0, 6.0, 0.0, "b"),
        (4.4, 8.0, 60.0, "f"),
        (0.0, 10.0, 20.0, "c"),
        (3.0, 8.8, 40.0, "d"),
        (6.5, 9.0, 0.0, "e"),
        (-20.0, -15.0, 50.0, "a"),
    ):
        sketch.ring(box(5.0, bottom - top, (left, (top + bottom) / 2.0)), name=name)
    assert [piece.name for piece in found(sketch)] == ["a", "b", "c", "d", "e", "f"]


def test_a_part_crossed_by_another_is_three_pieces() -> None:
    facts = Sketch().ring(SIDE, name="a").ring(SIDE + 5.0, name="b").facts()
    assert sorted(piece.area for piece in facts["pieces"]) == pytest.approx([25.0, 75.0, 75.0])
    assert facts["arrangement"].noded
    assert areas(Sketch().outline(SIDE).outline(SIDE + 5.0)) == (
        pytest.approx([75.0, 75.0]),
        pytest.approx([25.0]),
    )


def test_only_lines_that_meet_are_noded() -> None:
    facts = Sketch().ring(SIDE).ring(square(20.0)).ring(square(5.0, (30.0, 0.0))).facts()
    assert not facts["arrangement"].noded
    assert (facts["arrangement"].edge >= 0).all()


def test_neighbours_that_share_a_line_are_two_pieces() -> None:
    for ring in (Sketch().ring, Sketch().outline):
        sketch = ring(SIDE).ring(square(10.0, (10.0, 3.0)))
        assert areas(sketch) == (pytest.approx([100.0, 100.0]), [])


def test_a_line_across_divides_a_part_in_two() -> None:
    for ends in ((-5.0, 5.0), (-4.97, 5.0), (-7.0, 8.0)):
        (one, other) = found(Sketch().ring(SIDE).line([(ends[0], 1.0), (ends[1], 1.0)]))
        assert (one.kept, other.kept) == (True, True)
        assert (one.area, other.area) == (pytest.approx(60.0), pytest.approx(40.0))


def test_lines_that_meet_in_threes_bound_parts() -> None:
    corners = np.array([(0, 0), (10, 0), (10, 6), (0, 6)], float)
    sketch = Sketch()
    for a, b in ((0, 1), (1, 2), (2, 3), (3, 0), (0, 2)):
        sketch.line(corners[[a, b]])
    assert areas(sketch) == (pytest.approx([30.0, 30.0]), [])
    # A tab of three lines on a square, and a hole in the tab.
    sketch = Sketch().outline(SIDE).line([(5, 0), (9, 0), (9, 4), (5, 4)])
    assert areas(sketch.outline(square(2.0, (7.0, 2.0)))) == (pytest.approx([12.0, 100.0]), [4.0])


def test_three_circles_that_touch_leave_a_drop_out() -> None:
    radius = 10.0
    sketch = Sketch()
    for k in range(3):
        angle = np.radians(90.0 + 120.0 * k)
        centre = np.array([np.cos(angle), np.sin(angle)]) * 2.0 * radius / 3.0**0.5
        # Turned so that corners lie at both places where the circle touches.
        sketch.outline(_touching(radius, tuple(centre), 240.0 + 120.0 * k))
    kept, void = areas(sketch)
    assert kept == pytest.approx([np.pi * 100.0] * 3, rel=2e-3)
    assert void == pytest.approx([(3.0**0.5 - np.pi / 2.0) * 100.0], abs=0.5)


def _touching(radius: float, centre: tuple[float, float], degrees: float) -> Points:
    angle = np.radians(degrees + np.arange(0, 360, 5))
    return np.column_stack([np.cos(angle), np.sin(angle)]) * radius + centre


@pytest.mark.parametrize("many", [2, 3, 4])
@pytest.mark.parametrize("filled", [True, False])
def test_doubles_do_not_change_what_is_solid(many: int, filled: bool) -> None:
    sketch = Sketch()
    for k in range(many):
        ring = circle(10.0, turn=0.3 * k)[:: -1 if k % 2 else 1]
        sketch.ring(ring, filled=filled)
        sketch.ring(circle(5.0, turn=0.2 * k), filled=False)
    kept, void = areas(sketch)
    assert kept == pytest.approx([np.pi * 75.0], rel=3e-3)
    assert void == pytest.approx([np.pi * 25.0], rel=3e-3)


def test_a_stroke_on_a_fill_changes_nothing() -> None:
    letter = (circle(20.0), circle(12.0)[::-1])
    for sketch in (
        Sketch().shape(*letter).outline(letter[0]).outline(letter[1]),
        Sketch().outline(letter[0]).outline(letter[1]).shape(*letter),
        Sketch().shape(*letter).line(letter[0][:40]).line(letter[0][39:]),
    ):
        kept, void = areas(sketch)
        assert kept == pytest.approx([np.pi * (400 - 144)], rel=2e-3)
        assert void == pytest.approx([np.pi * 144], rel=2e-3)


@pytest.mark.parametrize(("bump", "tells"), [(1.0, False), (2.0, True)])
def test_a_stroke_that_runs_along_fills_for_nine_tenths_of_its_length_tells_nothing(
    bump: float, tells: bool
) -> None:
    """Around a square of 10, with a square bump: 39 of 42 mm lie on the fill, or 38 of 44. Where
    the stroke tells something new, it turns the square into void and the bump into a part."""
    b = bump / 2.0
    stroke = [(-5, -5), (5, -5), (5, -b), (5 + bump, -b), (5 + bump, b), (5, b), (5, 5), (-5, 5)]
    kept, void = [100.0], [bump**2]
    if tells:
        kept, void = void, kept
    assert areas(Sketch().ring(SIDE).outline(stroke)) == (pytest.approx(kept), pytest.approx(void))


def test_rings_that_divide_a_ring_are_no_holes_in_it() -> None:
    halves = (square(10.0, (-5.0, 0.0)), square(10.0, (5.0, 0.0)))
    whole = box(20.0, 10.0)
    for order in ((whole, *halves), (*halves, whole)):
        sketch = Sketch()
        for ring in order:
            sketch.outline(ring)
        assert areas(sketch) == (pytest.approx([100.0, 100.0]), [])


@pytest.mark.parametrize("off", [-0.03, -0.01, 0.0, 0.02, 0.04])
def test_neighbours_that_nearly_share_a_line_leave_no_slivers(off: float) -> None:
    side_by_side = Sketch().ring(SIDE).ring(square(10.0, (10.0 + off, 0.01)))
    kept, void = areas(side_by_side)
    assert kept == pytest.approx([100.0, 100.0], abs=0.5)
    assert void == []
    assert side_by_side.facts()["gaps"] == ()
    within = Sketch().ring(SIDE).ring(square(6.0, (2.0 + off, 0.01)))
    kept, void = areas(within)
    assert kept == pytest.approx([36.0, 64.0], abs=0.5)
    assert void == []
    assert within.facts(reach=3.0)["webs"][0].width == pytest.approx(2.0, abs=0.05)


@pytest.mark.parametrize("way", [(1, 0), (0, 1), (-1, 0), (0, -1)])
def test_a_sliver_holds_no_disc_and_goes_to_the_longest_side(way: tuple[int, int]) -> None:
    """The corner of a diamond reaches h into a square: a triangle with a base of 2 h, which is the
    square's, and two legs of √2 h. The disc in it is 2 (2 - √2) / √2 h = 0.83 h across; 0.05 mm
    are asked for. It goes to the square, from which the legs divide it."""
    for h, sliver in ((0.058, True), (0.063, False)):
        diamond = np.array([(5 - h, 0), (10 - h, -5), (15 - h, 0), (10 - h, 5)])
        turned = diamond @ [way, (-way[1], way[0])]
        sketch = Sketch().ring(SIDE).ring(turned)
        divided = [50.0 - h**2, 100.0] if sliver else [h**2, 50.0 - h**2, 100.0 - h**2]
        assert areas(sketch) == (pytest.approx(divided, abs=1e-5), [])


def test_circles_that_touch_leave_no_slivers() -> None:
    for deep in (-0.03, 0.0, 0.01, 0.04):
        sketch = Sketch().ring(circle(10.0)).ring(circle(5.0, (15.0 - deep, 0.0)))
        kept, void = areas(sketch)
        assert kept == pytest.approx([np.pi * 25.0, np.pi * 100.0], rel=5e-3)
        assert void == []


def test_a_figure_of_eight_is_two_pieces() -> None:
    t = np.linspace(0.0, 2.0 * np.pi, 200, endpoint=False)
    ring = np.column_stack([np.sin(t), np.sin(2.0 * t)]) * 10.0
    # Each lobe of x = sin t, y = sin 2t has the area 4/3.
    for sketch in (Sketch().ring(ring), Sketch().outline(ring)):
        assert areas(sketch) == (pytest.approx([400.0 / 3.0] * 2, rel=1e-3), [])


def test_scored_lines_and_guides_bound_nothing() -> None:
    sketch = Sketch().ring(SIDE).ring(square(4.0), operation="score")
    assert areas(sketch.ring(square(6.0), operation="guide")) == ([100.0], [])


def test_nothing_comes_of_nothing() -> None:
    assert found(Sketch()) == ()
    assert found(Sketch().ring([]).ring([(1, 1)]).ring([(0, 0), (5, 5)])) == ()
    assert found(Sketch().ring([(0, 0), (5, 5), (9, 9), (5, 5)])) == ()


def test_far_from_the_origin() -> None:
    far = np.array([3e6, -2e6])
    kept, void = areas(Sketch().ring(SIDE + far).ring(SIDE + far + 5.0))
    assert kept == pytest.approx([25.0, 75.0, 75.0], abs=1e-3)
    assert void == []


@steady
@given(seed=st.integers(0, 2**32 - 1), many=st.integers(1, 25), filled=st.booleans())
def test_nested_rings_against_geos(seed: int, many: int, filled: bool) -> None:
    """Circles that do not meet: parity by how many others contain each."""
    rng = np.random.default_rng(seed)
    discs: list[tuple[Points, float]] = []
    for _ in range(many):
        centre, radius = rng.uniform(-50.0, 50.0, 2), float(rng.uniform(0.5, 30.0))
        apart = [np.hypot(*(centre - c)) for c, _ in discs]
        if all(
            d > radius + r + 0.3 or d < abs(radius - r) - 0.3
            for d, (_, r) in zip(apart, discs, strict=True)
        ):
            discs.append((centre, radius))
    sketch = Sketch()
    polygons = []
    for centre, radius in discs:
        ring = circle(radius, tuple(centre), turn=rng.uniform(0.0, 6.0))
        sketch.ring(ring[:: rng.choice([-1, 1])], filled=filled)
        polygons.append(shapely.Polygon(ring))
    around = [sum(p.contains(q) for p in polygons if p is not q) for q in polygons]
    inner = [
        sum(
            p.area
            for p, n in zip(polygons, around, strict=True)
            if n == depth + 1 and q.contains(p)
        )
        for q, depth in zip(polygons, around, strict=True)
    ]
    net = [q.area - i for q, i in zip(polygons, inner, strict=True)]
    kept, void = areas(sketch)
    solid = [filled or n % 2 == 0 for n in around]
    assert kept == pytest.approx(sorted(a for a, s in zip(net, solid, strict=True) if s))
    assert void == pytest.approx(sorted(a for a, s in zip(net, solid, strict=True) if not s))


@steady
@given(
    seed=st.integers(0, 2**32 - 1),
    many=st.integers(1, 6),
    filled=st.booleans(),
    whole=st.booleans(),
)
def test_shapes_that_cross_against_geos(seed: int, many: int, filled: bool, whole: bool) -> None:
    """Stars anywhere, or with corners on a grid, where much meets by chance."""
    rng = np.random.default_rng(seed)
    stars = [_star(rng, whole) for _ in range(many)]
    polygons = [p for p in map(shapely.Polygon, stars) if p.is_valid and p.area > 0.5]
    sketch = Sketch()
    for polygon in polygons:
        sketch.ring(rings_of(polygon)[0][:: rng.choice([-1, 1])], filled=filled)
    facts = sketch.facts()
    check(sketch, facts)
    if not polygons:
        return
    lines = shapely.union_all([p.exterior for p in polygons], grid_size=1e-7)
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(lines)))
    inside = shapely.point_on_surface(faces)
    covered = np.array([shapely.contains(p, inside) for p in polygons]).sum(axis=0)
    solid = covered > 0 if filled else covered % 2 == 1
    slivers = shapely.is_empty(shapely.buffer(faces, -0.025)).any()
    if len(facts["runs"].contour) and not filled:
        # Where rings share a line, the inner divides the outer instead of being a hole in it.
        return
    if slivers or len(facts["runs"].contour):
        # What is lost or moved is within the coincidence tolerance of the lines.
        got = shapely.union_all([p.polygon for p in facts["pieces"] if p.kept])
        moved = got.symmetric_difference(shapely.union_all(faces[solid]))
        assert moved.buffer(-0.051).is_empty
        return
    kept, void = areas(sketch)
    assert kept == pytest.approx(sorted(shapely.area(faces[solid]).tolist()), abs=1e-4)
    assert void == pytest.approx(sorted(shapely.area(faces[~solid]).tolist()), abs=1e-4)


def _star(rng: np.random.Generator, whole: bool) -> Points:
    angle = np.sort(rng.uniform(0.0, 2.0 * np.pi, rng.integers(3, 9)))
    radius = rng.uniform(2.0, 10.0, len(angle))[:, None]
    star = np.column_stack([np.cos(angle), np.sin(angle)]) * radius + rng.uniform(-10, 10, 2)
    return np.round(star) if whole else star


def test_the_same_bytes_every_time() -> None:
    rng = np.random.default_rng(5)
    stars = [_star(rng, False) for _ in range(12)]
    one, other = Sketch(), Sketch()
    for star in stars:
        one.ring(star)
        other.ring(star)
    first, second = one.facts()["arrangement"], other.facts()["arrangement"]
    for name in ("xy", "first", "face", "outer", "contour", "segment", "edge"):
        assert getattr(first, name).tobytes() == getattr(second, name).tobytes()


@pytest.mark.parametrize("turn", [0.0, 11.0, 47.3, 90.0, 133.0])
@pytest.mark.parametrize(
    ("corners", "sides"),
    [
        ([(0, 0), (3, 0), (0, 4)], (5.0, 2.4)),  # as large as 4 x 3
        ([(0, 0), (15, 0), (7.5, 10)], (15.0, 10.0)),  # as large as 12.5 x 12
        ([(0, 0), (10, 0), (16, 1)], (16.03, 0.62)),  # obtuse: only its longest side will do
        ([(0, 0), (12, 0), (9.9, 6.9), (5.5, 9.526)], (12.0, 9.526)),  # as large as 11 x 10.392
    ],
)
def test_of_equal_rectangles_the_longest_is_told(
    corners: list[tuple[float, float]], sides: tuple[float, float], turn: float
) -> None:
    angle = np.radians(turn)
    turned = np.array(corners) @ [
        [np.cos(angle), np.sin(angle)],
        [-np.sin(angle), np.cos(angle)],
    ]
    (piece,) = found(Sketch().ring(turned))
    assert piece.sides == pytest.approx(sides, abs=0.01)
