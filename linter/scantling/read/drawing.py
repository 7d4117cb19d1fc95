"""The drawing as read: what the reading room hands to the rooms behind it.

Coordinates are CSS pixels of the page (96 px = 25.4 mm), x to the right, y down, origin at
the page's top left, every transform already applied. Curves stay exact here; `read.flatten`
turns them into points once the plan knows the finished size.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import field
from typing import TYPE_CHECKING

import numpy as np

from scantling.late import pattern
from scantling.read.limits import Limits
from scantling.records import NamedTuple, dataclass

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scantling.read.source import Source
    from scantling.read.tree import Node

MM_PER_PX = 25.4 / 96.0
"""CSS Values and Units 4, section 6.2: 1in = 96px = 2.54cm exactly."""

LINE, CUBIC, ARC = 0, 1, 2
"""Kinds of segment. Quadratics are raised to cubics, which is exact."""


class Colour(NamedTuple):
    """sRGB as computed by CSS: red, green, blue in 0..255 (whole), alpha in 0..1."""

    red: int
    green: int
    blue: int
    alpha: float = 1.0

    @property
    def hex(self) -> str:
        """The colour without its alpha as `#rrggbb`."""
        return f"#{self.red:02x}{self.green:02x}{self.blue:02x}"


@dataclass(frozen=True, slots=True)
class Curves:
    """All outlines of a drawing as one structure of arrays: n segments in m contours.

    kind      (n,)    LINE, CUBIC or ARC
    data      (n, 8)  LINE: x0 y0 x1 y1, rest 0. CUBIC: x0 y0 x1 y1 x2 y2 x3 y3.
                      ARC: cx cy ux uy vx vy t0 t1; point(t) = c + u cos t + v sin t
    first     (m+1,)  contour k is segments first[k]:first[k+1]; a contour of one bare moveto
                      is one LINE of no length, or none where it stays where the contour
                      before has ended
    closed    (m,)    True where the contour is closed by the drawing (Z, or a closed basic
                      shape); the closing line, if it has a length, is a segment of its own
    shape     (m,)    index into Drawing.shapes
    ordinal   (n,)    number of the segment within its element's path data, counted over the
                      commands as written (`read.locate` turns it into a place in `d`);
                      for polylines and polygons the number of the point that a
                      line ends in; -1 where the element has no such data
    """

    kind: NDArray[np.int8]
    data: NDArray[np.float64]
    first: NDArray[np.int64]
    closed: NDArray[np.bool_]
    shape: NDArray[np.int64]
    ordinal: NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Paint:
    """What a fill or a stroke is painted with. `server` is the id of a gradient or pattern
    (then `colour` is the fallback, if the drawing gives one). What is fully transparent is no
    paint, and no fallback."""

    colour: Colour | None
    server: str = ""


_NUMBERED = pattern(r"(?:cls-|st|fil|str)[0-9]+")
"""Classes as programs number them for their style sheets."""


def called(names: Sequence[str]) -> str:
    """What a person calls a layer, of all that it is called; '' where only programs do."""
    return next((name for name in names if not _NUMBERED.fullmatch(name)), "")


UNRENDERED = frozenset({"display", "visibility", "condition", "transform", "viewport"})
"""Values of Shape.hidden: of what is not rendered wherever it lies and however it is painted."""


@dataclass(slots=True)
class Shape:
    """One painted (or hidden) shape on the page, after `use` is followed.

    fill, stroke      None where nothing is painted: the property computes to `none`, the colour is
                      wholly transparent, the stroke has no width
    stroke_width      pixels of the page, at the geometric mean scale of the transform
    matrix            (a b c d e f) from the element's user space to the page, for strokes that
                      a skewed transform deforms
    hidden            '' or why it is not seen: 'display', 'visibility', 'opacity', 'no paint',
                      'clipped', 'condition' (a switch or language leaves it out), 'transform' (that
                      leaves nothing of it), 'viewport' (that has no size)
    layer             what a person calls the innermost group around it that has a name
    layers            names of the groups around it, outermost first; a group has several when
                      it has several kinds of name (label, title, id, classes, in this order). The
                      last entry is the element's own label, title and classes, if it has any
    uses              the `use` elements it came through, outermost first
    """

    index: int
    node: Node
    contours: range
    fill: Paint | None
    stroke: Paint | None
    stroke_width: float
    fill_rule: str = "nonzero"
    matrix: tuple[float, float, float, float, float, float] = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    linecap: str = "butt"
    linejoin: str = "miter"
    miterlimit: float = 4.0
    dashes: tuple[float, ...] = ()
    dash_offset: float = 0.0
    non_scaling_stroke: bool = False
    paint_order: str = "normal"
    opacity: float = 1.0
    hidden: str = ""
    layer: str = ""
    layers: tuple[tuple[str, ...], ...] = ()
    uses: tuple[Node, ...] = ()

    @property
    def name(self) -> str:
        """What a person calls it: its id, else the innermost named layer, else its tag."""
        if self.node.id:
            return self.node.id
        for use in reversed(self.uses):
            if use.id:
                return use.id
        return next(filter(None, map(called, reversed(self.layers))), self.node.tag)

    def around(self) -> Iterator[Node]:
        """Its element, those it came through, and all that they are in."""
        for node in (self.node, *self.uses):
            within: Node | None = node
            while within is not None:
                yield within
                within = within.parent


@dataclass(frozen=True, slots=True)
class Remark:
    """Something in the drawing that is not geometry, or that could not be read as it stands.

    kind: 'text', 'bitmap', 'reference' (missing or outside), 'effect' (clip, mask, filter,
    gradient, pattern, marker, dashes, …), 'value' (unreadable, and what was used instead).
    `word` is the short subject ('clip-path', 'stroke-width', the words of a text, the href);
    `offset` points at the very character in the text where it is known, else -1.
    `spot` is where it is on the page, where it has a place of its own, in pixels; `frames` are
    the corners of the room that it takes there, of lettering an estimate. `hidden` is why a text
    or a picture is not seen, in the words of Shape.hidden.
    """

    kind: str
    node: Node
    word: str
    message: str
    offset: int = -1
    spot: tuple[float, float] | None = None
    frames: tuple[tuple[tuple[float, float], ...], ...] = ()
    hidden: str = ""


STYLED, PASSED_OVER = "styled", "passed over"


@dataclass(frozen=True, slots=True)
class Page:
    """The outermost svg's size in pixels. `real` is True when its width or height was written
    in a unit of length that exists outside a screen (mm, cm, Q, in, pt, pc). `style` says what
    became of such a size in its `style` attribute: '', there is none, or it says the same as its
    width and height; STYLED, it is the size; PASSED_OVER, they say another."""

    width: float
    height: float
    real: bool
    node: Node
    style: str = ""


@dataclass(slots=True)
class Drawing:
    """One SVG file as read. `limits` are those that it was read by; measuring keeps to them."""

    source: Source
    page: Page
    root: Node
    shapes: list[Shape] = field(default_factory=list)
    curves: Curves = None  # type: ignore[assignment]
    remarks: list[Remark] = field(default_factory=list)
    limits: Limits = field(default_factory=Limits)
