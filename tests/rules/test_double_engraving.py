"""double-engraving: what lies on what, how much of it, and in how many findings."""

from __future__ import annotations

import math

import pytest

from scantling.judge import Level, assigned, page, stocked
from scantling_rules.features import double_engraving as rule

JOB = (
    stocked("ply", "plywood")
    + assigned("#000", "ply")
    + assigned("picture", "ply", "engrave")
    + assigned("other", "card-1.5", "engrave")
    + """
[rules.double-engraving]
{}
"""
)
PLATE = '<path d="M1 1H99V59H1Z"/>'


def drawn(*body: str, rest: str = "") -> str:
    return page(PLATE + f'<g id="picture" fill="#953">{"".join(body)}</g>{rest}', 100, 60)


def disc(name: str, x: float, radius: float = 6.0, more: str = "") -> str:
    return f'<circle id="{name}" cx="{x}" cy="20" r="{radius}" {more}/>\n'


def bar(name: str, x: float, y: float, wide: float, high: float) -> str:
    return f'<path id="{name}" d="M{x} {y}h{wide}v{high}h{-wide}Z"/>\n'


def test_two_discs(findings_of):
    (finding,) = findings_of(rule, drawn(disc("one", 20), disc("two", 26)), JOB.format(""))
    # two circles of radius r, r apart: r² (2 pi / 3 - sqrt(3) / 2) in common
    shared = 36.0 * (2.0 * math.pi / 3.0 - math.sqrt(3.0) / 2.0)
    assert finding.measured == pytest.approx(shared, abs=0.2)
    assert finding.unit == "mm2"
    assert finding.message == (
        f"{finding.measured:.2f} mm² are engraved twice: two engraved shapes lie on each other"
    )
    assert (finding.level, finding.element) == (Level.WARNING, "two")  # the upper one
    assert finding.at == pytest.approx((23.0, 20.0), abs=3.0)
    assert [one.message for one in finding.related] == ["the shape below it"]
    (ring,) = finding.mark
    assert all(math.hypot(x - 20, y - 20) <= 6.001 for x, y in ring)


def test_the_same_shape_twice(findings_of):
    (finding,) = findings_of(rule, drawn(disc("one", 20) * 2), JOB.format(""))
    assert finding.message.endswith("are engraved twice: the same shape is there twice")


def test_a_background_is_one_cause(findings_of):
    body = [bar("sky", 5, 5, 90, 50), *(disc(f"star-{k}", 10 + 15 * k, 3) for k in range(6))]
    (finding,) = findings_of(rule, drawn(*body), JOB.format(""))
    assert finding.message.endswith("twice in 6 places: 7 engraved shapes lie on each other")
    assert finding.measured == pytest.approx(6 * math.pi * 9.0, abs=1.2)
    assert len(finding.mark) == len(finding.related) == 6


def test_two_places_apart_are_two_causes(findings_of):
    body = (disc("a", 15), disc("b", 20), disc("c", 60), disc("d", 65))
    found = findings_of(rule, drawn(*body), JOB.format(""))
    assert [finding.element for finding in found] == ["b", "d"]


def test_three_deep(findings_of):
    (finding,) = findings_of(
        rule, drawn(disc("a", 20, 8), disc("b", 20), disc("c", 20, 4)), JOB.format("")
    )
    assert "more than once, up to 3 times: 3 engraved shapes" in finding.message
    assert finding.measured == pytest.approx(math.pi * 36.0, abs=0.4)


@pytest.mark.parametrize(("overlap", "raised"), [(0.0, 0), (0.3, 0), (0.49, 0), (0.52, 1)])
def test_a_trap_is_none(findings_of, overlap: float, raised: int):
    body = bar("left", 5, 5, 20, 20), bar("right", 25 - overlap, 5, 20, 20)
    assert len(findings_of(rule, drawn(*body), JOB.format(""))) == raised


def test_a_trap_all_around_is_none(findings_of):
    ring = '<path fill-rule="evenodd" d="M5 5H45V45H5ZM15 15H35V35H15Z"/>'
    body = ring + bar("inner", 14.7, 14.7, 20.6, 20.6)
    assert findings_of(rule, drawn(body), JOB.format("")) == ()
    (finding,) = findings_of(rule, drawn(body), JOB.format('trap = "0.2 mm"'))
    assert finding.measured == pytest.approx(20.6**2 - 20.0**2)


@pytest.mark.parametrize(
    "rest",
    [
        '<circle cx="20" cy="20" r="6" fill="none" stroke="#000"/>',
        '<g id="other"><circle cx="20" cy="20" r="6"/></g>',
        '<g id="picture"><circle cx="20" cy="20" r="6" fill="none" stroke="#000"/></g>',
    ],
    ids=["cut", "engraved in another stock", "a stroke"],
)
def test_what_is_no_second_engraving(findings_of, rest: str):
    assert findings_of(rule, drawn(disc("one", 20), rest=rest), JOB.format("")) == ()


def test_a_shape_with_a_stroke_of_its_own_is_one(findings_of):
    body = disc("one", 20, more='stroke="#000" stroke-width="3"')
    assert findings_of(rule, drawn(body), JOB.format("")) == ()


def test_glyphs_that_run_into_each_other_are_one_cause(findings_of):
    body = "".join(bar(f"glyph-{k}", 5 + 8 * k, 10, 10, 20) for k in range(8))
    (finding,) = findings_of(rule, drawn(body), JOB.format(""))
    assert finding.message.startswith("280.00 mm² are engraved twice in 7 places: 8 engraved")


def test_copies_are_told_apart_from_what_they_lie_on(findings_of):
    body = bar("sky", 5, 5, 90, 50) + disc("star", 20) + disc("again", 20) + disc("third", 20)
    over, same = findings_of(rule, drawn(body), JOB.format(""))
    area = math.pi * 36.0
    assert over.message.endswith("are engraved twice: two engraved shapes lie on each other")
    assert same.message.endswith("are engraved 3 times: the same shape is there 3 times")
    assert (over.element, same.element) == ("star", "third")
    assert over.measured == pytest.approx(area, abs=0.5)
    assert same.measured == pytest.approx(area, abs=0.5)
    assert [one.message for one in same.related] == [
        "the same shape below it", "another of the same shape",
    ]  # fmt: skip


def test_the_same_shape_twice_is_no_trap(findings_of):
    (finding,) = findings_of(rule, drawn(bar("hair", 5, 5, 0.3, 40) * 2), JOB.format(""))
    assert finding.message == "12.00 mm² are engraved twice: the same shape is there twice"
