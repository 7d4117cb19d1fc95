"""Short lines that are joined to nothing. Expected lengths are closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from making import Sketch, circle, square

from scantling.measure.model import Fragment


def found(sketch: Sketch, reach: float = 1.0) -> tuple[Fragment, ...]:
    fragments: tuple[Fragment, ...] = sketch.facts(reach=reach)["fragments"]
    return fragments


def test_points_and_short_lines() -> None:
    sketch = Sketch().ring([(1, 1)]).ring(square(30.0)).line([(3, 4), (3.03, 4.04)])
    point, line = found(sketch)
    assert (point.length, point.extent, point.closed, point.contours) == (0.0, 0.0, False, (0,))
    assert point.spot.at == (1.0, 1.0)
    assert (line.length, line.extent) == (pytest.approx(0.05), pytest.approx(0.05))
    assert line.spot.at == pytest.approx((3.015, 4.02))
    assert not line.closed


def test_a_tiny_ring_is_closed() -> None:
    (ring,) = found(Sketch().ring(square(0.1, (2.0, 3.0))))
    assert ring.closed
    assert ring.length == pytest.approx(0.4)
    assert ring.extent == pytest.approx(0.1 * 2**0.5)
    assert ring.spot.at == pytest.approx((2.0, 3.0))


def test_short_lines_that_make_up_a_long_one_are_none() -> None:
    ring = circle(5.0)
    sketch = Sketch()
    for k in range(len(ring)):
        sketch.line(ring[[k, (k + 1) % len(ring)]])
    assert found(sketch) == ()
    (short,) = found(Sketch().line([(0, 0), (0.2, 0)]).line([(0.2, 0), (0.2, 0.3)]))
    assert short.length == pytest.approx(0.5)
    assert short.contours == (0, 1)


def test_lines_of_other_operations_stand_alone() -> None:
    sketch = Sketch()
    for operation in ("score", "guide", "engrave"):
        sketch.line([(0, 0), (0.5, 0)], operation=operation)
    assert [fragment.operation for fragment in found(sketch)] == ["score", "engrave"]


def test_what_doubles_another_line_is_left_to_overlaps() -> None:
    facts = Sketch().line([(0, 0), (9, 0)]).line([(2, 0), (2.5, 0)]).facts(reach=1.0)
    assert facts["fragments"] == ()
    assert len(facts["overlaps"]) == 1


def test_only_up_to_the_reach() -> None:
    line = Sketch().line(np.array([(0, 0), (0.8, 0)]))
    assert len(found(line, 0.8)) == 1
    assert found(line, 0.7) == ()
