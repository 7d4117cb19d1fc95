"""What is drawn, what is hidden, how it is called, and what is remarked."""

from __future__ import annotations

import numpy as np
import pytest
from drawings import SVG, drawn, read, svg

from scantling.read.drawing import PASSED_OVER, STYLED, Colour, Drawing, Paint
from scantling.read.flatten import bounds

RECT = '<rect width="9" height="9"{}/>'


def boxes(drawing: Drawing) -> list[list[float]]:
    return bounds(drawing.curves).round(6).tolist()


def remarks(drawing: Drawing, kind: str) -> list[str]:
    return [remark.word for remark in drawing.remarks if remark.kind == kind]


# -- the page: SVG 2, section 8.2; CSS 2.2, section 10.3.2 ---------------------------------


@pytest.mark.parametrize(
    ("attributes", "width", "height", "real"),
    [
        ('width="20mm" height="1in"', 20 * 96 / 25.4, 96, True),
        ('width="20" height="10"', 20, 10, False),
        ('viewBox="0 0 30 20"', 30, 20, False),
        ('viewBox="0 0 30 20" width="60"', 60, 40, False),
        ('viewBox="0 0 30 20" height="5cm"', 75 * 96 / 25.4, 50 * 96 / 25.4, True),
        ('viewBox="0 0 30 20" width="100%" height="100%"', 30, 20, False),
        ('viewBox="0 0 30 20" width="auto" height="nosuch"', 30, 20, False),
        ('width="-5" viewBox="0 0 30 20"', 30, 20, False),
        ("", 300, 150, False),
        ('width="2em" height="2pt"', 32, 2 * 96 / 72, True),
    ],
)
def test_the_page(attributes: str, width: float, height: float, real: bool) -> None:
    page = drawn("", attributes).page
    assert (page.width, page.height) == pytest.approx((width, height))
    assert page.real is real


@pytest.mark.parametrize(
    ("attributes", "width", "height", "real", "style"),
    [
        ('style="width:60mm;height:40mm"', 60, 40, True, STYLED),
        ('viewBox="0 0 30 20" style="width:6cm"', 60, 40, True, STYLED),
        ('viewBox="0 0 30 20" style="fill:red; HEIGHT: 1in"', 38.1, 25.4, True, STYLED),
        ('viewBox="0 0 30 20" style="width:9mm;width:6cm"', 60, 40, True, STYLED),
        ('viewBox="0 0 30 20" style="width:6cm !important;width:9mm"', 60, 40, True, STYLED),
        ('viewBox="0 0 30 20" width="100%" height="auto" style="width:6cm"', 60, 40, True, STYLED),
        ('width="60mm" style="height:40mm"', 60, 40, True, STYLED),
        ('width="60mm" height="40mm" style="width:6cm;height:4cm"', 60, 40, True, ""),
        ('width="60mm" height="40mm" style="width:9cm"', 60, 40, True, PASSED_OVER),
        ('width="96" height="48" style="width:60mm"', 25.4, 12.7, False, PASSED_OVER),
        # no real length, or no length at all
        ('viewBox="0 0 96 48" style="width:80px;height:40px"', 25.4, 12.7, False, ""),
        ('viewBox="0 0 96 48" style="width:100%"', 25.4, 12.7, False, ""),
        ('viewBox="0 0 96 48" style="width:60"', 25.4, 12.7, False, ""),
        ('viewBox="0 0 96 48" style="width:-60mm"', 25.4, 12.7, False, ""),
        ('viewBox="0 0 96 48" style="max-width:60mm"', 25.4, 12.7, False, ""),
        ('viewBox="0 0 96 48" style="width:6cm;width:80px"', 25.4, 12.7, False, ""),
        ('viewBox="0 0 96 48" style="width:6cm;width:furlong"', 60, 30, True, STYLED),
        ('viewBox="0 0 96 48" style="stroke-width:2mm"', 25.4, 12.7, False, ""),
    ],
)
def test_a_page_with_a_size_in_its_style(
    attributes: str, width: float, height: float, real: bool, style: str
) -> None:
    """In mm. Source: SVG 2, chapter 7 (width and height are properties)."""
    page = drawn("", attributes).page
    mm = 25.4 / 96.0
    assert (page.width * mm, page.height * mm) == pytest.approx((width, height))
    assert (page.real, page.style) == (real, style)


def test_what_is_drawn_on_such_a_page_fits_it() -> None:
    drawing = drawn(RECT.format(""), 'viewBox="0 0 30 20" style="width:60mm;height:40mm"')
    assert boxes(drawing) == [pytest.approx([0, 0, 18 * 96 / 25.4, 18 * 96 / 25.4])]
    assert drawing.remarks == []


def test_a_page_of_no_size_shows_nothing() -> None:
    for attributes in ('width="0" height="5"', 'viewBox="0 0 0 5"', 'viewBox="0 0 0 0" width="9"'):
        assert [s.hidden for s in drawn(RECT.format(""), attributes).shapes] == ["viewport"]


# -- hidden shapes are in the drawing ------------------------------------------------------


@pytest.mark.parametrize(
    ("body", "reason"),
    [
        (RECT.format(""), ""),
        (RECT.format(' display="none"'), "display"),
        ('<g style="display:none">' + RECT.format(' display="inline"') + "</g>", "display"),
        (RECT.format(' visibility="hidden"'), "visibility"),
        ('<g visibility="hidden">' + RECT.format(' visibility="visible"') + "</g>", ""),
        (RECT.format(' opacity="0"'), "opacity"),
        ('<g opacity="0">' + RECT.format("") + "</g>", "opacity"),
        (RECT.format(' fill="none"'), "no paint"),
        (RECT.format(' fill="none" stroke="red" stroke-width="0"'), "no paint"),
        (RECT.format(' fill="#f000"'), "no paint"),
        (RECT.format(' fill-opacity="0"'), "no paint"),
        (RECT.format(' fill="none" stroke="red"'), ""),
        (RECT.format(' fill="url(#gone)"'), "no paint"),
        (RECT.format(' transform="scale(0)"'), "transform"),
        (RECT.format(' systemLanguage="xx"'), "condition"),
        ("<switch>" + RECT.format("") + RECT.format(' id="last"') + "</switch>", "condition"),
        ('<clipPath id="c"><path d="M50 50h9v9z"/></clipPath>' + RECT.format(
            ' clip-path="url(#c)"'), "clipped"),
        ('<svg width="5" height="5"><rect x="6" width="3" height="3"/></svg>', "clipped"),
        ('<svg width="5" height="5" overflow="visible"><rect x="6" width="3" height="3"/></svg>',
         ""),
        ('<symbol id="s" viewBox="0 0 2 2"><rect x="3" width="3" height="3"/></symbol>'
         '<use href="#s" width="9" height="9"/>', "clipped"),
    ],
)  # fmt: skip
def test_hidden_shapes(body: str, reason: str) -> None:
    assert drawn(body).shapes[-1].hidden == reason


CIRCLE = '<clipPath id="c"><circle cx="30" cy="30" r="20"/></clipPath>'
BAND = "M0 0h90v90h-90zM5 5h60v60h-60z"


@pytest.mark.parametrize(
    ("body", "clipped", "cut"),
    [
        (CIRCLE + '<rect clip-path="url(#c)" x="20" y="20" width="10" height="10"/>', False, False),
        (CIRCLE + '<rect clip-path="url(#c)" x="60" y="20" width="10" height="10"/>', True, False),
        # in the box of the circle, but not in the circle
        (CIRCLE + '<rect clip-path="url(#c)" x="45" y="45" width="5" height="5"/>', True, False),
        (CIRCLE + '<rect clip-path="url(#c)" x="45" y="45" width="5" height="5" stroke="red" '
         'stroke-width="6"/>', False, True),
        (CIRCLE + '<rect clip-path="url(#c)" width="90" height="90"/>', False, True),
        (CIRCLE + '<rect clip-path="url(#c)" width="90" height="90" fill="none" stroke="red"/>',
         True, False),
        (CIRCLE + f'<path clip-path="url(#c)" fill-rule="evenodd" d="{BAND}"/>', True, False),
        (CIRCLE + f'<path clip-path="url(#c)" d="{BAND}"/>', False, True),
        (f'<clipPath id="c"><path clip-rule="evenodd" d="{BAND}"/></clipPath>'
         '<g clip-path="url(#c)"><rect x="10" y="10" width="9" height="9"/></g>', True, False),
        (f'<clipPath id="c" clip-rule="evenodd"><path d="{BAND}"/></clipPath>'
         '<rect clip-path="url(#c)" x="10" y="10" width="9" height="9"/>', True, False),
        ('<clipPath id="c"/>' + RECT.format(' clip-path="url(#c)"'), True, False),
        ('<clipPath id="c" clipPathUnits="objectBoundingBox"><rect width=".5" height="1"/>'
         '</clipPath><g clip-path="url(#c)"><rect width="20" height="9"/>'
         '<rect x="60" width="20" height="9"/></g>', True, False),
        ('<clipPath id="c" transform="translate(50)"><rect width="9" height="9"/></clipPath>'
         + RECT.format(' clip-path="url(#c)"'), True, False),
        ('<clipPath id="c"><text>a</text></clipPath>' + RECT.format(' clip-path="url(#c)"'),
         False, True),
        (RECT.format(' clip-path="url(#gone)"'), False, False),
        # a clip that is inside what it clips ends there
        ('<clipPath id="c"><use href="#r"/></clipPath>'
         '<rect id="r" width="9" height="9" clip-path="url(#c)"/>', False, False),
    ],
)  # fmt: skip
def test_what_lies_outside_its_clip(body: str, clipped: bool, cut: bool) -> None:
    """What is not seen at all is hidden; the clip is only told of where it cuts something off."""
    drawing = drawn(body)
    assert (drawing.shapes[-1].hidden == "clipped") is clipped
    assert remarks(drawing, "effect") == (["clip-path"] if cut else [])


def test_a_viewport_that_cuts_is_an_effect() -> None:
    drawing = drawn('<svg width="5" height="5">' + RECT.format("") + "</svg>")
    assert remarks(drawing, "effect") == ["overflow"]
    inside = drawn('<svg width="50" height="50">' + RECT.format("") + "</svg>")
    assert remarks(inside, "effect") == []


def test_what_is_only_referred_to_is_not_drawn() -> None:
    body = "".join(
        f"<{tag}>{RECT.format('')}</{tag}>"
        for tag in ("defs", "symbol", "clipPath", "mask", "marker", "pattern", "metadata", "title")
    )
    assert drawn(body).shapes == []


# -- use -----------------------------------------------------------------------------------


def test_use_draws_again_in_its_own_place() -> None:
    drawing = drawn(
        '<defs><g id="a" transform="scale(2)">' + RECT.format("") + "</g></defs>"
        '<use id="u" href="#a" x="10" transform="translate(5)" fill="red"/><use href="#a"/>'
    )
    assert boxes(drawing) == [[15, 0, 33, 18], [0, 0, 18, 18]]
    first, second = drawing.shapes
    assert first.fill == Paint(Colour(255, 0, 0))
    assert [use.id for use in first.uses] == ["u"]
    assert first.name == "u"
    assert second.fill == Paint(Colour(0, 0, 0))
    assert first.node is second.node


@pytest.mark.parametrize(
    "body",
    [
        '<use id="a" href="#a"/>',
        '<g id="a"><use href="#a"/></g>',
        '<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>',
        '<symbol id="a"><use href="#b"/></symbol><use id="b" href="#a"/>',
    ],
)
def test_loops_draw_nothing_and_are_said(body: str) -> None:
    drawing = drawn(body)
    assert drawing.shapes == []
    assert remarks(drawing, "reference")


def test_references_that_lead_nowhere() -> None:
    drawing = drawn(
        '<use href="#gone"/><use href="x.svg#a"/><use/><use href="#d"/><defs id="d"/>'
        '<rect width="9" height="9" fill="url(#gone) red" stroke="url(x.svg#y)" '
        'marker-end="url(#m)" mask="url(#m)" filter="url(#m)"/><path d="M0 0h9" '
        'marker-end="url(#m)"/>'
    )
    said = {(r.node.tag, r.word): r.message for r in drawing.remarks if r.kind == "reference"}
    assert said[("use", "#gone")] == "use refers to #gone, but no element has that id"
    assert said[("use", "x.svg#a")].endswith("outside the drawing: it is not fetched")
    assert said[("use", "#d")] == "use refers to a defs, which is not drawn"
    assert ("use", "use") in said
    assert {("rect", "#gone"), ("rect", "x.svg#y"), ("rect", "#m"), ("path", "#m")} <= set(said)
    assert drawing.shapes[0].fill == Paint(Colour(255, 0, 0))
    assert drawing.shapes[0].stroke is None


# -- names ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("body", "layer"),
    [
        ('<g id="moon"><g>' + RECT.format(' class="st0"') + "</g></g>", "moon"),
        (f'<g id="moon" label="full moon">{RECT.format("")}</g>', "full moon"),
        (f'<g class="moon">{RECT.format("")}</g>', "moon"),
        (f'<g id="moon"><g class="st12">{RECT.format("")}</g></g>', "moon"),
        (f'<g class="cls-1">{RECT.format("")}</g>', ""),
        (RECT.format(' class="st0"'), ""),
        (RECT.format("").replace("/>", "><title>plate</title></rect>"), ""),
        (f'<symbol id="s">{RECT.format("")}</symbol><g id="sky"><use id="u" href="#s"/></g>',
         "sky"),
        (f'<symbol id="s">{RECT.format("")}</symbol><use id="u" href="#s"/>', ""),
        (f'<symbol id="s"><g id="face">{RECT.format("")}</g></symbol><use href="#s"/>', "face"),
    ],
)  # fmt: skip
def test_only_a_group_is_called_a_layer(body: str, layer: str) -> None:
    """A class of the shape itself, a symbol and a `use` only name what is assigned."""
    (shape,) = drawn(body).shapes
    assert shape.layer == layer


def test_layers_are_named_by_label_title_id_and_class() -> None:
    text = (
        f'<svg {SVG} xmlns:k="urn:k" id="whole" width="9" height="9"><g id="a" class="b c" '
        'k:label="moon"><title> full\n moon </title><g><a id="z"><rect id="own" class="d" '
        'width="5" height="5"/></a></g></g></svg>'
    )
    shape = read(text).shapes[0]
    assert shape.layers == (("moon", "full moon", "a", "b", "c"), ("z",), ("d",))
    assert shape.name == "own"


@pytest.mark.parametrize(
    ("attributes", "name"),
    [
        ('id="st1" class="plate"', "st1"),
        ('class="st1 plate"', "plate"),
        ('class="st1"', "moon"),
        ('class="fil0 str0"', "moon"),
        ('class="stem1"', "stem1"),
    ],
)
def test_a_class_that_a_program_has_numbered_is_no_name(attributes: str, name: str) -> None:
    (shape,) = drawn(f'<g id="moon"><g>{RECT.format(" " + attributes)}</g></g>').shapes
    assert shape.name == name
    assert shape.layers[-1][0] == attributes.partition('class="')[2].rstrip('"').split()[0]


def test_what_has_no_name_at_all_is_called_by_its_tag() -> None:
    assert drawn(RECT.format(' class="cls-2"')).shapes[0].name == "rect"


@pytest.mark.parametrize(
    ("written", "names"),
    [
        ('id="Cut-lines" k:id="Cut lines"', ("Cut lines", "Cut-lines")),
        ('id="Cut_lines" data-name="Cut lines"', ("Cut lines", "Cut_lines")),
        ('id="Layer_x0020_1"', ("Layer_x0020_1", "Layer 1")),
        ('id="cut_x5F_lines_x26_more" class="a"',
         ("cut_x5F_lines_x26_more", "cut_lines&more", "a")),
        ('id="box_x10_y20"', ("box_x10_y20",)),  # no sign that can be read
        ('id="a" xml:id="b"', ("a",)),
    ],
)  # fmt: skip
def test_layers_are_called_what_the_drawing_program_calls_them(
    written: str, names: tuple[str, ...]
) -> None:
    (shape,) = drawn(f'<g xmlns:k="urn:k" {written}>{RECT.format("")}</g>').shapes
    assert shape.layers == (names,)
    assert shape.layer == names[0]


# -- paint and stroke ----------------------------------------------------------------------


def test_strokes_in_page_pixels() -> None:
    drawing = drawn(
        '<g transform="scale(2 8)" stroke="red" stroke-width="3" stroke-dasharray="1 2" '
        'stroke-dashoffset="5">' + RECT.format("")
        + RECT.format(' vector-effect="non-scaling-stroke"') + "</g>"
    )  # fmt: skip
    plain, thin = drawing.shapes
    assert (plain.stroke_width, plain.dashes, plain.dash_offset) == (12, (4, 8), 20)
    assert plain.matrix == (2, 0, 0, 8, 0, 0)
    assert (thin.stroke_width, thin.non_scaling_stroke, thin.dashes) == (3, True, (1, 2))


def test_alpha_is_that_of_colour_and_opacity() -> None:
    shape = drawn(
        '<g opacity=".5">' + RECT.format(' fill="#ff000080" fill-opacity=".5" opacity="50%"')
        + "</g>"
    ).shapes[0]  # fmt: skip
    assert shape.fill is not None
    assert shape.fill.colour is not None
    assert shape.fill.colour.alpha == pytest.approx(128 / 255 / 2)
    assert shape.opacity == 0.25


def test_gradients_markers_dashes_filters_are_effects() -> None:
    drawing = drawn(
        '<linearGradient id="g"/><marker id="m"/><filter id="f"/><mask id="k"/>'
        '<g fill="url(#g) blue" stroke="red">'
        '<path d="M0 0h9" marker-start="url(#m)" stroke-dasharray="1"/>'
        '<rect width="9" height="9" filter="url(#f)" mask="url(#k)"/></g>'
        '<rect width="9" height="9"><animate attributeName="x"/></rect><animate/><script/>'
    )
    assert remarks(drawing, "effect") == [
        "fill", "stroke-dasharray", "marker-start", "mask", "filter", "animate", "script",
    ]  # fmt: skip
    assert drawing.shapes[0].fill == Paint(Colour(0, 0, 255), "g")
    # the gradient is said where it is written, once
    said = next(r for r in drawing.remarks if r.word == "fill")
    assert said.node.tag == "g"
    assert drawing.source.text[said.offset :].startswith("url(#g)")


def test_words_of_text() -> None:
    drawing = drawn(
        '<text x="10" y="20" font-family="serif" transform="scale(2)">Hel<tspan>lo</tspan> \n'
        "<![CDATA[<&]]> &amp; w&#246;rld<!-- no --><title>no</title></text><text> </text>"
        '<text display="none">unseen</text><foreignObject><p xmlns="urn:h">in</p></foreignObject>'
    )
    said = [(r.word, r.spot) for r in drawing.remarks if r.kind == "text"]
    assert said[0] == ("Hello <& & wörld", (20, 40))
    assert [word for word, _ in said] == ["Hello <& & wörld", "unseen", "in"]
    messages = [r.message for r in drawing.remarks if r.kind == "text"]
    assert messages[0] == "text “Hello <& & wörld” in serif is not converted to outlines"
    assert messages[1] == "text “unseen” is not seen"
    assert [r.hidden for r in drawing.remarks if r.kind == "text"] == ["", "display", ""]


@pytest.mark.parametrize(
    ("around", "why"),
    [
        ("display:none", "display"),
        ("visibility:hidden", "visibility"),
        ("opacity:0", "opacity"),
        ("opacity:0.5", ""),
    ],
)
def test_why_text_and_pictures_are_not_seen(around: str, why: str) -> None:
    drawing = drawn(f'<g style="{around}"><text>a</text><image href="b.png"/></g>')
    assert [(r.kind, r.hidden) for r in drawing.remarks] == [("text", why), ("bitmap", why)]


def test_what_a_switch_leaves_out_without_words_is_not_said() -> None:
    drawing = drawn(
        '<switch><foreignObject requiredExtensions="urn:a"><b xmlns="urn:b"/></foreignObject>'
        '<g><rect width="5" height="5"/></g></switch>'
    )
    assert not drawing.remarks
    assert len(drawing.shapes) == 1


def test_pictures() -> None:
    drawing = drawn(
        '<image x="1" y="2" width="30" height="4" href="data:image/png;base64,AA=="/>'
        '<g transform="rotate(90)"><image width="5" height="6" href="photo.jpg"/></g>'
    )
    said = [(r.word, r.spot, np.round(r.frames, 6).tolist()) for r in drawing.remarks]
    assert said == [
        ("image/png", (1, 2), [[[1, 2], [31, 2], [31, 6], [1, 6]]]),
        ("photo.jpg", (0, 0), [[[0, 0], [0, 5], [-6, 5], [-6, 0]]]),
    ]
    assert {r.kind for r in drawing.remarks} == {"bitmap"}


def test_unknown_elements_are_said_and_strangers_are_not() -> None:
    drawing = drawn('<blob/><k:thing xmlns:k="urn:k"><rect width="5" height="5"/></k:thing>')
    assert [(r.kind, r.word) for r in drawing.remarks] == [("value", "blob")]
    assert drawing.shapes == []


# -- shapes --------------------------------------------------------------------------------


def test_extents_of_basic_shapes() -> None:
    drawing = drawn(
        '<rect x="1" y="2" width="30" height="4"/><circle cx="20" cy="30" r="5"/>'
        '<ellipse cx="20" cy="30" rx="5"/><line x1="1" y1="2" x2="3" y2="9"/>'
        '<polyline points="1 2,3,4 5 6"/><polygon points="1 2,3,4 5 9"/>'
        '<rect x="1" y="2" width="30" height="4" rx="50" ry="1" transform="translate(50)"/>'
    )
    assert boxes(drawing) == [
        [1, 2, 31, 6], [15, 25, 25, 35], [15, 25, 25, 35], [1, 2, 3, 9], [1, 2, 5, 6],
        [1, 2, 5, 9], [51, 2, 81, 6],
    ]  # fmt: skip
    assert drawing.curves.closed.tolist() == [True, True, True, False, False, True, True]
    assert drawing.curves.shape.tolist() == list(range(7))


def test_shapes_of_no_size_or_a_negative_one() -> None:
    drawing = drawn(
        '<rect width="0" height="9"/><rect width="-1" height="9"/><circle r="0"/><circle/>'
        '<ellipse rx="5" ry="-1"/><rect width="9" height="9" rx="-2"/><path/><path d="none"/>'
        '<polygon points=""/>'
    )
    assert [s.node.attrib.get("rx") for s in drawing.shapes] == ["5", "-2"]
    assert remarks(drawing, "value") == ["width", "ry", "rx"]


def test_skewed_circles_stay_exact() -> None:
    drawing = drawn('<circle r="10" transform="translate(50 50) skewX(45)"/>')
    # x = u + v, y = v on u² + v² = 100: the extents are 10 √2 and 10
    root = 10 * 2**0.5
    np.testing.assert_allclose(bounds(drawing.curves)[0], [50 - root, 40, 50 + root, 60])


def test_reading_twice_gives_the_same() -> None:
    text = svg('<g id="a" fill="nosuch" style="stroke:nosuch"><use href="#b"/>'
               '<text>x</text></g><path id="b" d="M0 0C1 2 3 4 5 6x"/>')  # fmt: skip
    first, second = read(text), read(text)
    assert [repr(r) for r in first.remarks] == [repr(r) for r in second.remarks]
    np.testing.assert_array_equal(first.curves.data, second.curves.data)
