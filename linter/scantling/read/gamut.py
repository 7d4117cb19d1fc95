"""Colours of wider spaces, as sRGB.

Source: CSS Color 4, section 17 (sample code for colour conversions); what lies outside sRGB is
clipped channel by channel, as browsers do.
"""

from __future__ import annotations

from typing import Any

Triple = tuple[float, float, float]
Rows = tuple[Triple, Triple, Triple]

_XYZ_TO_LINEAR: Rows = (
    (12831 / 3959, -329 / 214, -1974 / 3959),
    (-851781 / 878810, 1648619 / 878810, 36519 / 878810),
    (705 / 12673, -2585 / 12673, 705 / 667),
)
_D50_TO_D65: Rows = (  # Bradford
    (0.955473421488075, -0.02309845494876471, 0.06325924320057072),
    (-0.0283697093338637, 1.0099953980813041, 0.021041441191917323),
    (0.012314014864481998, -0.020507649298898964, 1.330365926242124),
)
_P3_TO_XYZ: Rows = (
    (608311 / 1250200, 189793 / 714400, 198249 / 1000160),
    (35783 / 156275, 247089 / 357200, 198249 / 2500400),
    (0.0, 32229 / 714400, 5220557 / 5000800),
)


def to_srgb(colour: Any) -> Triple | None:
    """sRGB channels, 0..1 where they are in gamut, of a tinycss2 colour; None for a space that is
    not read."""
    space = colour.space
    if space in ("hsl", "hwb"):
        colour, space = colour.to("srgb"), "srgb"
    elif space in ("lab", "lch"):
        colour, space = colour.to("xyz-d50"), "xyz-d50"
    elif space in ("oklab", "oklch"):
        colour, space = colour.to("xyz-d65"), "xyz-d65"
    red, green, blue = (0.0 if value is None else float(value) for value in colour.coordinates)
    channels = (red, green, blue)
    if space == "srgb":
        return channels
    if space == "srgb-linear":
        return _encoded(channels)
    if space == "display-p3":
        channels, space = _times(_P3_TO_XYZ, _linear(channels)), "xyz-d65"
    elif space == "xyz-d50":
        channels, space = _times(_D50_TO_D65, channels), "xyz-d65"
    if space != "xyz-d65":
        return None
    return _encoded(_times(_XYZ_TO_LINEAR, channels))


def _times(rows: Rows, v: Triple) -> Triple:
    x, y, z = (row[0] * v[0] + row[1] * v[1] + row[2] * v[2] for row in rows)
    return x, y, z


def _encoded(linear: Triple) -> Triple:
    r, g, b = (
        12.92 * v if v <= 0.0031308 else 1.055 * min(v, 1e6) ** (1 / 2.4) - 0.055 for v in linear
    )
    return r, g, b


def _linear(encoded: Triple) -> Triple:
    r, g, b = (
        v / 12.92 if v <= 0.04045 else ((min(v, 1e6) + 0.055) / 1.055) ** 2.4 for v in encoded
    )
    return r, g, b
