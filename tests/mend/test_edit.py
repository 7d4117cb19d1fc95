"""Edits of a text."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scantling.mend.edit import Edit, Moves, applied, meet


def test_edits_are_applied_from_the_left():
    assert applied("abcdef", [Edit(4, 5, ""), Edit(1, 3, "XYZ")]) == "aXYZdf"
    with pytest.raises(ValueError, match="overlap"):
        applied("abcdef", [Edit(0, 3, ""), Edit(2, 4, "")])


@pytest.mark.parametrize(
    ("other", "met"), [((0, 2), False), ((0, 3), True), ((4, 5), True), ((6, 9), True),
                       ((7, 9), False), ((0, 9), True), ((3, 3), True)],
)  # fmt: skip
def test_edits_that_touch_meet(other: tuple[int, int], met: bool):
    assert meet([Edit(3, 6, "x")], [Edit(*other, "y"), Edit(20, 30, "")]) is met
    assert meet([Edit(*other, "y"), Edit(20, 30, "")], [Edit(3, 6, "x")]) is met


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9), st.text("xyz", max_size=4))))
def test_places_outside_of_edits_are_found_again(parts: list[tuple[int, int, str]]):
    at, edits = 0, []
    for gap, size, text in parts:
        edits.append(Edit(at + gap + 1, at + gap + 1 + size, text))
        at += gap + size + 2
    text = "".join(chr(0x4E00 + k) for k in range(at + 9))
    new = applied(text, edits)
    moves = Moves(edits)
    for k, character in enumerate(new):
        if character not in "xyz":
            assert text[moves.back(k)] == character
