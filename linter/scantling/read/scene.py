"""From the document tree to what is drawn: the walk over elements, following `use`.

One loop over a stack, no recursion. Containers make a `Place`, which holds all that their
children inherit; shapes give their outlines to a `Canvas`, which puts every transform on at once
at the end.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, NamedTuple
from urllib.parse import unquote

from scantling.read import shapes
from scantling.read.canvas import Canvas
from scantling.read.cascade import NOTHING, Cascade, Declared, Style, inherit, initial_style
from scantling.read.drawing import Colour, Drawing, Page, Paint, Remark, Shape
from scantling.read.lengths import REAL_UNITS, Sizes, parse_length, parse_number, pixels
from scantling.read.limits import Limits
from scantling.read.locate import attribute_place, whole_range
from scantling.read.markup import Markup, read_markup
from scantling.read.paints import PaintWord
from scantling.read.pathdata import Outline, PathError, read_path
from scantling.read.properties import INHERIT, INITIAL
from scantling.read.source import Source, Unreadable
from scantling.read.transforms import (
    IDENTITY,
    Matrix,
    invert,
    multiply,
    resolve,
    scale_of,
)
from scantling.read.tree import XLINK, Node
from scantling.read.viewport import Ratio, ViewBox, fitted, parse_ratio, parse_viewbox

_SHAPES = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"})
_MARKED = frozenset({"path", "line", "polyline", "polygon"})
_GROUPS = frozenset({"g", "a", "switch", "svg", "use"})
_SERVERS = frozenset({"linearGradient", "radialGradient", "pattern", "meshgradient", "hatch"})
_SILENT = frozenset(
    {
        "defs", "symbol", "clipPath", "mask", "pattern", "marker", "linearGradient",
        "radialGradient", "filter", "style", "title", "desc", "metadata", "view", "cursor",
        "solidcolor", "solidColor", "meshgradient", "hatch", "font", "font-face", "color-profile",
    }
)  # fmt: skip
_TEXTS = frozenset({"text", "flowRoot"})
_MOVING = frozenset({"animate", "animateTransform", "animateMotion", "animateColor", "set"})
_FEATURES = ("requiredExtensions", "requiredFeatures", "systemLanguage")
_LANGUAGE = "en"


class Clip(NamedTuple):
    """A clip that things inside must fall into: a viewport's rectangle, or a clipPath."""

    matrix: Matrix
    box: tuple[float, float, float, float] | None
    node: Node
    above: Clip | None


class Chain(NamedTuple):
    """The elements that an element is drawn inside of, innermost first, through `use`."""

    node: Node
    above: Chain | None


class Place:
    """What children inherit from the container around them."""

    __slots__ = (
        "chain", "clip", "declared", "depth", "hidden", "layers", "matrix", "opacity", "sizes",
        "style", "uses",
    )  # fmt: skip

    matrix: Matrix
    style: Style
    sizes: tuple[float, float]
    opacity: float
    hidden: str
    layers: tuple[tuple[str, ...], ...]
    uses: tuple[Node, ...]
    chain: Chain | None
    clip: Clip | None
    declared: Declared
    depth: int

    def inside(
        self, node: Node, matrix: Matrix, style: Style, opacity: float, hidden: str
    ) -> Place:
        new = Place.__new__(Place)
        new.matrix = matrix
        new.style = style
        new.sizes = self.sizes
        new.opacity = opacity
        new.hidden = hidden
        names = names_of(node) if node.tag != "svg" or node.parent is not None else ()
        new.layers = (*self.layers, names) if names else self.layers
        new.uses = self.uses
        new.chain = Chain(node, self.chain)
        new.clip = self.clip
        new.declared = NOTHING
        new.depth = self.depth + 1
        return new


def read_drawing(source: Source, limits: Limits | None = None) -> Drawing:
    """Read a drawing: its page, its shapes with exact curves, and remarks on all that is not
    geometry or could not be read as it stands.

    Raises Unreadable, with line and column, for text that is not SVG and for drawings beyond
    the limits.
    """
    limits = limits or Limits()
    return _Scene(source, read_markup(source, limits), limits).read()


class _Scene:
    def __init__(self, source: Source, markup: Markup, limits: Limits) -> None:
        self.source = source
        self.markup = markup
        self.limits = limits
        self.root = markup.root
        self.remarks: list[Remark] = []
        self.said: set[tuple[int, str, str]] = set()
        self.canvas = Canvas(limits)
        self.shapes: list[Shape] = []
        self.outlines: dict[int, Outline | None] = {}
        self.count = 0
        self.measuring = False
        self.root_box: ViewBox | None = None

    # -- the whole -------------------------------------------------------------------------

    def read(self) -> Drawing:
        for target, data, offset in self.markup.instructions:
            if target == "xml-stylesheet":
                href = re.search(r"""href\s*=\s*["']([^"']*)""", data)
                word = href[1] if href else data
                self.say(
                    self.root,
                    "reference",
                    word,
                    f"the style sheet {_short(word)} is outside the drawing: it is not fetched",
                    offset,
                )
        root_style = initial_style()
        self.root_box = self._viewbox(self.root)
        self.page = page = self._page(root_style, self.root_box)
        matched = None
        if self.markup.sheets:
            from scantling.read.stylesheets import Screen, match_sheets

            screen = Screen(page.width, page.height)
            matched = match_sheets(self.root, self.markup.sheets, screen, self.limits, self.say)
        self.cascade = Cascade(matched, self._complain)
        self._draw([(self.root, self._top(root_style))])
        curves = self.canvas.curves(self._too_far)
        return Drawing(self.source, page, self.root, self.shapes, curves, self.remarks)

    def _page(self, style: Style, box: ViewBox | None) -> Page:
        """The outermost svg's size: as written; else by the view box, keeping its proportions;
        else 300 by 150 (CSS 2.2, section 10.3.2: replaced elements; CSS Images 3, section 4)."""
        root = self.root
        given: dict[str, float] = {}
        real = False
        sizes = Sizes(0.0, 0.0, style.font_size, style.font_size)
        for name in ("width", "height"):
            text = root.attrib.get(name)
            if text is None or text.strip().lower() == "auto":
                continue
            length = parse_length(text)
            if length is None or length.value < 0.0:
                self._complain(root, name, name, text)
            elif length.unit not in ("%", "vw", "vh", "vmin", "vmax"):
                given[name] = pixels(length, sizes, "x")
                real = real or length.written in REAL_UNITS
        width, height = given.get("width"), given.get("height")
        if box is not None and box.width and box.height:
            if width is None and height is None:
                width, height = box.width, box.height
            elif width is None and height is not None:
                width = height * box.width / box.height
            elif height is None and width is not None:
                height = width * box.height / box.width
        return Page(
            300.0 if width is None else width, 150.0 if height is None else height, real, root
        )

    def _top(self, root_style: Style) -> Place:
        page = self.page
        top = Place.__new__(Place)
        top.matrix = IDENTITY
        top.style = root_style
        top.sizes = (page.width, page.height)
        top.opacity = 1.0
        top.hidden = ""
        top.layers = ()
        top.uses = ()
        top.chain = None
        top.clip = None
        top.depth = 0
        top.declared = NOTHING
        return top

    def _draw(self, stack: list[tuple[Node, Place]]) -> None:
        """The loop: elements come off the stack in document order."""
        limit, deepest = self.limits.elements, self.limits.nesting
        while stack:
            node, up = stack.pop()
            tag = node.tag
            if tag in _SHAPES:
                self.count += 1
                self._shape(node, up)
                continue
            if tag in _GROUPS:
                self.count += 1
                if self.count > limit:
                    self._beyond(node, up, "elements")
                place = self._group(node, up)
                if place.depth > deepest:
                    self._beyond(node, up, "nesting")
                if tag == "use":
                    self._use(node, place, stack)
                elif tag == "switch":
                    self._switch(node, place, stack)
                else:
                    for child in reversed(node.children):
                        stack.append((child, place))
                continue
            if tag in _SILENT or tag[0] == "{":
                continue
            self.count += 1
            self._other(node, up)

    def _beyond(self, node: Node, up: Place, name: str) -> None:
        """Stop: a limit is exceeded. Through `use` the outermost one is to blame."""
        at = up.uses[0] if up.uses else node
        found = "following use" if up.uses else ""
        raise Unreadable(self.limits.exceeded(name, found), *self.source.position(at.offset))

    def _too_far(self, shape: int, ordinal: int) -> Unreadable:
        from scantling.read.locate import segment_range

        node = self.shapes[shape].node
        place = segment_range(self.source, node, ordinal) or (node.offset, 0)
        return Unreadable(self.limits.exceeded("coordinate"), *self.source.position(place[0]))

    # -- remarks ---------------------------------------------------------------------------

    def say(
        self,
        node: Node,
        kind: str,
        word: str,
        message: str,
        offset: int = -1,
        box: tuple[float, float, float, float] | None = None,
    ) -> None:
        """Make a remark, once."""
        key = (id(node), kind, word)
        if key not in self.said:
            self.said.add(key)
            self.remarks.append(Remark(kind, node, word, message, offset, box))

    def _complain(self, node: Node, attribute: str, name: str, value: str) -> None:
        """A value that is not in its grammar and is passed over."""
        offset = attribute_place(self.source, node, attribute) if attribute else -1
        if attribute == "style" and offset >= 0:
            inside = node.attrib["style"].find(value)
            offset = attribute_place(self.source, node, "style", max(inside, 0))
        self.say(
            node, "value", name, f"{name} {_quoted(value)} cannot be read: passed over", offset
        )

    # -- values ----------------------------------------------------------------------------

    def _styled(self, node: Node, up: Place) -> tuple[Declared, Style]:
        """An element's own declarations and its computed style."""
        declared, base = self.cascade.declared(node, up.style)
        if declared is NOTHING:
            return declared, base
        style = inherit(base, declared, node)
        for name, value in list(declared.items()):
            if value is INITIAL:
                del declared[name]
            elif value is INHERIT:
                if name in up.declared:
                    declared[name] = up.declared[name]
                else:
                    del declared[name]
        return declared, style

    def _extents(self, node: Node, up: Place, style: Style) -> tuple[float, float, float, float]:
        """The box (x, y, width, height) of all shapes inside a container, in its own
        coordinates: they are drawn once on a canvas of their own."""
        from scantling.read.flatten import bounds

        if self.measuring:
            self.say(
                node,
                "value",
                "transform-box",
                f"transform-box of {node.tag} inside another is taken as view-box",
            )
            return (0.0, 0.0, *up.sizes)
        kept = self.canvas, self.shapes, self.remarks, self.said
        self.canvas, self.shapes, self.remarks, self.said = Canvas(self.limits), [], [], set()
        self.measuring = True
        place = up.inside(node, IDENTITY, style, 1.0, "")
        place.declared = NOTHING
        stack = [(child, place) for child in reversed(node.children)]
        if node.tag == "use":
            stack = []
            self._use(node, place, stack)
        self._draw(stack)
        boxes = bounds(self.canvas.curves(self._too_far))
        self.canvas, self.shapes, self.remarks, self.said = kept
        self.measuring = False
        if not len(boxes):
            return 0.0, 0.0, 0.0, 0.0
        x, y = boxes[:, :2].min(axis=0).tolist()
        x1, y1 = boxes[:, 2:].max(axis=0).tolist()
        return x, y, x1 - x, y1 - y

    def _viewbox(self, node: Node) -> ViewBox | None:
        text = node.attrib.get("viewBox")
        if text is None:
            return None
        box = parse_viewbox(text)
        if box is None:
            self._complain(node, "viewBox", "viewBox", text)
        return box

    def _ratio(self, node: Node) -> Ratio:
        text = node.attrib.get("preserveAspectRatio")
        if text is None:
            return Ratio()
        ratio = parse_ratio(text)
        if ratio is None:
            self._complain(node, "preserveAspectRatio", "preserveAspectRatio", text)
            return Ratio()
        return ratio

    def _length(
        self,
        node: Node,
        declared: Declared,
        name: str,
        place: Place,
        style: Style,
        along: str,
        default: float = 0.0,
        css: bool = True,
    ) -> float:
        """A length in pixels of the user space, from the property where a style sheet sets it,
        else from the attribute."""
        length: Any = declared.get(name) if css else None
        if length is None:
            text = node.attrib.get(name)
            if text is None:
                return default
            length = parse_length(text)
            if length is None:
                if text.strip().lower() != "auto":
                    self._complain(node, name, name, text)
                return default
        if not length.unit:
            return float(length.value)
        if length.unit == "auto":
            return default
        sizes = Sizes(
            *place.sizes, style.font_size, style.root_font, self.page.width, self.page.height
        )
        return pixels(length, sizes, along)

    def _matrix(
        self, node: Node, declared: Declared, up: Place, style: Style, outline: Outline | None
    ) -> Matrix:
        steps = declared.get("transform")
        if not steps:
            return up.matrix
        box = (0.0, 0.0, *up.sizes)
        kind = declared.get("transform-box")
        if kind not in (None, "view-box"):
            box = outline.box() if outline is not None else self._extents(node, up, style)
        own = resolve(steps, box[2], box[3])
        origin = declared.get("transform-origin")
        if origin is not None:
            sizes = Sizes(
                box[2], box[3], style.font_size, style.root_font,
                self.page.width, self.page.height,
            )  # fmt: skip
            x = box[0] + pixels(origin[0], sizes, "x")
            y = box[1] + pixels(origin[1], sizes, "y")
            own = multiply(multiply((1.0, 0.0, 0.0, 1.0, x, y), own), (1.0, 0.0, 0.0, 1.0, -x, -y))
        elif kind not in (None, "view-box"):
            x, y = box[:2]  # the origin's initial value is 0 0 of the reference box
            own = multiply(multiply((1.0, 0.0, 0.0, 1.0, x, y), own), (1.0, 0.0, 0.0, 1.0, -x, -y))
        return multiply(up.matrix, own)

    def _hidden(self, node: Node, declared: Declared, up: Place) -> str:
        if up.hidden:
            return up.hidden
        if declared.get("display") == "none" or not shown_here(node):
            return "display"
        return ""

    # -- containers ------------------------------------------------------------------------

    def _group(self, node: Node, up: Place) -> Place:
        """The place that a container makes for its children."""
        declared, style = self._styled(node, up)
        if declared is NOTHING and node.tag == "g":
            hidden = up.hidden or ("" if shown_here(node) else "display")
            return up.inside(node, up.matrix, style, up.opacity, hidden)
        if node is self.root:
            style = style.copy()
            style.root_font = style.font_size
        hidden = self._hidden(node, declared, up)
        matrix = self._matrix(node, declared, up, style, None)
        opacity = up.opacity * declared.get("opacity", 1.0)
        place = up.inside(node, matrix, style, opacity, hidden)
        place.declared = declared
        self._effects(node, declared, place)
        if node.tag == "svg":
            self._viewport(node, declared, place, None)
        return place

    def _viewport(
        self,
        node: Node,
        declared: Declared,
        place: Place,
        given: tuple[float | None, float | None] | None,
    ) -> None:
        """Set up the coordinates inside an svg or symbol. `given`: width and height that a
        `use` gives it."""
        if node is self.root:
            width, height = self.page.width, self.page.height
            x = y = 0.0
            box = self.root_box
        else:
            style = place.style
            width, height = (
                self._length(node, declared, name, place, style, along, whole)
                for name, along, whole in zip(("width", "height"), "xy", place.sizes, strict=True)
            )
            if given is not None:
                width = width if given[0] is None else given[0]
                height = height if given[1] is None else given[1]
            x = self._length(node, declared, "x", place, style, "x")
            y = self._length(node, declared, "y", place, style, "y")
            box = self._viewbox(node)
            for name, size, whole in (("width", width, 0), ("height", height, 1)):
                if size < 0.0:
                    self._complain(node, name, name, node.attrib.get(name, ""))
                    if whole:
                        height = place.sizes[1]
                    else:
                        width = place.sizes[0]
            if declared.get("overflow", "hidden") not in ("visible", "auto"):
                place.clip = Clip(place.matrix, (x, y, width, height), node, place.clip)
        if width == 0.0 or height == 0.0 or (box and (box.width == 0.0 or box.height == 0.0)):
            place.hidden = place.hidden or "display"  # SVG 2, 8.6: rendering is disabled
        elif box is not None:
            place.matrix = multiply(
                place.matrix, fitted(box, self._ratio(node), x, y, width, height)
            )
            width, height = box.width, box.height
        elif x or y:
            place.matrix = multiply(place.matrix, (1.0, 0.0, 0.0, 1.0, x, y))
        place.sizes = (width, height)

    def _use(self, node: Node, place: Place, stack: list[tuple[Node, Place]]) -> None:
        target = self._target(node, place)
        if target is None:
            return
        declared, style = place.declared, place.style
        x = self._length(node, declared, "x", place, style, "x")
        y = self._length(node, declared, "y", place, style, "y")
        if x or y:
            place.matrix = multiply(place.matrix, (1.0, 0.0, 0.0, 1.0, x, y))
        place.uses = (*place.uses, node)
        if target.tag not in ("symbol", "svg"):
            stack.append((target, place))
            return
        # the size on `use` overrules that of the symbol or svg (SVG 2, section 5.5.1)
        given: list[float | None] = []
        for name, along in (("width", "x"), ("height", "y")):
            size = self._length(node, declared, name, place, style, along, -1.0)
            given.append(None if size < 0.0 else size)
        inner_declared, inner_style = self._styled(target, place)
        hidden = place.hidden or ("" if shown_here(target) else "display")
        if target.tag == "svg" and inner_declared.get("display") == "none":
            hidden = hidden or "display"
        matrix = self._matrix(target, inner_declared, place, inner_style, None)
        opacity = place.opacity * inner_declared.get("opacity", 1.0)
        inner = place.inside(target, matrix, inner_style, opacity, hidden)
        self._effects(target, inner_declared, inner)
        self._viewport(target, inner_declared, inner, (given[0], given[1]))
        if inner.depth > self.limits.nesting:
            self._beyond(target, inner, "nesting")
        for child in reversed(target.children):
            stack.append((child, inner))

    def _target(self, node: Node, place: Place) -> Node | None:
        """What a `use` refers to, or None with a remark."""
        name = "href" if "href" in node.attrib else f"{{{XLINK}}}href"
        href = node.attrib.get(name)
        if href is None:
            self.say(node, "reference", "use", "use refers to nothing: it has no href")
            return None
        href = href.strip()
        target = self._by_href(href)
        if target is None:
            self._broken(node, name, href, "use refers to")
            return None
        chain = place.chain
        while chain is not None:
            if chain.node is target:
                self.say(
                    node,
                    "reference",
                    href,
                    f"use refers to {_short(href)}, which it is drawn inside of: it draws nothing",
                    attribute_place(self.source, node, name),
                )
                return None
            chain = chain.above
        if target.tag not in _SHAPES | _GROUPS | _TEXTS | {"symbol", "image"}:
            self.say(
                node,
                "reference",
                href,
                f"use refers to a {target.tag.rpartition('}')[2]}, which is not drawn",
                attribute_place(self.source, node, name),
            )
            return None
        return target

    def _by_href(self, href: str) -> Node | None:
        if not href.startswith("#"):
            return None
        found = self.markup.ids.get(href[1:])
        return found if found is not None else self.markup.ids.get(unquote(href[1:]))

    def _broken(self, node: Node, attribute: str, href: str, what: str) -> None:
        offset = attribute_place(self.source, node, attribute) if attribute else -1
        if href.startswith("#"):
            message = f"{what} {_short(href)}, but no element has that id"
        else:
            message = f"{what} {_short(href)}, outside the drawing: it is not fetched"
        self.say(node, "reference", href, message, offset)

    def _switch(self, node: Node, place: Place, stack: list[tuple[Node, Place]]) -> None:
        """The first child that can be shown; the others are in the file but not seen."""
        chosen = next(
            (
                child
                for child in node.children
                if child.tag[0] != "{" and child.tag not in _SILENT and shown_here(child)
            ),
            None,
        )
        unseen = place.inside(node, place.matrix, place.style, place.opacity, "display")
        unseen.layers = place.layers
        for child in reversed(node.children):
            stack.append((child, place if child is chosen else unseen))

    # -- what is not geometry --------------------------------------------------------------

    def _effects(self, node: Node, declared: Declared, place: Place) -> None:
        """Clips, masks and filters of an element."""
        for name in ("clip-path", "mask", "mask-image", "filter"):
            value = declared.get(name)
            if type(value) is not str or not value:
                continue
            attribute = name if name in node.attrib else ("style" if "style" in node.attrib else "")
            offset = attribute_place(self.source, node, attribute) if attribute else -1
            target = self._by_href(value)
            if target is None and (value.startswith("#") or "(" not in value):
                if not value.endswith("-box"):
                    self._broken(node, attribute, value, f"{name} refers to")
                continue
            self.say(
                node,
                "effect",
                name,
                f"{name} {_short(value)} changes what is seen, not the lines in the file",
                offset,
            )

    def _other(self, node: Node, up: Place) -> None:
        """Text, pictures and whatever else is not geometry."""
        tag = node.tag
        if tag in _TEXTS or tag == "foreignObject":
            declared, style = self._styled(node, up)
            words = words_of(self.source, node)
            if tag == "foreignObject" and not words:
                self.say(node, "effect", tag, "foreignObject is not read: it holds no SVG shapes")
                return
            if not words:
                return
            matrix = self._matrix(node, declared, up, style, None)
            at = []
            for name, along in (("x", "x"), ("y", "y")):
                first = re.split(r"[\s,]+", node.attrib.get(name, "0").strip() or "0")[0]
                length = parse_length(first)
                sizes = Sizes(*up.sizes, style.font_size, style.root_font)
                at.append(pixels(length, sizes, along) if length else 0.0)
            x, y = _apply(matrix, at[0], at[1])
            font = f" in {style.font_family}" if style.font_family else ""
            unseen = " (not shown)" if self._hidden(node, declared, up) else ""
            self.say(
                node,
                "text",
                words,
                f"text {_quoted(words)}{font} is not converted to outlines{unseen}",
                -1,
                (x, y, x, y),
            )
        elif tag == "image":
            declared, style = self._styled(node, up)
            matrix = self._matrix(node, declared, up, style, None)
            x, y, w, h = (
                self._length(node, declared, name, up, style, along)
                for name, along in (("x", "x"), ("y", "y"), ("width", "x"), ("height", "y"))
            )
            corners = [_apply(matrix, px, py) for px in (x, x + w) for py in (y, y + h)]
            xs, ys = zip(*corners, strict=True)
            name = "href" if "href" in node.attrib else f"{{{XLINK}}}href"
            href = node.attrib.get(name, "").strip()
            if href.startswith("data:"):
                word = href[5:].partition(",")[0].partition(";")[0] or "picture"
                message = f"an embedded picture ({word[:40]}) has no outline to follow"
            else:
                word = href or "image"
                message = f"a linked picture ({_short(word)}) has no outline to follow"
            self.say(node, "bitmap", word, message, -1, (min(xs), min(ys), max(xs), max(ys)))
        elif tag in _MOVING:
            self.say(node, "effect", tag, f"{tag} moves the drawing on screen: read as it stands")
        elif tag == "script":
            self.say(node, "effect", tag, "script is not run: the drawing is read as it stands")
        elif tag not in ("tspan", "textPath", "tref", "stop", "discard", "mpath"):
            self.say(node, "value", tag, f"{tag} is no element of SVG: it is not drawn")

    # -- shapes ----------------------------------------------------------------------------

    def _shape(self, node: Node, up: Place) -> None:
        if self.count > self.limits.elements:
            self._beyond(node, up, "elements")
        declared, style = self._styled(node, up)
        if declared is NOTHING:
            matrix, hidden, opacity = up.matrix, up.hidden, up.opacity
            if not hidden and not shown_here(node):
                hidden = "display"
            outline = self._outline(node, declared, up, style)
            thin = False
        else:
            hidden = self._hidden(node, declared, up)
            opacity = up.opacity * declared.get("opacity", 1.0)
            outline = self._outline(node, declared, up, style)
            matrix = self._matrix(node, declared, up, style, outline)
            thin = declared.get("vector-effect") == "non-scaling-stroke"
            self._effects(node, declared, up)
        if outline is None or not outline.kind:
            return

        fill = self._paint(node, style, "fill", style.fill_opacity)
        stroke = self._paint(node, style, "stroke", style.stroke_opacity)
        width = 0.0
        dashes: tuple[float, ...] = ()
        dash_offset = 0.0
        if stroke is not None:
            sizes = Sizes(
                *up.sizes, style.font_size, style.root_font, self.page.width, self.page.height
            )
            width = pixels(style.stroke_width, sizes, "both")
            scale = 1.0 if thin else scale_of(matrix)
            width *= scale
            if width <= 0.0:
                stroke = None
            elif style.dashes:
                scale *= self._stretch(node, outline)
                dashes = tuple(pixels(dash, sizes, "both") * scale for dash in style.dashes)
                dash_offset = pixels(style.dash_offset, sizes, "both") * scale
                if sum(dashes) > 0.0:
                    at = style.origins.get("dashes", node)
                    self.say(
                        at,
                        "effect",
                        "stroke-dasharray",
                        "dashes are seen, but the whole line is followed",
                        self._declared_at(at, "stroke-dasharray"),
                    )
                else:
                    dashes = ()
        if node.tag in _MARKED and (style.marker_start or style.marker_mid or style.marker_end):
            self._markers(node, style)
        if not hidden:
            if style.visibility != "visible":
                hidden = "visibility"
            elif opacity == 0.0:
                hidden = "opacity"
            elif fill is None and stroke is None:
                hidden = "no paint"
            elif invert(matrix) is None:
                hidden = "display"
        names = names_of(node, own=True)
        shape = Shape(
            index=len(self.shapes),
            node=node,
            contours=self.canvas.add(outline, matrix),
            fill=fill,
            stroke=stroke,
            stroke_width=width,
            fill_rule=style.fill_rule,
            matrix=matrix,
            linecap=style.linecap,
            linejoin=style.linejoin,
            miterlimit=style.miterlimit,
            dashes=dashes,
            dash_offset=dash_offset,
            non_scaling_stroke=thin,
            paint_order=style.paint_order,
            opacity=opacity,
            hidden=hidden,
            layers=(*up.layers, names) if names else up.layers,
            uses=up.uses,
        )
        self.shapes.append(shape)
        if len(self.canvas) > self.limits.segments:
            self._beyond(node, up, "segments")

    def _stretch(self, node: Node, outline: Outline) -> float:
        """How many times longer a shape is than its author says (`pathLength`): dashes are
        measured in the author's length."""
        text = node.attrib.get("pathLength")
        if text is None:
            return 1.0
        said = parse_number(text, 0.0)
        if said is None:
            self._complain(node, "pathLength", "pathLength", text)
        return outline.length() / said if said else 1.0

    def _declared_at(self, node: Node, name: str) -> int:
        attribute = name if name in node.attrib else "style"
        return attribute_place(self.source, node, attribute)

    def _paint(self, node: Node, style: Style, name: str, opacity: float) -> Paint | None:
        word: PaintWord = getattr(style, name)
        if word.kind == "colour":
            colour = word.colour
        elif word.kind == "none":
            return None
        elif word.kind == "current":
            colour = style.color
        elif word.kind == "server":
            return self._server(node, style, name, word, opacity)
        else:  # context-fill, context-stroke: outside a marker there is no context
            return None
        return _with_alpha(colour, opacity)

    def _server(
        self, node: Node, style: Style, name: str, word: PaintWord, opacity: float
    ) -> Paint | None:
        at = style.origins.get(name, node)
        colour = style.color if word.fallback == "current" else word.colour
        target = self._by_href(word.server)
        if target is None or target.tag not in _SERVERS:
            self._broken(at, self._attribute(at, name), word.server, f"{name} refers to")
            return _with_alpha(colour, opacity) if colour is not None else None
        self.say(
            at,
            "effect",
            name,
            f"{name} with {target.tag} {_short(word.server)} is seen, but has no colour to assign",
            self._declared_at(at, name),
        )
        if opacity == 0.0:
            return None
        return Paint(colour, word.server[1:])

    def _attribute(self, node: Node, name: str) -> str:
        return name if name in node.attrib else ("style" if "style" in node.attrib else "")

    def _markers(self, node: Node, style: Style) -> None:
        for name in ("marker_start", "marker_mid", "marker_end"):
            href = getattr(style, name)
            if not href:
                continue
            at = style.origins.get(name, node)
            word = name.replace("_", "-")
            target = self._by_href(href)
            if target is None or target.tag != "marker":
                self._broken(at, self._attribute(at, word), href, f"{word} refers to")
            else:
                self.say(
                    at,
                    "effect",
                    word,
                    f"{word} {_short(href)} is seen, but it is not a line of the drawing",
                    self._declared_at(at, word),
                )

    # -- outlines --------------------------------------------------------------------------

    def _outline(self, node: Node, declared: Declared, up: Place, style: Style) -> Outline | None:
        """The element's outline in its own coordinates; None where there is nothing to draw."""
        tag = node.tag
        if tag == "path":
            path = declared.get("d")
            if type(path) is str:
                outline, error = read_path(path)
                outline.ordinal = [-1] * len(outline)
                if error:
                    self._complain(node, "style" if "style" in node.attrib else "", "d", path)
                return outline
            return self._kept(node, "d", read_path)
        if tag == "polyline":
            return self._kept(node, "points", lambda text: shapes.read_points(text, False))
        if tag == "polygon":
            return self._kept(node, "points", lambda text: shapes.read_points(text, True))

        def length(name: str, along: str, default: float = 0.0) -> float:
            css = tag != "line"
            return self._length(node, declared, name, up, style, along, default, css)

        if tag == "line":
            return shapes.line(
                length("x1", "x"), length("y1", "y"), length("x2", "x"), length("y2", "y")
            )
        if tag == "rect":
            width, height = length("width", "x"), length("height", "y")
            if not self._positive(node, width=width, height=height):
                return None
            rx, ry = self._radii(node, length)
            return shapes.rectangle(length("x", "x"), length("y", "y"), width, height, rx, ry)
        if tag == "circle":
            radius = length("r", "both")
            if not self._positive(node, r=radius):
                return None
            return shapes.ellipse(length("cx", "x"), length("cy", "y"), radius, radius)
        rx, ry = self._radii(node, length)
        if not self._positive(node, rx=rx, ry=ry):
            return None
        return shapes.ellipse(length("cx", "x"), length("cy", "y"), rx, ry)

    def _positive(self, node: Node, **sizes: float) -> bool:
        """Shapes of no size are not drawn; negative sizes are errors, and not drawn either."""
        for name, size in sizes.items():
            if size < 0.0:
                self._complain(node, name, name, node.attrib.get(name, ""))
        return all(size > 0.0 for size in sizes.values())

    def _radii(self, node: Node, length: Callable[..., float]) -> tuple[float, float]:
        """rx and ry, of which each stands for the other when that is auto or missing."""
        rx, ry = length("rx", "x", -1.0), length("ry", "y", -1.0)
        for name, value in (("rx", rx), ("ry", ry)):
            if value < 0.0 and node.attrib.get(name, "auto").strip().startswith("-"):
                self._complain(node, name, name, node.attrib[name])
        rx, ry = (ry if rx < 0.0 else rx), (rx if ry < 0.0 else ry)
        return max(rx, 0.0), max(ry, 0.0)

    def _kept(
        self,
        node: Node,
        name: str,
        read: Callable[[str], tuple[Outline, PathError | None]],
    ) -> Outline | None:
        """Read path data or points, once for every element however often it is used."""
        key = id(node)
        if key in self.outlines:
            return self.outlines[key]
        text = node.attrib.get(name)
        if text is None:
            return None
        if name == "d" and text.strip() == "none":
            return None
        outline, error = read(text)
        if error is not None:
            self.say(
                node,
                "value",
                name,
                f"{name}: {error.message}; read up to here",
                attribute_place(self.source, node, name, error.offset),
            )
        self.outlines[key] = outline
        return outline


def names_of(node: Node, own: bool = False) -> tuple[str, ...]:
    """What a layer is called: its `label` in any namespace, its title, id, and each class; of a
    shape (`own`) all but the id, which names the shape itself."""
    attrib = node.attrib
    names: list[str] = []
    if attrib:
        for key, value in attrib.items():
            if key.endswith("label") and (key == "label" or key.endswith("}label")) and value:
                names.append(value)
    for child in node.children:
        if child.tag == "title":
            title = " ".join(child.text.split())
            if title:
                names.append(title)
            break
    if not own and node.id:
        names.append(node.id)
    words = attrib.get("class")
    if words:
        names += words.split()
    return tuple(dict.fromkeys(names)) if names else ()


def shown_here(node: Node) -> bool:
    """Conditional processing (SVG 2, section 5.9): requiredExtensions must be empty or missing,
    systemLanguage must name English; requiredFeatures is always met, as SVG 2 has dropped it."""
    attrib = node.attrib
    if attrib.get("requiredExtensions", "").strip():
        return False
    languages = attrib.get("systemLanguage")
    if languages is None:
        return True
    return any(part.strip().lower().partition("-")[0] == _LANGUAGE for part in languages.split(","))


def words_of(source: Source, node: Node) -> str:
    """The words of a text element in reading order."""
    from xml.sax.saxutils import unescape

    start, end = whole_range(source, node)
    text = re.sub(r"<!--.*?-->|<title\b.*?</title>|<desc\b.*?</desc>", "", source.text[start:end],
                  flags=re.S)  # fmt: skip
    text = re.sub(r"<!\[CDATA\[(.*?)\]\]>", lambda m: m[1], text, flags=re.S)
    text = re.sub(r"""<(?:[^>"']|"[^"]*"|'[^']*')*>""", "", text)
    text = re.sub(r"&#(x[0-9a-fA-F]{1,6}|[0-9]{1,7});", _character, text)
    return " ".join(unescape(text, {"&quot;": '"', "&apos;": "'"}).split())


def _character(found: re.Match[str]) -> str:
    digits = found[1]
    code = int(digits[1:], 16) if digits[0] == "x" else int(digits)
    return chr(code) if 0 < code < 0x110000 else ""


def _apply(m: Matrix, x: float, y: float) -> tuple[float, float]:
    return m[0] * x + m[2] * y + m[4], m[1] * x + m[3] * y + m[5]


def _with_alpha(colour: Colour | None, opacity: float) -> Paint | None:
    """A paint, or None where it is fully transparent."""
    if colour is None:
        return None
    alpha = colour.alpha * opacity
    if alpha == 0.0:
        return None
    return Paint(colour if opacity == 1.0 else colour._replace(alpha=alpha))


def _short(text: str) -> str:
    text = " ".join(text.split())
    return text if len(text) <= 60 else text[:57] + "…"


def _quoted(text: str) -> str:
    return f"“{_short(text)}”"
