"""What lies beyond parts, against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from making import Sketch, circle, square, steady

from scantling.measure.pieces.beyond import beyond, followed
from scantling.plan.model import ENGRAVE, SCORE

PLATE = shapely.box(0.0, 0.0, 40.0, 30.0)


def test_a_disc_over_an_edge_leaves_a_segment_beyond_it() -> None:
    radius, past = 8.0, 3.0
    disc = shapely.polygons(circle(radius, (40.0 + past - radius, 15.0), chord=1e-4))
    far = beyond(np.array([disc]), [PLATE], 0.5)
    # circular segment of height h: r² acos((r - h) / r) - (r - h) sqrt(2 r h - h²)
    rest = radius - past
    area = radius**2 * math.acos(rest / radius)
    area -= rest * math.sqrt(2.0 * radius * past - past**2)
    assert far.size.tolist() == pytest.approx([area], abs=1e-2)
    assert far.total.tolist() == pytest.approx([math.pi * radius**2], abs=1e-2)
    assert far.whole.tolist() == [False]
    assert len(beyond(np.array([disc]), [PLATE], 3.01).number) == 0


def test_between_two_parts_that_share_an_edge_nothing_is_beyond() -> None:
    parts = [shapely.box(0, 0, 20, 20), shapely.box(20, 0, 40, 20)]
    line = shapely.linestrings([(5.0, 5.0), (35.0, 15.0)])
    assert len(beyond(np.array([line]), parts, 0.0).number) == 0
    assert len(beyond(np.array([line]), parts[:1], 0.0).number) == 1


numbers = st.floats(-60.0, 60.0)
sizes = st.floats(0.5, 50.0)


@given(numbers, numbers, sizes, sizes, st.floats(0.0, 3.0))
@steady
def test_boxes_beyond_a_plate(x: float, y: float, wide: float, high: float, slack: float) -> None:
    far = beyond(np.array([shapely.box(x, y, x + wide, y + high)]), [PLATE], slack)
    over = max(-x, -y, x + wide - 40.0, y + high - 30.0)
    if over < slack - 1e-6:
        assert len(far.number) == 0
    if over > slack + 0.5:  # where a corner alone is out, it may be nearer to the plate's corner
        shared = max(0.0, min(x + wide, 40.0) - max(x, 0.0))
        shared *= max(0.0, min(y + high, 30.0) - max(y, 0.0))
        assert far.size.tolist() == pytest.approx([wide * high - shared], abs=1e-6)
        share = shared / (wide * high)
        assert far.whole.tolist() == [share < 0.01] or share == pytest.approx(0.01)


def test_lines_are_followed_as_they_are_drawn() -> None:
    sketch = Sketch().line([(0, 0), (3, 4)], operation=SCORE)
    sketch.outline(square(10.0), operation=ENGRAVE, width=0.2).ring(square(5.0))
    sketch.line([(1, 1)], operation=SCORE)
    contour, drawn = followed(sketch.lines, np.array([True, True, False, True]))
    assert contour.tolist() == [0, 1]
    assert shapely.length(drawn).tolist() == pytest.approx([5.0, 40.0])
    assert shapely.is_closed(drawn).tolist() == [False, True]
