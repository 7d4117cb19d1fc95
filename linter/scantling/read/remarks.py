"""Remarks: what is not geometry, or could not be read as it stands. Each is made once."""

from __future__ import annotations

import re

from scantling.late import pattern
from scantling.read.drawing import Remark
from scantling.read.locate import attribute_place, whole_range
from scantling.read.source import Source
from scantling.read.tree import Node

Point = tuple[float, float]
Frame = tuple[Point, Point, Point, Point]


class Remarks:
    """Collects remarks. While `muted`, nothing is noted: things are looked at, not drawn."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.made: list[Remark] = []
        self.muted = False
        self._said: set[tuple[int, str, str]] = set()

    def say(
        self,
        node: Node,
        kind: str,
        word: str,
        message: str,
        where: str = "",
        at: int = 0,
        offset: int = -1,
        spot: Point | None = None,
        frames: tuple[Frame, ...] = (),
        hidden: str = "",
    ) -> None:
        """Make a remark; a second one of the same kind and word about a node is dropped. It
        points at a character (`at`) of the attribute or property `where`, or at an offset."""
        key = (id(node), kind, word)
        if self.muted or key in self._said:
            return
        self._said.add(key)
        if where:
            offset = self._written_at(node, where, at)
        self.made.append(Remark(kind, node, word, message, offset, spot, frames, hidden))

    def complain(self, node: Node, name: str, value: str) -> None:
        """The value of an attribute or property is not in its grammar and is passed over."""
        message = f"{name} {quoted(value)} cannot be read: ignored"
        where = name if node.attrib.get(name) == value else "style"
        at = max(node.attrib.get(where, "").find(value), 0)
        self.say(node, "value", name, message, where, at)

    def broken(self, node: Node, name: str, href: str, what: str) -> None:
        """A reference to what is not there. `name` is the attribute or property it stands in."""
        if href.startswith("#"):
            message = f"{what} {short(href)}, but no element has that id"
        else:
            message = f"{what} {short(href)}, outside the drawing: it is not fetched"
        self.say(node, "reference", href, message, name)

    def _written_at(self, node: Node, name: str, at: int) -> int:
        """Where a character of an attribute or property is written on an element, -1 where that
        is in a style sheet."""
        for attribute in (name, "style"):
            if attribute in node.attrib:
                return attribute_place(self.source, node, attribute, at)
        return -1

    def words(self, node: Node) -> str:
        """The words of a text element in reading order."""
        start, end = whole_range(self.source, node)
        text = _LEFT_OUT.sub("", self.source.text[start:end])
        text = _CDATA.sub(lambda found: found[1].replace("&", "&#38;").replace("<", "&#60;"), text)
        return " ".join(_REFERENCE.sub(_character, _TAG.sub("", text)).split())


_LEFT_OUT = pattern(r"<!--.*?-->|<(title|desc)\b[^>]*?(?:/>|>.*?</\1\s*>)", re.S)
_CDATA = pattern(r"<!\[CDATA\[(.*?)\]\]>", re.S)
_TAG = pattern(r"""<(?:[^>"']|"[^"]*"|'[^']*')*>""")
_REFERENCE = pattern(r"&(?:#x([0-9a-fA-F]{1,6})|#([0-9]{1,7})|(lt|gt|amp|quot|apos));")
_NAMED = {"lt": "<", "gt": ">", "amp": "&", "quot": '"', "apos": "'"}


def _character(found: re.Match[str]) -> str:
    hexadecimal, decimal, name = found.groups()
    if name:
        return _NAMED[name]
    code = int(hexadecimal, 16) if hexadecimal else int(decimal)
    return chr(code) if 0 < code < 0x110000 else ""


def short(text: str) -> str:
    """A text on one line, at most 60 characters of it."""
    text = " ".join(text.split())
    return text if len(text) <= 60 else text[:57] + "…"


def quoted(text: str) -> str:
    """Text of a drawing as messages quote it, cut short."""
    return f"“{short(text)}”"
