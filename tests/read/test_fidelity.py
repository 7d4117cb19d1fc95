"""What was read is what a renderer draws.

Each file of `fidelity/` shows one feature. It is read, written again as flattened outlines
without any of SVG's machinery (`redraw`), and both are drawn by the same renderer: resvg, and
headless Chromium where there is one. Shapes must agree to 0.995 in intersection over union, and
colours on as much of the area. Where a renderer differs from the standard, the table says how;
then the other one is the witness. (tests/benchmarks/reading_fidelity.py compares all files with
both, and whole folders of artwork.)
"""

from __future__ import annotations

from pathlib import Path

import pytest
import redraw

from scantling.read import Source, read_drawing

FILES = sorted((Path(__file__).parent / "fidelity").iterdir())
ENOUGH = 0.995

GRADIENT = "a gradient has no one colour: only its shape is compared"
NOT_IN_RESVG = {
    "colours": "CSS Color 4's space-separated syntax",
    "colours-system": "system colours",
    "colours-unreadable": "it takes what comes before an unreadable part of a paint",
    "colours-wide": "lab, lch, oklab, oklch and color()",
    "current-color": "currentColor inherited as a keyword (CSS Color 4, section 9)",
    "colour-words": "colour words in capital letters",
    "path-length": "pathLength",
    "rgb-mixed-units": "rgb() of mixed units and with fractions, none in hsl()",
    "root-transform": "a transform of the outermost svg is about the page's middle (CSS box)",
    "style-escapes": "escapes in selectors",
    "style-layer": "@layer",
    "style-shorthand-marker-font": "the font shorthand",
    "symbol-own-size": "width and height of symbol",
    "transform-origin-percent-view": "transform-origin in a style",
    "transform-units": "units in transforms",
    "use-escaped-id": "percent-encoded references",
    "use-selectors": "it matches selectors where the original stands (SVG 1.1, not SVG 2)",
    "use-style-position": "x and y of use in a style",
    "prefix": "it draws elements of no namespace",
    "stroke-non-scaling": "vector-effect",
    "style-attribute": "it keeps an unreadable declaration instead of the one before it",
    "style-calc": "calc()",
    "style-geometry": "geometry properties (SVG 2, section 7)",
    "style-important": "!important against the style attribute",
    "style-inherit": "the keywords initial and unset",
    "style-media": "@media",
    "style-namespace": "@namespace",
    "style-path": "the d property",
    "style-selectors": "sibling combinators and most pseudo-classes",
    "style-sheet-other-type": "the media attribute of style",
    "style-supports": "@supports",
    "style-transform": "the transform property's own syntax",
    "style-variables": "var()",
    "transform-box": "transform-box",
    "transform-origin": "transform-origin in a style",
    "units-font": "rem, and font-size words",
    "units": "units in capital letters",
    "units-viewport": "vw, vh, vmin, vmax",
    "use-symbol-percent": "percentages on use",
}
NOT_IN_CHROMIUM = {
    "shape-polygon-error": "it drops all points of a list with an error; resvg keeps those before",
    "units-ex": "it measures the x-height of a font that is on the machine; CSS lets half an em",
    "latin-1": "it takes every SVG picture for UTF-8",
}
# What is not read; the remark that says so has this word.
NOT_READ = {"individual-transforms": "rotate", "style-nesting": "g"}
COLOUR_NOT_COMPARED = {"paint-gradient": GRADIENT}


def name_of(path: Path) -> str:
    return path.name.partition(".")[0]


def enough(found: redraw.Likeness, name: str) -> bool:
    return found.shape >= ENOUGH and (found.colour >= ENOUGH or name in COLOUR_NOT_COMPARED)


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_against_resvg(path: Path) -> None:
    pytest.importorskip("resvg_py")
    name = name_of(path)
    if name in NOT_READ:
        said = [remark.word for remark in read_drawing(Source.open(path)).remarks]
        assert NOT_READ[name] in said
        return
    sizes = (128.0,) if name in NOT_IN_RESVG else (256.0, 1024.0)
    # a newer renderer may well agree where the table says that it does not
    assert enough(redraw.compare(Source.open(path).text, sizes=sizes), name) or name in NOT_IN_RESVG


def test_against_chromium() -> None:
    if redraw.browser() is None:
        pytest.skip("no chromium on this machine")
    files = []
    asked = NOT_IN_RESVG | NOT_IN_CHROMIUM | NOT_READ
    chosen = [path for path in FILES if name_of(path) in asked]
    for path in chosen:
        source = Source.open(path)
        files += [source.text.encode() if source.compressed else source.raw]
        files += [redraw.plain(read_drawing(source)).encode()]
    pictures = redraw.browser_pictures(files)
    different = {
        name_of(path)
        for path, one, other in zip(chosen, pictures[::2], pictures[1::2], strict=True)
        if not enough(redraw.likeness(one, other), name_of(path))
    }
    assert different <= set(NOT_IN_CHROMIUM | NOT_READ)


def test_every_difference_has_a_witness() -> None:
    assert not set(NOT_IN_RESVG) & set(NOT_IN_CHROMIUM)
    tables = NOT_IN_RESVG | NOT_IN_CHROMIUM | COLOUR_NOT_COMPARED | NOT_READ
    assert set(tables) <= {name_of(path) for path in FILES}
