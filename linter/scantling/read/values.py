"""Attribute values of one drawing: lengths in pixels, view boxes, aspect ratios."""

from __future__ import annotations

from typing import Any

from scantling.read.cascade import Declared, Style
from scantling.read.lengths import Sizes, parse_length, pixels
from scantling.read.pagesize import page_of
from scantling.read.place import Place
from scantling.read.remarks import Remarks
from scantling.read.tree import Node
from scantling.read.viewport import Ratio, ViewBox, parse_ratio, parse_viewbox


class Values:
    """Reads values; what cannot be read is remarked and its default taken."""

    def __init__(self, remarks: Remarks, root: Node) -> None:
        self.remarks = remarks
        self.root_box = self.viewbox(root)
        self.page = page_of(root, self.root_box, remarks)

    def viewbox(self, node: Node) -> ViewBox | None:
        text = node.attrib.get("viewBox")
        if text is None:
            return None
        box = parse_viewbox(text)
        if box is None:
            self.remarks.complain(node, "viewBox", text)
        return box

    def ratio(self, node: Node) -> Ratio:
        text = node.attrib.get("preserveAspectRatio")
        if text is None:
            return Ratio()
        ratio = parse_ratio(text)
        if ratio is None:
            self.remarks.complain(node, "preserveAspectRatio", text)
            return Ratio()
        return ratio

    def sizes(self, sizes: tuple[float, float], style: Style) -> Sizes:
        """What relative lengths refer to."""
        return Sizes(*sizes, style.font_size, style.root_font, self.page.width, self.page.height)

    def length(
        self,
        node: Node,
        declared: Declared,
        name: str,
        place: Place,
        style: Style,
        along: str,
        default: float = 0.0,
    ) -> float:
        """A length in pixels of the user space: of the property where a style sets it, else of
        the attribute; the default for `auto`, and where it is missing or unreadable."""
        length: Any = declared.get(name)
        if length is None:
            text = node.attrib.get(name)
            if text is None:
                return default
            length = parse_length(text)
            if length is None:
                if text.strip().lower() != "auto":
                    self.remarks.complain(node, name, text)
                return default
        if not length.unit:
            return float(length.value)
        if length.unit == "auto":
            return default
        return pixels(length, self.sizes(place.sizes, style), along)
