"""Late patterns are patterns, and are compiled only when they are used."""

import re

import pytest

from scantling.late import pattern


def test_it_finds_what_the_pattern_finds():
    words = pattern(r"[a-z]+", re.IGNORECASE)
    assert words.findall("Ab 1 c") == re.compile(r"[a-z]+", re.IGNORECASE).findall("Ab 1 c")
    assert words.pattern == r"[a-z]+"
    found = words.match("Ab 1", 1)
    assert found is not None
    assert found.span() == (1, 2)
    assert words.fullmatch("a b") is None


def test_it_is_compiled_when_it_is_first_used():
    broken = pattern("(")
    with pytest.raises(re.error):
        broken.search("")
