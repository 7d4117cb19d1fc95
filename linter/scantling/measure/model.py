"""What the measuring room hands on: facts of a sheet, without any judgement.

All lengths mm, areas mm², angles degrees. Points are (2,) float64 in page coordinates at
finished size, y down. No fact knows a threshold beyond the sheet's search reach.
"""

from __future__ import annotations

from dataclasses import field, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.measure.distinct import distinct
from scantling.measure.groups import connected, spanning
from scantling.records import dataclass

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scantling.arrays import Array


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
    """Two runs of line on top of each other, of one operation, or a scored one on a cut one.

    length   the doubled length; `run` its polyline (k, 2); `first` and `second` where the
             earlier and the later line run (in drawing order), in the middle of that
    runs     all of its polylines, where two outlines run together in several places or the
             line is drawn in several elements; `run` is the longest
    stretches   their numbers in the fact `runs`, or `scored_runs`
    """

    first: Spot
    second: Spot
    length: float
    run: Array
    runs: tuple[Array, ...] = ()
    stretches: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Crossing:
    """A point where cut lines cross. `own` is True where one outline crosses itself."""

    first: Spot
    second: Spot
    own: bool


@dataclass(frozen=True, slots=True)
class Late:
    """Cuts that come in the drawing after the outline around them is closed.

    outer    that outline, where its last line begins
    inner    each of the cuts within it that come later, in drawing order
    piece    number of the piece that the outline bounds
    """

    outer: Spot
    inner: tuple[Spot, ...]
    piece: int


@dataclass(frozen=True, slots=True)
class Fragment:
    """A short line, or one of no length, that is joined to no other.

    length    along it, with its closing line
    extent    diagonal of the box around it
    closed    True where it is an outline: a tiny disc, say
    """

    spot: Spot
    length: float
    extent: float
    closed: bool
    operation: str
    contours: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Crowd:
    """A stretch of outline on which the drawing's nodes lie close together.

    start, end   Spots of its first and last node
    nodes        how many segments lie between them
    length       mm; `spacing` is length / nodes
    path         (k, 2) the stretch
    """

    start: Spot
    end: Spot
    nodes: int
    length: float
    spacing: float
    path: Array


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


def _no_discs() -> Any:
    return np.zeros((0, 2, 2), np.int64)


def _no_links() -> Any:
    return np.zeros((0, 2), np.int64)


def both_sides(at: Array, source: NDArray[np.int64]) -> tuple[Spot, Spot]:
    """The two touching points of a disc, (2, 2) their places and (2, 2) contour and segment: the
    one on the earlier line first."""
    one, other = (
        Spot((x, y), contour, segment)
        for (x, y), (contour, segment) in zip(at.tolist(), source.tolist(), strict=True)
    )
    earlier = (one.contour, one.segment) <= (other.contour, other.segment)
    return (one, other) if earlier else (other, one)


@dataclass(frozen=True, slots=True)
class Narrow:
    """One connected thin place of a web or a gap.

    width    the least local width (drawn); `at` the middle of the disc there; `p` and `q` the
             two touching points, the one on the earlier line first, however far was measured
    kind     'neck', 'limb', 'bridge' or 'wall'; a tip is a `Tip`
    length   how long it stays below the sheet's reach, along its middle
    path     (k, 2) middle points along it, from its left end (of two in a column, the upper)
    widths   (k,) local width at each of them, so that a rule can say how long it is thinner
             than its own minimum
    piece    number of the piece it belongs to (webs, and gaps between two places of one piece),
             0 for gaps between pieces
    sides    (k, 2, 2) the two touching points of each disc of the path
    source   (k, 2, 2) contour and segment of each touching point, as in `Spot`
    links    (k-1, 2) which discs of the path hang together, as indices into it: a tree, and the
             path itself (0 1, 1 2, …) where the place has no branches
    more     (f, 2) which others do besides where a narrow way round is longer than a wide one
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
    sides: Array = field(default_factory=_no_discs)
    source: NDArray[np.int64] = field(default_factory=_no_discs)
    links: NDArray[np.int64] = field(default_factory=_no_links)
    more: NDArray[np.int64] = field(default_factory=_no_links)

    def length_below(self, width: float) -> float:
        """How long the place is thinner than `width`, along its path, in mm."""
        return _length_below(self.path, self.widths, width, self.links)

    def lines(self) -> tuple[Array, ...]:
        """The path as polylines, one for each branch, for pictures."""
        joined = np.zeros(len(self.path), bool)
        low, high = self.links.min(axis=1), self.links.max(axis=1)
        joined[high[high == low + 1]] = True
        return tuple(np.split(self.path, np.flatnonzero(~joined)[1:]))

    def below(self, width: float) -> tuple[Narrow, ...]:
        """The places within this one that are thinner than `width`, narrowest first: what hangs
        together up to the reach may be several places by a smaller measure."""
        narrow = self.widths < width
        thin = narrow.nonzero()[0]
        if len(thin) == 0 or len(self.sides) == 0:
            return (self,) if self.width < width else ()
        kept = narrow[self.links].all(axis=1)
        # the links make a tree: what is left of it is one piece if no link of it is missing
        if len(thin) - np.count_nonzero(kept) == 1:
            return (self,) if len(thin) == len(narrow) else (self._part(thin),)
        number = np.full(len(narrow), -1)
        number[thin] = np.arange(len(thin))
        more = self.more[narrow[self.more].all(axis=1)]
        label = connected(len(thin), *number[np.concatenate((self.links[kept], more))].T)
        labels = distinct(label)
        parts = [self._part(thin[label == k]) for k in labels.tolist()]
        return tuple(sorted(parts, key=lambda part: (round(part.width, 6), part.at)))

    def _part(self, of: NDArray[np.int64]) -> Narrow:
        """The place made of some discs of the path (ascending)."""
        number = np.full(len(self.widths), -1)
        number[of] = np.arange(len(of))
        links, more = (
            ends[(ends >= 0).all(axis=1)] for ends in (number[self.links], number[self.more])
        )
        path, widths = self.path[of], self.widths[of]
        if len(links) < len(of) - 1:  # the way between them was a wide one
            links = np.concatenate((links, more))
            a, b = path[links[:, 0]].T, path[links[:, 1]].T
            links = links[np.argsort(np.hypot(*(a - b)), kind="stable")]
            links = links[spanning(len(of), *links.T)]
        least = least_of(path, widths, self.source[of])
        p, q = both_sides(self.sides[of[least]], self.source[of[least]])
        part = replace(
            self,
            width=float(widths[least]),
            at=(float(path[least, 0]), float(path[least, 1])),
            p=p,
            q=q,
            path=path,
            widths=widths,
            sides=self.sides[of],
            source=self.source[of],
            links=links,
            more=more,
        )
        length = part.length_below(np.inf)
        kind = self.kind
        if kind in ("neck", "bridge"):
            kind = neck_or_bridge(part.width, part.length_below(HELD * part.width))
        return replace(part, length=length, kind=kind)


HELD = 1.1
"""A web that stays within this many times its least width for more than twice that width is a
bridge, else a neck."""


def neck_or_bridge(width: float, held: float) -> str:
    """What to call a web between two bodies that holds its least width for so long."""
    return "neck" if held <= 2.0 * width else "bridge"


def least_of(path: Array, widths: Array, source: NDArray[np.int64]) -> int:
    """Index of the narrowest disc of a path; the one in the middle where it holds its width; of
    several there, at a corner that ends one line and begins the next, that on the earliest
    lines."""
    least = np.flatnonzero(widths <= widths.min() + 1e-6)
    if len(least) > 1:
        x, y = path[least].T
        dx, dy = x - (x.min() + x.max()) / 2.0, y - (y.min() + y.max()) / 2.0
        away = np.round((np.hypot(dx, dy), dx, dy), 6)
        contour, segment = source[least].transpose(2, 0, 1)
        side = np.lexsort((segment, contour))  # of each disc, the earlier line first
        lines = np.take_along_axis(source[least], side[..., None], axis=1).reshape(-1, 4)
        least = least[np.lexsort((*lines.T[::-1], *away[::-1]))]
    return int(least[0])


def _length_below(path: Array, widths: Array, width: float, links: NDArray[np.int64]) -> float:
    """How long a path is thinner than `width`; the width varies linearly along its links."""
    a, b = links[:, 0], links[:, 1]
    steps = np.hypot(*(path[a] - path[b]).T)
    low, high = np.minimum(widths[a], widths[b]), np.maximum(widths[a], widths[b])
    share = np.clip((width - low) / np.where(high > low, high - low, 1.0), 0.0, 1.0)
    share = np.where(high > low, share, low < width)
    return float((steps * share).sum())


def _one_by_one(k: int) -> NDArray[np.int64]:
    """Links of a path of k points without branches."""
    return np.stack((np.arange(k - 1), np.arange(1, k)), axis=1)


@dataclass(frozen=True, slots=True)
class Tip:
    """A dead end of the solid that keeps widening from its end: a sharp corner's taper.

    spot     its end; the corner itself where it is one
    angle    between its sides at the end, in degrees
    width    at the end: 0 at a corner, else the least local width of a blunt or rounded end
    path     (k, 2) middle points from the end on, up to the sheet's reach, to where it holds its
             width, or to its root
    widths   (k,) local width at each of them
    piece    number of the piece it belongs to
    """

    spot: Spot
    angle: float
    width: float
    path: Array
    widths: Array
    piece: int

    def length_below(self, width: float) -> float:
        """Thin length: how far along the taper its width stays below `width`, in mm."""
        return _length_below(self.path, self.widths, width, _one_by_one(len(self.path)))


@dataclass(frozen=True, slots=True)
class Limb:
    """A dead end of the solid, at the length where it is most slender for its width.

    spot     its end
    length   from its end, along its middle
    width    mean local width over that length
    piece    number of the piece it belongs to
    path     (k, 2) middle points from the end on
    taper    True where all of it keeps widening, and nothing of it holds its width
    """

    spot: Spot
    length: float
    width: float
    piece: int
    path: Array
    taper: bool


@dataclass(frozen=True, slots=True)
class InsideCorner:
    """A corner that is cut into the solid.

    angle    of the void in it, in degrees
    radius   of its rounding, 0 where it has none
    piece    number of the piece that it is cut into
    """

    spot: Spot
    angle: float
    radius: float
    piece: int


@dataclass(frozen=True, slots=True)
class Touch:
    """A point where two outlines, or two places of one, meet without crossing and without
    sharing a line: the solid, or the void, has no width there.

    first, second   the two places; piece: number of the piece that both belong to, else 0
    """

    first: Spot
    second: Spot
    piece: int


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
class Doubled:
    """An area that several engraved shapes cover, as far as it hangs together.

    polygon   shapely Polygon
    area      mm²
    times     how many shapes cover a place of it at the most
    contours  one of each shape that covers some of it, in drawing order
    """

    polygon: object
    area: float
    times: int
    contours: tuple[int, ...]


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
    slit     (n,)    True for edges along a slit (`pieces.slits`); None where there are none
    """

    xy: Array
    first: NDArray[np.int64]
    face: NDArray[np.int64]
    outer: NDArray[np.bool_]
    contour: NDArray[np.int64]
    segment: NDArray[np.int64]
    edge: NDArray[np.int64]
    noded: bool
    slit: NDArray[np.bool_] | None = None
