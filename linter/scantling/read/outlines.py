"""From an element to its outline, in its own coordinates."""

from __future__ import annotations

from collections.abc import Callable

from scantling.read import shapes
from scantling.read.cascade import Declared, Style
from scantling.read.pathdata import Outline, PathError, read_path
from scantling.read.place import Place
from scantling.read.remarks import Remarks
from scantling.read.tree import Node
from scantling.read.values import Values

SHAPES = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"})


class Outlines:
    """Reads outlines. Path data and points are read once, however often an element is used."""

    def __init__(self, remarks: Remarks, values: Values) -> None:
        self.remarks = remarks
        self.values = values
        self._kept: dict[Node, Outline | None] = {}

    def of(self, node: Node, declared: Declared, place: Place, style: Style) -> Outline | None:
        """The outline of an element of SHAPES; None where there is nothing to draw."""
        tag = node.tag
        if tag == "path":
            path = declared.get("d")
            return self._written(node, "d", read_path) if path is None else self._d(node, path)
        if tag == "polyline":
            return self._written(node, "points", lambda text: shapes.read_points(text, False))
        if tag == "polygon":
            return self._written(node, "points", lambda text: shapes.read_points(text, True))

        def length(name: str, along: str, default: float = 0.0) -> float:
            return self.values.length(node, declared, name, place, style, along, default)

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
                self.remarks.complain(node, name, node.attrib.get(name, ""))
        return all(size > 0.0 for size in sizes.values())

    def _radii(self, node: Node, length: Callable[..., float]) -> tuple[float, float]:
        """rx and ry, of which each stands for the other when that is auto or missing."""
        rx, ry = length("rx", "x", -1.0), length("ry", "y", -1.0)
        for name, value in (("rx", rx), ("ry", ry)):
            written = node.attrib.get(name, "auto").strip()
            if value < 0.0 and written.startswith("-"):
                self.remarks.complain(node, name, node.attrib[name])
        rx, ry = (ry if rx < 0.0 else rx), (rx if ry < 0.0 else ry)
        return max(rx, 0.0), max(ry, 0.0)

    def _d(self, node: Node, path: str) -> Outline:
        """Path data of the d property: its places are not in the attribute."""
        outline, error = read_path(path)
        outline.ordinal = [-1] * len(outline)
        if error:
            self.remarks.complain(node, "d", path)
        return outline

    def _written(
        self, node: Node, name: str, read: Callable[[str], tuple[Outline, PathError | None]]
    ) -> Outline | None:
        if node in self._kept:
            return self._kept[node]
        text = node.attrib.get(name)
        if text is None or (name == "d" and text.strip() == "none"):
            return None
        outline, error = read(text)
        if error is not None:
            message = f"{name}: {error.message}; read up to here"
            self.remarks.say(node, "value", name, message, name, error.offset)
        self._kept[node] = outline
        return outline
