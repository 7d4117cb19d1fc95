"""Elements in the text: take one out, change its tag and attributes."""

from __future__ import annotations

import re
from collections.abc import Iterable

from scantling.mend.edit import Edit
from scantling.mend.path import Unwritable
from scantling.read.locate import attribute_range, element_range, whole_range
from scantling.read.source import Source
from scantling.read.tree import Node

GEOMETRY = frozenset(
    [
        "d",
        "points",
        "x",
        "y",
        "width",
        "height",
        "rx",
        "ry",
        "cx",
        "cy",
        "r",
        "x1",
        "y1",
        "x2",
        "y2",
    ]
)
"""Attributes that say where a basic shape is (SVG 2, chapters 9 and 10)."""
_NAMES = frozenset({"title", "desc"})
_WRITTEN = re.compile(r"""\s+([^\s=/>"']+)\s*=\s*(?:"[^"]*"|'[^']*')""")
_OPENS = re.compile(r"<[^\s/>]+")


def taken_out(source: Source, node: Node) -> Edit:
    """The edit that takes an element out, with its line where it is alone on it. Raises
    Unwritable where something else refers to it or is kept in it."""
    if is_named(source, node):
        raise Unwritable(f"something else in the drawing refers to it (#{node.id})")
    if any(child.tag not in _NAMES for child in node.children):
        raise Unwritable("other elements are inside it")
    start, end = whole_range(source, node)
    return Edit(*with_line(source.text, start, end), "")


def with_line(text: str, start: int, end: int) -> tuple[int, int]:
    """A range, widened to whole lines where nothing else stands on them."""
    begin = start
    while begin and text[begin - 1] in " \t":
        begin -= 1
    finish = end
    while finish < len(text) and text[finish] in " \t":
        finish += 1
    if begin and text[begin - 1] not in "\r\n":
        return start, end
    if text.startswith("\r\n", finish):
        return begin, finish + 2
    if finish < len(text) and text[finish] in "\r\n":
        return begin, finish + 1
    return start, end


def is_named(source: Source, node: Node) -> bool:
    """Whether anything in the drawing refers to an element by its id."""
    if not node.id:
        return False
    return re.search(rf"#{re.escape(node.id)}(?![\w.:-])", source.text) is not None


def as_path(source: Source, node: Node, d: str) -> list[Edit]:
    """The edits that make a path of a basic shape, in its place and with all else of it."""
    text = source.text
    start, end = element_range(source, node)
    name = _OPENS.match(text, start)
    if name is None or not name[0].endswith(node.tag):
        raise Unwritable("its tag cannot be changed in place")
    edits = [Edit(name.end() - len(node.tag), name.end(), "path")]
    written = f'd="{d}"'
    for found in _WRITTEN.finditer(text, start, end):
        if found[1] in GEOMETRY:
            space = found.start(1) - found.start()
            keep = found[0][:space] + written if written else ""
            edits.append(Edit(found.start(), found.end(), keep))
            written = ""
    if written:
        raise Unwritable("its outline is written elsewhere")
    if text[end - 2 : end] != "/>":
        closing = text.rfind("</", start, whole_range(source, node)[1])
        at = text.find(node.tag, closing)
        edits.append(Edit(at, at + len(node.tag), "path"))
    return _neighbours_joined(edits)


def _neighbours_joined(edits: Iterable[Edit]) -> list[Edit]:
    """Edits that follow on each other as one."""
    done: list[Edit] = []
    for edit in sorted(edits):
        if done and done[-1].end == edit.start:
            last = done.pop()
            edit = Edit(last.start, edit.end, last.text + edit.text)
        done.append(edit)
    return done


def rewritten(source: Source, node: Node, name: str, text: str) -> Edit:
    """The edit that gives an attribute, which is there, another value."""
    found = attribute_range(source, node, name)
    if found is None:
        raise Unwritable(f"its {name} is written elsewhere")
    return Edit(*found, text)
