"""From the document tree to what is drawn: the walk over elements, following `use`.

One loop over a stack, no recursion. Containers make a `Place`, which holds all that their
children inherit; shapes give their outlines to a `Canvas`, which puts every transform on at once
at the end.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from scantling.read.canvas import Canvas
from scantling.read.cascade import NOTHING, Cascade, Declared, Style, inherit, initial_style
from scantling.read.drawing import Curves, Drawing, Shape
from scantling.read.flatten import bounds, outline_box, outline_start
from scantling.read.lengths import pixels
from scantling.read.limits import Limits
from scantling.read.locate import segment_range
from scantling.read.markup import Markup, read_markup
from scantling.read.others import (
    TEXTS,
    frame_of,
    on_page,
    remark_picture,
    remark_stranger,
    room,
)
from scantling.read.outlines import SHAPES, Outlines
from scantling.read.painting import SERVERS, Painter
from scantling.read.pathdata import Outline
from scantling.read.place import Clip, Place, names_of, shown_here
from scantling.read.properties import INHERIT, INITIAL
from scantling.read.remarks import Frame, Point, Remarks, short
from scantling.read.source import Source, Unreadable
from scantling.read.transforms import IDENTITY, Matrix, apply, invert, multiply, resolve
from scantling.read.tree import XLINK, Node
from scantling.read.units import Length
from scantling.read.values import Values
from scantling.read.viewport import fitted

if TYPE_CHECKING:
    from scantling.read.stylesheets import Sheets

_GROUPS = frozenset({"g", "a", "switch", "svg", "use"})
_REFERRED = SHAPES | _GROUPS | TEXTS | {"symbol", "image"}
_SILENT = SERVERS | {
    "defs", "symbol", "clipPath", "mask", "marker", "filter", "style", "title", "desc",
    "metadata", "view", "cursor", "solidcolor", "solidColor", "font", "font-face",
    "color-profile",
}  # fmt: skip

Stack = list[tuple[Node, Place]]


def read_drawing(source: Source, limits: Limits | None = None) -> Drawing:
    """Read a drawing: its page, its shapes with exact curves, and remarks on all that is not
    geometry or could not be read as it stands.

    Raises Unreadable, with line and column, for text that is not SVG and for drawings beyond
    the limits.
    """
    limits = limits or Limits()
    return _Scene(source, read_markup(source, limits), limits).read()


class _Scene:
    """One walk over a document.

    sheets    its style sheets; None: it has none
    others    elements that are no geometry and have been remarked
    clipped   shapes under a clip, to be looked at when all curves are known
    count     elements drawn so far, following `use`
    aside     True while a container is drawn only to be measured, without remarks
    clipping  True while that is the content of a clipPath
    """

    def __init__(self, source: Source, markup: Markup, limits: Limits) -> None:
        self.source = source
        self.markup = markup
        self.limits = limits
        self.root = markup.root
        self.remarks = Remarks(source)
        self.values = Values(self.remarks, self.root)
        self.outlines = Outlines(self.remarks, self.values)
        self.painter = Painter(self.remarks, self.values, markup)
        self.canvas = Canvas(limits)
        self.shapes: list[Shape] = []
        self.clipped: list[tuple[Shape, Clip]] = []
        self.sheets: Sheets | None = None
        self.others: set[Node] = set()
        self.count = 0
        self.aside = False
        self.clipping = False

    # -- the whole -------------------------------------------------------------------------

    def read(self) -> Drawing:
        page = self.values.page
        self._outside_sheets()
        self.cascade = Cascade(self.remarks)
        self.top = Place.page(initial_style(), page.width, page.height)
        if self.markup.sheets:
            from scantling.read.stylesheets import Screen, Sheets

            screen = Screen(page.width, page.height)
            self.sheets = Sheets(self.root, screen, self.limits, self.remarks.say)
            self.top.rules = self.sheets.match(self.markup.sheets)
        self._draw([(self.root, self.top)])
        curves = self.canvas.curves(self._too_far)
        if self.clipped:
            self._mark_clipped(curves)
        return Drawing(
            self.source, page, self.root, self.shapes, curves, self.remarks.made, self.limits
        )

    def _outside_sheets(self) -> None:
        for target, data, offset in self.markup.instructions:
            if target == "xml-stylesheet":
                href = re.search(r"""href\s*=\s*["']([^"']*)""", data)
                word = href[1] if href else data
                message = f"the style sheet {short(word)} is outside the drawing: not fetched"
                self.remarks.say(self.root, "reference", word, message, offset=offset)

    def _draw(self, stack: Stack) -> None:
        """The loop: elements come off the stack in document order."""
        limit, deepest = self.limits.elements, self.limits.nesting
        while stack:
            node, up = stack.pop()
            tag = node.tag
            self.count += 1
            if self.count > limit:
                self._beyond(node, up, "elements")
            if tag in SHAPES:
                self._shape(node, up)
            elif tag in _GROUPS:
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
            elif tag not in _SILENT and tag[0] != "{" and node not in self.others:
                self._other(node, up)

    def _beyond(self, node: Node, up: Place, name: str) -> None:
        """Stop: a limit is exceeded. Through `use` the outermost one is to blame."""
        at = up.uses[0] if up.uses else node
        found = "following use" if up.uses else ""
        raise Unreadable(self.limits.exceeded(name, found), *self.source.position(at.offset))

    def _too_far(self, shape: int, ordinal: int) -> Unreadable:
        node = self.shapes[shape].node
        place = segment_range(self.source, node, ordinal) or (node.offset, 0)
        return Unreadable(self.limits.exceeded("coordinate"), *self.source.position(place[0]))

    def _drawn_aside(self, node: Node, place: Place) -> tuple[list[Shape], Curves]:
        """What a container holds, drawn on a canvas of its own, without remarks."""
        kept = self.canvas, self.shapes, self.clipped, self.remarks.muted
        self.canvas, self.shapes, self.clipped = Canvas(self.limits), [], []
        self.remarks.muted = self.aside = True
        stack: Stack = []
        if node.tag == "use":
            self._use(node, place, stack)
        else:
            stack += [(child, place) for child in reversed(node.children)]
        self._draw(stack)
        found = self.shapes, self.canvas.curves(self._too_far)
        self.canvas, self.shapes, self.clipped, self.remarks.muted = kept
        self.aside = False
        return found

    # -- style and transform ---------------------------------------------------------------

    def _styled(self, node: Node, up: Place) -> tuple[Declared, Style]:
        """An element's own declarations and its computed style."""
        declared, base = self.cascade.declared(node, up.style, up.rules)
        if declared is NOTHING:
            return declared, base
        style = inherit(base, declared, node)
        for name, value in list(declared.items()):
            if value is INITIAL or (value is INHERIT and name not in up.declared):
                del declared[name]
            elif value is INHERIT:
                declared[name] = up.declared[name]
        return declared, style

    def _matrix(
        self, node: Node, declared: Declared, up: Place, style: Style, outline: Outline | None
    ) -> Matrix:
        """From the element's user space to the page (CSS Transforms 1, sections 4 to 7)."""
        steps = declared.get("transform")
        if not steps:
            return up.matrix
        x, y, width, height = 0.0, 0.0, *up.sizes
        origin: Any = declared.get("transform-origin")
        if node is self.root:  # it has a CSS box, the page, and turns about its middle
            origin = origin or (Length(50.0, "%"), Length(50.0, "%"))
        elif declared.get("transform-box", "view-box") != "view-box":
            box = self._extents(node, up, style) if outline is None else outline_box(outline)
            x, y, width, height = box
        sizes = self.values.sizes((width, height), style)
        own = resolve(steps, sizes)
        if origin is not None:
            x += pixels(origin[0], sizes, "x")
            y += pixels(origin[1], sizes, "y")
        if x or y:
            to, back = (1.0, 0.0, 0.0, 1.0, x, y), (1.0, 0.0, 0.0, 1.0, -x, -y)
            own = multiply(multiply(to, own), back)
        return multiply(up.matrix, own)

    def _extents(self, node: Node, up: Place, style: Style) -> tuple[float, float, float, float]:
        """The box (x, y, width, height) of all shapes in a container, in its own coordinates."""
        if self.aside:  # a box within a box being measured: once is enough
            word = "transform-box"
            self.remarks.say(node, "value", word, f"{word} inside another is taken as view-box")
            return (0.0, 0.0, *up.sizes)
        boxes = bounds(self._drawn_aside(node, up.inside(node, IDENTITY, style, 1.0, ""))[1])
        if not len(boxes):
            return 0.0, 0.0, 0.0, 0.0
        x, y = boxes[:, :2].min(axis=0).tolist()
        x1, y1 = boxes[:, 2:].max(axis=0).tolist()
        return x, y, x1 - x, y1 - y

    def _hidden(self, node: Node, declared: Declared, up: Place) -> str:
        if up.hidden:
            return up.hidden
        if declared.get("display") == "none":
            return "display"
        return "" if shown_here(node) else "condition"

    # -- containers ------------------------------------------------------------------------

    def _group(self, node: Node, up: Place) -> Place:
        """The place that a container makes for its children."""
        declared, style = self._styled(node, up)
        hidden = self._hidden(node, declared, up)
        if declared is NOTHING:
            place = up.inside(node, up.matrix, style, up.opacity, hidden)
        else:
            if node is self.root:
                style = style.copy()
                style.root_font = style.font_size
            matrix = self._matrix(node, declared, up, style, None)
            opacity = up.opacity * declared.get("opacity", 1.0)
            place = up.inside(node, matrix, style, opacity, hidden)
            place.declared = declared
            place.clip = self._effects(node, declared, place, matrix, None)
        if node.tag == "svg":
            self._viewport(node, declared, place, (None, None))
        return place

    def _viewport(
        self,
        node: Node,
        declared: Declared,
        place: Place,
        given: tuple[float | None, float | None],
    ) -> None:
        """Set up the coordinates inside an svg or symbol. `given`: the width and height that a
        `use` gives it."""
        values, style = self.values, place.style
        if node is self.root:
            x = y = 0.0
            width, height = values.page.width, values.page.height
            box = values.root_box
        else:
            sides: list[float] = []
            for index, name in enumerate(("width", "height")):
                whole, along, size = place.sizes[index], "xy"[index], given[index]
                if size is None:
                    size = values.length(node, declared, name, place, style, along, whole)
                    if size < 0.0:
                        self.remarks.complain(node, name, node.attrib.get(name, ""))
                        size = whole
                sides.append(size)
            width, height = sides
            x = values.length(node, declared, "x", place, style, "x")
            y = values.length(node, declared, "y", place, style, "y")
            box = values.viewbox(node)
            if declared.get("overflow", "hidden") not in ("visible", "auto"):
                place.clip = Clip(place.matrix, (x, y, width, height), node, None, place.clip)
        if width == 0.0 or height == 0.0 or (box and (box.width == 0.0 or box.height == 0.0)):
            place.hidden = place.hidden or "viewport"  # SVG 2, 8.6: rendering is disabled
        elif box is not None:
            ratio = values.ratio(node)
            place.matrix = multiply(place.matrix, fitted(box, ratio, x, y, width, height))
            width, height = box.width, box.height
        elif x or y:
            place.matrix = multiply(place.matrix, (1.0, 0.0, 0.0, 1.0, x, y))
        place.sizes = (width, height)

    def _use(self, node: Node, place: Place, stack: Stack) -> None:
        """Put what a `use` refers to on the stack (SVG 2, section 5.5)."""
        target = self._target(node, place)
        if target is None:
            return
        declared, style, values = place.declared, place.style, self.values
        x = values.length(node, declared, "x", place, style, "x")
        y = values.length(node, declared, "y", place, style, "y")
        if x or y:
            place.matrix = multiply(place.matrix, (1.0, 0.0, 0.0, 1.0, x, y))
        place.uses = (*place.uses, node)
        if self.sheets is not None:
            place.rules = self.sheets.inside(target)
        if target.tag not in ("symbol", "svg"):
            stack.append((target, place))
            return
        sides: list[float | None] = []
        for name, along in (("width", "x"), ("height", "y")):
            size = values.length(node, declared, name, place, style, along, -1.0)
            sides.append(None if size < 0.0 else size)
        own, style = self._styled(target, place)
        hidden = place.hidden or ("" if shown_here(target) else "condition")
        if target.tag == "svg" and own.get("display") == "none":
            hidden = hidden or "display"
        matrix = self._matrix(target, own, place, style, None)
        inner = place.inside(target, matrix, style, place.opacity * own.get("opacity", 1.0), hidden)
        inner.declared = own
        inner.clip = self._effects(target, own, inner, matrix, None)
        self._viewport(target, own, inner, (sides[0], sides[1]))
        if inner.depth > self.limits.nesting:
            self._beyond(target, inner, "nesting")
        for child in reversed(target.children):
            stack.append((child, inner))

    def _target(self, node: Node, place: Place) -> Node | None:
        """What a `use` refers to, or None with a remark."""
        name = "href" if "href" in node.attrib else f"{{{XLINK}}}href"
        href = node.attrib.get(name, "").strip()
        if not href:
            message = "use refers to nothing: it has no href"
            self.remarks.say(node, "reference", "use", message)
            return None
        target = self.markup.target(href)
        if target is None:
            self.remarks.broken(node, name, href, "use refers to")
            return None
        if place.holds(target):
            what = f"{short(href)}, which it is drawn inside of: it draws nothing"
        elif target.tag not in _REFERRED:
            what = f"a {target.tag.rpartition('}')[2]}, which is not drawn"
        else:
            return target
        self.remarks.say(node, "reference", href, f"use refers to {what}", name)
        return None

    def _switch(self, node: Node, place: Place, stack: Stack) -> None:
        """The first child that can be shown; the others are in the file but not seen."""
        chosen = next(
            (
                child
                for child in node.children
                if child.tag[0] != "{" and child.tag not in _SILENT and shown_here(child)
            ),
            None,
        )
        unseen = place.inside(node, place.matrix, place.style, place.opacity, "condition")
        unseen.layer, unseen.layers = place.layer, place.layers
        for child in reversed(node.children):
            stack.append((child, place if child is chosen else unseen))

    # -- shapes ----------------------------------------------------------------------------

    def _shape(self, node: Node, up: Place) -> None:
        declared, style = self._styled(node, up)
        outline = self.outlines.of(node, declared, up, style)
        if outline is None or not outline.kind:
            return
        hidden = self._hidden(node, declared, up)
        if declared is NOTHING:
            matrix, opacity, thin, clip = up.matrix, up.opacity, False, up.clip
        else:
            opacity = up.opacity * declared.get("opacity", 1.0)
            matrix = self._matrix(node, declared, up, style, outline)
            thin = declared.get("vector-effect") == "non-scaling-stroke"
            clip = self._effects(node, declared, up, matrix, outline)
        fill = self.painter.fill(node, style)
        stroke = self.painter.stroke(node, style, up.sizes, matrix, thin, outline)
        if style.marker_start or style.marker_mid or style.marker_end:
            self.painter.markers(node, style)
        if not hidden:
            painted = fill is not None or stroke.paint is not None
            hidden = _unseen(style, opacity, painted, matrix)
        names = names_of(node, own=True)
        shape = Shape(
            index=len(self.shapes),
            node=node,
            contours=self.canvas.add(outline, matrix),
            fill=fill,
            stroke=stroke.paint,
            stroke_width=stroke.width,
            fill_rule=style.clip_rule if self.clipping else style.fill_rule,
            matrix=matrix,
            linecap=style.linecap,
            linejoin=style.linejoin,
            miterlimit=style.miterlimit,
            dashes=stroke.dashes,
            dash_offset=stroke.dash_offset,
            non_scaling_stroke=thin,
            paint_order=style.paint_order,
            opacity=opacity,
            hidden=hidden,
            layer=up.layer,
            layers=(*up.layers, names) if names else up.layers,
            uses=up.uses,
        )
        self.shapes.append(shape)
        if clip is not None:
            self.clipped.append((shape, clip))
        if len(self.canvas) > self.limits.segments:
            self._beyond(node, up, "segments")

    def _other(self, node: Node, up: Place) -> None:
        """Text, pictures and whatever else is not geometry, each looked at once."""
        if not self.aside:
            self.others.add(node)
        if node.tag not in TEXTS and node.tag != "image":
            remark_stranger(self.remarks, node)
            return
        declared, style = self._styled(node, up)
        matrix = self._matrix(node, declared, up, style, None)
        hidden = self._hidden(node, declared, up) or (
            "visibility" if style.visibility != "visible"
            else "opacity" if up.opacity * declared.get("opacity", 1.0) == 0.0
            else ""
        )  # fmt: skip
        if node.tag == "image":
            remark_picture(self.remarks, self.values, node, declared, up, style, matrix, hidden)
        else:
            from scantling.read.lettering import remark_text

            spot, frames = self._room_of_text(node, declared, up, style, matrix)
            remark_text(self.remarks, node, style, spot, frames, hidden)

    def _room_of_text(
        self, node: Node, declared: Declared, up: Place, style: Style, matrix: Matrix
    ) -> tuple[Point | None, tuple[Frame, ...]]:
        """Where text starts on the page, and the frames of its lines."""
        from scantling.read.lettering import Lettering

        if node.tag == "foreignObject":
            return room(self.values, node, declared, up, style, matrix)
        if node.tag == "flowRoot":  # its text fills a shape of its own
            for inner in node.walk():
                if inner.tag == "rect":
                    return room(self.values, inner, NOTHING, up, style, matrix)
            return None, ()

        def styled(inner: Node, around: Style) -> Style:
            return self._styled(inner, up.inside(inner, matrix, around, 1.0, hidden=""))[1]

        def follow(inner: Node) -> tuple[Point, Frame] | None:
            return self._path_of_text(inner, up)

        return Lettering(self.values, up.sizes, styled, follow).place(node, style, matrix)

    def _path_of_text(self, node: Node, up: Place) -> tuple[Point, Frame] | None:
        """The start of the outline that a textPath names, and its extents (SVG 2, section 11.8)."""
        href = node.attrib.get("href") or node.attrib.get(f"{{{XLINK}}}href") or ""
        target = self.markup.target(href.strip())
        if target is None or target.tag not in SHAPES:
            return None
        declared, style = self._styled(target, up)
        outline = self.outlines.of(target, declared, up, style)
        start = None if outline is None else outline_start(outline)
        if outline is None or start is None:
            return None
        own = self._matrix(
            target, declared, up.inside(target, IDENTITY, style, 1.0, ""), style, outline
        )
        x, y, width, height = outline_box(outline)
        return apply(own, *start), on_page(own, frame_of(x, y, width, height))

    # -- clips, masks, filters -------------------------------------------------------------

    def _effects(
        self, node: Node, declared: Declared, place: Place, matrix: Matrix, outline: Outline | None
    ) -> Clip | None:
        """Remark an element's clip, mask and filter; the clip that its geometry is under."""
        clip = place.clip
        for name in ("clip-path", "mask", "mask-image", "filter"):
            value = declared.get(name)
            if not value:
                continue
            target = self.markup.target(value)
            if target is None and ("(" not in value or value.startswith("#")):
                if not value.endswith("-box"):
                    self.remarks.broken(node, name, value, f"{name} refers to")
                continue
            if name == "clip-path" and target is not None and target.tag == "clipPath":
                clip = self._clip(target, node, value, place, matrix, outline)
            else:
                self._unfollowed(node, name, value)
        return clip

    def _unfollowed(self, node: Node, name: str, value: str) -> None:
        message = f"{name} {short(value)} changes what is seen, not the lines in the file"
        self.remarks.say(node, "effect", name, message, name)

    def _clip(
        self,
        target: Node,
        node: Node,
        value: str,
        place: Place,
        matrix: Matrix,
        outline: Outline | None,
    ) -> Clip | None:
        """A clipPath as it stands on an element."""
        if self.aside:
            return place.clip
        if target.attrib.get("clipPathUnits") == "objectBoundingBox":
            box = outline_box(outline) if outline else self._extents(node, place, place.style)
            matrix = multiply(matrix, (box[2], 0.0, 0.0, box[3], box[0], box[1]))
        return Clip(matrix, None, target, place, place.clip, (node, value))

    def _mark_clipped(self, curves: Curves) -> None:
        """Hide the shapes that lie wholly outside a clip; remark clips and viewports that cut
        shapes, or that may do so for all that is known."""
        from scantling.read.clips import Examiner

        examiner = Examiner(curves, [shape for shape, _ in self.clipped])
        regions: dict[int, Any] = {}
        for shape, innermost in self.clipped:
            clip: Clip | None = innermost
            while clip is not None and not shape.hidden:
                if id(clip) not in regions:
                    regions[id(clip)] = self._region(clip)
                region = regions[id(clip)]
                found = examiner.outside(shape, region) if region is not None else "unknown"
                if found == "wholly":
                    shape.hidden = "clipped"
                elif found and clip.on is not None:
                    user, value = clip.on
                    self._unfollowed(user, "clip-path", value)
                elif found == "partly" and clip.box is not None:
                    message = (
                        f"the edge of {clip.node.tag} cuts off part of {shape.name} on screen, "
                        "not in the file"
                    )
                    self.remarks.say(clip.node, "effect", "overflow", message)
                clip = clip.above
        if examiner.work > examiner.MOST:
            message = "too much is clipped to tell which of it is never seen"
            self.remarks.say(self.root, "value", "clip-path", message)

    def _region(self, clip: Clip) -> Any:
        """What a clip lets through, on the page; None where that is not known."""
        import numpy as np

        from scantling.read.clips import rectangle, region_of

        a, b, c, d, e, f = clip.matrix
        if clip.box is not None:
            x, y, w, h = clip.box
            corners = np.array([(x, y), (x + w, y), (x + w, y + h), (x, y + h)])
            return rectangle(corners @ np.array([(a, b), (c, d)]) + (e, f))
        assert clip.place is not None
        node = clip.node
        if any(inner.tag in TEXTS for inner in node.walk()):
            return None
        inherited = self.top
        for above in reversed(list(_ancestors(node))):
            declared, style = self._styled(above, inherited)
            inherited = inherited.inside(above, IDENTITY, style, 1.0, "")
            inherited.declared = declared
        declared, style = self._styled(node, inherited)
        place = clip.place.inside(node, clip.matrix, style, 1.0, "")
        if node.attrib.get("clipPathUnits") == "objectBoundingBox":
            place.sizes = (1.0, 1.0)
        place.matrix = self._matrix(node, declared, place, style, None)
        self.clipping = True
        region = region_of(*self._drawn_aside(node, place))
        self.clipping = False
        return region


def _unseen(style: Style, opacity: float, painted: bool, matrix: Matrix) -> str:
    """Why a shape is not seen that nothing around it hides, as in Shape.hidden."""
    if style.visibility != "visible":
        return "visibility"
    if opacity == 0.0:
        return "opacity"
    if not painted:
        return "no paint"
    return "transform" if invert(matrix) is None else ""


def _ancestors(node: Node) -> Any:
    above = node.parent
    while above is not None:
        yield above
        above = above.parent
