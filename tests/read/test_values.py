"""Lengths, transforms, colours and the rest of the value grammars, strictly."""

from __future__ import annotations

import math

import coloraide
import numpy as np
import pytest
from drawings import drawn, read, svg, values
from hypothesis import given
from hypothesis import strategies as st

from scantling.read.drawing import MM_PER_PX, Colour
from scantling.read.lengths import Sizes, parse_length, parse_number, pixels
from scantling.read.media import applies
from scantling.read.paints import parse_colour, parse_paint, parse_url
from scantling.read.transforms import invert, multiply, parse_transform, resolve
from scantling.read.units import Length
from scantling.read.viewport import ViewBox, fitted, parse_ratio, parse_viewbox

# -- lengths: CSS Values and Units 4, section 6.2 ------------------------------------------


@pytest.mark.parametrize(
    ("text", "px"),
    [
        ("1in", 96), ("2.54cm", 96), ("25.4mm", 96), ("101.6Q", 96), ("72pt", 96), ("6pc", 96),
        ("96px", 96), ("96", 96), (" 9.6e1 ", 96), ("+96", 96), (".5in", 48), ("1IN", 96),
        ("10q", 96 / 10.16), ("-3mm", -3 * 96 / 25.4),
    ],
)  # fmt: skip
def test_absolute_lengths(text: str, px: float) -> None:
    length = parse_length(text)
    assert length is not None
    assert length.unit == ""
    assert length.value == pytest.approx(px, rel=1e-15)


@pytest.mark.parametrize(
    "text",
    ["", "px", "5 mm", "5furlong", "1.", "1e", "1e5e5", "--1", "5 5", "NaN", "inf", "1e999", "0x5",
     "5mmm", "٣", "5%%", "calc(1px+2px)", "calc(1px + 2)", "calc(1px * 2px)", "calc(1 / 0)",
     "calc(1px", "min(1px, 2px)"],
)  # fmt: skip
def test_what_is_no_length(text: str) -> None:
    assert parse_length(text) is None


def test_relative_lengths() -> None:
    sizes = Sizes(200.0, 100.0, 20.0, 10.0, 1000.0, 500.0)
    wanted = {"1.5em": 30, "2ex": 20, "2ch": 20, "3rem": 30, "1vw": 10, "1vh": 5, "1vmin": 5,
              "1vmax": 10, "calc(1em + 10% - 2 * (3px - 1px))": 36}  # fmt: skip
    for text, value in wanted.items():
        length = parse_length(text)
        assert length is not None
        assert pixels(length, sizes, "x") == pytest.approx(value)
    tenth = Length(10.0, "%")
    # SVG 2, section 8.10: the diagonal is sqrt((w² + h²) / 2)
    assert [pixels(tenth, sizes, along) for along in ("x", "y", "both")] == pytest.approx(
        [20, 10, math.sqrt((200**2 + 100**2) / 2) / 10]
    )


@given(st.floats(-1e9, 1e9))
def test_numbers_as_python_writes_them(value: float) -> None:
    assert parse_number(repr(value)) == value


# -- transforms: CSS Transforms 1, sections 8 and 9 ----------------------------------------


@pytest.mark.parametrize(
    ("text", "matrix"),
    [
        ("", (1, 0, 0, 1, 0, 0)),
        ("translate(3)", (1, 0, 0, 1, 3, 0)),
        ("translate(3 4)", (1, 0, 0, 1, 3, 4)),
        ("scale(2)", (2, 0, 0, 2, 0, 0)),
        ("scale(2,-3)", (2, 0, 0, -3, 0, 0)),
        ("rotate(90)", (0, 1, -1, 0, 0, 0)),
        ("rotate(90 10 20)", (0, 1, -1, 0, 30, 10)),
        ("skewX(45)", (1, 0, 1, 1, 0, 0)),
        ("skewY(45)", (1, 1, 0, 1, 0, 0)),
        ("matrix(1 2 3 4 5 6)", (1, 2, 3, 4, 5, 6)),
        ("translate(10),scale(2) , rotate(90)", (0, 2, -2, 0, 10, 0)),
        ("scale(2)translate(1-1)", (2, 0, 0, 2, 2, -2)),
    ],
)
def test_transform_attributes(text: str, matrix: tuple[float, ...]) -> None:
    steps = parse_transform(text)
    assert steps is not None
    assert resolve(steps, NONE) == pytest.approx(matrix)


@pytest.mark.parametrize(
    "text",
    ["rotate(20", "rotate()", "scale(1 2 3)", "matrix(1 2 3)", "turn(3)", "scale(x)", "1",
     ",scale(1)", "translate(1,,2)", "translate(1,)", "rotate(1 2)", "scale(1e999)"],
)  # fmt: skip
def test_what_is_no_transform(text: str) -> None:
    assert parse_transform(text) is None


def test_the_transform_property_is_stricter() -> None:
    assert parse_transform("translate(10px,20%)", css=True) is not None
    assert parse_transform("rotate(.25turn)", css=True) == parse_transform(
        "rotate(90deg)", css=True
    )
    assert parse_transform("translate(0, 5mm) scale(50%)", css=True) is not None
    for text in ("translate(10)", "rotate(20)", "translate(1px 2px)", "scale(1),scale(2)",
                 "rotate(90deg,1px,2px)"):  # fmt: skip
        assert parse_transform(text, css=True) is None
    moved = parse_transform("translate(10%, 5px)", css=True)
    assert moved is not None
    assert resolve(moved, Sizes(200, 100)) == (1, 0, 0, 1, 20, 5)


NONE = Sizes(0.0, 0.0)
finite = st.floats(-50, 50)
matrices = st.tuples(*[finite] * 6)


@given(matrices, matrices, finite, finite)
def test_matrices_multiply_and_invert(m: tuple, n: tuple, x: float, y: float) -> None:
    def full(a: float, b: float, c: float, d: float, e: float, f: float) -> np.ndarray:
        return np.array([[a, c, e], [b, d, f], [0, 0, 1]])

    np.testing.assert_allclose(full(*multiply(m, n)), full(*m) @ full(*n), atol=1e-9)
    inverse = invert(m)
    if inverse is not None and abs(np.linalg.det(full(*m))) > 1e-3:
        np.testing.assert_allclose(full(*inverse) @ full(*m), np.eye(3), atol=1e-6)


# -- colours: CSS Color 4, by coloraide ----------------------------------------------------


@pytest.mark.parametrize(
    "text",
    ["#a1b", "#a1b2c3", "#a1b8", "#a1b2c380", "rebeccapurple", "RED", "rgb(1, 2, 3)",
     "rgb(10% 20% 30%)", "rgb(50% 20% 10% / 50%)", "rgb(0 0 0 / 50%)", "rgba(1,2,3,.5)",
     "rgb(300 -5 0)", "hsl(200 80% 40%)", "hsl(-160deg, 80%, 40%)", "hsla(0.5turn,50%,50%,.25)",
     "hwb(120 20% 30%)", "lab(50% 40 20)", "lab(95% -60 90)", "lch(60% 50 200)",
     "oklab(60% .1 .1)", "oklch(70% .15 150 / .5)", "color(srgb .5 .2 .8)", "transparent",
     "color(display-p3 .8 .2 .2)", "color(display-p3 0 1 0)", "color(srgb-linear .5 .2 .1)",
     "color(xyz .3 .2 .5)", "color(xyz-d50 .3 .2 .5)"],
)  # fmt: skip
def test_colours(text: str) -> None:
    colour = parse_colour(text)
    wanted = coloraide.Color(text.lower()).convert("srgb").clip()
    assert isinstance(colour, Colour)
    rgb = [channel * 255 for channel in wanted.coords(nans=False)]
    assert np.abs(np.array(colour[:3]) - rgb).max() <= 0.5 + 1e-3
    assert colour.alpha == pytest.approx(wanted.alpha(), abs=1e-6)


@pytest.mark.parametrize(
    "text",
    ["", "nosuch", "#12", "#12345", "#ggg", "rgb(1,2)", "rgb()", "color()", "hsl(a b c)",
     "color(nosuch 1 2 3)", "lab(1e999 1 1)", "rgb(1 2 3) x", "é", "url(#a)", "(((((",
     "color(prophoto-rgb 1 1 1)"],
)  # fmt: skip
def test_what_is_no_colour_is_not_black(text: str) -> None:
    assert parse_colour(text) is None


@given(st.text(max_size=12) | st.text("rgbhslacolor()#,/%0123 .-e", max_size=24))
def test_any_text_is_a_colour_or_none(text: str) -> None:
    colour = parse_colour(text)
    assert colour is None or colour == "current" or all(0 <= c <= 255 for c in colour[:3])


def test_paints() -> None:
    assert parse_paint("none").kind == "none"
    assert parse_paint("CurrentColor").kind == "current"
    assert parse_paint("url(#a)")[1:] == (None, "#a", "")
    assert parse_paint("url( '#a' ) #f00")[1:3] == (Colour(255, 0, 0), "#a")
    assert parse_paint("url(#a) currentcolor").fallback == "current"
    assert parse_paint("url(#a) nosuch") is None
    assert parse_paint("#a00 url(#a)") is None
    assert (parse_url("none"), parse_url("url(#a)"), parse_url("x")) == ("", "#a", None)


# -- viewBox and preserveAspectRatio: SVG 2, section 8.2 -----------------------------------


def test_view_boxes() -> None:
    assert parse_viewbox(" 0,0 , 5 5 ") == ViewBox(0, 0, 5, 5)
    for text in ("0 0 5", "0 0 5 5 5", "0 0 -1 5", "0 0 a 5", "0 0 5px 5", "", "0,,0 5 5"):
        assert parse_viewbox(text) is None
    for text in ("xMidYMid slice meet", "xmidymid", "slice", "", "none none"):
        assert parse_ratio(text) is None


@given(
    st.sampled_from(["Min", "Mid", "Max"]), st.sampled_from(["Min", "Mid", "Max"]),
    st.sampled_from(["meet", "slice"]),
    *[st.floats(0.1, 100)] * 4, *[st.floats(-100, 100)] * 4,
)  # fmt: skip
def test_fitting(
    across: str, down: str, how: str, bw: float, bh: float, w: float, h: float,
    bx: float, by: float, x: float, y: float,
) -> None:  # fmt: skip
    """A box that fits touches two sides of the viewport, one that slices covers it; the rest is
    shared as the words say."""
    ratio = parse_ratio(f"x{across}Y{down} {how}")
    assert ratio is not None
    a, _, _, d, e, f = fitted(ViewBox(bx, by, bw, bh), ratio, x, y, w, h)
    assert a == d
    x0, x1, y0, y1 = a * bx + e, a * (bx + bw) + e, d * by + f, d * (by + bh) + f
    over = (x1 - x0) - w, (y1 - y0) - h
    limit = min if how == "slice" else max
    assert limit(over) == pytest.approx(0, abs=1e-9 * 1e3)
    for low, high, start, size, word in ((x0, x1, x, w, across), (y0, y1, y, h, down)):
        share = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}[word]
        assert low + (high - low) * share == pytest.approx(start + size * share, abs=1e-6)


# -- media queries -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("query", "holds"),
    [
        ("", True), ("all", True), ("screen", True), ("print", False), ("not print", True),
        ("only screen and (min-width: 50px)", True), ("(max-width: 50px)", False),
        ("(width: 100px)", True), ("(100px <= width)", False), ("(width >= 100px)", True),
        ("print, screen", True), ("(orientation: landscape)", True), ("(nonsense)", False),
        ("(prefers-color-scheme: dark)", False), ("(prefers-color-scheme: light)", True),
        ("not (prefers-color-scheme: dark)", True), ("(color)", True), ("(monochrome)", False),
        ("(min-width: 1px) and (max-width: 2px)", False), ("(min-width: 5e)", False),
        ("(max-width: 1px) or (min-height: 1mm)", True), ("not all", False),
        ("not screen and (color)", False),
    ],
)  # fmt: skip
def test_media_queries(query: str, holds: bool) -> None:
    """For a screen of 100 by 50 pixels."""
    assert applies(query, 100.0, 50.0) is holds


# -- what is said of unreadable values -----------------------------------------------------


def test_unreadable_values_are_remarked_at_their_place() -> None:
    text = svg(
        "\n<rect width='5 mm' height='9' fill='nosuch'/>"
        "\n<path d='M0 0L5 5 5Q' stroke-width='-1' style='fill: red;stroke: rgb(1)'/>"
    )
    drawing = read(text)
    said = [
        (r.word, r.message, drawing.source.position(r.offset), text[r.offset])
        for r in drawing.remarks
    ]
    assert [(word, place, letter) for word, _, place, letter in said] == [
        ("fill", (2, 37), "n"),
        ("width", (2, 14), "5"),
        ("stroke-width", (3, 37), "-"),
        ("stroke", (3, 66), "r"),
        ("d", (3, 20), "Q"),
    ]
    assert said[0][1] == "fill “nosuch” cannot be read: ignored"


def test_each_unreadable_value_is_remarked_once() -> None:
    assert values('<g id="a"><rect fill="nosuch"/></g><use href="#a"/><use href="#a"/>') == ["fill"]
    assert values('<style>.a{fill:nosuch}</style><rect class="a"/><rect class="a"/>') != []
    assert values('<rect fill="#12" stroke="#34"/>') == ["fill", "stroke"]


def test_a_millimetre_is_a_millimetre() -> None:
    drawing = drawn('<rect width="10mm" height="5mm"/>', 'width="20mm" height="20mm"')
    assert drawing.curves.data[0, 2] * MM_PER_PX == pytest.approx(10, rel=1e-15)
