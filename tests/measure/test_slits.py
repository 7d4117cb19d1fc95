"""Webs beside slits: open cut lines within a part. Expected values are closed forms."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from figures import arc
from hypothesis import given
from hypothesis import strategies as st
from making import Points, Sketch, square, steady

from scantling.measure.model import Narrow
from scantling.plan.model import SCORE

REACH = 3.0
PLATE = square(60.0)


def turned(points: Points, degrees: float) -> Points:
    a = math.radians(degrees)
    return points @ np.array([[math.cos(a), math.sin(a)], [-math.sin(a), math.cos(a)]])


def upright(x: float, low: float, high: float) -> Points:
    return np.array([(x, low), (x, high)])


def webs(*lines: Points, angle: float = 0.0, plate: Points = PLATE) -> tuple[Narrow, ...]:
    """Of a plate with slits in it."""
    sketch = Sketch().outline(turned(plate, angle))
    for line in lines:
        sketch.line(turned(line, angle))
    facts = sketch.facts(reach=REACH)
    assert facts["gaps"] == ()
    found: tuple[Narrow, ...] = facts["webs"]
    return found


@given(
    pitch=st.floats(0.3, 2.9), count=st.integers(2, 12), angle=st.floats(0, 360), back=st.booleans()
)
@steady
def test_a_hinge_has_a_web_between_any_two_slits(
    pitch: float, count: int, angle: float, back: bool
) -> None:
    slits = [
        upright(-15 + k * pitch, -20 + 8 * (k % 2), 12 + 8 * (k % 2))[:: -1 if back else 1]
        for k in range(count)
    ]
    found = webs(*slits, angle=angle)
    # beyond the end of one, its two neighbours face each other
    near = [part for web in found for part in web.below(1.9 * pitch)]
    far = [web for web in found if not web.below(1.9 * pitch)]
    assert [web.width for web in near] == [pytest.approx(pitch, abs=1e-3)] * (count - 1)
    assert {web.piece for web in near} == {1}
    pairs = {tuple(sorted((web.p.contour, web.q.contour))) for web in near}
    assert pairs == set(pairwise(range(1, count + 1)))
    assert all(web.width == pytest.approx(2.0 * pitch, abs=1e-3) for web in far)


@given(inner=st.floats(2.0, 20.0), apart=st.floats(0.2, 2.8), angle=st.floats(0, 360))
@steady
def test_curved_slits(inner: float, apart: float, angle: float) -> None:
    found = webs(*(arc(0, 0, r, 0.3, 2.5) for r in (inner, inner + apart)), angle=angle)
    assert found[0].width == pytest.approx(apart, abs=0.02)
    assert {found[0].p.contour, found[0].q.contour} == {1, 2}


@given(apart=st.floats(0.2, 2.8), angle=st.floats(0, 360))
@steady
def test_a_slit_near_the_edge_and_end_to_end(apart: float, angle: float) -> None:
    [edge] = webs(upright(30.0 - apart, -10.0, 10.0), angle=angle)
    assert edge.width == pytest.approx(apart, abs=1e-3)
    [row] = webs(upright(0.0, -20.0, 0.0), upright(0.0, apart, 20.0), angle=angle)
    assert row.width == pytest.approx(apart, abs=1e-3)
    assert {row.p.contour, row.q.contour} == {1, 2}


@given(angle=st.floats(0, 360), back=st.booleans())
@steady
def test_slits_from_the_edge_part_teeth(angle: float, back: bool) -> None:
    teeth = [upright(x, -30.0, 10.0)[:: -1 if back else 1] for x in (-2.0, 0.0, 2.5)]
    found = webs(*teeth, angle=angle)
    assert [(web.width, web.kind) for web in found] == [
        (pytest.approx(2.0, abs=1e-3), "limb"),
        (pytest.approx(2.5, abs=1e-3), "limb"),
    ]
    facts = Sketch().outline(PLATE).line(teeth[0]).line(teeth[1]).facts(reach=REACH)
    [limb] = facts["limbs"]
    # from the middle of its end, round a corner and along
    assert limb.length == pytest.approx(41.0, abs=0.5)
    assert limb.width == pytest.approx(2.0, abs=0.05)


def test_a_slit_that_leaves_the_edge_at_an_acute_angle_makes_a_tip() -> None:
    slope = math.tan(math.radians(15.0))
    facts = Sketch().outline(PLATE).line([(0, -30), (25, -30 + 25 * slope)]).facts(reach=REACH)
    assert facts["webs"] == ()
    [tip] = facts["tips"]
    assert (tip.angle, tip.spot.at) == (
        pytest.approx(15.0, abs=0.01),
        pytest.approx((0.0, -30.0), abs=1e-3),
    )


def test_a_tongue_within_one_slit() -> None:
    tongue = np.array([(-1.0, 10.0), (-1.0, -10.0), (1.0, -10.0), (1.0, 10.0)])
    [web] = webs(tongue)
    assert web.width == pytest.approx(2.0, abs=1e-3)
    assert (web.kind, web.p.contour, web.q.contour) == ("limb", 1, 1)


def test_what_is_no_slit() -> None:
    plate = turned(PLATE, 0.0)
    outside = webs(upright(31.0, -10.0, 10.0), upright(32.0, -10.0, 10.0))
    assert outside == ()
    hole = Sketch().outline(plate).outline(square(20.0)[::-1])
    hole.line(upright(0.0, -5.0, 5.0)).line(upright(1.0, -5.0, 5.0))
    assert hole.facts(reach=REACH)["webs"] == ()
    scored = Sketch().outline(plate)
    for x in (0.0, 1.0):
        scored.line(upright(x, -10.0, 10.0), operation=SCORE)
    assert scored.facts(reach=REACH)["webs"] == ()
    half_out = Sketch().outline(plate)
    for y in (0.0, 1.0):
        half_out.line([(20.0, y), (40.0, y)])
    facts = half_out.facts(reach=REACH)
    assert facts["webs"] == ()
    assert len(facts["crossings"]) == 2
    assert facts["slitted"] is facts["arrangement"]


def test_slits_bring_no_piece_hole_or_tip() -> None:
    sketch = Sketch().outline(PLATE).line(upright(0.0, -10.0, 10.0)).line(upright(1.0, -10.0, 10.0))
    facts = sketch.facts(reach=REACH)
    assert [piece.area for piece in facts["pieces"]] == [pytest.approx(3600.0)]
    assert (facts["holes"], facts["tips"], facts["gaps"]) == ((), (), ())
    slitted = facts["slitted"]
    assert slitted.slit.tolist() == [False] * 4 + [True] * 8
    assert np.diff(slitted.first).tolist() == [4, 4, 4]
