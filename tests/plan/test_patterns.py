"""File patterns of a job sheet, against worked cases and the standard library's fnmatch."""

from __future__ import annotations

import fnmatch
import os

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scantling.plan.patterns import compiled, escaped, matches_file


@pytest.mark.parametrize(
    ("pattern", "path", "matches"),
    [
        ("clock/*.svg", "clock/moon.svg", True),
        ("clock/*.svg", "clock/old/moon.svg", False),
        ("clock/*.svg", "moon.svg", False),
        ("*.svg", "moon.svg", True),
        ("*.svg", "clock/moon.svg", False),
        ("**/*.svg", "moon.svg", True),
        ("**/*.svg", "clock/old/moon.svg", True),
        ("clock/**", "clock/old/moon.svg", True),
        ("clock/**", "clocks/moon.svg", False),
        ("a/**/b.svg", "a/b.svg", True),
        ("a/**/b.svg", "a/x/y/b.svg", True),
        ("a/**/b.svg", "ab.svg", False),
        ("moon-?.svg", "moon-1.svg", True),
        ("moon-?.svg", "moon-.svg", False),
        ("moon-?.svg", "moon/1.svg", False),
        ("[ab].svg", "a.svg", True),
        ("[!ab].svg", "a.svg", False),
        ("[!ab].svg", "c.svg", True),
        ("[0-9].svg", "7.svg", True),
        ("[z-a].svg", "-.svg", True),
        ("[", "[", True),
        ("a.svg", "aXsvg", False),
        ("Moon.svg", "moon.svg", False),
        ("**", "anything/at/all.svg", True),
        ("./clock/*.svg", "clock/moon.svg", True),
        (".", ".", True),
    ],
)
def test_worked_cases(pattern: str, path: str, matches: bool) -> None:
    assert (compiled(pattern).fullmatch(path) is not None) is matches


def test_patterns_are_relative_to_the_job_sheet() -> None:
    job = os.path.join("shop", "jobsheet.toml")
    assert matches_file("clock/*.svg", os.path.join("shop", "clock", "moon.svg"), job)
    assert not matches_file("clock/*.svg", os.path.join("clock", "moon.svg"), job)
    assert matches_file("../clock/*.svg", os.path.join("clock", "moon.svg"), job)
    assert matches_file("clock/*.svg", os.path.join("clock", "moon.svg"), None)
    assert matches_file("clock/*.svg", os.path.abspath(os.path.join("shop", "clock", "m.svg")), job)


@given(st.text(st.characters(exclude_characters="/", exclude_categories=["Cs"]), min_size=1))
def test_an_escaped_name_matches_itself_alone(name: str) -> None:
    pattern = compiled(escaped(name))
    assert pattern.fullmatch(name)
    assert not pattern.fullmatch(name + "x")


@given(st.text("ab*?[]!-", max_size=8), st.text("ab[]!-", max_size=5))
def test_within_one_folder_patterns_are_those_of_fnmatch(pattern: str, name: str) -> None:
    if "**" in pattern:
        return
    assert (compiled(pattern).fullmatch(name) is not None) is fnmatch.fnmatchcase(name, pattern)
