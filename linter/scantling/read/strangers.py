"""Files of other kinds that are taken for drawings: known by how they begin, so that it can be said
what they are and what to do."""

from __future__ import annotations

import re

_EXPORT = "; export the drawing as SVG"
_TRACE = ", made of pixels; trace it to outlines"
_BEGINNINGS = (
    (b"%PDF-", "a PDF document" + _EXPORT),
    (b"%!PS", "a PostScript file" + _EXPORT),
    (b"\xc5\xd0\xd3\xc6", "a PostScript file" + _EXPORT),
    (b"AutoCAD Binary DXF", "a DXF drawing" + _EXPORT),
    (b"AC10", "a DWG drawing" + _EXPORT),
    (b"\x89PNG\r\n", "a PNG picture" + _TRACE),
    (b"\xff\xd8\xff", "a JPEG picture" + _TRACE),
    (b"GIF8", "a GIF picture" + _TRACE),
    (b"II*\0", "a TIFF picture" + _TRACE),
    (b"MM\0*", "a TIFF picture" + _TRACE),
    (b"PK\x03\x04", "a ZIP archive"),
    (b"{", "a JSON file"),
)
# A DXF file in text is pairs of lines, a group code and its value; comments (999) may come first.
_DXF = re.compile(rb"\s*(?:999[ \t]*\r?\n[^\n]*\n\s*)*0[ \t]*\r?\nSECTION\b")


def stranger(data: bytes, path: str) -> str:
    """What a file is that is no SVG, and what to do, in words; '' where nothing is known."""
    if path.lower().endswith(".toml"):
        return "a TOML file; a job sheet is read by itself, with the drawings beside and below it"
    for beginning, kind in _BEGINNINGS:
        if data.startswith(beginning):
            return kind
    return "a DXF drawing" + _EXPORT if _DXF.match(data[:4096]) else ""
