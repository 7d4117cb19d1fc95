"""A design as a small picture: what its outlines come to on a coarse grid.

It is kept with the row, so it is small whatever the drawing is: the largest outlines, with as
many corners as a bound allows.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np
import shapely

from scantling.catalogue.row import Thumb
from scantling.plan.model import GUIDE, OPERATIONS, Plan, Sheet
from scantling.scenes import beside, colour_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

SIDE = 192
"""Grid units along the longer side: about half a pixel each as pages show it."""
MOST = 240
"""Points of the whole picture."""
COARSER = (0.25, 0.8, 1.6, 3.0, 6.0)
"""Grid units by which outlines may be off, the first that needs no more than MOST points."""
LEAST = 2.0
"""Grid units: what is smaller both ways is left out."""


def thumb_of(plan: Plan) -> Thumb | None:
    """The outlines on a plan's sheets, in drawing order, then those that are on none, as guides.
    None where there is nothing to draw."""
    runs = [(s.lines.xy, s.lines.first, s.lines.closed) for s in plan.sheets]
    runs.append(beside(plan))
    xy = np.concatenate([points for points, *_ in runs])
    if not len(xy) or not np.isfinite(xy).all():
        return None
    counts = np.concatenate([np.diff(first) for _, first, _ in runs])
    closed = np.concatenate([closed for *_, closed in runs])
    kinds = [kind for sheet in plan.sheets for kind in _kinds(sheet)]
    kinds += [(GUIDE, "")] * (len(counts) - len(kinds))
    origin = xy.min(axis=0)
    size = xy.max(axis=0) - origin
    unit = max(float(size.max()), 1e-6) / SIDE
    parts = _simplified((xy - origin) / unit, counts, closed)
    layers: dict[tuple[str, str, bool], list[str]] = {}
    for k, points in parts:
        layers.setdefault((*kinds[k], bool(closed[k])), []).append(_path(points, bool(closed[k])))
    return Thumb(
        origin=(float(origin[0]), float(origin[1])),
        unit=unit,
        size=(round(float(size[0]) / unit), round(float(size[1]) / unit)),
        layers=tuple((op, colour, "".join(d)) for (op, colour, _), d in layers.items()),
    )


def _kinds(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """Operation and colour of each contour."""
    lines, shapes = sheet.lines, sheet.drawing.shapes
    columns = (lines.operation, lines.shape, lines.filled)
    for operation, shape, filled in zip(*(column.tolist() for column in columns), strict=True):
        yield OPERATIONS[operation], colour_of(shapes[shape], filled)


def _simplified(
    xy: NDArray[np.float64], counts: NDArray[np.int64], closed: NDArray[np.bool_]
) -> Iterator[tuple[int, NDArray[np.float64]]]:
    """The contours that are drawn, in their order, by their number, with their points (n, 2) in
    grid units; closed ones end where they start."""
    first = np.concatenate(([0], np.cumsum(counts)))
    low = np.minimum.reduceat(xy, first[:-1])
    extent = (np.maximum.reduceat(xy, first[:-1]) - low).max(axis=1)
    large = np.flatnonzero((extent >= LEAST) & (counts >= 2))
    large = large[np.argsort(-extent[large], kind="stable")][:MOST]  # each needs a point or more
    rings = [_ring(xy[first[k] : first[k + 1]], bool(closed[k])) for k in large]
    lines = shapely.linestrings(
        np.concatenate(rings) if rings else np.empty((0, 2)),
        indices=np.repeat(np.arange(len(rings)), [len(ring) for ring in rings]),
    )
    for off in COARSER:
        simple = shapely.simplify(lines, off, preserve_topology=False)
        fits = np.cumsum(shapely.get_num_coordinates(simple)) <= MOST
        if fits.all():
            break
    for k, line in sorted(zip(large[fits].tolist(), simple[fits], strict=True)):
        yield k, shapely.get_coordinates(line)


def _ring(xy: NDArray[np.float64], closed: bool) -> NDArray[np.float64]:
    return np.concatenate((xy, xy[:1])) if closed else xy


def _path(points: NDArray[np.float64], closed: bool) -> str:
    """Path data in whole grid units, relative but for its start."""
    grid = np.round(points).astype(int)
    if closed:
        grid = grid[:-1]
    steps = np.diff(grid, axis=0)
    steps = steps[steps.any(axis=1)]
    return f"M{_pairs(grid[:1])}{'l' * bool(len(steps))}{_pairs(steps)}{'Z' * closed}"


def _pairs(points: Sequence[Sequence[int]] | NDArray[np.int64]) -> str:
    """Whole numbers with no more between them than they need."""
    text = " ".join(f"{x} {y}" for x, y in points)
    return text.replace(" -", "-")
