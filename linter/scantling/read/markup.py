"""XML to nodes: a walk with expat that keeps the place of every element.

Nothing is fetched and nothing is expanded: a document that declares entities is refused, an
external document type is passed over.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import field
from xml.parsers import expat

import numpy as np

from scantling.read.limits import Limits
from scantling.read.source import Source, Unreadable
from scantling.read.tree import SVG, Node
from scantling.records import dataclass

_FIXED_MOST = 64
"""Longest attribute value that a document type may add to every element of a kind."""
_STYLES = frozenset({"style", "{http://www.w3.org/1999/xhtml}style"})


@dataclass(slots=True)
class Markup:
    """The tree, and what is looked up in it.

    ids            the first element of each id
    sheets         style elements, in order
    instructions   processing instructions as (target, data, offset)
    """

    root: Node
    ids: dict[str, Node] = field(default_factory=dict)
    sheets: list[Node] = field(default_factory=list)
    instructions: list[tuple[str, str, int]] = field(default_factory=list)

    def target(self, href: str) -> Node | None:
        """What a reference within the document (`#id`) refers to; None for all others."""
        if not href.startswith("#"):
            return None
        found = self.ids.get(href[1:])
        if found is None and "%" in href:
            from urllib.parse import unquote

            found = self.ids.get(unquote(href[1:]))
        return found


def read_markup(source: Source, limits: Limits) -> Markup:
    """Parse the text. Raises Unreadable with line and column."""
    text = source.text
    if not text.strip():
        raise Unreadable("empty file")
    builder = _Builder(source, limits)
    try:
        data = text.encode("utf-8")
    except UnicodeEncodeError as error:
        raise Unreadable(
            "not XML: half of a surrogate pair", *source.position(error.start)
        ) from None
    parser = builder.parser
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        at = _characters(data, [parser.ErrorByteIndex])[0]
        reason = expat.ErrorString(error.code)
        if error.code == _UNDEFINED_ENTITY:
            reason = _LOST
        raise Unreadable(f"not XML: {reason}", *source.position(at)) from None
    except _Refused as refusal:
        at = _characters(data, [refusal.args[1]])[0]
        raise Unreadable(refusal.args[0], *source.position(at)) from None
    return builder.finish(data)


_INSTEAD = "write the character itself"
_LOST = f"an entity that is not one of XML's own five; {_INSTEAD}"
_UNDEFINED_ENTITY = expat.errors.codes[expat.errors.XML_ERROR_UNDEFINED_ENTITY]


class _Refused(Exception):
    """Raised inside a handler with a message and a byte offset; becomes Unreadable there."""


def _characters(data: bytes, offsets: list[int]) -> list[int]:
    """Character offsets of byte offsets in UTF-8."""
    if data.isascii():
        return offsets
    codes = np.frombuffer(data, np.uint8)
    inner = np.flatnonzero((codes & 0xC0) == 0x80)  # continuation bytes begin no character
    at = np.asarray(offsets)
    return [int(i) for i in at - np.searchsorted(inner, at)]


class _Builder:
    """Expat's handlers."""

    def __init__(self, source: Source, limits: Limits) -> None:
        self.source = source
        self.limits = limits
        self.names: dict[str, str] = {}
        self.space = SVG
        self.nodes: list[Node] = []
        self.instructions: list[tuple[str, str, int]] = []
        self.doctype = False
        # the encoding is given, so that a declared one is passed over: the text is decoded
        parser = expat.ParserCreate("utf-8", "}")
        parser.buffer_text = True
        start, end, words = self._element_handlers(parser)
        parser.StartElementHandler = start
        parser.EndElementHandler = end
        parser.CharacterDataHandler = words
        parser.StartDoctypeDeclHandler = self._doctype
        parser.EntityDeclHandler = self._entity
        parser.AttlistDeclHandler = self._attlist
        parser.SkippedEntityHandler = self._skipped
        parser.ProcessingInstructionHandler = self._instruction
        self.parser = parser

    def _element_handlers(
        self, parser: expat.XMLParserType
    ) -> tuple[
        Callable[[str, dict[str, str]], None],
        Callable[[str], None],
        Callable[[str], None],
    ]:
        """Closures: they run once for every element, so nothing is looked up through self."""
        nodes, names = self.nodes, self.names
        most, deepest = self.limits.elements, self.limits.nesting
        open_nodes: list[Node] = []
        tag_of = self._tag

        def start(name: str, attrib: dict[str, str]) -> None:
            tag = names.get(name) or tag_of(name)
            for key in attrib:
                if "}" in key:
                    attrib = {"{" + k if "}" in k else k: v for k, v in attrib.items()}
                    break
            if open_nodes:
                parent = open_nodes[-1]
                node = Node(tag, attrib, parent, parser.CurrentByteIndex)
                parent.children.append(node)
                if len(open_nodes) >= deepest:
                    raise _Refused(self.limits.exceeded("nesting"), node.offset)
                if len(nodes) >= most:
                    raise _Refused(self.limits.exceeded("elements"), node.offset)
            else:
                node = Node(tag, attrib, None, parser.CurrentByteIndex)
                if tag != "svg":
                    raise _Refused(
                        f"not SVG: the root element is {tag.rpartition('}')[2]}", node.offset
                    )
            nodes.append(node)
            open_nodes.append(node)

        def end(name: str) -> None:
            open_nodes.pop()

        def words(data: str) -> None:
            if open_nodes:
                open_nodes[-1].text += data

        return start, end, words

    def _tag(self, name: str) -> str:
        """The tag of an element as expat names it. The root's namespace, SVG's or none, is that
        of all elements that are drawn."""
        space, _, local = name.rpartition("}")
        if not self.nodes:
            self.space = "" if not space else SVG
        tag = local if space == self.space else "{" + space + "}" + local
        self.names[name] = tag
        return tag

    def _doctype(self, name: str, system: str | None, public: str | None, inside: bool) -> None:
        self.doctype = True

    def _entity(self, name: str, *rest: object) -> None:
        raise _Refused(
            f"entity declarations are refused: the document declares {name}; write out what it "
            "stands for wherever it is used, or save the drawing as plain SVG",
            self.parser.CurrentByteIndex,
        )

    def _attlist(self, tag: str, name: str, kind: str, default: str | None, fixed: bool) -> None:
        if default is not None and len(default) > _FIXED_MOST and not name.startswith("xmlns"):
            raise _Refused(
                f"the document type gives the attribute {name} a value of more than "
                f"{_FIXED_MOST} characters",
                self.parser.CurrentByteIndex,
            )

    def _skipped(self, name: str, is_parameter: bool) -> None:
        if not is_parameter:
            raise _Refused(
                f"not XML: entity {name} is not one of XML's own five; {_INSTEAD}",
                self.parser.CurrentByteIndex,
            )

    def _instruction(self, target: str, data: str) -> None:
        self.instructions.append((target, data, self.parser.CurrentByteIndex))

    def finish(self, data: bytes) -> Markup:
        """Turn byte offsets into character offsets."""
        if not data.isascii():
            at = _characters(data, [node.offset for node in self.nodes])
            for node, offset in zip(self.nodes, at, strict=True):
                node.offset = offset
            marks = _characters(data, [mark[2] for mark in self.instructions])
            self.instructions = [
                (target, text, offset)
                for (target, text, _), offset in zip(self.instructions, marks, strict=True)
            ]
        if self.doctype:
            self._look_for_lost_entities()
        ids: dict[str, Node] = {}
        sheets: list[Node] = []
        for node in self.nodes:
            own = node.attrib.get("id")
            if own is not None and own not in ids:
                ids[own] = node
            if node.tag in _STYLES:
                sheets.append(node)
        return Markup(self.nodes[0], ids, sheets, self.instructions)

    def _look_for_lost_entities(self) -> None:
        """With an external document type, expat drops unknown entities in attribute values
        without a word."""
        import re
        from bisect import bisect_right

        from scantling.read.locate import element_range

        starts = [node.offset for node in self.nodes]
        for lost in re.finditer(r"&(?!#|(?:lt|gt|amp|quot|apos);)", self.source.text):
            index = bisect_right(starts, lost.start()) - 1
            if index < 0:
                continue
            first, last = element_range(self.source, self.nodes[index])
            if first <= lost.start() < last:
                raise Unreadable(
                    f"not XML: {_LOST}",
                    *self.source.position(lost.start()),
                )
