"""The cascade: presentation attributes, style sheets, style attributes, inheritance.

Order of precedence, from weak to strong (CSS Cascade 4, section 6; SVG 2, section 6.6):
presentation attributes, rules of style sheets by specificity and order, the style attribute, the
same two again for declarations marked important.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from scantling.late import pattern
from scantling.read.lengths import Sizes, pixels
from scantling.read.paints import PaintWord
from scantling.read.properties import (
    ATTRIBUTES,
    INHERIT,
    INITIAL,
    INITIAL_VALUES,
    INVALID,
    PROPERTIES,
    Pending,
    longhands,
    parse_property,
)
from scantling.read.remarks import Remarks
from scantling.read.tree import Node
from scantling.read.units import Length

Declaration = tuple[str, str, bool]
"""Property (in lower case, but custom ones), value as written, important."""
Declared = dict[str, Any]
NOTHING: Declared = {}
Rules = Mapping[Node, tuple[Declaration, ...]] | None
"""The declarations of style sheets by element, weak to strong."""


class Style:
    """The computed values that children inherit. `origins` says which node declared what, so
    that a remark about paint points at the place to mend."""

    color: Any
    fill: PaintWord
    stroke: PaintWord
    fill_rule: str
    clip_rule: str
    fill_opacity: float
    stroke_opacity: float
    stroke_width: Length
    linecap: str
    linejoin: str
    miterlimit: float
    dashes: tuple[Length, ...]
    dash_offset: Length
    visibility: str
    paint_order: str
    marker_start: str
    marker_mid: str
    marker_end: str
    font_size: float
    font_family: str
    text_anchor: str
    root_font: float
    custom: Mapping[str, str]
    origins: Mapping[str, Node]

    def copy(self) -> Style:
        new = Style.__new__(Style)
        new.__dict__ = self.__dict__.copy()
        return new


def initial_style() -> Style:
    """The style that a root element inherits: every property at its initial value."""
    style = Style.__new__(Style)
    for name, value in INITIAL_VALUES.items():
        setattr(style, name, value)
    style.root_font = 16.0
    style.custom = {}
    style.origins = {}
    return style


_ORIGINS = frozenset(
    {"fill", "stroke", "dashes", "marker_start", "marker_mid", "marker_end", "font_family"}
)


def inherit(parent: Style, declared: Declared, node: Node) -> Style:
    """The style of an element from its parent's and its own declarations."""
    if not declared:
        return parent
    style = parent.copy()
    origins: dict[str, Node] | None = None
    size = declared.get("font-size")
    if size is not None and size is not INHERIT:
        if size is INITIAL:
            style.font_size = INITIAL_VALUES["font_size"]
        else:
            style.font_size = _font_pixels(size, parent)
    for name, value in declared.items():
        slot = PROPERTIES[name].slot
        if not slot or slot == "font_size":
            continue
        if value is INHERIT:
            value = getattr(parent, slot)
        else:
            if value is INITIAL:
                value = INITIAL_VALUES[slot]
            elif type(value) is Length:
                value = _absolute(value, style)
            elif slot == "dashes":
                value = tuple(_absolute(dash, style) for dash in value)
            if slot in _ORIGINS:
                if origins is None:
                    origins = dict(parent.origins)
                origins[slot] = node
        setattr(style, slot, value)
    if origins is not None:
        style.origins = origins
    return style


def _font_pixels(size: Length, parent: Style) -> float:
    if size.unit == "%":
        return size.value / 100.0 * parent.font_size
    sizes = Sizes(0.0, 0.0, parent.font_size, parent.root_font)
    return pixels(size, sizes, "both")


def _absolute(length: Length, style: Style) -> Length:
    """Lengths are inherited as computed: font units in pixels, percentages as they are."""
    sizes = Sizes(0.0, 0.0, style.font_size, style.root_font)
    if length.unit in _OF_THE_FONT:
        return Length(pixels(length, sizes, "both"))
    if length.unit == "calc":
        parts = tuple(
            (pixels(Length(*part), sizes, "both"), "") if part[1] in _OF_THE_FONT else part
            for part in length.parts
        )
        return length._replace(parts=parts)
    return length


_OF_THE_FONT = frozenset({"em", "ex", "ch", "rem"})


class Cascade:
    """Collects the declarations of one element after another."""

    def __init__(self, remarks: Remarks) -> None:
        self.remarks = remarks
        self.complain = remarks.complain

    def declared(self, node: Node, style: Style, matched: Rules) -> tuple[Declared, Style]:
        """The element's own valid declarations, and the parent's style, with the element's
        custom properties where it sets some."""
        declared = self._presented(node)
        written = node.attrib.get("style")
        rules = matched.get(node) if matched else None
        if written is None and rules is None:
            if not declared:
                return NOTHING, style
            if Pending not in map(type, declared.values()):
                return declared, style
        own: tuple[Declaration, ...] = ()
        if written:
            read = read_declarations if len(written) < 4 * _SHORT else read_declarations.__wrapped__
            own = read(written)
        custom: dict[str, str] = {}
        for important in (False, True):
            for declarations in (rules or (), own):
                for name, text, is_important in declarations:
                    if is_important is not important:
                        continue
                    if name.startswith("--"):
                        custom[name] = text
                    else:
                        self._take_up(node, name, text, declared)
        if custom:
            style = style.copy()
            style.custom = _resolved({**style.custom, **custom})
        self._fill_in(node, declared, style)
        return declared, style

    def _presented(self, node: Node) -> Declared:
        """What the element's presentation attributes declare."""
        declared: Declared = {}
        for name, text in node.attrib.items():
            if name in ATTRIBUTES:
                value = _parse(name, text, False)
                if value is INVALID:
                    self.complain(node, name, text)
                else:
                    declared[name] = value
        return declared

    def _take_up(self, node: Node, name: str, text: str, declared: Declared) -> None:
        """Put a declaration of a style sheet or a style attribute over the earlier ones."""
        for longhand, part in longhands(name, text):
            if longhand not in PROPERTIES:
                if longhand in _NOT_READ:
                    message = f"the property {longhand} is not read: drawn without it"
                    self.remarks.say(node, "value", longhand, message, "style")
                continue
            value = _parse(longhand, part, True)
            if value is INVALID:
                self.complain(node, longhand, part)
            else:
                declared[longhand] = value

    def _fill_in(self, node: Node, declared: Declared, style: Style) -> None:
        """Put values in the place of what waited for custom properties."""
        for name, value in declared.items():
            if type(value) is not Pending:
                continue
            filled = substitute(value.text, style.custom)
            now = INVALID if filled is None else parse_property(name, filled, value.css)
            if now is INVALID or type(now) is Pending:
                self.complain(node, name, value.text)
                # CSS Variables 1, section 3.1: invalid at computed-value time is unset
                now = INHERIT if PROPERTIES[name].slot else INITIAL
            declared[name] = now


def _parse(name: str, text: str, css: bool) -> Any:
    """parse_property, keeping none but short values."""
    read = parse_property if len(text) < _SHORT else parse_property.__wrapped__
    return read(name, text, css)


_SHORT = 500
_NOT_READ = frozenset({"translate", "rotate", "scale", "zoom", "offset-path", "all"})
"""Properties that would move or change what is drawn."""

_SIMPLE = re.compile(r"""[^\\"'{}@!/()\[\]]*(?:\([^\\"'{}@!/();\[\]]*\)[^\\"'{}@!/()\[\]]*)*""")


@lru_cache(maxsize=2048)
def read_declarations(text: str) -> tuple[Declaration, ...]:
    """The declarations of a style attribute, in order."""
    if not _SIMPLE.fullmatch(text):
        return _by_library(text)
    found: list[Declaration] = []
    for part in text.split(";"):
        name, colon, value = part.partition(":")
        name = name.strip()
        if colon and name:
            found.append((name if name.startswith("--") else name.lower(), value.strip(), False))
    return tuple(found)


def _by_library(text: str) -> tuple[Declaration, ...]:
    import tinycss2

    try:
        parsed = tinycss2.parse_blocks_contents(text, skip_comments=True, skip_whitespace=True)
        return declarations_of(parsed)
    except RecursionError:
        return ()


def declarations_of(parsed: Any) -> tuple[Declaration, ...]:
    """Declarations among what the CSS library has parsed."""
    import tinycss2

    return tuple(
        (
            item.name if item.name.startswith("--") else item.lower_name,
            tinycss2.serialize(item.value).strip(),
            bool(item.important),
        )
        for item in parsed
        if item.type == "declaration"
    )


_VAR = pattern(r"var\([ \t\n\r\f]*(--[^\s,()]+)[ \t\n\r\f]*(?:,([^()]*(?:\([^()]*\)[^()]*)*))?\)")
_LONGEST = 10_000


def substitute(text: str, custom: Mapping[str, str]) -> str | None:
    """Replace var() by the custom properties; None where one is missing, or too much comes of
    it. Source: CSS Custom Properties for Cascading Variables 1, section 3."""
    for _ in range(100):
        found = _VAR.search(text)
        if not found:
            return None if "var(" in text else text
        value: str | None = custom.get(found[1], found[2])
        if value is None:
            return None
        text = text[: found.start()] + value + text[found.end() :]
        if len(text) > _LONGEST:
            return None
    return None


def _resolved(custom: dict[str, str]) -> dict[str, str]:
    """Custom properties with var() replaced where they are declared; what cannot be is left
    out, as are those that refer to themselves."""
    result = {}
    for name, text in custom.items():
        value = substitute(text, custom) if "var(" in text else text
        if value is not None:
            result[name] = value
    return result
