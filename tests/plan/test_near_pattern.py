"""Patterns that name no drawing, but nearly."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scantling.plan.near_pattern import near_pattern
from scantling.plan.patterns import compiled


@pytest.mark.parametrize(
    ("pattern", "name", "near"),
    [
        ("clok/*.svg", "clock/moon.svg", "clock/*.svg"),
        ("Clock/*.SVG", "clock/moon.svg", "clock/*.svg"),
        ("clock_face.svg", "clock face.svg", "clock face.svg"),
        ("clok/moom-clock.svg", "clock/moon-clock.svg", "clock/moon-clock.svg"),
        ("**/crecsent.svg", "a/b/crescent.svg", "**/crescent.svg"),
        ("clok/**", "clock/old/moon.svg", "clock/**"),
        ("clock\\\\*.svg", "clock/moon.svg", "clock/*.svg"),
        ("/clock/*.svg", "clock/moon.svg", "clock/*.svg"),
        ("work/designs/clock/*.svg", "clock/moon.svg", "clock/*.svg"),
        ("moon.svg", "clock/moon.svg", "clock/moon.svg"),
        ("clok/*.svg", "clock/deep/moon.svg", ""),
        ("boxes/*.svg", "clock/moon.svg", ""),
        ("clock-1/*.svg", "clock-2/moon.svg", ""),
        ("sun.svg", "son.svg", ""),
        ("home/clock/*.svg", "clock/moon.svg", ""),
        ("/", "moon.svg", ""),
        ("clock/*.svg", "clock/moon.svg", ""),
    ],
)
def test_worked_cases(pattern: str, name: str, near: str):
    assert near_pattern(pattern, name, "/shop/work/designs") == near
    assert not near or compiled(near).fullmatch(name)


def test_what_others_ask_for_is_not_meant():
    assert near_pattern("sign/*.svg", "signs/moon.svg", taken={"moon.svg"}) == "signs/*.svg"
    assert near_pattern("sign/*.svg", "signs/moon.svg", taken={"signs"}) == ""
    assert near_pattern("a/moon.svg", "b/moon.svg", taken={"moon.svg"}) == ""


NAMES = st.lists(st.text("abC*?[]!-. 1", min_size=1, max_size=6), min_size=1, max_size=3)


@given(NAMES, NAMES)
def test_whatever_is_near_names_the_drawing(pattern: list[str], name: list[str]):
    drawing = "/".join(part for part in name if part not in (".", "..")) or "a"
    near = near_pattern("/".join(pattern), drawing)
    assert not near or compiled(near).fullmatch(drawing)
