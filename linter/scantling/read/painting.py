"""What a shape is painted with: fill, stroke, dashes, and remarks on what has no colour."""

from __future__ import annotations

from scantling.read.cascade import Style
from scantling.read.drawing import Colour, Paint
from scantling.read.flatten import outline_length
from scantling.read.lengths import parse_number, pixels
from scantling.read.markup import Markup
from scantling.read.paints import PaintWord
from scantling.read.pathdata import Outline
from scantling.read.remarks import Remarks, short
from scantling.read.transforms import Matrix, scale_of
from scantling.read.tree import Node
from scantling.read.values import Values
from scantling.records import NamedTuple

SERVERS = frozenset({"linearGradient", "radialGradient", "pattern", "meshgradient", "hatch"})
_MARKED = frozenset({"path", "line", "polyline", "polygon"})


class Stroke(NamedTuple):
    """A stroke on the page; `paint` is None where nothing is stroked. Lengths in page pixels at
    the geometric mean scale."""

    paint: Paint | None
    width: float = 0.0
    dashes: tuple[float, ...] = ()
    dash_offset: float = 0.0


_UNSTROKED = Stroke(None)


class Painter:
    """What an element is painted with: its fill, its stroke, and what is remarked of both."""

    def __init__(self, remarks: Remarks, values: Values, markup: Markup) -> None:
        self.remarks = remarks
        self.values = values
        self.markup = markup

    def fill(self, node: Node, style: Style) -> Paint | None:
        return self._paint(node, style, "fill", style.fill_opacity)

    def stroke(
        self,
        node: Node,
        style: Style,
        sizes: tuple[float, float],
        matrix: Matrix,
        thin: bool,
        outline: Outline,
    ) -> Stroke:
        """The stroke of an element. `thin`: its width does not scale (vector-effect)."""
        if style.stroke.kind == "none":
            return _UNSTROKED
        paint = self._paint(node, style, "stroke", style.stroke_opacity)
        if paint is None:
            return _UNSTROKED
        relative = self.values.sizes(sizes, style)
        scale = 1.0 if thin else scale_of(matrix)
        width = pixels(style.stroke_width, relative, "both") * scale
        if width <= 0.0:
            return _UNSTROKED
        if not style.dashes:
            return Stroke(paint, width)
        scale *= self._stretch(node, outline)
        dashes = tuple(pixels(dash, relative, "both") * scale for dash in style.dashes)
        if sum(dashes) <= 0.0:
            return Stroke(paint, width)
        at = style.origins.get("dashes", node)
        self.remarks.say(
            at,
            "effect",
            "stroke-dasharray",
            "dashes are seen, but the whole line is followed",
            "stroke-dasharray",
        )
        return Stroke(paint, width, dashes, pixels(style.dash_offset, relative, "both") * scale)

    def markers(self, node: Node, style: Style) -> None:
        """Remark the markers of a shape."""
        if node.tag not in _MARKED:
            return
        for slot in ("marker_start", "marker_mid", "marker_end"):
            href = getattr(style, slot)
            if not href:
                continue
            at = style.origins.get(slot, node)
            name = slot.replace("_", "-")
            target = self.markup.target(href)
            if target is None or target.tag != "marker":
                self.remarks.broken(at, name, href, f"{name} refers to")
            else:
                self.remarks.say(
                    at,
                    "effect",
                    name,
                    f"{name} {short(href)} is seen, but it is not a line of the drawing",
                    name,
                )

    def _paint(self, node: Node, style: Style, name: str, opacity: float) -> Paint | None:
        word: PaintWord = getattr(style, name)
        if word.kind == "colour":
            return _with_alpha(word.colour, opacity)
        if word.kind == "current":
            return _with_alpha(style.color, opacity)
        if word.kind == "server":
            return self._served(node, style, name, word, opacity)
        return None  # none; and outside a marker there is no context to take a paint from

    def _served(
        self, node: Node, style: Style, name: str, word: PaintWord, opacity: float
    ) -> Paint | None:
        """A gradient or pattern, or the fallback where there is none of that id."""
        at = style.origins.get(name, node)
        colour = style.color if word.fallback == "current" else word.colour
        if colour is not None and colour.alpha == 0.0:
            colour = None  # `url(#g) transparent` gives nothing to fall back on
        target = self.markup.target(word.server)
        if target is None or target.tag not in SERVERS:
            self.remarks.broken(at, name, word.server, f"{name} refers to")
            return _with_alpha(colour, opacity)
        self.remarks.say(
            at,
            "effect",
            name,
            f"{name} with {target.tag} {short(word.server)} is seen, but has no colour to assign",
            name,
        )
        return Paint(colour, word.server[1:]) if opacity else None

    def _stretch(self, node: Node, outline: Outline) -> float:
        """How many times longer a shape is than its author says (`pathLength`): dashes are
        measured in the author's length."""
        text = node.attrib.get("pathLength")
        if text is None:
            return 1.0
        said = parse_number(text, 0.0)
        if said is None:
            self.remarks.complain(node, "pathLength", text)
        return outline_length(outline) / said if said else 1.0


def _with_alpha(colour: Colour | None, opacity: float) -> Paint | None:
    """A paint, or None where it is fully transparent."""
    if colour is None:
        return None
    alpha = colour.alpha * opacity
    if alpha == 0.0:
        return None
    return Paint(colour if opacity == 1.0 else colour._replace(alpha=alpha))
