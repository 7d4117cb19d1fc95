"""Path data changed in place: what is not changed stays where it is."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scantling.mend.edit import applied
from scantling.mend.numbers import manner_of
from scantling.mend.path import Changes, Op, Unwritable, redrawn, steps_of
from scantling.read.pathdata import read_path

WITHIN = 1e-10
ARGUMENTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}


def changed(d: str, **places: dict[int, tuple[Op, ...]]) -> str:
    """Path data with commands instead of, before or after some of its steps."""
    changes = Changes(**{name: dict(ops) for name, ops in places.items()})
    return applied(d, redrawn(d, steps_of(d), changes, manner_of(d, WITHIN)))


def rows(d: str, without: frozenset[int] = frozenset()) -> np.ndarray:
    """The curves of path data, but for those of some steps and those of no length."""
    outline, error = read_path(d)
    assert error is None
    data = np.frombuffer(outline.data).reshape(-1, 8)
    number, kind = np.array(outline.ordinal, int), np.frombuffer(outline.kind, np.int8)
    still = (kind == 0) & (np.abs(data[:, :2] - data[:, 2:4]).max(axis=1, initial=0) < 1e-9)
    return data[~still & ~np.isin(number, list(without))]


@st.composite
def path_data(draw: st.DrawFn) -> str:
    """Path data in any of the ways the grammar allows it to be written."""
    number = st.builds(
        lambda whole, digits, bare: (
            text[1:] if bare and (text := f"{whole / 10**digits:.{digits}f}").startswith("0.") else
            f"{whole / 10**digits:.{digits}f}"
        ),
        st.integers(-999, 999), st.integers(0, 2), st.booleans(),
    )  # fmt: skip
    between = st.sampled_from([" ", ",", "\n  ", " , "])
    text = ""
    meant = ""
    for k in range(draw(st.integers(1, 9))):
        letter = "M" if k == 0 else draw(st.sampled_from("MLHVCSQTAZ"))
        if letter == "Z" and meant in ("Z", "z"):
            letter = "L"
        spelled = letter.lower() if draw(st.booleans()) else letter
        values = []
        for n in range(ARGUMENTS[letter]):
            if letter == "A" and n in (3, 4):
                values.append(draw(st.sampled_from("01")))
            elif letter == "A" and n < 2:
                values.append(draw(number).lstrip("-"))
            else:
                values.append(draw(number))
        leave_out = spelled == meant and values and draw(st.booleans())
        if leave_out:
            text += draw(between)
        elif k:
            text += draw(st.sampled_from(["", " "])) + spelled
        else:
            text += spelled
        for n, value in enumerate(values):
            if n:
                flags = letter == "A" and n in (4, 5)
                tight = value.startswith("-") or flags
                text += "" if tight and draw(st.booleans()) else draw(between)
            text += value
        meant = {"M": "L", "m": "l"}.get(spelled, spelled)
    return text


@settings(max_examples=250, deadline=None)
@given(path_data(), st.data())
def test_steps_taken_out_leave_the_others_where_they_are(d: str, data: st.DataObject):
    steps = steps_of(d)
    drawing = [k for k, step in enumerate(steps) if step.op.letter != "M"]
    gone = frozenset(data.draw(st.sets(st.sampled_from(drawing))) if drawing else ())
    new = changed(d, instead=dict.fromkeys(gone, ()))
    before, after = rows(d, gone), rows(new)
    assert before.shape == after.shape, new
    # arcs are compared by their parts: their angles are found from ends a hair apart
    np.testing.assert_allclose(after, before, rtol=0, atol=1e-5)
    if not gone:
        assert new == d


@settings(max_examples=150, deadline=None)
@given(path_data(), st.data())
def test_a_subpath_is_closed_and_what_follows_stays(d: str, data: st.DataObject):
    steps = steps_of(d)
    last = [
        k
        for k, step in enumerate(steps)
        if step.op.letter not in "MZ" and (k + 1 == len(steps) or steps[k + 1].op.letter == "M")
    ]
    if not last:
        return
    k = data.draw(st.sampled_from(last))
    new = changed(d, after={k: (Op("Z", ()),)})
    before, after = read_path(d)[0], read_path(new)[0]
    assert sum(after.closed) == sum(before.closed) + 1
    old = rows(d)
    assert len(rows(new)) in (len(old), len(old) + 1)
    kept = rows(new, frozenset({k + 1}))
    np.testing.assert_allclose(kept, old, rtol=0, atol=1e-5)


@pytest.mark.parametrize(
    ("d", "gone", "new"),
    [
        # a relative command behind what is taken out
        ("M0 0l1 0 1 1 1 0", {1}, "M1 0l1 1 1 0"),
        ("M0 0l1 0 1 1 1 0", {2}, "M0 0l1 0 M2 1l1 0"),
        ("M0 0l1 0 1 1 1 0", {3}, "M0 0l1 0 1 1"),
        # a smooth command behind the curve whose handle it reflects
        ("M0 0C0 1 2 1 2 0S4-1 4 0", {1}, "M2 0C2 -1 4 -1 4 0"),
        # Z closes what is left only where it still goes where it went
        ("M0 0H4V4H0Z", {2}, "M0 0H4M4 4H0L0 0"),
        ("M0 0H4V4H0Z", {4}, "M0 0H4V4H0"),
        ("M0 0H4V4H0ZM9 9h1", {4}, "M0 0H4V4H0M9 9h1"),
        # a subpath of nothing but a moveto goes, those that were there stay
        ("M0 0M1 1L2 2M5 5L6 6", {2}, "M0 0M5 5L6 6"),
        # numbers that would run into each other are kept apart
        ("M0 0l1 1-0-0 .5.5", {2}, "M0 0l1 1 .5.5"),
        ("M0,0L1,1,2,2,3,3", {2}, "M0,0L1,1M2,2 3,3"),
        ("M0 0L1.5.5-2-3 4 4", {2}, "M0 0L1.5.5M-2 -3 4 4"),
    ],
)  # fmt: skip
def test_examples_of_steps_taken_out(d: str, gone: set[int], new: str):
    assert changed(d, instead=dict.fromkeys(gone, ())) == new


def test_lines_are_drawn_on_at_either_end():
    d = "M1 1L2 1m3 3l1 0"
    steps = steps_of(d)
    assert steps[3].pen == (5.0, 4.0)
    onward = {1: (Op("L", (2.0, 0.0)),)}
    assert changed(d, after=onward) == "M1 1L2 1L2 0M5 4l1 0"
    assert changed(d, instead={0: (Op("M", (0.0, 1.0)), Op("L", (1.0, 1.0)))}) == (
        "M0 1L1 1L2 1m3 3l1 0"
    )


def test_path_data_with_an_error_is_not_changed():
    with pytest.raises(Unwritable, match="has an error"):
        steps_of("M0 0L1 1 x")
