"""Where live text stands: its starting point, and about how much room it takes.

What is written gives the start of each line exactly (SVG 2, section 11.4: `x`, `y`, `dx`, `dy`, of
a list the first, handed down through `tspan`). How far the letters reach is known only to the font,
which a drawing does not hold, so that is estimated from the font size.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import field

from scantling.late import pattern
from scantling.read.cascade import Style
from scantling.read.lengths import parse_length, pixels
from scantling.read.others import frame_of, on_page
from scantling.read.remarks import Frame, Point, Remarks, quoted, short
from scantling.read.transforms import Matrix, apply
from scantling.read.tree import Node
from scantling.read.values import Values
from scantling.records import dataclass

ADVANCE = 0.55
"""Ems that a letter takes along its line; common practice, no source: half an em for most."""
ASCENT, DESCENT = 0.8, 0.2
"""Ems above and below the line that letters stand on; common practice, no source."""

Styled = Callable[[Node, Style], Style]
Follow = Callable[[Node], tuple[Point, Frame] | None]

_SEPARATOR = pattern(r"[\s,]+")


def remark_text(
    remarks: Remarks,
    node: Node,
    style: Style,
    spot: Point | None,
    frames: tuple[Frame, ...],
    hidden: str,
) -> None:
    """Say that an element holds text, where it stands and, if it is not seen, that. `hidden`: why,
    in the words of Shape.hidden."""
    words = remarks.words(node)
    if words:
        font = f" in {short(style.font_family)}" if style.font_family else ""
        what = "not seen" if hidden else "not converted to outlines"
        message = f"text {quoted(words)}{font} is {what}"
        remarks.say(node, "text", words, message, spot=spot, frames=frames, hidden=hidden)
    elif node.tag == "foreignObject" and not hidden:
        message = "foreignObject is not read: it holds no SVG shapes"
        remarks.say(node, "effect", node.tag, message, spot=spot, frames=frames)


@dataclass(slots=True)
class Line:
    """Letters between one starting point and the next, in pixels of the user space."""

    x: float
    y: float
    anchor: str = "start"
    wide: float = 0.0
    top: float = 0.0
    bottom: float = 0.0
    letters: int = 0
    path: Frame | None = None
    """Corners of the room that the path takes which the letters follow, if they follow one."""

    def take(self, letters: int, size: float, wide: float | None, anchor: str) -> None:
        """Put letters of a font size on it; `wide` where their room is written."""
        if not self.letters:
            self.anchor = anchor
        self.letters += letters
        self.wide += letters * ADVANCE * size if wide is None else wide
        self.top, self.bottom = max(self.top, ASCENT * size), max(self.bottom, DESCENT * size)

    def frame(self) -> Frame:
        """The corners of the room that it takes, from the start of its letters."""
        if self.path is not None:
            (x0, y0), _, (x1, y1), _ = self.path
            out = self.top
            return frame_of(x0 - out, y0 - out, x1 - x0 + 2 * out, y1 - y0 + 2 * out)
        x = self.x - self.wide * {"middle": 0.5, "end": 1.0}.get(self.anchor, 0.0)
        return frame_of(x, self.y - self.top, self.wide, self.top + self.bottom)


@dataclass(slots=True)
class Lettering:
    """The lines of one text element.

    sizes     of the viewport, for percentages
    styled    the style of an element inside, from that of the one around it
    follow    the start and the room of the path that a textPath names, in the text's user space;
              None where there is no such path: then its letters are not drawn
    """

    values: Values
    sizes: tuple[float, float]
    styled: Styled
    follow: Follow
    lines: list[Line] = field(default_factory=list)

    def place(
        self, text: Node, style: Style, matrix: Matrix
    ) -> tuple[Point | None, tuple[Frame, ...]]:
        """Where a text element starts on the page, and the corners of the room that each of its
        lines takes there."""
        lines = self.read(text, style)
        spot = apply(matrix, lines[0].x, lines[0].y) if lines else None
        return spot, tuple(on_page(matrix, line.frame()) for line in lines)

    def read(self, text: Node, style: Style) -> list[Line]:
        """Each line with letters in it, in the order written. `style` is the text's own."""
        self.lines = [Line(0.0, 0.0)]
        stack = [(text, style)]
        while stack:
            node, own = stack.pop()
            if node.tag not in ("text", "tspan", "textPath", "a", "tref"):
                continue
            if node is not text:
                own = self.styled(node, own)
            if node.tag == "textPath":
                found = self.follow(node)
                if found is None:
                    continue
                self.lines.append(Line(*found[0], path=found[1]))
            else:
                self._start(node, own)
            letters = len(" ".join(node.text.split()))
            if letters:
                wide = self._length(node, "textLength", own, "x")
                self.lines[-1].take(letters, own.font_size, wide, own.text_anchor)
            stack += [(child, own) for child in reversed(node.children)]
        return [line for line in self.lines if line.letters]

    def _start(self, node: Node, style: Style) -> None:
        """Begin a new line where an element says where its letters stand."""
        x, y, dx, dy = (
            self._length(node, name, style, name[-1]) for name in ("x", "y", "dx", "dy")
        )
        if x is y is dx is dy is None:
            return
        last = self.lines[-1]
        x = last.x + last.wide if x is None else x
        self.lines.append(Line(x + (dx or 0.0), (last.y if y is None else y) + (dy or 0.0)))

    def _length(self, node: Node, name: str, style: Style, along: str) -> float | None:
        """The first of an attribute's lengths; None where there is none that can be read."""
        written = _SEPARATOR.split(node.attrib.get(name, "").strip())[0]
        length = parse_length(written) if written else None
        return (
            None if length is None else pixels(length, self.values.sizes(self.sizes, style), along)
        )
