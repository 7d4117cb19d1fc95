"""How big the outermost svg is.

Its `width` and `height` are attributes and properties at once (SVG 2, chapter 7): a declaration in
a style comes first. Browsers go by that where a drawing is a document of its own or part of one;
as a picture, and in programs that make something of it, the attributes count. So the attributes
come first here, and a size in the `style` attribute counts where they leave it open and it is in
units of a real length. Of style sheets no size is taken.
"""

from __future__ import annotations

from scantling.read.cascade import read_declarations
from scantling.read.drawing import PASSED_OVER, STYLED, Page
from scantling.read.lengths import Sizes, parse_length, pixels
from scantling.read.remarks import Remarks
from scantling.read.tree import Node
from scantling.read.units import REAL_UNITS, Length
from scantling.read.viewport import ViewBox

NAMES = ("width", "height")
OF_THE_WINDOW = frozenset({"%", "vw", "vh", "vmin", "vmax"})
SAME = 0.01
"""Pixels by which two sizes may differ that are written in other units or digits."""


def page_of(root: Node, box: ViewBox | None, remarks: Remarks) -> Page:
    """The size as written; else by the view box, keeping its proportions; else 300 by 150 pixels
    (CSS 2.2, section 10.3.2: replaced elements; CSS Images 3, section 4)."""
    given: dict[str, float] = {}
    real = False
    for name, length in _attributes(root, remarks).items():
        given[name] = max(pixels(length, Sizes(0.0, 0.0), "x"), 0.0)
        real = real or length.written in REAL_UNITS
    style = ""
    for name, size in _declared(root).items():
        if name not in given:
            given[name], real, style = size, True, style or STYLED
        elif abs(size - given[name]) > SAME:
            style = PASSED_OVER
    width, height = given.get("width"), given.get("height")
    if box is not None and box.width and box.height:
        if width is None and height is None:
            width, height = box.width, box.height
        elif width is None and height is not None:
            width = height * box.width / box.height
        elif height is None and width is not None:
            height = width * box.height / box.width
    return Page(
        300.0 if width is None else width, 150.0 if height is None else height, real, root, style
    )


def _attributes(root: Node, remarks: Remarks) -> dict[str, Length]:
    """The lengths that the attributes give, but for shares of a window."""
    found = {}
    for name in NAMES:
        text = root.attrib.get(name)
        if text is None or text.strip().lower() == "auto":
            continue
        length = parse_length(text)
        if length is None or length.value < 0.0:
            remarks.complain(root, name, text)
        elif length.unit not in OF_THE_WINDOW:
            found[name] = length
    return found


def _declared(root: Node) -> dict[str, float]:
    """Pixels that the style attribute declares in units of a real length: the last of each name,
    important ones before others."""
    found: dict[str, float] = {}
    written = root.attrib.get("style", "")
    if "width" not in written.lower() and "height" not in written.lower():
        return found
    weights: dict[str, bool] = {}
    for name, text, important in read_declarations(written):
        if name in NAMES and important >= weights.get(name, False):
            length = parse_length(text)
            if length is not None and length.written in REAL_UNITS and length.value > 0.0:
                found[name], weights[name] = pixels(length, Sizes(0.0, 0.0), "x"), important
            elif length is not None and length.value >= 0.0:  # another size, no real one
                found.pop(name, None)
                weights[name] = important
    return found
