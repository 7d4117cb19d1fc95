"""Whether a flat part fits into the slanted cylinder: closed forms, and a brute-force search.

The cylinder of these tests is 31.75 mm across and 25.4 to 57.15 mm deep, so its floor falls by
45° and is 41.275 mm deep in the middle.
"""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import Points, box, circle, square

from scantling.measure.assembly import cylinder as room
from scantling.measure.assembly.cylinder import Cylinder, Fit, fit

SMALL = Cylinder(31.75, 25.4, 57.15)
THIN = 1e-3


def triangle(side: float) -> Points:
    return np.array([(0.0, 0.0), (side, 0.0), (side / 2.0, side * np.sqrt(0.75))])


def stands_out(corners: Points, cylinder: Cylinder) -> Points:
    """(…,) by how much the worst of (…, n, 3) corners is outside the cylinder: the definition."""
    x, y, z = np.moveaxis(corners, -1, 0)
    slope = (cylinder.deep - cylinder.shallow) / cylinder.diameter
    depth = (cylinder.shallow + cylinder.deep) / 2.0 + slope * x
    wall = np.hypot(x, y) - cylinder.diameter / 2.0
    floor = -(z + depth) / np.hypot(1.0, slope)
    return np.maximum(np.maximum(wall, floor), z).max(axis=-1)


def plate(outline: Points, thickness: float) -> Points:
    """(2n, 3) the corners of both faces."""
    faces = [np.c_[outline, np.full(len(outline), h)] for h in (-thickness / 2, thickness / 2)]
    return np.vstack(faces)


def rotation(yaw: float, tilt: float, spin: float) -> Points:
    def about_z(a: float) -> Points:
        return np.array([[np.cos(a), -np.sin(a), 0], [np.sin(a), np.cos(a), 0], [0, 0, 1]])

    c, s = np.cos(tilt), np.sin(tilt)
    return about_z(yaw) @ np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]]) @ about_z(spin)


def placed(outline: Points, thickness: float, found: Fit) -> float:
    """How much stands out of the place that was found, at the best shift of a fine search."""
    turned = plate(outline, thickness) @ rotation(*found.turn).T
    shift = np.zeros(3)
    for step in 20.0 * 0.8 ** np.arange(60):
        near = np.stack(np.meshgrid(*[np.linspace(-1, 1, 9) * step] * 3), -1).reshape(-1, 3) + shift
        shift = near[stands_out(turned + near[:, None], SMALL).argmin()]
    return float(stands_out(turned + shift, SMALL))


def wander(outline: Points, thickness: float, seed: int, walkers: int = 100, steps: int = 300):
    """The least that stands out over many random walks of the part, turning and shifting it
    freely: an upper bound of the truth that shares nothing with the room's own search."""
    rng = np.random.default_rng(seed)
    corners = plate(outline - outline.mean(axis=0), thickness)
    quaternion = rng.normal(size=(walkers, 4))
    shift = rng.normal(size=(walkers, 3)) * 5.0 + (0.0, 0.0, -20.0)

    def out(quaternion: Points, shift: Points) -> Points:
        w, x, y, z = (quaternion / np.linalg.norm(quaternion, axis=1)[:, None]).T
        turn = np.array(
            [
                [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
                [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
                [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
            ]
        )
        return stands_out(np.einsum("ijm,nj->mni", turn, corners) + shift[:, None], SMALL)

    best = out(quaternion, shift)
    for width in np.geomspace(1.0, 0.002, steps):
        turned = quaternion / np.linalg.norm(quaternion, axis=1)[:, None]
        turned = turned + rng.normal(size=quaternion.shape) * 0.4 * width
        shifted = shift + rng.normal(size=shift.shape) * 6.0 * width
        tried = out(turned, shifted)
        better = tried < best
        quaternion[better], shift[better], best[better] = (
            turned[better],
            shifted[better],
            tried[better],
        )
    return float(best.min())


# Closed forms. Every plane holds a level direction, in which a part inside is no wider than the
# cylinder: so no part fits whose least width exceeds 31.75. And none fits that is longer than the
# longest segment inside, from the mouth's edge to the deepest place: √(31.75² + 57.15²) = 65.377.


@pytest.mark.parametrize(
    ("outline", "thickness", "fits"),
    [
        # a disc fits flat up to the diameter; its least width is its diameter
        (circle(31.70 / 2), THIN, True),
        (circle(31.80 / 2), THIN, False),
        (circle(31.6 / 2), 3.0, True),
        # a square on edge across the middle: 31.75 wide, and its height is below 41.275
        (square(31.70), THIN, True),
        (square(31.80), THIN, False),
        # flat, a square has its diagonal in the way: 31.75 / √2 = 22.451
        (square(22.45), 25.0, True),
        # with 31.75 in level direction a strip stands on edge across the axis, in a plane whose
        # shallower side is at most 41.275 deep
        (box(31.749, 41.2), THIN, True),
        # (0.05 mm more room lets it stand 1.27 mm farther out: 42.67 at most)
        (box(31.749, 42.7), THIN, False),
        # a triangle on edge with one side along the deep wall: its height is its least width,
        # so its side is 31.75 · 2/√3 = 36.662
        (triangle(36.65), THIN, True),
        (triangle(36.70), THIN, False),
        # a rod: the longest segment
        (box(65.36, THIN), THIN, True),
        (box(65.39, THIN), THIN, False),
    ],
)
def test_thin_parts(outline: Points, thickness: float, fits: bool):
    found = fit(outline, thickness, SMALL)
    assert found.fits is fits
    assert found.may is fits


@pytest.mark.parametrize("diameter", [31.7, 30.0, 28.0, 22.0])
def test_thick_disc_flat(diameter: float):
    # A disc of diameter D and thickness t hung from the mouth against the deep wall: its lower
    # rim meets the floor at x = R − D, where it is 57.15 − D deep.
    assert fit(circle(diameter / 2), 57.15 - diameter - 0.02, SMALL).fits


def test_thick_disc_does_not_fit():
    # 31.7 across and 26 thick. Tilted by b, its shadow holds a rectangle of 31.7 by 26 sin b,
    # whose diagonal is at most 31.75: so sin b ≤ 0.0685, and it is 26 cos b ≥ 25.93 deep where
    # the room is at most 25.45.
    assert not fit(circle(31.7 / 2), 26.0, SMALL).may


@pytest.mark.parametrize("width", [2.0, 8.0, 15.0, 25.0])
def test_strip_aslant(width: float):
    # Its width level across the slant, a strip's corners are |x| ≤ X = √(R² − w²/4); it runs
    # from the mouth at −X to the floor at X, 41.275 + X deep. It is the longest known, no more.
    x = np.sqrt(15.875**2 - width**2 / 4)
    longest = np.hypot(2 * x, 41.275 + x)
    assert fit(box(longest - 0.02, width), THIN, SMALL).fits
    assert not fit(box(longest + 1.0, width), THIN, SMALL).may


@pytest.mark.parametrize("thickness", [1.0, 3.0, 6.0])
def test_thick_triangle_on_edge(thickness: float):
    # Its height is a chord of the wall at half the thickness off the middle.
    side = 2.0 / np.sqrt(3.0) * np.sqrt(31.75**2 - thickness**2)
    assert fit(triangle(side - 0.02), thickness, SMALL).fits


def test_level_floor():
    can = Cylinder(30.0, 20.0, 20.0)
    assert fit(circle(14.99), 19.9, can).fits
    assert not fit(circle(14.99), 20.2, can).may
    assert fit(box(np.hypot(30, 20) - 0.02, THIN), THIN, can).fits
    assert not fit(box(np.hypot(30, 20) + 0.02, THIN), THIN, can).may


def test_thickness_decides():
    assert fit(square(31.0), 3.0, SMALL).fits
    assert not fit(square(31.0), 12.0, SMALL).may


def test_says_how():
    assert fit(square(20.0), 3.0, SMALL).tilt == 0.0
    assert fit(square(31.0), 3.0, SMALL).tilt == pytest.approx(90.0)
    assert 55.0 < fit(box(60.0, 5.0), 3.0, SMALL).tilt < 66.0
    assert fit(square(40.0), 3.0, SMALL).tilt is None


def test_hull_decides():
    angle = np.array([(0, 0), (30, 0), (30, 2), (2, 2), (2, 30), (0, 30)], float)
    hull = np.delete(angle, 3, axis=0)
    assert fit(angle, 3.0, SMALL) == fit(hull, 3.0, SMALL)
    assert fit(angle, 3.0, SMALL).fits
    assert not fit(angle * 1.4, 3.0, SMALL).may


def test_many_corners_stay_cheap():
    assert fit(circle(15.0, chord=1e-7), 20.0, SMALL).fits
    assert not fit(circle(15.9, chord=1e-7), 3.0, SMALL).may
    assert not fit(circle(400.0, chord=1e-4), 3.0, SMALL).may


def test_degenerate_outlines():
    assert fit(np.zeros((1, 2)), 3.0, SMALL).fits
    assert fit(np.array([(0.0, 0.0), (50.0, 0.0)]), 0.0, SMALL).fits
    assert not fit(np.array([(0.0, 0.0), (70.0, 0.0)]), 0.0, SMALL).may


def test_tolerance_raises_what_is_near():
    # flat, 31.7 across and 25.48 thick, 0.03 mm too thick (57.15 − 31.7 = 25.45)
    near = fit(circle(31.7 / 2), 25.48, SMALL)
    assert near.may
    assert not near.fits
    assert not fit(circle(31.7 / 2), 25.9, SMALL).may
    assert fit(circle(31.7 / 2), 25.9, SMALL, tolerance=0.5).may


@st.composite
def outlines(draw: st.DrawFn) -> Points:
    """Convex polygons from slender to round, of sizes near the limit."""
    seed = draw(st.integers(0, 2**32 - 1))
    rng = np.random.default_rng(seed)
    points = rng.normal(size=(draw(st.integers(3, 14)), 2)) * (1.0, draw(st.floats(0.05, 1.0)))
    size = draw(st.floats(25.0, 70.0))
    return points / max(float(np.ptp(points, axis=0).max()), 1e-6) * size


thicknesses = st.floats(0.3, 15.0)


@given(outlines(), thicknesses, st.integers(0, 1000))
@settings(max_examples=40, deadline=None)
def test_no_walk_finds_a_place_where_none_is(outline: Points, thickness: float, seed: int):
    if not fit(outline, thickness, SMALL).may:
        assert wander(outline, thickness, seed) > 0.0


@given(outlines(), thicknesses)
@settings(max_examples=25, deadline=None)
def test_place_found_is_one(outline: Points, thickness: float):
    found = fit(outline, thickness, SMALL)
    if found.turn is not None:
        centre = room._hull(outline)
        assert placed(centre, thickness, found) <= (1e-3 if found.fits else 0.05 + 1e-3)


@given(outlines(), thicknesses, st.floats(0.5, 1.0), st.floats(0.5, 1.0))
@settings(max_examples=60, deadline=None)
def test_smaller_still_fits(outline: Points, thickness: float, scale: float, thinner: float):
    if fit(outline, thickness, SMALL).fits:
        assert fit(outline * scale, thickness * thinner, SMALL).may


@given(outlines(), thicknesses, st.floats(0, 6.28), st.booleans())
@settings(max_examples=60, deadline=None)
def test_how_it_is_drawn_does_not_matter(
    outline: Points, thickness: float, angle: float, mirrored: bool
):
    turned = outline @ rotation(0.0, 0.0, angle)[:2, :2] * (-1.0 if mirrored else 1.0, 1.0) + 7.0
    found, again = fit(outline, thickness, SMALL), fit(turned, thickness, SMALL)
    assert not (found.fits and not again.may)
    assert not (again.fits and not found.may)


@given(outlines(), thicknesses, st.integers(0, 2**32 - 1))
@settings(max_examples=15, deadline=None)
def test_no_cell_is_dropped_wrongly(outline: Points, thickness: float, seed: int):
    """What fits at some turn of a cell must be possible by the cell's own bound."""
    rng = np.random.default_rng(seed)
    hull = room._hull(outline)
    cells = room._first_cells()[rng.integers(0, 1344, 20)]
    cells[:, 3:] *= rng.uniform(0.05, 1.0, size=(20, 1))
    inner = cells.copy()
    inner[:, :3] += rng.uniform(-1, 1, size=(20, 3)) * cells[:, 3:]
    # a cylinder just large enough for the part at that turn
    nothing = np.zeros(1)
    for cell, turn in zip(cells[:, None], inner[:, None], strict=True):
        corners = room._turned(hull, thickness / 2, turn)
        sizes = [Cylinder(d, d * 0.8, d * 1.8) for d in np.geomspace(20.0, 90.0, 30)]
        large = next(c for c in sizes if room._shiftable(corners, c, nothing, nothing)[1][0])
        wall, floor, _ = room._Levers(hull, thickness / 2, large).rooms(cell)
        middle = room._turned(hull, thickness / 2, cell)
        assert room._shiftable(middle, large, wall, floor)[0][0]


def test_search_covers_all_turns():
    cells = room._first_cells()
    for axis, (low, high) in enumerate([(0.0, 2 * np.pi), (0.0, np.pi / 2), (0.0, 2 * np.pi)]):
        middles = np.unique(cells[:, axis].round(9))
        half = cells[0, 3 + axis]
        assert middles[0] - half <= low
        assert all(b - a <= 2 * half + 1e-8 for a, b in pairwise(middles))
        wraps = axis != 1
        assert middles[-1] + half >= high - (half if wraps else 0.0) - 1e-8
