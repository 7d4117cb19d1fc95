"""Strokes and engraved areas of known widths."""

from __future__ import annotations

import math

import pytest
from making import Sketch, box, circle, square

from scantling.measure.model import ThinStroke
from scantling.plan.model import CUT, ENGRAVE, GUIDE, SCORE

TOLERANCE = 0.02
"""twice the chord tolerance"""


def strokes(sketch: Sketch, reach: float = 1.0) -> tuple[ThinStroke, ...]:
    found: tuple[ThinStroke, ...] = sketch.facts(reach=reach)["thin_strokes"]
    return found


@pytest.mark.parametrize("operation", [SCORE, ENGRAVE])
def test_strokes_are_as_wide_as_painted(operation: str) -> None:
    sketch = Sketch()
    sketch.line([(0, 0), (3, 4), (3, 10)], width=0.15, operation=operation)
    sketch.outline(square(10, (20, 0)), width=0.3, operation=operation)
    first, second = strokes(sketch)
    assert (first.width, first.length, first.operation) == (0.15, pytest.approx(11.0), operation)
    assert first.at == (0.0, 0.0)
    assert (second.width, second.length) == (0.3, pytest.approx(40.0))
    assert second.spot.contour == 1


def test_wide_strokes_and_other_operations_are_left_out() -> None:
    sketch = Sketch()
    sketch.line([(0, 0), (10, 0)], width=1.5, operation=SCORE)
    sketch.line([(0, 5), (10, 5)], width=0.1, operation=CUT)
    sketch.line([(0, 9), (10, 9)], width=0.1, operation=GUIDE)
    sketch.ring(box(10, 0.3, (0, 20)), operation=CUT)
    assert strokes(sketch) == ()


def test_engraved_area_is_as_thin_as_its_thinnest_place() -> None:
    sketch = Sketch().ring(box(10, 0.4, (20, 20)), operation=ENGRAVE)
    (found,) = strokes(sketch)
    assert found.width == pytest.approx(0.4)
    assert found.length == pytest.approx(9.6)
    assert found.operation == ENGRAVE
    assert found.spot.contour == 0


def test_engraved_areas_that_overlap_are_one() -> None:
    # two bars of 0.6 mm that overlap along 0.2 mm: 1.0 mm together
    sketch = Sketch()
    sketch.ring(box(10, 0.6, (0, 0)), operation=ENGRAVE)
    sketch.ring(box(10, 0.6, (0, 0.4)), operation=ENGRAVE)
    (found,) = strokes(sketch, reach=1.2)
    assert found.width == pytest.approx(1.0)


@pytest.mark.parametrize("rule", ["evenodd", "nonzero"])
def test_engraved_ring(rule: str) -> None:
    sketch = Sketch()
    inner = circle(9.5, (0.2, 0))[::-1]
    sketch.shape(circle(10), inner, rule=rule, operation=ENGRAVE)
    (found,) = strokes(sketch)
    # 10 - 9.5 - 0.2
    assert found.width == pytest.approx(0.3, abs=TOLERANCE)
    assert math.hypot(*found.at) == pytest.approx(9.85, abs=TOLERANCE)


def test_fill_rule_is_kept() -> None:
    # both circles run the same way: filled through by the nonzero rule
    sketch = Sketch().shape(circle(10), circle(9.7), rule="nonzero", operation=ENGRAVE)
    assert strokes(sketch) == ()


def test_one_small_dot() -> None:
    (found,) = strokes(Sketch().ring(circle(0.2), operation=ENGRAVE))
    assert found.width == pytest.approx(0.4, abs=TOLERANCE)


def test_nothing_engraved() -> None:
    assert strokes(Sketch()) == ()
    assert strokes(Sketch().ring(circle(5))) == ()
