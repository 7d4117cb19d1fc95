"""The document tree: small nodes that know where in the text they stand."""

from __future__ import annotations

from collections.abc import Iterator

SVG = "http://www.w3.org/2000/svg"
XLINK = "http://www.w3.org/1999/xlink"
XML = "http://www.w3.org/XML/1998/namespace"


class Node:
    """One element.

    tag        local name for elements of the SVG namespace (or of none), `{ns}name` otherwise
    attrib     attributes; those of a namespace as `{ns}name`
    text       character data directly inside, before and between the children, joined
    offset     character offset of its `<` in Source.text
    """

    __slots__ = ("attrib", "children", "offset", "parent", "tag", "text")

    def __init__(self, tag: str, attrib: dict[str, str], parent: Node | None, offset: int) -> None:
        self.tag = tag
        self.attrib = attrib
        self.parent = parent
        self.children: list[Node] = []
        self.text = ""
        self.offset = offset

    @property
    def id(self) -> str:
        return self.attrib.get("id", "")

    def get(self, name: str, default: str | None = None) -> str | None:
        """An attribute, or the default."""
        return self.attrib.get(name, default)

    def walk(self) -> Iterator[Node]:
        """This node and all below it, in document order, without recursion."""
        stack = [self]
        while stack:
            node = stack.pop()
            yield node
            stack.extend(reversed(node.children))

    def __repr__(self) -> str:
        return f"<{self.tag}{' id=' + self.id if self.id else ''} @{self.offset}>"
