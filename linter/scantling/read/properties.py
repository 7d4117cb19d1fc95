"""The CSS properties that decide what is drawn: how each is read, and what it starts as.

`parse_property` is the one door: a value as written, to a value as used later, or INVALID, in
which case CSS says that the declaration is passed over. Source: SVG 2, chapters 6, 8, 10, 13;
CSS Transforms 1; CSS Cascade 4, section 7 (keywords).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache
from typing import Any

from scantling.late import pattern
from scantling.read.lengths import parse_length, parse_number, parse_share
from scantling.read.paints import BLACK, NO_PAINT, parse_colour, parse_paint, parse_url
from scantling.read.transforms import parse_transform
from scantling.read.units import WHITE, Length
from scantling.records import NamedTuple


class Word:
    """A value that stands for itself."""

    def __init__(self, name: str) -> None:
        self.name = name

    def __repr__(self) -> str:
        return self.name


INVALID, INHERIT, INITIAL = Word("invalid"), Word("inherit"), Word("initial")


class Pending(NamedTuple):
    """A value with var() in it: it can be read only where the custom properties are known."""

    text: str
    css: bool


class Property(NamedTuple):
    """`slot` is the name it goes by in Style for inherited properties, '' for the others.
    `attribute` is True where it may be written as a presentation attribute."""

    parse: Callable[[str, bool], Any]
    slot: str = ""
    attribute: bool = True


def _words(*allowed: str) -> Callable[[str, bool], Any]:
    known = {word.lower(): word for word in allowed}
    return lambda text, css: known.get(text.strip(WHITE).lower(), INVALID)


def _plain(parse: Callable[[str], Any]) -> Callable[[str, bool], Any]:
    def read(text: str, css: bool) -> Any:
        value = parse(text)
        return INVALID if value is None else value

    return read


def _length(least: float | None = None, unitless: bool = True) -> Callable[[str, bool], Any]:
    def read(text: str, css: bool) -> Any:
        value = parse_length(text)
        if value is None or (least is not None and value.value < least):
            return INVALID
        if css and not unitless and not value.written and value.value:
            return INVALID
        return value

    return read


def _auto_length(text: str, css: bool) -> Any:
    return Length(0.0, "auto") if text.strip().lower() == "auto" else _bare_length(text, css)


_bare_length = _length(unitless=False)


def _colour(text: str, css: bool) -> Any:
    value = parse_colour(text)
    if value is None:
        return INVALID
    return INHERIT if value == "current" else value


_PARTS = pattern(r"[ \t\n\r\f]*,[ \t\n\r\f]*|[ \t\n\r\f]+")
_dashed = pattern(r"[^,]+(?:,[^,]+)*")


def _dashes(text: str, css: bool) -> Any:
    words = text.strip(WHITE)
    if words.lower() == "none":
        return ()
    if not _dashed.fullmatch(words):
        return INVALID
    lengths = [parse_length(part) for part in _PARTS.split(words)]
    if any(length is None or length.value < 0.0 for length in lengths):
        return INVALID
    return tuple(lengths)


def _paint_order(text: str, css: bool) -> Any:
    words = text.lower().split()
    kinds = ("fill", "stroke", "markers")
    if words == ["normal"]:
        return "normal"
    if not words or len(set(words)) != len(words) or not set(words) <= set(kinds):
        return INVALID
    whole = " ".join([*words, *(kind for kind in kinds if kind not in words)])
    return "normal" if whole == "fill stroke markers" else whole


FONT_WORDS = {
    "xx-small": 9.0, "x-small": 10.0, "small": 13.0, "medium": 16.0, "large": 18.0,
    "x-large": 24.0, "xx-large": 32.0, "xxx-large": 48.0,
}  # fmt: skip
"""Pixels, for a medium of 16 (CSS Fonts 4, section 2.5.1, rounded as browsers do)."""


def _font_size(text: str, css: bool) -> Any:
    word = text.strip(WHITE).lower()
    if word in FONT_WORDS:
        return Length(FONT_WORDS[word])
    if word in ("smaller", "larger"):  # by the ratio 1.2 that CSS Fonts suggests
        return Length(1.2 if word == "larger" else 1.0 / 1.2, "em")
    return _length(0.0, unitless=False)(text, css)


def _transform(text: str, css: bool) -> Any:
    value = parse_transform(text, css)
    return INVALID if value is None else value


_SIDES = {"left": 0.0, "top": 0.0, "center": 50.0, "right": 100.0, "bottom": 100.0}


def _origin(text: str, css: bool) -> Any:
    """transform-origin as (x, y) lengths."""
    words = text.lower().split()
    if not 1 <= len(words) <= 3:
        return INVALID
    if len(words) == 3:
        depth = parse_length(words.pop())
        if depth is None or depth.unit == "%":
            return INVALID
    if len(words) == 1:
        words = ["center", words[0]] if words[0] in ("top", "bottom") else [words[0], "center"]
    elif words[0] in ("top", "bottom") or words[1] in ("left", "right"):
        words.reverse()
    if words[0] in ("top", "bottom") or words[1] in ("left", "right"):
        return INVALID
    found = [
        Length(_SIDES[word], "%") if word in _SIDES else _bare_length(word, css) for word in words
    ]
    return INVALID if INVALID in found else tuple(found)


def _list_of_urls(text: str, css: bool) -> Any:
    """filter: its url, a function list as written, or ''."""
    word = text.strip(WHITE)
    target = parse_url(word)
    if target is not None:
        return "#" + target if target and not target.startswith("#") else target
    return word if re.match(r"(?i)(?:url|[a-z-]+)\(", word) else INVALID


def _clip(text: str, css: bool) -> Any:
    word = text.strip(WHITE)
    target = parse_url(word)
    if target is not None:
        return target
    if re.match(r"(?i)(?:inset|circle|ellipse|polygon|path|rect|xywh|shape)\(|[a-z]+-box", word):
        return word
    return INVALID


def _path(text: str, css: bool) -> Any:
    """The d property: path("…") or none."""
    word = text.strip(WHITE)
    if word.lower() == "none":
        return ""
    found = re.fullmatch(
        r"""(?is)path\([ \t\n\r\f]*(?:"([^"\\]*)"|'([^'\\]*)')[ \t\n\r\f]*\)""", word
    )
    return (found[1] or found[2] or "") if found else INVALID


def _text(text: str, css: bool) -> Any:
    return text.strip()


_LENGTH = _bare_length
_SIZE = _auto_length

PROPERTIES: dict[str, Property] = {
    "color": Property(_colour, "color"),
    "fill": Property(_plain(parse_paint), "fill"),
    "stroke": Property(_plain(parse_paint), "stroke"),
    "fill-rule": Property(_words("nonzero", "evenodd"), "fill_rule"),
    "clip-rule": Property(_words("nonzero", "evenodd"), "clip_rule"),
    "fill-opacity": Property(_plain(parse_share), "fill_opacity"),
    "stroke-opacity": Property(_plain(parse_share), "stroke_opacity"),
    "stroke-width": Property(_length(0.0), "stroke_width"),
    "stroke-linecap": Property(_words("butt", "round", "square"), "linecap"),
    "stroke-linejoin": Property(
        _words("miter", "miter-clip", "round", "bevel", "arcs"), "linejoin"
    ),
    "stroke-miterlimit": Property(_plain(lambda text: parse_number(text, 1.0)), "miterlimit"),
    "stroke-dasharray": Property(_dashes, "dashes"),
    "stroke-dashoffset": Property(_length(), "dash_offset"),
    "visibility": Property(_words("visible", "hidden", "collapse"), "visibility"),
    "paint-order": Property(_paint_order, "paint_order"),
    "marker-start": Property(_plain(parse_url), "marker_start"),
    "marker-mid": Property(_plain(parse_url), "marker_mid"),
    "marker-end": Property(_plain(parse_url), "marker_end"),
    "font-size": Property(_font_size, "font_size"),
    "font-family": Property(_text, "font_family"),
    "text-anchor": Property(_words("start", "middle", "end"), "text_anchor"),
    "display": Property(lambda text, css: text.strip().lower() or INVALID),
    "opacity": Property(_plain(parse_share)),
    "transform": Property(_transform),
    "transform-origin": Property(_origin),
    "transform-box": Property(
        _words("view-box", "fill-box", "stroke-box", "content-box", "border-box")
    ),
    "clip-path": Property(_clip),
    "mask": Property(_list_of_urls),
    "mask-image": Property(_list_of_urls, attribute=False),
    "filter": Property(_list_of_urls),
    "overflow": Property(_words("visible", "hidden", "scroll", "auto", "clip")),
    "vector-effect": Property(
        _words("none", "non-scaling-stroke", "non-scaling-size", "non-rotation", "fixed-position")
    ),
    # geometry: read as attributes by the shapes themselves, overruled by style sheets
    "x": Property(_LENGTH, attribute=False),
    "y": Property(_LENGTH, attribute=False),
    "cx": Property(_LENGTH, attribute=False),
    "cy": Property(_LENGTH, attribute=False),
    "r": Property(_LENGTH, attribute=False),
    "rx": Property(_SIZE, attribute=False),
    "ry": Property(_SIZE, attribute=False),
    "width": Property(_SIZE, attribute=False),
    "height": Property(_SIZE, attribute=False),
    "d": Property(_path, attribute=False),
}
ATTRIBUTES = frozenset(name for name, known in PROPERTIES.items() if known.attribute)
"""Properties that may stand as presentation attributes (SVG 2, section 6.7)."""

INITIAL_VALUES: dict[str, Any] = {
    "color": BLACK.colour,
    "fill": BLACK,
    "stroke": NO_PAINT,
    "fill_rule": "nonzero",
    "clip_rule": "nonzero",
    "fill_opacity": 1.0,
    "stroke_opacity": 1.0,
    "stroke_width": Length(1.0),
    "linecap": "butt",
    "linejoin": "miter",
    "miterlimit": 4.0,
    "dashes": (),
    "dash_offset": Length(0.0),
    "visibility": "visible",
    "paint_order": "normal",
    "marker_start": "",
    "marker_mid": "",
    "marker_end": "",
    "font_size": 16.0,
    "font_family": "",
    "text_anchor": "start",
}


@lru_cache(maxsize=8192)
def parse_property(name: str, text: str, css: bool) -> Any:
    """The value of a property in PROPERTIES. `css` is False in a presentation attribute, where
    numbers may stand for lengths and angles."""
    if "var(" in text:
        return Pending(text, css)
    known = PROPERTIES[name]
    word = text.strip(WHITE).lower()
    if word == "inherit":
        return INHERIT
    if word == "initial":
        return INITIAL
    if word in ("unset", "revert"):
        return INHERIT if known.slot else INITIAL
    if "/*" in text:
        text = re.sub(r"/\*.*?(?:\*/|$)", " ", text, flags=re.S)
    return known.parse(text, css)


_FONT = pattern(r"^(?:.*?\s)?((?:[0-9.]+[a-z%]+|(?:xx?-)?(?:small|large)|medium|smaller|larger))"
                   r"(?:\s*/\s*\S+)?\s+(.+)$", re.I | re.S)  # fmt: skip


def longhands(name: str, text: str) -> tuple[tuple[str, str], ...]:
    """A declaration as the properties it sets: `marker` and `font` set several."""
    if name == "marker":
        return tuple((f"marker-{part}", text) for part in ("start", "mid", "end"))
    if name == "font":
        found = _FONT.match(text.strip())
        return (("font-size", found[1]), ("font-family", found[2])) if found else ()
    return ((name, text),)
