"""Scored lines and engraved strokes on cut lines, of known lengths."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from making import Sketch, circle, square, steady

from scantling.plan.model import ENGRAVE, GUIDE, SCORE


def found(sketch: Sketch) -> Any:
    return sketch.facts()["scored_cuts"]


@pytest.mark.parametrize("operation", [SCORE, ENGRAVE])
@pytest.mark.parametrize("cut_first", [True, False])
def test_an_outline_drawn_as_both(operation: str, cut_first: bool) -> None:
    sketch = Sketch()
    for cut in (cut_first, not cut_first):
        if cut:
            sketch.ring(circle(10.0))
        else:
            sketch.outline(circle(10.0, turn=0.1), operation=operation, width=0.2)
    (one,) = found(sketch)
    assert one.length == pytest.approx(20.0 * math.pi, rel=1e-3)
    assert (one.first.contour, one.second.contour) == ((0, 1) if cut_first else (1, 0))
    assert sketch.facts()["overlaps"] == ()


def test_a_crease_that_crosses_or_ends_on_a_cut_is_none() -> None:
    sketch = Sketch().ring(square(30.0))
    sketch.line([(-20, 0), (20, 0)], operation=SCORE).line([(-15, 5), (15, 9)], operation=SCORE)
    assert found(sketch) == ()


@pytest.mark.parametrize("operation", [GUIDE, ENGRAVE])
def test_guides_and_engraved_areas_are_none(operation: str) -> None:
    assert found(Sketch().ring(square(30.0)).ring(square(30.0), operation=operation)) == ()


def test_a_score_that_is_there_twice_is_told_once() -> None:
    sketch = Sketch().ring(square(30.0))
    sketch.outline(square(30.0), operation=SCORE).outline(square(30.0), operation=SCORE)
    (one,) = found(sketch)
    assert one.length == pytest.approx(120.0)
    assert len(sketch.facts()["overlaps"]) == 1


@given(st.floats(0.0, 0.8), st.floats(0.1, 1.0), st.integers(0, 2**32 - 1), st.booleans())
@steady
def test_the_part_of_a_line_that_is_scored(low: float, share: float, seed: int, back: bool) -> None:
    rng = np.random.default_rng(seed)
    turn = np.cumsum(rng.uniform(-0.4, 0.4, 6))
    line = np.cumsum(np.column_stack([np.cos(turn), np.sin(turn)]) * 5.0, axis=0)
    along = 5.0 * np.arange(6)
    begin, end = 25.0 * low, 25.0 * (low + share * (1.0 - low))
    inner = line[(along > begin) & (along < end)]
    ends = np.column_stack([np.interp([begin, end], along, line[:, k]) for k in (0, 1)])
    part = np.vstack([ends[:1], inner, ends[1:]])
    overlaps = found(Sketch().line(part[::-1] if back else part, operation=SCORE).line(line))
    if end - begin > 0.5:
        assert sum(one.length for one in overlaps) == pytest.approx(end - begin, abs=0.1)


def test_lines_of_which_none_is_cut_may_lie_on_each_other() -> None:
    """Pieces are asked for all the same."""
    sketch = Sketch().outline(square(9.0), operation=SCORE).outline(square(9.0), operation=SCORE)
    facts = sketch.facts()
    assert (facts["pieces"], len(facts["overlaps"]), facts["scored_cuts"]) == ((), 1, ())
