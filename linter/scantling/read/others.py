"""Pictures and whatever else is not geometry, text aside: remarks with their place on the page."""

from __future__ import annotations

from scantling.read.cascade import Declared, Style
from scantling.read.place import Place
from scantling.read.remarks import Frame, Point, Remarks, short
from scantling.read.transforms import Matrix, apply
from scantling.read.tree import XLINK, Node
from scantling.read.values import Values

TEXTS = frozenset({"text", "flowRoot", "foreignObject"})
_MOVING = frozenset({"animate", "animateTransform", "animateMotion", "animateColor", "set"})
_PARTS = frozenset({"tspan", "textPath", "tref", "stop", "discard", "mpath"})


def remark_picture(
    remarks: Remarks, values: Values, node: Node, declared: Declared, place: Place,
    style: Style, matrix: Matrix, hidden: str,
) -> None:  # fmt: skip
    """Say that an element is a picture and, if it is not seen, that. `hidden`: why, in the words
    of Shape.hidden."""
    name = "href" if "href" in node.attrib else f"{{{XLINK}}}href"
    href = node.attrib.get(name, "").strip()
    if href.startswith("data:"):
        word = href[5:].partition(",")[0].partition(";")[0] or "picture"
        what = f"an embedded picture ({short(word)})"
    else:
        word = href or "image"
        what = f"a linked picture ({short(word)})"
    spot, frames = room(values, node, declared, place, style, matrix)
    message = f"{what} {'is not seen' if hidden else 'has no outline to follow'}"
    remarks.say(node, "bitmap", word, message, spot=spot, frames=frames, hidden=hidden)


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
        remarks.say(node, "value", tag, f"{tag} is not an SVG element: it is not drawn")


def room(
    values: Values, node: Node, declared: Declared, place: Place, style: Style, matrix: Matrix
) -> tuple[Point, tuple[Frame, ...]]:
    """Where a box of x, y, width and height starts on the page, and its corners there; none
    where it has no size of its own."""
    x, y, w, h = (
        values.length(node, declared, name, place, style, along)
        for name, along in (("x", "x"), ("y", "y"), ("width", "x"), ("height", "y"))
    )
    frames = (on_page(matrix, frame_of(x, y, w, h)),) if w > 0 and h > 0 else ()
    return apply(matrix, x, y), frames


def frame_of(x: float, y: float, wide: float, high: float) -> Frame:
    """The corners of a box, from its start all around."""
    return (x, y), (x + wide, y), (x + wide, y + high), (x, y + high)


def on_page(m: Matrix, frame: Frame) -> Frame:
    """The corners of a frame in page pixels."""
    first, second, third, fourth = (apply(m, x, y) for x, y in frame)
    return first, second, third, fourth
