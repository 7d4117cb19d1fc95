"""How close the drawing's nodes lie. Expected counts are closed forms."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from making import Sketch, circle, steady

from scantling.measure.lines.crowding import Crowding, crowding
from scantling.measure.model import Crowd


def found(sketch: Sketch, spacing: float, nodes: int) -> tuple[Crowd, ...]:
    facts: Crowding = sketch.facts()["crowding"]
    return facts.closer(spacing, nodes)


def test_a_fine_circle_is_crowded_all_round() -> None:
    ring = circle(5.0, chord=0.0001)
    (crowd,) = found(Sketch().ring(ring), 0.1, 10)
    assert crowd.nodes == len(ring)
    side = 10.0 * np.sin(np.pi / len(ring))
    assert crowd.length == pytest.approx(len(ring) * side)
    assert crowd.spacing == pytest.approx(side)
    assert len(crowd.path) == len(ring) + 1
    assert crowd.path[0] == pytest.approx(crowd.path[-1])
    assert found(Sketch().ring(ring), side * 0.99, 10) == ()


def test_points_of_a_flattened_curve_are_no_nodes() -> None:
    sketch = Sketch().ring(circle(5.0, chord=0.0001))
    lines: Any = sketch.lines
    lines.segment[:] = np.arange(len(lines.segment)) // 100
    facts = crowding(lines)
    assert facts.closer(0.1, 1) == ()
    assert facts.length.sum() == pytest.approx(10.0 * np.pi, rel=1e-3)
    assert len(facts.length) == -(-len(lines.segment) // 100)


def test_a_stretch_through_the_first_point_is_one() -> None:
    fine = np.linspace(0.0, 1.0, 51)[:, None] * (1.0, 0.0)
    ring = np.vstack([fine, [(5, 0), (5, 5), (-5, 5), (-5, 0)], fine[:-1] - (1.0, 0.0)])
    (crowd,) = found(Sketch().ring(ring), 0.1, 20)
    assert crowd.nodes == 100
    assert crowd.length == pytest.approx(2.0)
    assert (crowd.start.at, crowd.end.at) == ((-1.0, 0.0), (1.0, 0.0))
    # The same, open at its first point, is two.
    assert [c.nodes for c in found(Sketch().line(ring), 0.1, 20)] == [50, 49]


def test_few_short_segments_are_none() -> None:
    line = [(0, 0), (0.01, 0), (0.02, 0), (0.03, 0), (5, 0)]
    (crowd,) = found(Sketch().line(line), 0.1, 3)
    assert crowd.nodes == 3
    assert crowd.end.at == (0.03, 0.0)
    assert found(Sketch().line(line), 0.1, 4) == ()


def test_only_what_a_tool_follows() -> None:
    ring = circle(5.0, chord=0.0001)
    assert found(Sketch().ring(ring, operation="guide"), 0.1, 10) == ()
    assert found(Sketch().ring(ring, operation="engrave"), 0.1, 10) == ()
    assert len(found(Sketch().line(ring, operation="engrave"), 0.1, 10)) == 1


@steady
@given(
    lengths=st.lists(st.sampled_from([0.02, 0.05, 0.15, 0.4]), min_size=3, max_size=30),
    nodes=st.integers(1, 5),
    closed=st.booleans(),
)
def test_against_counting_by_hand(lengths: list[float], nodes: int, closed: bool) -> None:
    """Every row of so many segments is looked at one by one."""
    # Out and back along one line, so that the length of the closing line is known as well.
    x = np.concatenate([[0.0], np.cumsum(lengths)])
    points = np.column_stack([x, np.zeros(len(x))])
    sizes = [*lengths, float(x[-1])] if closed else list(lengths)
    many = len(sizes)
    crowded = set()
    for k in range(many if closed else many - nodes + 1):
        row = [(k + n) % many for n in range(nodes)]
        if nodes <= many and sum(sizes[n] for n in row) < 0.1 * nodes - 1e-9:
            crowded |= set(row)
    got = found(Sketch().ring(points) if closed else Sketch().line(points), 0.1 - 1e-9, nodes)
    assert sum(crowd.nodes for crowd in got) == len(crowded)
    assert sum(crowd.length for crowd in got) == pytest.approx(sum(sizes[n] for n in crowded))
