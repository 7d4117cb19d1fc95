"""Characters and lines of text, as far as outlines tell: which parts belong together, and how
thick their strokes are.

Text is taken to run along x, upright on the page. Nothing here knows one letter from another;
what is told apart is tall parts, low ones (marks: dots, accents, hyphens, quotes), plain upright
bars and round rings.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.measure.distinct import distinct
from scantling.measure.groups import connected
from scantling.records import dataclass

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scantling.arrays import Array


MARK = 0.4
"""A part no higher than this share of the line is a mark."""
BESIDE = 0.35
"""Marks are no farther above or below the line than this share of its height."""
LOWER = 0.7
"""A part above another is the same character's if it is no higher than this share of it."""
TYPICAL = 0.75
"""Share of the outline, by length, along which a character is no wider than its stroke. Own
measurement on capitals and digits of DejaVu Sans and Liberation Sans, regular and bold: the stroke
so found is that of the font's own I within 4 % above and 18 % below, on average 2 to 5 % below,
and a quarter of the characters have it within 0.5 % or more. The largest disc inside a letter,
which sits where strokes meet, is up to 35 % wider."""


@dataclass(frozen=True, slots=True)
class Character:
    """The parts of one character, the largest first, and whether it is only a mark."""

    parts: tuple[int, ...]
    mark: bool


def text_lines(boxes: Array) -> list[tuple[Character, ...]]:
    """The lines of text that parts make, from the top; each line's characters from the left.

    boxes   (n, 4) x0 y0 x1 y1 of the parts, y down

    Parts of like height side by side make a line. Low ones near a line are its marks; what
    overlaps another part of the line in x and is clearly lower belongs to the same character,
    as do marks above each other and twin marks side by side.
    """
    if not len(boxes):
        return []
    row = _rows(boxes)
    lines = [np.flatnonzero(row == k) for k in distinct(row)]
    lines.sort(key=lambda parts: (boxes[parts, 1].min(), boxes[parts, 0].min()))
    return [_characters(boxes, parts) for parts in lines]


def _rows(boxes: Array) -> NDArray[np.int64]:
    """(n,) the row of each part."""
    n = len(boxes)
    x0, y0, x1, y1 = boxes.T
    height = y1 - y0
    low, high = np.minimum.outer(height, height), np.maximum.outer(height, height)
    overlap = np.minimum.outer(y1, y1) - np.maximum.outer(y0, y0)
    gap = np.maximum.outer(x0, x0) - np.minimum.outer(x1, x1)
    alike = (overlap >= low / 3.0) & (MARK * high < low) & (gap <= 2.0 * high)
    a, b = np.nonzero(np.triu(alike, 1))
    row = connected(n, a, b)
    # rows of a few low parts go to the nearest line that they can be marks of
    top = np.full(n, np.inf)
    bottom, tall = np.full(n, -np.inf), np.zeros(n)
    np.minimum.at(top, row, y0)
    np.maximum.at(bottom, row, y1)
    np.maximum.at(tall, row, height)
    few = np.bincount(row, minlength=n)[row] <= 4
    host = tall[row]
    away = np.maximum(np.maximum(top[row] - y1[:, None], y0[:, None] - bottom[row]), 0.0)
    fitting = (
        few[:, None] & (tall[row][:, None] <= MARK * host) & (away <= BESIDE * host) & (gap <= host)
    )
    distance = np.where(fitting, np.hypot(away, np.maximum(gap, 0.0)), np.inf)
    nearest = distance.argmin(axis=1)
    takes = np.isfinite(distance[np.arange(n), nearest])
    return np.where(takes, row[nearest], row)


def _characters(boxes: Array, parts: NDArray[np.int64]) -> tuple[Character, ...]:
    """The characters of one line."""
    x0, y0, x1, y1 = boxes[parts].T
    height, width = y1 - y0, x1 - x0
    mark = height <= MARK * height.max()
    low, high = np.minimum.outer(height, height), np.maximum.outer(height, height)
    gap = np.maximum.outer(x0, x0) - np.minimum.outer(x1, x1)
    above = gap <= -np.minimum.outer(width, width) / 2.0
    both = np.logical_and.outer(mark, mark)
    level = np.maximum(abs(np.subtract.outer(y0, y0)), abs(np.subtract.outer(y1, y1))) <= 0.1 * low
    twins = both & level & (gap <= low)
    a, b = np.nonzero(np.triu((above & ((low <= LOWER * high) | both)) | twins, 1))
    group = connected(len(parts), a, b)
    found = []
    for k in distinct(group):
        own = np.flatnonzero(group == k)
        own = own[np.argsort(-height[own] * width[own], kind="stable")]
        start = float(x0[own].min())
        found.append((start, Character(tuple(parts[own].tolist()), bool(mark[own].all()))))
    return tuple(character for _, character in sorted(found, key=lambda pair: pair[0]))


def capital_height(heights: Array) -> float:
    """The height of a line's capitals from those of its characters: the greatest height that
    a third of them share within 6 % (round letters overshoot, a tail or a bracket is taller)."""
    ordered = np.sort(heights)[::-1]
    enough = max(2.0, len(ordered) / 3.0)
    for height in ordered:
        alike = ordered[(ordered <= height) & (ordered >= 0.94 * height)]
        if len(alike) >= enough:
            return float(np.median(alike))
    return float(np.median(ordered))


def stroke_width(polygon: Any) -> tuple[float, tuple[float, float]]:
    """How thick a character's stroke is, and a place where it is so.

    At every place of the outline the local width is the diameter of the largest disc inside
    that touches there and no place across, where the outline runs back or aside; the stroke is
    the width that the outline has along TYPICAL of its length, to about 0.2 % by sampling.

    polygon   a shapely Polygon of some area
    """
    return _stroke_width(polygon.wkb)


@lru_cache(maxsize=4096)
def _stroke_width(wkb: bytes) -> tuple[float, tuple[float, float]]:
    import shapely

    polygon = shapely.from_wkb(wkb)
    at, normal = _samples(polygon, 240)
    other, other_normal = _samples(polygon, 960)
    across = normal @ other_normal.T < 0.1
    x, y = (np.subtract.outer(other[:, k], at[:, k]).T for k in (0, 1))
    ahead = x * normal[:, :1] + y * normal[:, 1:]
    with np.errstate(divide="ignore", invalid="ignore"):
        seen = across & (ahead > 1e-6 * polygon.length)
        disc = np.where(seen, (x * x + y * y) / (2.0 * ahead), np.inf)
    radius = disc.min(axis=1)
    there = int(np.argsort(radius, kind="stable")[int(TYPICAL * len(radius))])
    middle = at[there] + radius[there] * normal[there]
    return 2.0 * float(radius[there]), (float(middle[0]), float(middle[1]))


def _samples(polygon: Any, number: int) -> tuple[Array, Array]:
    """So many places spread evenly along a polygon's rings: (number, 2) where, and (number, 2)
    the unit normals into the solid."""
    from shapely.geometry.polygon import orient

    whole = orient(polygon)
    rings = [np.asarray(ring.coords)[:, :2] for ring in (whole.exterior, *whole.interiors)]
    start = np.concatenate([ring[:-1] for ring in rings])
    edge = np.concatenate([np.diff(ring, axis=0) for ring in rings])
    length = np.hypot(*edge.T)
    end = np.cumsum(length)
    along = (np.arange(number) + 0.5) * end[-1] / number
    which = np.minimum(np.searchsorted(end, along, side="right"), len(end) - 1)
    unit = edge[which] / length[which, None]
    at = start[which] + (along - end[which] + length[which])[:, None] * unit
    return at, np.stack((-unit[:, 1], unit[:, 0]), axis=1)


def is_bar(polygon: Any) -> bool:
    """Whether a character is a plain upright bar, as the I of a sans serif alphabet is."""
    x0, y0, x1, y1 = polygon.bounds
    wide, high = x1 - x0, y1 - y0
    return bool(not polygon.interiors and wide <= 0.4 * high and polygon.area >= 0.97 * wide * high)


def is_round(polygon: Any) -> bool:
    """Whether a character is one closed loop that is the same in a mirror, as O and 0 are."""
    import shapely
    from shapely.affinity import scale

    if len(polygon.interiors) != 1:
        return False
    outer, inner = shapely.Polygon(polygon.exterior), shapely.Polygon(polygon.interiors[0])
    convex = all(ring.area >= 0.985 * ring.convex_hull.area for ring in (outer, inner))
    x0, _, x1, _ = outer.bounds
    mirrored = scale(polygon, xfact=-1.0, origin=((x0 + x1) / 2.0, 0.0))
    turned = scale(polygon, yfact=-1.0, origin="center")
    return (
        convex
        and all(
            polygon.symmetric_difference(other).area <= 0.06 * polygon.area
            for other in (mirrored, turned)
        )
        and _swells(outer)
    )


def _swells(outer: Any) -> bool:
    """Whether an outline is rounder than a frame: it has no corners filled to its box."""
    x0, y0, x1, y1 = outer.bounds
    return bool(outer.area <= 0.97 * (x1 - x0) * (y1 - y0))
