"""Colours and paints as CSS writes them.

Sources: CSS Color 4 (tinycss2.color4 reads the syntax; section 10.1 for the light defaults of
system colours); SVG 2, section 13.2 (paint).
"""

from __future__ import annotations

import re
from functools import lru_cache
from math import isfinite

from scantling.late import pattern
from scantling.read.drawing import Colour
from scantling.read.units import WHITE
from scantling.records import NamedTuple

_BLACK = Colour(0, 0, 0)
_HEX = pattern("#(?:[0-9a-fA-F]{3,4}|[0-9a-fA-F]{6}|[0-9a-fA-F]{8})")
_URL = pattern(
    r"""url\([ \t\n\r\f]*(?:"([^"\\]*)"|'([^'\\]*)'|([^"'()\\ \t\n\r\f]*))[ \t\n\r\f]*\)""", re.I
)
_COMMON = {  # read without the CSS library, which takes longer to load than an icon to read
    "black": _BLACK,
    "white": Colour(255, 255, 255),
    "red": Colour(255, 0, 0),
    "blue": Colour(0, 0, 255),
    "lime": Colour(0, 255, 0),
    "green": Colour(0, 128, 0),
    "transparent": Colour(0, 0, 0, 0.0),
}
# System colours depend on the screen. These are what a browser uses for a light page without
# further settings, where that does not depend on the desktop (from memory, checked against one).
_SYSTEM = {
    "accentcolor": "#0075ff", "accentcolortext": "#ffffff", "activetext": "#ff0000",
    "buttonborder": "#767676", "buttonface": "#efefef", "buttontext": "#000000",
    "canvas": "#ffffff", "canvastext": "#000000", "field": "#ffffff", "fieldtext": "#000000",
    "graytext": "#808080", "linktext": "#0000ee", "mark": "#ffff00", "marktext": "#000000",
    "visitedtext": "#551a8b",
}  # fmt: skip


class PaintWord(NamedTuple):
    """A paint as declared.

    kind      'none', 'colour', 'current' (currentColor), 'server' (url(#id)), 'context-fill' or
              'context-stroke'
    colour    of kind 'colour', or a server's fallback
    server    what stands in url(); `fallback` then says what to paint with if it is missing
    """

    kind: str
    colour: Colour | None = None
    server: str = ""
    fallback: str = "none"


NO_PAINT = PaintWord("none")
CURRENT = PaintWord("current")
BLACK = PaintWord("colour", _BLACK)


@lru_cache(maxsize=4096)
def parse_colour(text: str) -> Colour | str | None:
    """A Colour, 'current' for currentColor, or None where it is not a colour."""
    word = text.strip(WHITE)
    if word.startswith("#") and _HEX.fullmatch(word):
        digits = word[1:] if len(word) > 5 else "".join(2 * digit for digit in word[1:])
        red, green, blue, *alpha = bytes.fromhex(digits)
        return Colour(red, green, blue, alpha[0] / 255.0 if alpha else 1.0)
    lower = word.lower()
    if lower in _COMMON:
        return _COMMON[lower]
    if lower == "currentcolor":
        return "current"
    if lower in _SYSTEM:
        return parse_colour(_SYSTEM[lower])
    if not lower or not lower.isascii():
        return None
    return _by_library(word)


def _by_library(word: str) -> Colour | None:
    from tinycss2 import color4

    from scantling.read.gamut import to_srgb

    try:
        found = color4.parse_color(word)
        if found is None or isinstance(found, str):
            return None
        channels = to_srgb(found)
    except (ValueError, TypeError, AttributeError, IndexError, ArithmeticError):
        return None  # the library stumbles over some values that are not colours
    if channels is None or not all(map(isfinite, channels)):
        return None
    # CSS Color 4, section 15: sRGB serialises to whole steps, halves rounded up
    red, green, blue = (int(min(max(value, 0.0), 1.0) * 255.0 + 0.5) for value in channels)
    return Colour(red, green, blue, float(found.alpha))


@lru_cache(maxsize=4096)
def parse_paint(text: str) -> PaintWord | None:
    """A value of fill or stroke, or None where it cannot be read."""
    word = text.strip(WHITE)
    if word == "none":
        return NO_PAINT
    colour = parse_colour(word)
    if isinstance(colour, Colour):
        return PaintWord("colour", colour)
    if colour == "current":
        return CURRENT
    lower = word.lower()
    if lower in ("none", "context-fill", "context-stroke"):
        return PaintWord(lower)
    target = _URL.match(word)
    if not target:
        return None
    server = target[1] or target[2] or target[3] or ""
    rest = word[target.end() :].strip(WHITE)
    if not rest or rest.lower() == "none":
        return PaintWord("server", None, server, "none" if rest else "")
    fallback = parse_colour(rest)
    if isinstance(fallback, Colour):
        return PaintWord("server", fallback, server, "colour")
    return PaintWord("server", None, server, "current") if fallback == "current" else None


@lru_cache(maxsize=1024)
def parse_url(text: str) -> str | None:
    """What stands in url(): '' for `none`, None where it is neither."""
    word = text.strip(WHITE)
    if word.lower() == "none":
        return ""
    target = _URL.match(word)
    if not target or target.end() != len(word):
        return None
    return target[1] or target[2] or target[3] or None
