"""Where in the text a node, an attribute or a segment of path data stands.

Nothing of this is kept while reading: places are found again in the text when a finding asks for
them. All ranges are character offsets (start, end) in Source.text, the end exclusive.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterable
from functools import lru_cache
from itertools import islice
from threading import Lock

from scantling.late import pattern
from scantling.read.pathdata import PathError, scan
from scantling.read.source import Source
from scantling.read.tree import Node

Range = tuple[int, int]

_TAG = pattern(r"""<[^\s/>]+(?:[^>"']|"[^"]*"|'[^']*')*>?""")
_ATTRIBUTE = pattern(r"""([^\s=/>"']+)\s*=\s*("[^"]*"|'[^']*')""")
_SPELLED = pattern(r"&(?:#[xX]?[0-9a-fA-F]+|[A-Za-z]+);|\r\n")
_MARKUP = pattern(
    r"<!--.*?-->|<!\[CDATA\[.*?\]\]>|<\?.*?\?>|<(/?)[^\s/>!?]+(?:[^>\"']|\"[^\"]*\"|'[^']*')*?(/?)>",
    re.S,
)
_NUMBERS = pattern(r"[^\s,]+")


def element_range(source: Source, node: Node) -> Range:
    """The element's start tag, from `<` to `>`."""
    found = _TAG.match(source.text, node.offset)
    return (node.offset, found.end() if found else node.offset + 1)


def whole_range(source: Source, node: Node) -> Range:
    """The whole element, from the `<` of its start tag to the `>` of its end tag."""
    depth = 0
    for found in _MARKUP.finditer(source.text, node.offset):
        if found[1] is None:  # comment, CDATA, processing instruction
            continue
        if found[1]:
            depth -= 1
        elif not found[2]:
            depth += 1
        if depth <= 0:
            return node.offset, found.end()
    return node.offset, len(source.text)


def attribute_range(source: Source, node: Node, name: str) -> Range | None:
    """The value of an attribute, without its quotes; None where it is not written. `name` as in
    Node.attrib."""
    known = source.values
    if (node.offset, name) not in known:
        known[node.offset, name] = _attribute_range(source, node, name)
    return known[node.offset, name]


def _attribute_range(source: Source, node: Node, name: str) -> Range | None:
    start, end = element_range(source, node)
    prefixed = name.startswith("{")
    local = name.rpartition("}")[2]
    for found in _ATTRIBUTE.finditer(source.text, start, end):
        written = found[1]
        if (prefixed and ":" in written and written.rpartition(":")[2] == local) or (
            not prefixed and written == local
        ):
            return found.start(2) + 1, found.end(2) - 1
    return None


def inside(source: Source, value: Range, start: int, end: int) -> Range:
    """From a range in an attribute's value as read to the range in the text: character
    references and CRLF are longer in the text than in the value."""
    if value not in source.spelled:
        source.spelled[value] = _spelled(source.text[value[0] : value[1]])
    at, longer = source.spelled[value]
    return (
        value[0] + start + longer[bisect_left(at, start)],
        value[0] + end + longer[bisect_left(at, end)],
    )


def _spelled(text: str) -> tuple[list[int], list[int]]:
    """Where in a value those characters stand that take more than one in the text, and how much
    longer the text is before each of them, and after the last."""
    at: list[int] = []
    longer = [0]
    if "&" not in text and "\r" not in text:
        return at, longer
    for found in _SPELLED.finditer(text):
        at.append(found.start() - longer[-1])
        longer.append(longer[-1] + len(found[0]) - 1)
    return at, longer


def attribute_place(source: Source, node: Node, name: str, at: int = 0) -> int:
    """The text offset of a character of an attribute's value; the element's where the attribute
    is not written."""
    value = attribute_range(source, node, name)
    if value is None:
        return node.offset
    return inside(source, value, at, at)[0]


def segment_range(source: Source, node: Node, ordinal: int) -> Range | None:
    """A segment of path data (`d`) as written, command letter included where it is written out;
    for `points`, the number pair that the line ends in. `ordinal` as in Curves.ordinal; None
    where the element has no such segment."""
    for name, ranges in (("d", _segments), ("points", _pairs)):
        written = node.attrib.get(name)
        if written is not None and ordinal >= 0:
            found = ranges(written).nth(ordinal)
            value = attribute_range(source, node, name)
            if found is not None and value is not None:
                return inside(source, value, *found)
    return None


class _Ranges:
    """Ranges of a text, read as far as they are asked for: most are near its beginning."""

    def __init__(self, ranges: Iterable[Range]) -> None:
        self._more = iter(ranges)
        self._read: list[Range] = []
        self._lock = Lock()

    def nth(self, ordinal: int) -> Range | None:
        with self._lock:
            self._read += islice(self._more, max(ordinal + 1 - len(self._read), 0))
        return self._read[ordinal] if ordinal < len(self._read) else None


@lru_cache(maxsize=256)
def _segments(d: str) -> _Ranges:
    return _Ranges((s.start, s.end) for s in scan(d) if not isinstance(s, PathError))


@lru_cache(maxsize=256)
def _pairs(points: str) -> _Ranges:
    from scantling.read.shapes import point_places

    return _Ranges(point_places(points))
