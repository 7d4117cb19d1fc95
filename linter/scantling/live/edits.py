"""Changes of a drawing's text that an editor offers: accept a finding, or mend it.

A change is a range of character offsets and the new text for it; nothing else of the drawing is
touched.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from xml.sax.saxutils import escape

from scantling.judge.accept import ATTRIBUTE, BETWEEN, UNWRITTEN
from scantling.judge.finding import Finding, Fix
from scantling.mend.edit import Edit as Edit
from scantling.mend.edit import applied as applied
from scantling.read.limits import Limits
from scantling.read.locate import attribute_range
from scantling.read.markup import read_markup
from scantling.read.source import Source
from scantling.read.tree import Node

_NAME = re.compile(r"<[^\s/>]+")


def accepting(source: Source, finding: Finding) -> list[Edit]:
    """Write the acceptance of a finding on its element, with the reason still to be written: it
    accepts nothing until somebody says why. Raises Unreadable where the text is not a drawing."""
    node = _element(source, finding.place.offset)
    entry = escape(f"{finding.rule}: {UNWRITTEN}", {'"': "&quot;", "'": "&apos;"})
    there = attribute_range(source, node, ATTRIBUTE)
    if there is not None:
        start, end = there
        before = f" {BETWEEN} " if source.text[start:end].strip() else ""
        return [Edit(end, end, before + entry)]
    name = _NAME.match(source.text, node.offset)
    at = name.end() if name else node.offset + 1 + len(node.tag)
    return [Edit(at, at, f' {ATTRIBUTE}="{entry}"')]


def mending(fix: Fix) -> list[Edit]:
    """The replacements of a fix."""
    return [Edit(place.offset, place.end_offset, text) for place, text in fix.replacements]


def _element(source: Source, offset: int) -> Node:
    """The element whose start tag is the last before an offset: that of a finding there."""
    nodes = list(read_markup(source, Limits()).root.walk())
    at = bisect_right([node.offset for node in nodes], offset) - 1
    return nodes[max(at, 0)]
