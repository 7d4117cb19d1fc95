"""How fast webs and gaps are found, against other ways in the same run.

    python tests/benchmarks/widths.py FOLDER [MOST_FILES]

Every drawing of the folder is planned 254 mm wide, chord tolerance 0.01 mm, by its own colours.
All webs and gaps up to 1.2 mm are timed in turn with the bare opening of the same polygons by
GEOS at one threshold, `buffer(-w/2).buffer(w/2)`, which finds webs alone; on a few drawings also
with Boost's Voronoi diagram through pyvoronoi, made and read, and with the distance transform of
a picture of 0.05 mm a pixel. Times are of the process, the least of several; work on a whole
drawing at a time: its colours side by side on one sheet.

    python tests/benchmarks/widths.py --growth

prints time and memory a vertex for sheets of rings from 10^3 to 10^6 vertices.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path

import numpy as np
import shapely

sys.path.insert(0, str(Path(__file__).parent.parent / "measure"))
from figures import arranged, disc

from scantling.measure.facts import facts_of
from scantling.measure.model import Arrangement
from scantling.measure.widths.telling import told
from scantling.measure.widths.thin import thin
from scantling.plan.model import Job, Minimums, Stock, Tolerances
from scantling.plan.planner import plan_drawing
from scantling.read import Source, read_drawing

WIDTH = 1.2
SIDE = 254.0
STOCK = Stock("any", "plywood", 3.0, "laser", 0.0, Minimums(WIDTH, WIDTH, WIDTH, 0.2, 6.0))


def drawings(folder: str, most: int) -> Iterator[tuple[str, Arrangement]]:
    """The solid faces of each drawing, its sheets laid side by side."""
    files = sorted(Path(folder).rglob("*.svg"))
    for file in random.Random(1).sample(files, min(most, len(files))):
        try:
            drawing = read_drawing(Source.open(str(file)))
            plan = plan_drawing(drawing, Job(None, {}), file=str(file), width=SIDE, stock=STOCK)
            sheets = [facts_of(sheet)["arrangement"] for sheet in plan.sheets]
        except Exception as error:
            print(f"{file.name}: {type(error).__name__}: {error}", file=sys.stderr)
            continue
        sheets = [sheet for sheet in sheets if len(sheet.xy)]
        if sheets:
            yield file.name, side_by_side(sheets)


def side_by_side(sheets: list[Arrangement]) -> Arrangement:
    count = np.cumsum([0, *(len(s.xy) for s in sheets)])
    faces = np.cumsum([0, *(int(s.face.max()) + 1 for s in sheets)])
    return Arrangement(
        xy=np.concatenate([s.xy + np.array((1.5 * SIDE * k, 0.0)) for k, s in enumerate(sheets)]),
        first=np.concatenate(
            ([0], *(s.first[1:] + c for s, c in zip(sheets, count, strict=False)))
        ),
        face=np.concatenate([s.face + f for s, f in zip(sheets, faces, strict=False)]),
        outer=np.concatenate([s.outer for s in sheets]),
        contour=np.concatenate([s.contour for s in sheets]),
        segment=np.concatenate([s.segment for s in sheets]),
        edge=np.concatenate([s.edge for s in sheets]),
        noded=any(s.noded for s in sheets),
    )


def polygons(arrangement: Arrangement) -> shapely.MultiPolygon:
    rings = [shapely.LinearRing(r) for r in np.split(arrangement.xy, arrangement.first[1:-1])]
    outer = np.flatnonzero(arrangement.outer)
    bounds = [*outer.tolist(), len(rings)]
    return shapely.MultiPolygon(
        [shapely.Polygon(rings[a], rings[a + 1 : b]) for a, b in pairwise(bounds)]
    )


def in_turn(works: list[Callable[[], object]], rounds: int) -> list[float]:
    """The least time of each of several works, done in turn."""
    best = [float("inf")] * len(works)
    for _ in range(rounds):
        for k, work in enumerate(works):
            start = time.thread_time()
            work()
            best[k] = min(best[k], time.thread_time() - start)
    return best


def widths(arrangement: Arrangement) -> object:
    return told(thin(arrangement, WIDTH, Tolerances(chord=0.01)))


def opening(solid: shapely.MultiPolygon) -> object:
    return solid.buffer(-WIDTH / 2).buffer(WIDTH / 2)


def voronoi(arrangement: Arrangement) -> object:
    import pyvoronoi

    diagram = pyvoronoi.Pyvoronoi(1)
    xy = np.round(arrangement.xy * 1e4).astype(np.int64)
    for ring in np.split(xy, arrangement.first[1:-1]):
        for a, b in zip(ring.tolist(), np.roll(ring, -1, axis=0).tolist(), strict=True):
            diagram.AddSegment([a, b])
    diagram.Construct()
    return diagram.GetVertices(), diagram.GetEdges(), diagram.GetCells()


def picture(solid: shapely.MultiPolygon) -> np.ndarray:
    from skimage.draw import polygon2mask

    x0, y0, x1, y1 = solid.bounds
    shape = (int((x1 - x0) / 0.05) + 3, int((y1 - y0) / 0.05) + 3)
    mask = np.zeros(shape, bool)
    for part in solid.geoms:
        for k, ring in enumerate((part.exterior, *part.interiors)):
            drawn = polygon2mask(shape, (np.asarray(ring.coords) - (x0, y0)) / 0.05 + 1)
            mask = mask | drawn if k == 0 else mask & ~drawn
    return mask


def raster(mask: np.ndarray) -> object:
    from scipy.ndimage import distance_transform_edt

    return distance_transform_edt(mask)


def compare(folder: str, most: int) -> None:
    rows = []
    slow = []
    for number, (_, arrangement) in enumerate(drawings(folder, most)):
        solid = polygons(arrangement)
        works = [lambda a=arrangement: widths(a), lambda s=solid: opening(s)]
        rows.append((len(arrangement.xy), *in_turn(works, 7)))
        if number % 10 == 0:
            ours, *others = in_turn([works[0], lambda a=arrangement: voronoi(a)], 2)
            if len(arrangement.xy) and solid.bounds[2] - solid.bounds[0] <= SIDE + 1:
                mask = picture(solid)
                others += in_turn([lambda m=mask: raster(m)], 1)
            slow.append((ours, *others, *[float("nan")] * (2 - len(others))))
    n, ours, theirs = np.array(rows).T
    print(f"{folder}: {len(rows)} drawings, {n.mean():.0f} vertices each")
    print(f"  webs and gaps {1e6 * ours.sum() / n.sum():6.2f} µs a vertex")
    print(f"  GEOS opening  {1e6 * theirs.sum() / n.sum():6.2f} µs a vertex")
    median = np.median(ours / theirs)
    print(f"  ratio {ours.sum() / theirs.sum():.2f}; by drawing, median {median:.2f}")
    for low, high in ((0, 200), (200, 500), (500, 1500), (1500, 10**9)):
        of = (n >= low) & (n < high)
        if of.any():
            ratio = ours[of].sum() / theirs[of].sum()
            print(f"    {low} to {high} vertices: {of.sum()} drawings, ratio {ratio:.2f}")
    a, v, r = np.array(slow).T
    print(f"  pyvoronoi {np.nansum(v) / np.nansum(a):.1f} times ours")
    if np.isfinite(r).any():
        print(f"  raster {np.nanmedian(r / a):.0f} times ours")


def growth() -> None:
    import tracemalloc

    ring = disc(0, 0, 5).difference(disc(0.9, 0, 3.2))
    each = shapely.get_num_coordinates(ring) - 2
    for exponent in (3, 4, 5, 6):
        count = max(round(10**exponent / each), 1)
        across = int(np.ceil(np.sqrt(count)))
        one = arranged(ring)
        shift = np.array([(11.0 * (k % across), 11.0 * (k // across)) for k in range(count)])
        sheet = Arrangement(
            xy=(one.xy[None] + shift[:, None]).reshape(-1, 2),
            first=np.concatenate(
                ([0], (one.first[1:][None] + len(one.xy) * np.arange(count)[:, None]).ravel())
            ),
            face=np.repeat(np.arange(count), 2),
            outer=np.tile(one.outer, count),
            contour=np.tile(one.contour, count),
            segment=np.tile(one.segment, count),
            edge=np.tile(one.edge, count),
            noded=False,
        )
        start = time.process_time()
        found = thin(sheet, WIDTH, Tolerances(chord=0.01))
        middle = time.process_time()
        webs, _ = told(found)
        end = time.process_time()
        n = len(sheet.xy)
        tracemalloc.start()
        found = thin(sheet, WIDTH, Tolerances(chord=0.01))
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        print(
            f"{n:8d} vertices: discs {1e6 * (middle - start) / n:5.2f} µs, "
            f"telling {len(webs)} webs {1e6 * (end - middle) / n:5.2f} µs a vertex; "
            f"at most {peak / n:.0f} bytes a vertex"
        )


if __name__ == "__main__":
    if sys.argv[1:] == ["--growth"]:
        growth()
    elif len(sys.argv) > 1:
        compare(sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 100)
    else:
        print(__doc__)
