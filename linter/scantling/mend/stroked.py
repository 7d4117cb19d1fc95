"""The area that a stroke covers, as SVG strokes (SVG 2, section 13.5)."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.records import NamedTuple

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scantling.arrays import Array


class Line(NamedTuple):
    """A flattened line.

    xy       (n, 2) without its first point again where it is `closed`
    nodes    (n,) True where one curve ends and the next begins: only there is a join seen
    """

    xy: Array
    closed: bool
    nodes: NDArray[np.bool_]


def area(lines: list[Line], width: float, cap: str, join: str, limit: float, chord: float) -> Any:
    """The area (shapely) of strokes of a width along polylines. `chord` is how far round joins
    may be off."""
    import shapely

    parts: list[Any] = []
    for line in lines:
        parts += _along(line, width / 2.0, cap, join, limit, chord)
    return whole(shapely.unary_union(parts, grid_size=chord / GRID), chord)


SMOOTH = 4.0
"""Limit of the mitres that make a bend of flattened chords whole; they are hardly any."""
GRID = 64.0
"""Parts of the chord tolerance to which corners are put, so that what meets does meet."""


def whole(area: Any, chord: float) -> Any:
    """An area (shapely) without slivers and without holes that are slivers."""
    import shapely

    def real(ring: Any) -> bool:
        return bool(shapely.Polygon(ring).area > chord * ring.length)

    kept = [
        shapely.Polygon(polygon.exterior, [hole for hole in polygon.interiors if real(hole)])
        for polygon in getattr(area, "geoms", [area])
        if polygon.geom_type == "Polygon" and real(polygon.exterior)
    ]
    return shapely.MultiPolygon(kept)


def _along(line: Line, half: float, cap: str, join: str, limit: float, chord: float) -> list[Any]:
    import shapely

    xy, closed, nodes = line
    ring = np.concatenate((xy, xy[:1])) if closed else xy
    if len(ring) < 2:
        return []
    start, end = ring[:-1], ring[1:]
    step = end - start
    unit = step / np.hypot(step[:, 0], step[:, 1])[:, None]
    side = np.column_stack((-unit[:, 1], unit[:, 0])) * half
    bars = np.stack((start + side, end + side, end - side, start - side), axis=1)
    parts = list(shapely.polygons(bars))
    before = np.roll(unit, 1, axis=0) if closed else unit[:-1]
    after = unit if closed else unit[1:]
    at, node = (start, nodes) if closed else (start[1:], nodes[1:-1])
    smooth = _joins(at[~node], before[~node], after[~node], half, "miter", SMOOTH, chord)
    parts += smooth + _joins(at[node], before[node], after[node], half, join, limit, chord)
    if not closed and cap != "butt":
        for point, way in ((ring[0], -unit[0]), (ring[-1], unit[-1])):
            across = np.array((-way[1], way[0])) * half
            if cap == "round":
                parts.append(_disc(point, half, chord))
            else:
                out = point + way * half
                parts.append(
                    shapely.Polygon([point + across, out + across, out - across, point - across])
                )
    return parts


def _joins(
    at: Array, before: Array, after: Array, half: float, join: str, limit: float, chord: float
) -> list[Any]:
    """What fills the wedge on the outside of each corner."""
    import shapely

    turn = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    straight = (before * after).sum(axis=1)
    parts: list[Any] = []
    for k in np.flatnonzero((np.abs(turn) > 1e-9) | (straight < 0.0)).tolist():
        if join == "round":
            parts.append(_disc(at[k], half, chord))
            continue
        out = -np.sign(turn[k]) or 1.0
        a = at[k] + out * half * np.array((-before[k, 1], before[k, 0]))
        b = at[k] + out * half * np.array((-after[k, 1], after[k, 0]))
        corner = [at[k], a, b]
        inner = np.sqrt(max((1.0 + straight[k]) / 2.0, 0.0))  # sine of half the angle inside
        if join not in ("bevel", "round") and inner > 0.0 and 1.0 / inner <= limit:
            way = (a + b) / 2.0 - at[k]
            corner = [at[k], a, at[k] + way / (inner * inner), b]
        parts.append(shapely.Polygon(corner).buffer(0.0))
    return parts


def _disc(at: Array, radius: float, chord: float) -> Any:
    import shapely

    steps = max(int(np.ceil(np.pi / 4.0 / np.arccos(1.0 - min(chord / radius, 0.2)))), 4)
    return shapely.Point(at).buffer(radius, quad_segs=steps)
