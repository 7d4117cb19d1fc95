"""The document tree: places, namespaces, and what is refused."""

from __future__ import annotations

import pytest
from drawings import SVG, documents, examples, read, svg
from hypothesis import given

from scantling.read import Limits, Source, Unreadable
from scantling.read.markup import read_markup

PUBLIC = (
    '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" '
    '"http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">'
)


@pytest.mark.parametrize(
    ("text", "message", "line", "column"),
    [
        ("<svg>\n<g></svg>", "not XML: mismatched tag", 2, 6),
        ("hello", "not XML: syntax error", 1, 1),
        ("<svg", "not XML: unclosed token", 1, 1),
        ("<svg/><svg/>", "not XML: junk after document element", 1, 7),
        ("<svg a='1' a='2'/>", "not XML: duplicate attribute", 1, 12),
        ("<svg><x:g/></svg>", "not XML: unbound prefix", 1, 6),
        ("<é/>", "not SVG: the root element is é", 1, 1),
        ("\n <html></html>", "not SVG: the root element is html", 2, 2),
        ('<svg xmlns="urn:x"/>', "not SVG: the root element is svg", 1, 1),
        (
            "<svg>é&nbsp;</svg>",
            "an entity that is not one of XML's own five; write",
            1,
            7,
        ),
        (
            PUBLIC + "<svg>&nbsp;</svg>",
            "entity nbsp is not one of XML's own five; write",
            1,
            len(PUBLIC) + 6,
        ),
        (
            PUBLIC + "\n<svg id='&nbsp;'/>",
            "an entity that is not one of XML's own five; write",
            2,
            10,
        ),
        ("<svg>\ud800</svg>", "half of a surrogate pair", 1, 6),
        ("<svg>\x00</svg>", "not XML: not well-formed (invalid token)", 1, 6),
    ],
)
def test_what_is_not_svg_says_where(text: str, message: str, line: int, column: int) -> None:
    with pytest.raises(Unreadable) as caught:
        read(text)
    assert message in caught.value.message
    assert (caught.value.line, caught.value.column) == (line, column)


@pytest.mark.parametrize(
    "declaration",
    [
        '<!ENTITY a "harmless">',
        '<!ENTITY a SYSTEM "file:///etc/hostname">',
        '<!ENTITY a SYSTEM "http://example.invalid/">',
        '<!ENTITY % p "x"> ',
        '<!ENTITY a "&b;&b;"><!ENTITY b "&a;&a;">',
    ],
)
def test_entity_declarations_are_refused(declaration: str) -> None:
    what_to_do = (
        "write out what it stands for wherever it is used, or save the drawing as plain SVG"
    )
    with pytest.raises(Unreadable, match=f"entity declarations are refused: .*; {what_to_do}"):
        read(f"<!DOCTYPE svg [{declaration}]><svg><text>&a;</text></svg>")


def test_an_outside_document_type_is_passed_over() -> None:
    drawing = read(PUBLIC + svg('<rect width="5" height="5"/><title>&amp;&#65;</title>'))
    assert len(drawing.shapes) == 1
    assert drawing.root.children[1].text == "&A"
    outside = '<!DOCTYPE svg SYSTEM "http://example.invalid/x.dtd">'
    assert len(read(outside + svg('<rect width="5" height="5"/>')).shapes) == 1


def test_attributes_that_a_document_type_adds_are_short() -> None:
    short = '<!DOCTYPE svg [<!ATTLIST rect width CDATA "7">]>'
    assert len(read(short + svg('<rect height="5"/>')).shapes) == 1
    long = f'<!DOCTYPE svg [<!ATTLIST rect id CDATA "{"x" * 100}">]>'
    with pytest.raises(Unreadable, match="more than 64 characters"):
        read(long + svg("<rect/>"))


def test_every_element_knows_its_place() -> None:
    text = (
        f"<?xml version='1.0'?><!-- é -->\r\n<svg {SVG}>\n<g><title>𝔘</title>\n  <path/></g></svg>"
    )
    markup = read_markup(Source.from_text(text), Limits())
    for node in markup.root.walk():
        assert text.startswith("<" + node.tag, node.offset)
    source = Source.from_text(text)
    places = [(n.tag, *source.position(n.offset)) for n in markup.root.walk()]
    assert places == [("svg", 2, 1), ("g", 3, 1), ("title", 3, 4), ("path", 4, 3)]


def test_namespaces_decide_what_is_drawn() -> None:
    body = '<s:g><s:rect width="5" height="5"/></s:g><rect width="5" height="5"/>'
    other = '<x:rect width="5" height="5" xmlns:x="urn:x"/>'
    prefixed = f'<s:svg xmlns:s="http://www.w3.org/2000/svg">{body}{other}</s:svg>'
    assert [shape.node.tag for shape in read(prefixed).shapes] == ["rect"]
    assert len(read('<svg><rect width="5" height="5"/></svg>').shapes) == 1


def test_attributes_of_namespaces() -> None:
    text = f'<svg {SVG} xmlns:k="urn:k" k:label="moon" xml:lang="en" width="5"/>'
    attributes = read(text).root.attrib
    assert attributes == {
        "{urn:k}label": "moon", "{http://www.w3.org/XML/1998/namespace}lang": "en", "width": "5",
    }  # fmt: skip


def test_a_declared_encoding_does_not_matter_for_text() -> None:
    drawing = read('<?xml version="1.0" encoding="UTF-16"?>' + svg("<title>é</title>"))
    assert drawing.root.children[0].text == "é"


@examples(60)
@given(documents)
def test_places_of_elements_in_any_document(text: str) -> None:
    markup = read_markup(Source.from_text(text), Limits())
    for node in markup.root.walk():
        assert text.startswith("<" + node.tag, node.offset)
