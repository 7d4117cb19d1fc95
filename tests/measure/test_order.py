"""Cuts that come too late. Expected orders follow from how the figures are drawn."""

from __future__ import annotations

from making import Sketch, circle, square

from scantling.measure.model import Late

DISC, HOLE, RING = circle(5.0), circle(10.0), circle(20.0)


def found(sketch: Sketch) -> list[tuple[int, list[int]]]:
    late: tuple[Late, ...] = sketch.facts()["order"]
    return [(cut.outer.contour, [spot.contour for spot in cut.inner]) for cut in late]


def test_inside_first_is_right() -> None:
    assert found(Sketch().ring(DISC).outline(HOLE).ring(RING)) == []
    assert found(Sketch().shape(HOLE[::-1], RING)) == []
    assert found(Sketch().ring(square(5.0)).ring(square(5.0, (10.0, 0.0)))) == []


def test_each_outline_is_named_with_what_comes_after_it() -> None:
    assert found(Sketch().shape(RING, HOLE[::-1]).ring(DISC)) == [(0, [1]), (1, [2])]
    assert found(Sketch().shape(RING, HOLE[::-1])) == [(0, [1])]
    assert found(Sketch().outline(HOLE).ring(RING).ring(DISC)) == [(0, [2])]
    two = Sketch().ring(square(20.0)).outline(circle(2.0, (5, 0))).outline(circle(2.0, (-5, 0)))
    assert found(two) == [(0, [1, 2])]


def test_an_outline_of_several_lines_is_closed_by_its_last() -> None:
    corners = square(30.0)
    sketch = Sketch().line(corners[[0, 1, 2]]).outline(HOLE).line(corners[[2, 3, 0]])
    assert found(sketch) == []
    assert found(sketch.outline(circle(1.0, (12.0, 12.0)))) == [(2, [3])]


def test_an_open_line_within_an_outline_counts() -> None:
    sketch = Sketch().ring(square(20.0)).line([(-3, 0), (3, 0)]).line([(20, 0), (30, 0)])
    assert found(sketch) == [(0, [1])]


def test_the_piece_is_the_one_that_comes_loose() -> None:
    facts = Sketch().ring(DISC).shape(RING, HOLE[::-1]).facts()
    (late,) = facts["order"]
    assert facts["pieces"][late.piece - 1].outer.contour == 1


def test_lines_that_bound_pieces_lie_in_none() -> None:
    """Four cells of 20, each edge drawn once; two of the lines join at a corner of the cells, and
    are off by rounding."""
    off = 5.0 + 1e-15 * 5
    sketch = Sketch().line([(5, 5), (25, 5), (25, 25), (5, 25), (5, 5)])
    sketch.line([(25, off), (45, off), (45, 25), (25, 25)])
    sketch.line([(25, 25), (25, 45), (5, 45), (5, 25)])
    sketch.line([(45, 25), (45, 45), (25, 45)])
    assert found(sketch) == []
