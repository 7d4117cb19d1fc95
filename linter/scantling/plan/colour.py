"""Colours of a job sheet: reading them, and how far two of them are apart to the eye."""

from __future__ import annotations

from collections.abc import Sequence

from scantling.late import pattern
from scantling.near import get_close_matches
from scantling.read.drawing import Colour

_HEX = pattern(r"#(?:[0-9a-fA-F]{3}|[0-9a-fA-F]{6})")
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
        raise ValueError(f'"{text}" is not a colour; allowed: {ALLOWED}{_nearest_name(text)}')
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
    near = get_close_matches(text.lower(), NAMES, 1, 0.75)
    return f'; nearest: "{near[0]}"' if near else ""


def difference(first: Sequence[float], second: Sequence[float]) -> float:
    """CIEDE2000 colour difference of two CIE L*a*b* colours (white D65), kL = kC = kH = 1.

    Source: ISO/CIE 11664-6, as coloraide has it.
    """
    from coloraide import Color

    one, other = Color("lab-d65", first), Color("lab-d65", second)
    return float(one.delta_e(other, method="2000", space="lab-d65"))


def lab(colour: Colour) -> tuple[float, float, float]:
    """CIE L*a*b* (white D65, 2 degrees) of an sRGB colour, without its alpha."""
    from coloraide import Color

    light, a, b = Color("srgb", [v / 255.0 for v in colour[:3]]).convert("lab-d65").coords()
    return (float(light), float(a), float(b))


def nearest(wanted: list[Colour], known: list[Colour]) -> list[tuple[Colour, float]]:
    """For each wanted colour the nearest of the known ones, with the CIEDE2000 difference; of
    equally near ones the first. `known` must not be empty."""
    places = [lab(colour) for colour in known]
    found = []
    for colour in wanted:
        here = lab(colour)
        apart = [difference(here, place) for place in places]
        best = min(range(len(known)), key=apart.__getitem__)
        found.append((known[best], apart[best]))
    return found
