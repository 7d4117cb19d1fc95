"""The cascade: who wins, what is inherited, and the selectors of style sheets."""

from __future__ import annotations

import pytest
from drawings import drawn, svg

from scantling.read import Limits, Source, Unreadable, read_drawing
from scantling.read.cascade import read_declarations, substitute
from scantling.read.drawing import Shape

RECT = '<rect width="9" height="9"{}/>'


def shape(body: str) -> Shape:
    return drawn(body).shapes[-1]


def fill(body: str) -> str:
    paint = shape(body).fill
    if paint is None:
        return "none"
    return paint.server or paint.colour.hex  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("body", "wanted"),
    [
        # weak to strong: attribute, sheet, style, important sheet, important style
        (RECT.format(' fill="#010101"'), "#010101"),
        ("<style>rect{fill:#020202}</style>" + RECT.format(' fill="#010101"'), "#020202"),
        ("<style>rect{fill:#020202}</style>" + RECT.format(' style="fill:#030303"'), "#030303"),
        ("<style>rect{fill:#020202!important}</style>" + RECT.format(' style="fill:#030303"'),
         "#020202"),
        ("<style>rect{fill:#020202 ! important}</style>"
         + RECT.format(' style="fill:#040404 !important"'), "#040404"),
        # specificity before order, order before nothing
        ("<style>#a{fill:#010101}.b.b{fill:#020202}rect{fill:#030303}</style>"
         + RECT.format(' id="a" class="b"'), "#010101"),
        ("<style>.b{fill:#010101}</style><style>.b{fill:#020202}</style>"
         + RECT.format(' class="b"'), "#020202"),
        # unreadable declarations are passed over, and what stood before holds
        (RECT.format(' fill="#010101" style="fill:nosuch"'), "#010101"),
        ("<style>.b{fill:#010101;fill:rgb()}</style>" + RECT.format(' class="b"'), "#010101"),
        # inheritance
        ('<g fill="#010101">' + RECT.format("") + "</g>", "#010101"),
        ('<g fill="#010101">' + RECT.format(' fill="initial"') + "</g>", "#000000"),
        ('<g fill="#010101"><g fill="#020202">' + RECT.format(' style="fill:inherit"') + "</g></g>",
         "#020202"),
        ('<g fill="#010101">' + RECT.format(' fill="#020202" style="fill:unset"') + "</g>",
         "#010101"),
        ('<g color="#010101" fill="currentColor">' + RECT.format(' color="#020202"') + "</g>",
         "#020202"),
        ('<g color="#010101">' + RECT.format(' fill="currentColor" color="currentColor"') + "</g>",
         "#010101"),
        # properties are written in any case, words of the value too
        (RECT.format(' style="FILL:#010101"'), "#010101"),
        (RECT.format(' style="fill:RED"'), "#ff0000"),
        (RECT.format(' style="fill:#010101;;x;fill"'), "#010101"),
        (RECT.format(' style="/* fill:#020202; */ fill:/**/#010101"'), "#010101"),
        (RECT.format(" style=\"font-family:'a;fill:#020202';fill:#010101\""), "#010101"),
        # cascade layers: later ones are stronger, rules outside them strongest; important turns
        # that round (CSS Cascade 5, section 6.4)
        ("<style>@layer a{rect{fill:#010101}}@layer b{rect{fill:#020202}}</style>"
         + RECT.format(""), "#020202"),
        ("<style>@layer b,a;@layer a{rect{fill:#010101}}@layer b{#r{fill:#020202}}</style>"
         + RECT.format(' id="r"'), "#010101"),
        ("<style>rect{fill:#010101}@layer{#r{fill:#020202}}</style>" + RECT.format(' id="r"'),
         "#010101"),
        ("<style>@layer a{rect{fill:#010101!important}}@layer b{rect{fill:#020202!important}}"
         "rect{fill:#030303!important}</style>" + RECT.format(""), "#010101"),
        ("<style>@layer a{@layer b{#r{fill:#010101}}rect{fill:#020202}}@layer a.c{rect"
         "{fill:#030303}}</style>" + RECT.format(' id="r"'), "#020202"),
        # inside `use`, selectors see the copy alone
        ('<style>g rect{fill:#010101}rect{fill:#020202}</style><g><rect id="r" width="9" '
         'height="9"/></g><use href="#r"/>', "#020202"),
        ('<style>.k rect{fill:#010101}</style><defs><g class="k" id="r"><rect width="9" height="9"'
         '/></g></defs><use href="#r"/>', "#010101"),
        # var()
        ("<style>:root{--a:#010101;--b:var(--a)}</style>" + RECT.format(' fill="var(--b)"'),
         "#010101"),
        ('<g fill="#020202">' + RECT.format(' style="fill:var(--gone)"') + "</g>", "#020202"),
        (RECT.format(' style="fill:var(--gone, #010101)"'), "#010101"),
        (RECT.format(' style="--a:var(--b);--b:var(--a);fill:var(--a)"'), "#000000"),
        ('<g style="--a:#010101">' + RECT.format(' style="--a:#020202;fill:var(--a)"') + "</g>",
         "#020202"),
    ],
)  # fmt: skip
def test_who_wins(body: str, wanted: str) -> None:
    assert fill(body) == wanted


@pytest.mark.parametrize(
    ("selector", "matches"),
    [
        ("rect", True), ("circle", False), ("*", True), ("#r", True), (".b", True), (".B", False),
        ("rect.a.b", True), ("g rect", True), ("svg > rect", False), ("g > rect", True),
        ("circle + rect", True), ("circle ~ rect", True), ("rect + rect", False),
        ("[width]", True), ('[width="9"]', True), ("[width^='9']", True), ("[class~=a]", True),
        ("[lang|=en]", True), ("[nosuch]", False), (":root rect", True), ("rect:root", False),
        (":first-child", False), (":nth-child(2)", True), (":nth-child(2n+1)", False),
        (":last-child", False), (":nth-last-child(2)", True), ("rect:first-of-type", True),
        ("rect:only-of-type", True), (":not(circle)", True), (":not(.a)", False),
        (":is(circle, .a)", True), (":where(.a)", True), ("g:has(rect) > rect", True),
        (":has(rect)", False), (":lang(en)", True), (":hover", False), ("rect:empty", True),
        ("rect::before", False), ("RECT", False), ("x, rect", True), ("svg|rect", True),
    ],
)  # fmt: skip
def test_selectors(selector: str, matches: bool) -> None:
    """Element names of SVG are compared as written: it is XML. The property is one that is not
    inherited, so that a match of the group does not count."""
    body = (
        f"<style>{selector.replace('>', '&gt;')} {{vector-effect:non-scaling-stroke}}</style>"
        '<g><circle r="1"/><rect id="r" class="a b" width="9" height="9" lang="en"/>'
        '<path d="M0 0h1"/></g>'
    )
    found = next(s for s in drawn(body).shapes if s.node.tag == "rect")
    assert found.non_scaling_stroke is matches


def test_style_sheets_that_are_not_read_are_remarked() -> None:
    body = (
        "<style>@import url(x.css); .a{fill:#010101} :nosuch{fill:#020202}"
        " @unknown{} .b{.c{fill:#030303}}</style>"
        '<style type="text/x">rect{fill:#040404}</style>'
    )
    said = [(r.kind, r.word) for r in drawn(body).remarks]
    assert ("reference", "@import") in said
    assert ("value", ":nosuch") in said
    assert ("value", "@unknown") in said
    assert ("value", ".b") in said
    assert ("value", "style") in said
    instruction = '<?xml-stylesheet href="x.css" type="text/css"?>'
    outside = read_drawing(Source.from_text(instruction + svg("")))
    assert [(r.kind, r.word, r.offset) for r in outside.remarks] == [("reference", "x.css", 0)]


def test_style_sheets_in_cdata_comments_and_media() -> None:
    body = (
        "<style><![CDATA[/* > */ g > rect{stroke:#010101}]]> @media screen{rect{fill:#020202}}"
        "@media print{rect{fill:#030303}}@supports (fill:red){rect{stroke-width:3}}"
        "@supports (nosuch:1){rect{stroke-width:7}}</style><g>" + RECT.format("") + "</g>"
    )
    found = shape(body)
    assert found.stroke is not None
    assert found.stroke.colour is not None
    assert found.stroke.colour.hex == "#010101"
    assert fill(body) == "#020202"
    assert found.stroke_width == 3


def test_lengths_are_inherited_as_computed() -> None:
    found = shape(
        '<g font-size="10" stroke="red" stroke-width="2em"><g font-size="50">'
        + RECT.format("")
        + "</g></g>"
    )
    assert found.stroke_width == 20
    part = shape(
        '<svg width="200" height="200" stroke="red" stroke-width="10%"><svg width="100" '
        'height="100">' + RECT.format("") + "</svg></svg>"
    )
    assert part.stroke_width == pytest.approx(10)


def test_declarations_with_and_without_the_css_library() -> None:
    for text in ("fill:red;stroke : #00f", " fill: rgb(1, 2, 3) ;", "--A:x;FILL:red", "a;b:c;:d"):
        plain = read_declarations(text)
        by_library = read_declarations(text + "/**/")
        assert [(n, v.replace(" ", "")) for n, v, _ in plain] == [
            (n, v.replace(" ", "")) for n, v, _ in by_library
        ]


def test_substitution_is_bounded() -> None:
    doubling = {f"--{n}": f"var(--{n + 1}) var(--{n + 1})" for n in range(60)}
    doubling["--60"] = "x"
    assert substitute("var(--0)", doubling) is None
    assert substitute("var(--a)", {"--a": "var(--a)"}) is None
    assert substitute("var(--a, rgb(1, 2, 3))", {}).strip() == "rgb(1, 2, 3)"


def test_matching_is_bounded() -> None:
    nested = "<g>" * 200 + "</g>" * 200
    text = svg("<style>" + "g " * 14 + "a{fill:red} a g g g g g g g g {fill:red}</style>" + nested)
    with pytest.raises(Unreadable, match="limit of 20000 for matching"):
        read_drawing(Source.from_text(text), Limits(matching=20_000))
    many = svg("<style>" + "".join(f".a{k}{{fill:red}}" for k in range(50)) + "</style>")
    with pytest.raises(Unreadable, match="limit of 20 for rules"):
        read_drawing(Source.from_text(many), Limits(rules=20))
    siblings = svg("<style>rect:last-of-type{fill:red}</style>" + "<rect/>" * 3000)
    with pytest.raises(Unreadable, match="for matching"):
        read_drawing(Source.from_text(siblings), Limits(matching=100_000))
