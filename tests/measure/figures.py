"""Arrangements of simple figures with known widths, for the width tests."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
import shapely
from shapely.geometry.polygon import orient

from scantling.measure.model import Arrangement, Narrow
from scantling.measure.widths.telling import told
from scantling.measure.widths.thin import thin
from scantling.plan.model import Tolerances

CHORD = 0.01


def arranged(*figures: shapely.Geometry, start: int = 0) -> Arrangement:
    """The arrangement of polygons that cross nothing: each polygon is one face. `start` moves
    the first point of every ring."""
    polygons = [p for f in figures for p in shapely.get_parts(f) if not p.is_empty]
    rings, face, outer = [], [], []
    for k, polygon in enumerate(polygons):
        polygon = orient(polygon, 1.0)
        for number, ring in enumerate((polygon.exterior, *polygon.interiors)):
            points = np.asarray(ring.coords)[:-1]
            keep = (points != np.roll(points, 1, axis=0)).any(axis=1)
            rings.append(np.roll(points[keep], start, axis=0))
            face.append(k)
            outer.append(number == 0)
    first = np.cumsum([0, *(len(r) for r in rings)])
    n = int(first[-1])
    return Arrangement(
        xy=np.concatenate(rings) if rings else np.zeros((0, 2)),
        first=first.astype(np.int64),
        face=np.array(face, np.int64),
        outer=np.array(outer, bool),
        contour=np.repeat(np.arange(len(rings)), np.diff(first)),
        segment=np.arange(n),
        edge=np.arange(n),
        noded=False,
    )


def measured(
    *figures: shapely.Geometry, reach: float = 1.5, chord: float = CHORD, start: int = 0
) -> tuple[tuple[Narrow, ...], tuple[Narrow, ...]]:
    """Webs and gaps of polygons."""
    arrangement = arranged(*figures, start=start)
    found = thin(arrangement, reach, Tolerances(chord=chord))
    return told(found)


def arc(
    x: float,
    y: float,
    r: float,
    start: float = 0.0,
    sweep: float = 2.0 * math.pi,
    chord: float = CHORD,
) -> np.ndarray:
    """Points of an arc, both ends included, each chord within `chord` of it."""
    step = 2.0 * math.acos(max(1.0 - chord / r, -1.0)) if r > chord else math.pi / 2
    k = max(math.ceil(abs(sweep) / step), 1)
    t = start + sweep * np.arange(k + 1) / k
    return np.stack((x + r * np.cos(t), y + r * np.sin(t)), axis=1)


def disc(x: float, y: float, r: float, chord: float = CHORD) -> shapely.Polygon:
    return shapely.Polygon(arc(x, y, r, chord=chord)[:-1])


def box(x0: float, y0: float, x1: float, y1: float) -> shapely.Polygon:
    return shapely.box(x0, y0, x1, y1)


def turned(
    figure: shapely.Geometry, degrees: float, dx: float = 0.0, dy: float = 0.0, scale: float = 1.0
) -> shapely.Geometry:
    a = math.radians(degrees)
    c, s = scale * math.cos(a), scale * math.sin(a)
    return shapely.transform(
        figure,
        lambda p: np.stack((c * p[:, 0] - s * p[:, 1] + dx, s * p[:, 0] + c * p[:, 1] + dy), 1),
    )


def widths(places: Iterable[Narrow]) -> list[float]:
    return [round(n.width, 3) for n in places]
