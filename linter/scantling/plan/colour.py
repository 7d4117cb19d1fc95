"""Colours of a job sheet: reading them, and how far two of them are apart to the eye."""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scantling.read.drawing import Colour

Array = NDArray[np.float64]

_HEX = re.compile(r"#(?:[0-9a-fA-F]{3}|[0-9a-fA-F]{6})")
ALLOWED = '"#rrggbb", "#rgb", a CSS colour name, rgb(), hsl() or hwb()'


def parse_colour(text: str) -> Colour:
    """A colour as CSS Color 4 writes it, opaque, as sRGB in whole steps of 1/255.

    Raises ValueError, whose text says what was found and what is allowed.
    """
    text = text.strip()
    if _HEX.fullmatch(text):
        digits = text[1:] if len(text) == 7 else "".join(2 * d for d in text[1:])
        return Colour(*bytes.fromhex(digits))
    from tinycss2 import color4

    found = color4.parse_color(text)
    if found is None or isinstance(found, str):
        raise ValueError(f'"{text}" is no colour; allowed: {ALLOWED}{_nearest_name(text)}')
    if found.space in ("hsl", "hwb"):
        found = found.to("srgb")
    if found.space != "srgb":
        raise ValueError(f'"{text}" is not in sRGB; allowed: {ALLOWED}')
    # CSS Color 4, section 15: sRGB serialises to whole steps, halves rounded up.
    steps = (int(min(max(c or 0.0, 0.0), 1.0) * 255 + 0.5) for c in found.coordinates)
    red, green, blue = steps
    if found.alpha != 1:
        solid = Colour(red, green, blue).hex
        raise ValueError(f'"{text}" is not opaque, and alpha is not compared; allowed: "{solid}"')
    return Colour(red, green, blue)


_WORDS = """
aliceblue antiquewhite aqua aquamarine azure beige bisque black blanchedalmond blue blueviolet
brown burlywood cadetblue chartreuse chocolate coral cornflowerblue cornsilk crimson cyan darkblue
darkcyan darkgoldenrod darkgray darkgreen darkgrey darkkhaki darkmagenta darkolivegreen darkorange
darkorchid darkred darksalmon darkseagreen darkslateblue darkslategray darkslategrey darkturquoise
darkviolet deeppink deepskyblue dimgray dimgrey dodgerblue firebrick floralwhite forestgreen
fuchsia gainsboro ghostwhite gold goldenrod gray green greenyellow grey honeydew hotpink indianred
indigo ivory khaki lavender lavenderblush lawngreen lemonchiffon lightblue lightcoral lightcyan
lightgoldenrodyellow lightgray lightgreen lightgrey lightpink lightsalmon lightseagreen
lightskyblue lightslategray lightslategrey lightsteelblue lightyellow lime limegreen linen magenta
maroon mediumaquamarine mediumblue mediumorchid mediumpurple mediumseagreen mediumslateblue
mediumspringgreen mediumturquoise mediumvioletred midnightblue mintcream mistyrose moccasin
navajowhite navy oldlace olive olivedrab orange orangered orchid palegoldenrod palegreen
paleturquoise palevioletred papayawhip peachpuff peru pink plum powderblue purple rebeccapurple
red rosybrown royalblue saddlebrown salmon sandybrown seagreen seashell sienna silver skyblue
slateblue slategray slategrey snow springgreen steelblue tan teal thistle tomato turquoise violet
wheat white whitesmoke yellow yellowgreen
"""
NAMES = _WORDS.split()
"""The named colours of CSS Color 4, section 6.1."""


def _nearest_name(text: str) -> str:
    from difflib import get_close_matches

    near = get_close_matches(text.lower(), NAMES, 1, 0.75)
    return f'; nearest: "{near[0]}"' if near else ""


def lab(rgb: ArrayLike) -> Array:
    """CIE L*a*b* of sRGB colours, (n, 3) in 0..255, for the white of sRGB (D65, 2 degrees).

    Source: IEC 61966-2-1 (transfer curve and primaries), CIE 15 (L*a*b*); the matrix is the one
    of CSS Color 4, section 18, exact to double precision.
    """
    v = np.asarray(rgb, dtype=np.float64) / 255.0
    linear = np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)
    xyz = linear @ _TO_XYZ.T / _TO_XYZ.sum(axis=1)
    f = np.where(xyz > 216 / 24389, np.cbrt(xyz), (24389 / 27 * xyz + 16) / 116)
    x, y, z = f[..., 0], f[..., 1], f[..., 2]
    return np.stack((116 * y - 16, 500 * (x - y), 200 * (y - z)), axis=-1)


_TO_XYZ = np.array(
    [
        [506752 / 1228815, 87881 / 245763, 12673 / 70218],
        [87098 / 409605, 175762 / 245763, 12673 / 175545],
        [7918 / 409605, 87881 / 737289, 1001167 / 1053270],
    ]
)


def difference(first: ArrayLike, second: ArrayLike) -> Array:
    """CIEDE2000 colour difference of L*a*b* colours (…, 3) and (…, 3), broadcast against each
    other, with kL = kC = kH = 1.

    Source: ISO/CIE 11664-6; the treatment of hues follows Sharma, Wu and Dalal (2005), "The
    CIEDE2000 color-difference formula: implementation notes, supplementary test data, and
    mathematical observations".
    """
    l1, a1, b1 = np.moveaxis(np.asarray(first, dtype=np.float64), -1, 0)
    l2, a2, b2 = np.moveaxis(np.asarray(second, dtype=np.float64), -1, 0)
    mean = (np.hypot(a1, b1) + np.hypot(a2, b2)) / 2
    g = 1.5 - 0.5 * _fade(mean)
    c1, c2 = np.hypot(g * a1, b1), np.hypot(g * a2, b2)
    h1, h2 = _hue(b1, g * a1), _hue(b2, g * a2)
    grey = c1 * c2 == 0

    step = h2 - h1
    step = np.where(step > 180, step - 360, np.where(step < -180, step + 360, step))
    dl, dc = l2 - l1, c2 - c1
    dh = np.where(grey, 0.0, 2 * np.sqrt(c1 * c2) * np.sin(np.radians(step) / 2))

    lightness, chroma, total = (l1 + l2) / 2, (c1 + c2) / 2, h1 + h2
    far = np.abs(h1 - h2) > 180
    hue = np.where(far, np.where(total < 360, total + 360, total - 360), total) / 2
    hue = np.where(grey, total, hue)
    t = (
        1
        - 0.17 * np.cos(np.radians(hue - 30))
        + 0.24 * np.cos(np.radians(2 * hue))
        + 0.32 * np.cos(np.radians(3 * hue + 6))
        - 0.20 * np.cos(np.radians(4 * hue - 63))
    )
    turn = np.radians(60 * np.exp(-(((hue - 275) / 25) ** 2)))
    sl = 1 + 0.015 * (lightness - 50) ** 2 / np.sqrt(20 + (lightness - 50) ** 2)
    sc, sh = 1 + 0.045 * chroma, 1 + 0.015 * chroma * t
    l_part, c_part, h_part = dl / sl, dc / sc, dh / sh
    twist = -np.sin(turn) * 2 * _fade(chroma) * c_part * h_part
    squared = l_part**2 + c_part**2 + h_part**2 + twist
    return np.asarray(np.sqrt(np.maximum(squared, 0.0)))


def _fade(chroma: Array) -> Array:
    return np.asarray(np.sqrt(chroma**7 / (chroma**7 + 25.0**7)))


def _hue(b: Array, a: Array) -> Array:
    return np.degrees(np.arctan2(b, a)) % 360.0


def nearest(wanted: list[Colour], known: list[Colour]) -> list[tuple[Colour, float]]:
    """For each wanted colour the nearest of the known ones, with the CIEDE2000 difference; of
    equally near ones the first. `known` must not be empty."""
    apart = difference(lab([c[:3] for c in wanted])[:, None], lab([c[:3] for c in known])[None])
    best = apart.argmin(axis=1)
    return [(known[k], float(apart[n, k])) for n, k in enumerate(best)]
