"""Text edits and positions that an editor is given."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scantling.judge.accept import ATTRIBUTE, UNWRITTEN
from scantling.judge.finding import Finding, Fix, Level, Place
from scantling.live.edits import accepting, applied, mending
from scantling.live.positions import Positions
from scantling.read import Source

HEAD = '<svg xmlns="http://www.w3.org/2000/svg">'


def at(text: str, what: str, rule: str = "thin-web") -> Finding:
    start = text.index(what)
    place = Place(1, start + 1, 1, start + 1 + len(what), start, start + len(what))
    return Finding(rule=rule, level=Level.ERROR, message="m", file="a.svg", place=place)


def accepted(text: str, what: str, rule: str = "thin-web") -> str:
    return applied(text, accepting(Source.from_text(text), at(text, what, rule)))


def test_the_attribute_goes_on_the_element_of_the_finding():
    text = HEAD + '<g id="a"><path\n  id="b"\n  d="M0 0L9 9L5 2Z"/></g><path d="M1 1"/></svg>'
    new = accepted(text, "L5 2")  # a segment inside the path data
    assert new == text.replace("<path\n", f'<path {ATTRIBUTE}="thin-web: {UNWRITTEN}"\n', 1)


def test_a_second_acceptance_joins_the_first():
    text = HEAD + f"<rect {ATTRIBUTE}='small-part: glued'/></svg>"
    new = accepted(text, "<rect")
    root = ET.fromstring(new)
    assert root[0].get(ATTRIBUTE) == f"small-part: glued | thin-web: {UNWRITTEN}"


def test_an_empty_attribute_is_filled():
    text = HEAD + f'<rect {ATTRIBUTE}=""/></svg>'
    assert ET.fromstring(accepted(text, "<rect"))[0].get(ATTRIBUTE) == f"thin-web: {UNWRITTEN}"


def test_a_name_of_any_kind_stays_xml():
    text = HEAD + "<rect/></svg>"
    root = ET.fromstring(accepted(text, "<rect", """odd"'<&rule"""))
    assert root[0].get(ATTRIBUTE) == f"""odd"'<&rule: {UNWRITTEN}"""


def test_a_prefixed_element():
    text = '<s:svg xmlns:s="http://www.w3.org/2000/svg"><s:rect/></s:svg>'
    assert f'<s:rect {ATTRIBUTE}="' in accepted(text, "<s:rect")


def test_a_finding_of_the_whole_file_is_accepted_on_the_root():
    text = "<?xml version='1.0'?>\n<!-- <g> -->\n" + HEAD + "<rect/></svg>"
    new = applied(text, accepting(Source.from_text(text), at(text, "<?xml")))
    assert f"<svg {ATTRIBUTE}=" in new


def test_a_fix_is_taken_as_it_is():
    text = HEAD + '<path d="M0 0L9 0L9 9"/><rect/></svg>'
    path = at(text, 'L9 9"').place
    fix = Fix(message="Close it", replacements=((path, 'L9 9Z"'), (at(text, "<rect/>").place, "")))
    assert applied(text, mending(fix)) == HEAD + '<path d="M0 0L9 0L9 9Z"/></svg>'


TEXT = st.text(alphabet=st.sampled_from("ab\r\né\u2028\x0c🌙"), max_size=40)


@given(TEXT, st.sampled_from(["utf-8", "utf-16", "utf-32"]), st.integers(0, 40))
def test_positions_and_offsets_are_each_other_s_inverse(text: str, encoding: str, offset: int):
    offset = min(offset, len(text))
    positions = Positions(text, encoding)
    line, character = positions.of(offset)
    inside = text[offset - 1 : offset + 1] == "\r\n"  # between the two nobody stands
    assert inside or positions.offset(line, character) == offset


@given(TEXT)
def test_lines_end_as_the_protocol_says(text: str):
    """Language Server Protocol 3.17, 'Text Documents': '\\n', '\\r\\n' and '\\r' end lines, and
    nothing else does; characters are UTF-16 code units."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    last = Positions(text).of(len(text))
    assert last == (len(lines) - 1, len(lines[-1].encode("utf-16-le")) // 2)


@pytest.mark.parametrize(
    ("line", "character", "offset"),
    [(0, 0, 0), (0, 99, 2), (1, 0, 4), (1, 2, 5), (1, 1, 4), (1, 3, 6), (9, 0, 6)],
)
def test_positions_beyond_the_text(line: int, character: int, offset: int):
    assert Positions("ab\r\n🌙c").offset(line, character) == offset
