"""Which shapes lie wholly outside their clip, and are never seen.

Only what is certain is said: a shape is outside when no line of it comes near the clip's outline
and no part of either lies inside the other.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scantling.read.drawing import Curves, Shape
from scantling.read.flatten import Flat, flatten

Array = NDArray[np.float64]

_TOLERANCE = 0.01
"""Chord tolerance in pixels."""
_MOST = 4_000_000
"""Most pairs of a contour and an edge that are looked at for one shape; beyond, nothing is
said of it."""


@dataclass(frozen=True, slots=True)
class Region:
    """What a clip lets through: outlines, with the rule by which each shape's are filled.

    edges   (k, 4) x0 y0 x1 y1, all outlines closed
    groups  (s+1,) the edges of shape i are edges[groups[i]:groups[i+1]]
    even    (s,)   True for evenodd, False for nonzero
    """

    edges: Array
    groups: NDArray[np.int64]
    even: NDArray[np.bool_]

    @property
    def box(self) -> tuple[float, float, float, float]:
        ends = self.edges.reshape(-1, 2)
        return (*ends.min(axis=0).tolist(), *ends.max(axis=0).tolist())

    def covers(self, points: Array) -> NDArray[np.bool_]:
        """Which points (n, 2) lie inside: by counting the edges above each."""
        inside = np.zeros(len(points), np.bool_)
        for first, last, even in zip(self.groups, self.groups[1:], self.even, strict=False):
            inside |= _inside(points, self.edges[first:last], bool(even))
        return inside


def _inside(points: Array, edges: Array, even: bool) -> NDArray[np.bool_]:
    x, y = points[:, :1], points[:, 1:]
    x0, y0, x1, y1 = edges.T
    crosses = (x0 <= x) != (x1 <= x)
    with np.errstate(divide="ignore", invalid="ignore"):
        height = y0 + (y1 - y0) * ((x - x0) / (x1 - x0))
    above = crosses & (height > y)
    found: NDArray[np.bool_]
    if even:
        found = above.sum(axis=1) % 2 == 1
    else:
        found = np.where(above, np.where(x1 > x0, 1, -1), 0).sum(axis=1) != 0
    return found


def rectangle(corners: Array) -> Region:
    """A region of one polygon (k, 2)."""
    edges = np.hstack((corners, np.roll(corners, -1, axis=0)))
    return Region(edges, np.array([0, len(edges)]), np.array([False]))


def region_of(shapes: list[Shape], curves: Curves) -> Region:
    """The region that the shapes of a clipPath cover, by their clip-rule (as their fill_rule)."""
    seen = [s for s in shapes if s.hidden not in ("display", "visibility")]
    flat = flatten(curves, _TOLERANCE)
    edges = [_edges(flat, list(shape.contours), closing=True) for shape in seen]
    counts = [len(part) for part in edges]
    return Region(
        np.concatenate(edges) if edges else np.empty((0, 4)),
        np.concatenate(([0], np.cumsum(counts))).astype(np.int64),
        np.array([shape.fill_rule == "evenodd" for shape in seen], np.bool_),
    )


def _edges(flat: Flat, contours: list[int], closing: bool) -> Array:
    """The edges of contours (numbers within `flat`); `closing` joins each one's ends."""
    parts = []
    for k in contours:
        points = flat.xy[flat.first[k] : flat.first[k + 1]]
        ends = np.roll(points, -1, axis=0)
        parts.append(np.hstack((points, ends))[: None if closing else max(len(points) - 1, 1)])
    return np.concatenate(parts) if parts else np.empty((0, 4))


def outside(shape: Shape, curves: Curves, region: Region) -> str:
    """'wholly' where nothing of a shape is seen through the region, 'partly' where some of its
    lines surely are not, else ''."""
    if not len(region.edges):
        return "wholly"
    chosen = np.zeros(len(curves.closed), np.bool_)
    chosen[shape.contours.start : shape.contours.stop] = True
    flat = flatten(curves, _TOLERANCE, chosen)
    if not len(flat.xy):
        return ""
    reach = shape.stroke_width / 2.0 if shape.stroke is not None else 0.0
    low, high = flat.xy.min(axis=0) - reach, flat.xy.max(axis=0) + reach
    x0, y0, x1, y1 = region.box
    if high[0] <= x0 or high[1] <= y0 or low[0] >= x1 or low[1] >= y1:
        return "wholly"
    own = range(len(flat.first) - 1)
    if len(region.edges) * len(own) > _MOST:
        return ""
    if _touch(_edges(flat, list(own), True), region.edges, _reach(shape, reach)):
        if len(region.edges) * len(flat.xy) > _MOST:
            return ""
        return "partly" if not region.covers(flat.xy).all() else ""
    if region.covers(flat.xy[flat.first[:-1]]).any():
        return ""
    if shape.fill is not None:
        mine = Region(
            _edges(flat, list(own), True),
            np.array([0, len(flat.xy)]),
            np.array([shape.fill_rule == "evenodd"]),
        )
        starts = region.edges[:, :2]
        if len(starts) * len(mine.edges) > _MOST or mine.covers(starts).any():
            return ""
    return "wholly"


def _reach(shape: Shape, reach: float) -> float:
    """How far the stroke can reach beyond its line: mitres stick out, and so do square caps."""
    if shape.stroke is None:
        return 0.0
    corner = shape.miterlimit if shape.linejoin.startswith(("miter", "arcs")) else 1.0
    a, b, c, d = shape.matrix[:4]
    scale = abs(a * d - b * c) ** 0.5
    longest = max(np.hypot(a, b), np.hypot(c, d))
    uneven = 1.0 if shape.non_scaling_stroke or not scale else 2.0 * float(longest) / scale
    return reach * max(corner, 1.5) * max(uneven, 1.0)


def _touch(one: Array, other: Array, within: float) -> bool:
    import shapely

    a, b = (
        shapely.multilinestrings(shapely.linestrings(edges.reshape(-1, 2, 2)))
        for edges in (one, other)
    )
    shapely.prepare(b)
    return bool(shapely.dwithin(a, b, within) if within else shapely.intersects(a, b))
