"""Engraved strokes of shapes that a transform stretches: as wide as they are painted."""

import math

import pytest

from scantling.judge import assigned, page, stocked
from scantling_rules.features import thin_stroke

JOB = stocked("ply", "plywood", 'minimum = { stroke = "1 mm" }') + assigned(
    "#000", "ply", "engrave"
)
CIRCLE = '<circle cx="5" cy="5" r="4" {}/>'


@pytest.mark.parametrize(
    ("shape", "transform", "width"),
    [
        # twice as far along x, half as far along y: a level line is half as wide as it was drawn,
        # an upright one twice as wide
        ('<path d="M5 30H15" {}/>', "scale(2 .5)", 0.4),
        ('<path d="M5 30V60" {}/>', "scale(2 .5)", None),
        (CIRCLE, "scale(2 .5)", 0.4),
        (CIRCLE, "rotate(40 20 20) scale(2 .5)", 0.4),
        # sheared: areas stay as large, and an upright line becomes √2 times as long
        ('<path d="M5 5V30" {}/>', "matrix(1 0 1 1 0 0)", 0.8 / math.sqrt(2.0)),
        ('<path d="M5 5H30" {}/>', "matrix(1 0 1 1 0 0)", 0.8),
        ('<path d="M5 5H30" {}/>', "matrix(0 -1 -1 0 40 40)", 0.8),
    ],
)
def test_a_stroke_is_judged_where_it_is_thinnest(
    findings_of, shape: str, transform: str, width: float | None
):
    stroke = f'fill="none" stroke="#000" stroke-width="0.8" transform="{transform}"'
    found = findings_of(thin_stroke, page(shape.format(stroke)), JOB)
    assert [f.measured for f in found] == (
        [] if width is None else [pytest.approx(width, rel=1e-3)]
    )


def test_a_stroke_that_is_not_stretched_with_its_shape(findings_of):
    stroke = 'fill="none" stroke="#000" stroke-width="3" vector-effect="non-scaling-stroke"'
    (found,) = findings_of(
        thin_stroke, page(f'<path d="M5 5H15" transform="scale(2 .5)" {stroke}/>'), JOB
    )
    assert found.measured == pytest.approx(3 * 25.4 / 96)  # pixels of the screen
