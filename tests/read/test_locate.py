"""Places of attributes, elements and segments in the text."""

from __future__ import annotations

from drawings import SVG, documents, examples, path_data, read, svg
from hypothesis import given, reject
from hypothesis import strategies as st

from scantling.read import Unreadable
from scantling.read.drawing import Drawing
from scantling.read.locate import (
    attribute_place,
    attribute_range,
    element_range,
    segment_range,
    whole_range,
)
from scantling.read.pathdata import scan

TEXT = (
    f'<svg {SVG} xmlns:xlink="http://www.w3.org/1999/xlink">\n'
    "  <g title='a > b'\n   data-d=\"no\" d = 'yes'><!-- </g> --><g/><![CDATA[</g>]]></g>\n"
    '  <path d="M0 0&#10;&#x20;L 10,10 5 5\r\nz m1 1 2 2&lt;"/>\n'
    "  <polygon points='0,0 5 5, 7 8'/><use xlink:href='#a' href='#b'/>\n</svg>"
)


def cut(drawing: Drawing, found: tuple[int, int] | None) -> str | None:
    return None if found is None else drawing.source.text[slice(*found)]


def between(start: str, end: str) -> str:
    """The test's text from one word to the end of the other, without the line end."""
    first = TEXT.index(start)
    return TEXT[first : TEXT.index(end, first) + len(end) - 1]


_SPACES = str.maketrans("\r\n\t", "   ")


def test_elements_and_attributes() -> None:
    drawing = read(TEXT)
    group, path, polygon, use = drawing.root.children
    source = drawing.source
    assert cut(drawing, element_range(source, group)) == (
        "<g title='a > b'\n   data-d=\"no\" d = 'yes'>"
    )
    assert cut(drawing, whole_range(source, group)) == between("<g", "</g>\n")
    assert cut(drawing, whole_range(source, path)) == between("<path", "/>\n")
    assert cut(drawing, whole_range(source, drawing.root)) == TEXT
    assert cut(drawing, attribute_range(source, group, "d")) == "yes"
    assert cut(drawing, attribute_range(source, group, "title")) == "a > b"
    assert attribute_range(source, group, "fill") is None
    assert cut(drawing, attribute_range(source, use, "href")) == "#b"
    xlink = "{http://www.w3.org/1999/xlink}href"
    assert cut(drawing, attribute_range(source, use, xlink)) == "#a"
    assert source.text[attribute_place(source, polygon, "points", 4)] == "5"
    assert attribute_place(source, polygon, "nothing") == polygon.offset


def test_segments_of_paths_and_points() -> None:
    drawing = read(TEXT)
    _, path, polygon, use = drawing.root.children
    words = [cut(drawing, segment_range(drawing.source, path, k)) for k in range(7)]
    assert words == ["M0 0", "L 10,10", "5 5", "z", "m1 1", "2 2", None]
    words = [cut(drawing, segment_range(drawing.source, polygon, k)) for k in (0, 1, 2, 3, -1)]
    assert words == ["0,0", "5 5", "7 8", None, None]
    assert segment_range(drawing.source, use, 0) is None


@examples(60)
@given(path_data(), st.randoms(use_true_random=False))
def test_segments_through_character_references(d: str, random: object) -> None:
    """Any character may be written as a reference; the ranges are those of the text."""
    spelled = "".join(
        f"&#{ord(c)};" if random.random() < 0.2 or c in "\r\n\t" else c  # type: ignore[attr-defined]
        for c in d
    )
    drawing = read(svg(f'<path d="{spelled}"/>'))
    path = drawing.root.children[0]
    assert path.attrib["d"] == d
    for ordinal, written in enumerate(scan(d)):
        found = cut(drawing, segment_range(drawing.source, path, ordinal))
        assert found is not None
        plain = found
        for code in {ord(c) for c in d}:
            plain = plain.replace(f"&#{code};", chr(code))
        assert plain == d[written.start : written.end]  # type: ignore[union-attr]


@examples(60)
@given(documents)
def test_ranges_in_any_document(text: str) -> None:
    try:
        drawing = read(text)
    except Unreadable:  # over a limit, as `translate(1e300)` is: test_fuzz.py holds what is said
        reject()
    for node in drawing.root.walk():
        start, end = whole_range(drawing.source, node)
        assert text[start] == "<"
        assert text[end - 1] == ">"
        assert text[start:end].count("<" + node.tag) >= 1
        for name, value in node.attrib.items():
            written = cut(drawing, attribute_range(drawing.source, node, name))
            assert written is not None
            # XML 1.0, sections 2.11 and 3.3.3: line ends and white space in attribute values
            assert written.replace("\r\n", " ").translate(_SPACES) == value
        for child in node.children:
            inner = whole_range(drawing.source, child)
            assert start < inner[0]
            assert inner[1] < end
