"""Which shapes lie wholly outside their clip, and are never seen.

Only what is certain is said: a shape is outside when no line of it comes near the clip's outline
and no part of either lies inside the other.
"""

from __future__ import annotations

from dataclasses import field
from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.read.drawing import UNRENDERED, Curves, Shape
from scantling.read.flatten import Flat, bounds, flatten
from scantling.records import dataclass

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scantling.arrays import Array


_TOLERANCE = 0.01
"""Chord tolerance in pixels."""


@dataclass(slots=True)
class Region:
    """What a clip lets through: outlines, with the rule by which each shape's are filled.

    edges   (k, 4) x0 y0 x1 y1, all outlines closed
    groups  (s+1,) the edges of shape i are edges[groups[i]:groups[i+1]]
    even    (s,)   True for evenodd, False for nonzero
    """

    edges: Array
    groups: NDArray[np.int64]
    even: NDArray[np.bool_]
    box: tuple[float, float, float, float] = field(init=False)
    upright: bool = field(init=False)
    """a single rectangle along the axes: then the box is all there is to it"""
    _lines: Any = None

    def __post_init__(self) -> None:
        ends = self.edges.reshape(-1, 2)
        if not len(ends):
            ends = np.zeros((1, 2))
        self.box = (*ends.min(axis=0).tolist(), *ends.max(axis=0).tolist())
        along = np.isclose(self.edges[:, :2], self.edges[:, 2:], rtol=0.0, atol=1e-9)
        self.upright = len(self.edges) == 4 and bool(along.any(axis=1).all())

    @property
    def lines(self) -> Any:
        """Its edges as a prepared shapely geometry."""
        if self._lines is None:
            import shapely

            self._lines = _as_lines(self.edges)
            shapely.prepare(self._lines)
        return self._lines

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
    seen = [s for s in shapes if s.hidden not in UNRENDERED]
    flat = flatten(curves, _TOLERANCE)
    edges = [_edges(flat, list(shape.contours)) for shape in seen]
    counts = [len(part) for part in edges]
    return Region(
        np.concatenate(edges) if edges else np.empty((0, 4)),
        np.concatenate(([0], np.cumsum(counts))).astype(np.int64),
        np.array([shape.fill_rule == "evenodd" for shape in seen], np.bool_),
    )


def _edges(flat: Flat, contours: list[int]) -> Array:
    """The edges of contours (numbers within `flat`), each closed."""
    parts = []
    for k in contours:
        points = flat.xy[flat.first[k] : flat.first[k + 1]]
        parts.append(np.hstack((points, np.roll(points, -1, axis=0))))
    return np.concatenate(parts) if parts else np.empty((0, 4))


class Examiner:
    """Looks at shapes and clips of one drawing, as long as that does not take too much work."""

    MOST = 400_000_000
    """Most pairs of a point and an edge that are looked at in all; beyond, nothing is said."""
    AT_ONCE = 4_000_000

    def __init__(self, curves: Curves, shapes: list[Shape]) -> None:
        chosen = np.zeros(len(curves.closed), np.bool_)
        for shape in shapes:
            chosen[shape.contours.start : shape.contours.stop] = True
        self.boxes = bounds(curves)
        self.flat = flatten(curves, _TOLERANCE, chosen)
        self.number = np.cumsum(chosen) - 1  # of a contour within the flattened ones
        self.work = 0

    def outside(self, shape: Shape, region: Region) -> str:
        """'wholly' where nothing of a shape is seen through the region, 'partly' where some of it
        is and some of its line surely is not, 'unknown' where it would take too long to tell, else
        ''."""
        if not len(region.edges):
            return "wholly"
        own = slice(shape.contours.start, shape.contours.stop)
        reach = _reach(shape)
        low = self.boxes[own, :2].min(axis=0)
        high = self.boxes[own, 2:].max(axis=0)
        x0, y0, x1, y1 = region.box
        if (
            high[0] + reach <= x0
            or high[1] + reach <= y0
            or low[0] - reach >= x1
            or low[1] - reach >= y1
        ):
            return "wholly"
        within = low[0] >= x0 and low[1] >= y0 and high[0] <= x1 and high[1] <= y1
        if region.upright and within:
            return ""
        contours = [int(self.number[k]) for k in shape.contours]
        first = self.flat.first
        points = self.flat.xy[first[contours[0]] : first[contours[-1] + 1]]
        pairs = len(points) * len(region.edges)
        self.work += pairs
        if pairs > self.AT_ONCE or self.work > self.MOST:
            return "unknown"
        edges = _edges(self.flat, contours)
        if _touch(edges, region, reach):
            return "" if region.covers(points).all() else "partly"
        seen = region.covers(self.flat.xy[first[contours]])
        if seen.any():
            return "" if seen.all() else "partly"
        if shape.fill is not None:
            even = np.array([shape.fill_rule == "evenodd"])
            mine = Region(edges, np.array([0, len(edges)]), even)
            if mine.covers(region.edges[:, :2]).any():  # what is seen ends at the clip
                return "partly"
        return "wholly"


def _reach(shape: Shape) -> float:
    """How far the stroke can reach beyond its line: mitres stick out, and so do square caps."""
    if shape.stroke is None:
        return 0.0
    corner = shape.miterlimit if shape.linejoin.startswith(("miter", "arcs")) else 1.0
    a, b, c, d = shape.matrix[:4]
    scale = abs(a * d - b * c) ** 0.5
    longest = max(np.hypot(a, b), np.hypot(c, d))
    uneven = 1.0 if shape.non_scaling_stroke or not scale else 2.0 * float(longest) / scale
    return shape.stroke_width / 2.0 * max(corner, 1.5) * max(uneven, 1.0)


def _touch(edges: Array, region: Region, within: float) -> bool:
    import shapely

    lines = _as_lines(edges)
    if within:
        return bool(shapely.dwithin(region.lines, lines, within))
    return bool(shapely.intersects(region.lines, lines))


def _as_lines(edges: Array) -> Any:
    import shapely

    return shapely.multilinestrings(shapely.linestrings(edges.reshape(-1, 2, 2)))
