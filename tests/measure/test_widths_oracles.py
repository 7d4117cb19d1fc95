"""Widths against independent ways of finding them."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from figures import CHORD, arranged, disc, turned
from oracles import largest, raster_width, residues, saddles

from scantling.measure.widths.discs import Discs, concatenated
from scantling.measure.widths.outline import Outline
from scantling.measure.widths.search import discs_of
from scantling.measure.widths.telling import told
from scantling.measure.widths.thin import thin, tips
from scantling.plan.model import Tolerances

WIDTH = 1.2


def lattice(seed: int) -> shapely.Geometry:
    """A plate pierced by random discs, triangles and slots, with some of its outline bitten off."""
    rng = np.random.default_rng(seed)
    plate = shapely.box(0, 0, 50, 50)
    bites = []
    for _ in range(70):
        x, y = rng.uniform(0, 50, 2)
        kind = rng.integers(3)
        if kind == 0:
            bites.append(disc(x, y, rng.uniform(0.7, 4)))
        elif kind == 1:
            triangle = shapely.Polygon(rng.uniform(-3, 3, (3, 2)))
            bites.append(shapely.transform(triangle, lambda p, x=x, y=y: p + np.array((x, y))))
        else:
            slot = shapely.box(0, 0, rng.uniform(2, 8), rng.uniform(0.5, 3))
            bites.append(turned(slot, rng.uniform(0, 360), x, y))
    rest = plate.difference(shapely.union_all(bites))
    return shapely.union_all([p for p in shapely.get_parts(rest) if p.area > 1.0])


@pytest.mark.parametrize("seed", range(5))
def test_what_an_opening_takes_away_between_two_sides_is_found(seed: int) -> None:
    figure = lattice(seed)
    found = thin(arranged(figure), WIDTH, Tolerances(chord=CHORD))
    webs, _ = told(found)
    paths = [n.path for n in webs] + [t.path for t in tips(found)]
    reached = shapely.multipoints(np.concatenate(paths)).buffer(0.05)
    thin_parts = residues(figure, WIDTH, CHORD)
    assert len(thin_parts) > 10
    for part in thin_parts:
        assert part.intersects(reached), part.centroid


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("solid", [True, False])
def test_saddles_of_the_voronoi_diagram_are_found(seed: int, solid: bool) -> None:
    pytest.importorskip("pyvoronoi")
    arrangement = arranged(lattice(seed))
    found = thin(arrangement, WIDTH, Tolerances(chord=CHORD))
    places = told(found)[0 if solid else 1]
    expected = [s for s in saddles(arrangement, WIDTH - CHORD, solid) if s.width > 0.01]
    assert len(expected) > 5
    # tips of the void are not told one by one: a stub shorter than wide has a saddle too
    assert found is not None
    ends = found.discs.at[:, found.chains.disc[found.chains.tip]].T + found.outline.origin
    reached = shapely.multipoints(np.concatenate([ends, *(n.path for n in places)]))
    for saddle in expected:
        away = reached.distance(shapely.Point(saddle.at))
        assert away <= saddle.width / 2 + 0.01, saddle


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("solid", [True, False])
def test_necks_are_saddles_of_the_voronoi_diagram(seed: int, solid: bool) -> None:
    pytest.importorskip("pyvoronoi")
    arrangement = arranged(lattice(seed))
    places = told(thin(arrangement, WIDTH, Tolerances(chord=CHORD)))[0 if solid else 1]
    known = saddles(arrangement, WIDTH + CHORD, solid)
    at = np.array([s.at for s in known])
    for place in places:
        if place.kind == "limb":
            continue  # a limb may be thinnest at its end, which is no saddle
        near = np.hypot(*(at - place.at).T) <= max(place.width, 0.1)
        assert near.any(), place
        assert min(s.width for s, n in zip(known, near, strict=True) if n) == pytest.approx(
            place.width, abs=2.0 * CHORD
        )


@pytest.mark.parametrize("seed", range(3))
def test_pictures_tell_the_same_widths(seed: int) -> None:
    pytest.importorskip("skimage")
    figure = lattice(seed)
    webs, gaps = told(thin(arranged(figure), WIDTH, Tolerances(chord=CHORD)))
    pixel = 0.02
    for place in (*webs, *gaps):
        # both sides are known to half a pixel
        assert raster_width(figure, place.at, pixel) == pytest.approx(place.width, abs=2 * pixel)


def worked(seed: int) -> shapely.Geometry:
    """A plate with a few bars, notches and spikes, its corners rounded or cut off."""
    rng = np.random.default_rng(seed)
    figure = shapely.box(0, 0, 12, 12)
    for k in range(10):
        bar = turned(
            shapely.box(0, 0, rng.uniform(0.5, 8), rng.uniform(0.3, 2.5)),
            rng.uniform(0, 360),
            *rng.uniform(-1, 13, 2),
        )
        spike = shapely.MultiPoint(rng.uniform(-2, 14, (3, 2))).convex_hull
        figure = (figure.union, figure.difference)[k % 2](bar if k < 8 else spike)
    r = rng.uniform(0.0, 0.3)
    return figure.buffer(-r, quad_segs=3).buffer(r, quad_segs=int(rng.integers(1, 4)))


def filled_in(discs: Discs, spacing: float) -> Discs:
    """The discs and, of each pair of edges, those between one and the next."""
    order = np.lexsort((*discs.p, discs.j, discs.i))
    a, b = order[:-1], order[1:]
    same = (discs.i[a] == discs.i[b]) & (discs.j[a] == discs.j[b])
    a, b = a[same], b[same]
    count = np.ceil(np.hypot(*(discs.at[:, a] - discs.at[:, b])) / spacing).astype(np.int64)
    of = np.repeat(np.arange(len(a)), count)
    share = (np.arange(len(of)) - np.repeat(np.cumsum(count) - count, count)) / count[of]
    rows = (1.0 - share) * discs.rows[:, a[of]] + share * discs.rows[:, b[of]]
    between = Discs(rows, discs.i[a[of]], discs.j[a[of]], discs.web[a[of]])
    return concatenated((discs, between))


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("solid", [True, False])
def test_the_largest_disc_at_a_point_that_faces_another_is_found(seed: int, solid: bool) -> None:
    arrangement = arranged(worked(seed))
    reach, chord = 2.5, 1e-3
    o = Outline(arrangement)
    found = discs_of(o, reach, chord)
    found = filled_in(found.take(found.web == solid), 0.05)
    sought = largest(arrangement, solid, 0.1, reach)
    facing = sought.faces(29.0) & sought.between & (2.0 * sought.radius < 0.98 * reach)
    facing &= sought.radius > 0.03  # at the very corner of a taper there is none
    assert facing.sum() > 15
    for at, radius in zip(sought.at[facing], sought.radius[facing], strict=True):
        away = np.hypot(*(found.at + o.origin[:, None] - at[:, None]))
        near = found.radius[away <= 0.3 * radius + 0.06]
        assert len(near), at
        assert near.min() <= radius + 0.01, at
