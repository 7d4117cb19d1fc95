"""What the measuring room hands on: facts of a sheet, without any judgement.

All lengths mm, areas mm², angles degrees. Points are (2,) float64 in page coordinates at
finished size, y down. No fact knows a threshold beyond the sheet's search reach.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on a sheet's lines: contour and segment say which element drew it."""

    at: tuple[float, float]
    contour: int
    """index into Lines.first / shape / operation"""
    segment: int
    """index into Drawing.curves; -1 where not known"""


@dataclass(frozen=True, slots=True)
class OpenEnd:
    """A chain of cut lines that does not close after joining.

    start, end   its two loose ends; `gap` the distance between them, or from the loose end to
                 the nearest other loose end, whichever is the smaller
    length       of the chain
    touches      for each end, True where it lies on another line or on ends already joined:
                 such a line divides what it touches, and is not open there
    """

    start: Spot
    end: Spot
    gap: float
    length: float
    contours: tuple[int, ...]
    touches: tuple[bool, bool] = (False, False)


@dataclass(frozen=True, slots=True)
class Overlap:
    """Two runs of line on top of each other, of one operation.

    length   the doubled length; `run` its polyline (k, 2); `first` and `second` where the
             earlier and the later line run (in drawing order), in the middle of that
    runs     all of its polylines, where two outlines run together in several places or the
             line is drawn in several elements; `run` is the longest
    """

    first: Spot
    second: Spot
    length: float
    run: Array
    runs: tuple[Array, ...] = ()


@dataclass(frozen=True, slots=True)
class Crossing:
    """A point where cut lines cross. `own` is True where one outline crosses itself."""

    first: Spot
    second: Spot
    own: bool


@dataclass(frozen=True, slots=True)
class Piece:
    """A face of the arrangement of a sheet's cut lines.

    number     within the sheet, in reading order (1, 2, …)
    kept       True for a part, False for a drop-out
    polygon    shapely Polygon, drawn size (before kerf)
    sides      longer and shorter side of the least enclosing rectangle, drawn
    area       drawn
    outer      contour index of its outline's first line; `holes` those of its inner outlines
    name       element id, layer or tag, and number where several share it
    """

    number: int
    kept: bool
    polygon: object
    sides: tuple[float, float]
    area: float
    centre: tuple[float, float]
    outer: Spot
    contours: tuple[int, ...]
    name: str


@dataclass(frozen=True, slots=True)
class Narrow:
    """One connected thin place of a web or a gap.

    width    the least local width (drawn); `at` the middle of the disc there; `p` and `q` the
             two touching points
    kind     'neck', 'limb', 'bridge', 'wall' or 'tip'
    length   how long it stays below the sheet's reach, along its middle
    path     (k, 2) middle points along it, for pictures
    widths   (k,) local width at each of them, so that a rule can say how long it is thinner
             than its own minimum
    piece    number of the piece it belongs to (webs), 0 for gaps between pieces
    """

    width: float
    at: tuple[float, float]
    p: Spot
    q: Spot
    kind: str
    length: float
    path: Array
    widths: Array
    piece: int

    def length_below(self, width: float) -> float:
        """How long the place is thinner than `width`, along its path, in mm."""
        if len(self.path) < 2:
            return 0.0
        steps = np.hypot(*np.diff(self.path, axis=0).T)
        a, b = self.widths[:-1], self.widths[1:]
        low, high = np.minimum(a, b), np.maximum(a, b)
        share = np.clip((width - low) / np.where(high > low, high - low, 1.0), 0.0, 1.0)
        share = np.where(high > low, share, low < width)
        return float((steps * share).sum())


@dataclass(frozen=True, slots=True)
class Hole:
    """An inner outline: the diameter of the largest disc that it holds, and where."""

    diameter: float
    at: tuple[float, float]
    spot: Spot
    area: float
    piece: int
    """number of the part that it is a hole of"""


@dataclass(frozen=True, slots=True)
class ThinStroke:
    """A scored or engraved line, or engraved area, and its least width on the sheet."""

    width: float
    at: tuple[float, float]
    spot: Spot
    length: float
    operation: str


@dataclass(frozen=True, slots=True)
class Arrangement:
    """The solid faces of a sheet's cut lines as clean rings: closed, no crossing within or
    between rings, no edge of zero length. n edges in r rings; edge i runs from xy[i] to the next
    point of its ring, the last one back to the first.

    xy       (n, 2)
    first    (r+1,)  ring k is points first[k]:first[k+1]
    face     (r,)    index into `pieces` order of the solid face that the ring bounds; each face
                     has one outer ring and any number of inner ones, the outer first
    outer    (r,)    True for a face's outer ring
    Solid lies on the left of every edge in the sense of a positive shoelace sum: outer rings have
    a positive signed area in (x, y) as given, inner ones a negative.
    contour, segment  (n,)  where each edge comes from: index into Lines.first, into
                     Drawing.curves
    edge     (n,)    index of the same edge in Lines (the point it starts from in drawing order),
                     -1 where noding has cut it
    noded    True where lines crossed or ran together and had to be noded
    """

    xy: Array
    first: NDArray[np.int64]
    face: NDArray[np.int64]
    outer: NDArray[np.bool_]
    contour: NDArray[np.int64]
    segment: NDArray[np.int64]
    edge: NDArray[np.int64]
    noded: bool
