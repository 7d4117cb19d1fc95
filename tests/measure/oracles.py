"""Independent ways to look for thin places, for tests and benchmarks.

- GEOS: what an opening, `buffer(-w/2).buffer(w/2)`, takes away. It is read in one direction
  only: a residue that joins two stretches of the outline is thin, but a waist between two sharp
  points leaves no residue at all.
- Boost's Voronoi diagram of segments (pyvoronoi): the saddles of the medial radius.
- The distance transform of a picture (scipy's, by way of scikit-image).
- The largest disc that touches the outline at a point and has nothing inside: begun too large, it
  shrinks until it just touches what was inside it. Every edge is compared with it.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray

from scantling.measure.model import Arrangement

Array = NDArray[np.float64]


class Saddle(NamedTuple):
    """A place where the medial radius is least: the width there, and where."""

    width: float
    at: tuple[float, float]


class Largest(NamedTuple):
    """The largest discs at k points p (k, 2) of an outline: radius (k,), middle and the other point
    that they touch (k, 2); and True where that lies between the ends of an edge."""

    p: Array
    radius: Array
    at: Array
    q: Array
    between: NDArray[np.bool_]

    def faces(self, degrees: float) -> NDArray[np.bool_]:
        """Where the radii to both points are opposed to within an angle."""
        one, other = self.p - self.at, self.q - self.at
        return np.asarray(
            (one * other).sum(axis=1) <= -np.cos(np.radians(degrees)) * self.radius**2
        )


def largest(arrangement: Arrangement, solid: bool, spacing: float, most: float) -> Largest:
    """Discs of radius up to `most` in the solid, or in the void, at points of the outline."""
    start, first = arrangement.xy, arrangement.first
    following = np.arange(1, len(start) + 1)
    following[first[1:] - 1] = first[:-1]
    along = start[following] - start
    size = np.hypot(*along.T)
    start, along, size = start[size > 1e-9], along[size > 1e-9], size[size > 1e-9]
    count = np.ceil(size / spacing).astype(np.int64)
    edge = np.repeat(np.arange(len(size)), count)
    share = (np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count) + 0.5) / count[edge]
    p = start[edge] + share[:, None] * along[edge]
    x, y = (along / size[:, None])[edge].T
    inward = np.stack((-y, x), axis=1) if solid else np.stack((y, -x), axis=1)
    radius, q, between = np.full(len(p), most), np.full((len(p), 2), np.nan), np.zeros(len(p), bool)
    left = np.arange(len(p))
    while len(left):
        at = p[left] + radius[left, None] * inward[left]
        t = ((at[:, None] - start) * along).sum(axis=2) / size**2
        near = start + np.clip(t, 0.0, 1.0)[..., None] * along
        away = np.hypot(*np.moveaxis(at[:, None] - near, 2, 0))
        nearest = np.arange(len(left)), away.argmin(axis=1)
        inside = away[nearest] < radius[left] * (1.0 - 1e-9) - 1e-10
        left, found = left[inside], near[nearest][inside]
        between[left] = ((t[nearest] > 1e-3) & (t[nearest] < 1.0 - 1e-3))[inside]
        q[left] = found
        to = found - p[left]
        depth = np.maximum((to * inward[left]).sum(axis=1), 1e-15)
        radius[left] = np.minimum((to * to).sum(axis=1) / (2.0 * depth), radius[left])
    return Largest(p, radius, p + radius[:, None] * inward, q, between)


def residues(polygon: shapely.Geometry, width: float, chord: float) -> list[shapely.Geometry]:
    """What an opening by a disc a little thinner than `width` takes away and what joins two
    stretches of the outline."""
    w = width - 3.0 * chord
    opened = polygon.buffer(-w / 2.0, quad_segs=32)
    opened = opened.buffer(w / 2.0 + chord / 4.0, quad_segs=32)
    outline = polygon.boundary.buffer(chord / 1000.0)
    found = []
    for part in shapely.get_parts(polygon.difference(opened)):
        if part.area > chord * chord:
            cuts = shapely.line_merge(part.boundary.difference(outline))
            if sum(cut.length > chord / 10.0 for cut in shapely.get_parts(cuts)) >= 2:
                found.append(part)
    return found


def saddles(
    arrangement: Arrangement, width: float, solid: bool, grain: float = 1e-4
) -> list[Saddle]:
    """Saddles of the medial radius of the solid (or the void) up to `width`, by pyvoronoi.
    Coordinates are rounded to `grain` mm."""
    import pyvoronoi

    xy = np.round((arrangement.xy - arrangement.xy.mean(axis=0)) / grain).astype(np.int64)
    centre = arrangement.xy.mean(axis=0)
    first = arrangement.first
    following = np.arange(1, len(xy) + 1)
    following[first[1:] - 1] = first[:-1]
    keep = (xy != xy[following]).any(axis=1)
    start, end = xy[keep], xy[following[keep]]
    # a line that two faces share is there twice
    turned = (start[:, 0] > end[:, 0]) | ((start[:, 0] == end[:, 0]) & (start[:, 1] > end[:, 1]))
    both = np.where(turned[:, None], np.hstack((end, start)), np.hstack((start, end)))
    _, once = np.unique(both, axis=0, return_index=True)
    start, end = start[once], end[once]
    # a frame far outside, so that no edge of the diagram that matters is endless
    far = np.ceil(10.0 * width / grain)
    (x0, y0), (x1, y1) = (xy.min(axis=0) - far).astype(int), (xy.max(axis=0) + far).astype(int)
    frame = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    start = np.concatenate((start, frame))
    end = np.concatenate((end, np.roll(frame, -1, axis=0)))
    diagram = pyvoronoi.Pyvoronoi(1)
    for a, b in zip(start.tolist(), end.tolist(), strict=True):
        diagram.AddSegment([a, b])
    diagram.Construct()
    vertices = np.array([(v.X, v.Y) for v in diagram.GetVertices()]).reshape(-1, 2)
    cells = diagram.GetCells()
    found = []
    for number, edge in enumerate(diagram.GetEdges()):
        if number > edge.twin or not edge.is_primary or edge.start < 0 or edge.end < 0:
            continue
        one, other = cells[edge.cell], cells[diagram.GetEdge(edge.twin).cell]
        saddle = _saddle(
            _site(one, start, end),
            _site(other, start, end),
            vertices[edge.start],
            vertices[edge.end],
        )
        if saddle is not None and 0.0 < saddle.width * grain <= width:
            x, y = np.array(saddle.at) * grain + centre
            found.append(Saddle(saddle.width * grain, (float(x), float(y))))
    if not found:
        return []
    inside = _inside(arrangement, np.array([s.at for s in found]))
    return [s for s, within in zip(found, inside, strict=True) if within == solid]


def _site(cell: Any, start: NDArray[np.int64], end: NDArray[np.int64]) -> tuple[Array, Array]:
    """The two ends of a cell's segment; twice the same for an end of a segment."""
    a, b = start[cell.site].astype(float), end[cell.site].astype(float)
    if not cell.contains_point:
        return a, b
    # source category 1: the start, 2: the end of the segment (Boost.Polygon)
    return (a, a) if cell.source_category == 1 else (b, b)


def _saddle(
    one: tuple[Array, Array], other: tuple[Array, Array], v: Array, w: Array
) -> Saddle | None:
    """The saddle on the Voronoi edge from v to w between two sites, if there is one."""
    for (a, b), (c, d) in ((one, other), (other, one)):
        if (c == d).all() and not (a == b).all():
            along = (b - a) / np.hypot(*(b - a))
            foot = a + ((c - a) @ along) * along
            ends = sorted([(v - c) @ along, (w - c) @ along])
            if ends[0] <= 0.0 <= ends[1] and (foot != c).any():
                x, y = (foot + c) / 2.0
                return Saddle(float(np.hypot(*(c - foot))), (x, y))
            return None
    (a, b), (c, d) = one, other
    if (a == b).all():
        along = np.array([-(c - a)[1], (c - a)[0]])
        middle = (a + c) / 2.0
        if ((v - middle) @ along) * ((w - middle) @ along) <= 0.0:
            return Saddle(float(np.hypot(*(c - a))), tuple(middle))
        return None
    along = (b - a) / np.hypot(*(b - a))
    normal = np.array([-along[1], along[0]])
    radius = abs((v - a) @ normal), abs((w - a) @ normal)
    if abs(normal @ (d - c)) <= 1e-4 * np.hypot(*(d - c)):  # parallel: as wide all along
        x, y = (v + w) / 2.0
        return Saddle(2.0 * float(min(radius)), (x, y))
    return None


def _inside(arrangement: Arrangement, points: Array) -> NDArray[np.bool_]:
    rings = [shapely.LinearRing(r) for r in np.split(arrangement.xy, arrangement.first[1:-1])]
    holes: dict[int, list[Any]] = {}
    for ring, face, outer in zip(rings, arrangement.face, arrangement.outer, strict=True):
        holes.setdefault(int(face), []).insert(0 if outer else len(holes.get(int(face), [])), ring)
    faces = [shapely.Polygon(parts[0], parts[1:]) for parts in holes.values()]
    tree = shapely.STRtree(faces)
    hit = np.zeros(len(points), bool)
    hit[tree.query(shapely.points(points), "intersects")[0]] = True
    return hit


def raster_width(polygon: shapely.Geometry, at: tuple[float, float], pixel: float) -> float:
    """Twice the distance to the outline at a place, from a picture of its surroundings."""
    from scipy.ndimage import distance_transform_edt
    from skimage.draw import polygon2mask

    half = 60
    origin = np.array(at) - half * pixel
    shape = (2 * half + 1, 2 * half + 1)
    mask = np.zeros(shape, bool)
    for part in shapely.get_parts(polygon):
        one = np.zeros(shape, bool)
        for k, ring in enumerate((part.exterior, *part.interiors)):
            drawn = polygon2mask(shape, (np.asarray(ring.coords) - origin) / pixel)
            one = one | drawn if k == 0 else one & ~drawn
        mask |= one
    solid = mask[half, half]
    away = distance_transform_edt(mask if solid else ~mask)
    return 2.0 * float(away[half, half]) * pixel
