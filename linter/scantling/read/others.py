"""Text, pictures and whatever else is no geometry: remarks with their place on the page."""

from __future__ import annotations

import re

from scantling.read.cascade import Declared, Style
from scantling.read.lengths import parse_length, pixels
from scantling.read.place import Place
from scantling.read.remarks import Remarks, quoted, short
from scantling.read.transforms import Matrix
from scantling.read.tree import XLINK, Node
from scantling.read.values import Values

TEXTS = frozenset({"text", "flowRoot", "foreignObject"})
_MOVING = frozenset({"animate", "animateTransform", "animateMotion", "animateColor", "set"})
_PARTS = frozenset({"tspan", "textPath", "tref", "stop", "discard", "mpath"})


def remark_text(
    remarks: Remarks, values: Values, node: Node, place: Place, style: Style, matrix: Matrix,
    hidden: str,
) -> None:  # fmt: skip
    words = remarks.words(node)
    if not words:
        if node.tag == "foreignObject":
            message = "foreignObject is not read: it holds no SVG shapes"
            remarks.say(node, "effect", node.tag, message)
        return
    at = []
    for name, along in (("x", "x"), ("y", "y")):
        first = re.split(r"[\s,]+", node.attrib.get(name, "0").strip() or "0")[0]
        length = parse_length(first)
        at.append(pixels(length, values.sizes(place.sizes, style), along) if length else 0.0)
    x, y = _apply(matrix, at[0], at[1])
    font = f" in {short(style.font_family)}" if style.font_family else ""
    unseen = " (not shown)" if hidden or style.visibility != "visible" else ""
    message = f"text {quoted(words)}{font} is not converted to outlines{unseen}"
    remarks.say(node, "text", words, message, box=(x, y, x, y))


def remark_picture(
    remarks: Remarks, values: Values, node: Node, declared: Declared, place: Place,
    style: Style, matrix: Matrix,
) -> None:  # fmt: skip
    x, y, w, h = (
        values.length(node, declared, name, place, style, along)
        for name, along in (("x", "x"), ("y", "y"), ("width", "x"), ("height", "y"))
    )
    corners = [_apply(matrix, px, py) for px in (x, x + w) for py in (y, y + h)]
    xs, ys = zip(*corners, strict=True)
    name = "href" if "href" in node.attrib else f"{{{XLINK}}}href"
    href = node.attrib.get(name, "").strip()
    if href.startswith("data:"):
        word = href[5:].partition(",")[0].partition(";")[0] or "picture"
        message = f"an embedded picture ({short(word)}) has no outline to follow"
    else:
        word = href or "image"
        message = f"a linked picture ({short(word)}) has no outline to follow"
    box = (min(xs), min(ys), max(xs), max(ys))
    remarks.say(node, "bitmap", word, message, box=box)


def remark_stranger(remarks: Remarks, node: Node) -> None:
    """An element that is neither drawn nor silent."""
    tag = node.tag
    if tag in _MOVING:
        message = f"{tag} moves the drawing on screen: it is read as it stands"
        remarks.say(node, "effect", tag, message)
    elif tag == "script":
        message = "script is not run: the drawing is read as it stands"
        remarks.say(node, "effect", tag, message)
    elif tag not in _PARTS:
        remarks.say(node, "value", tag, f"{tag} is no element of SVG: it is not drawn")


def _apply(m: Matrix, x: float, y: float) -> tuple[float, float]:
    return m[0] * x + m[2] * y + m[4], m[1] * x + m[3] * y + m[5]
