"""Parts on parts: contact, overhang and height in closed form."""

from __future__ import annotations

import math
from typing import Any

import pytest
import shapely
from figures import box, disc, turned
from hypothesis import example, given, settings
from hypothesis import strategies as st
from layering import Layer, design, layer

from scantling.measure.assembly.stack import EDGE, Rest, stacked

PLATE = box(0, 0, 100, 100)


def rests(*layers: Layer) -> tuple[Rest, ...]:
    """How the parts above the lowest of these layers lie, layer by layer."""
    return stacked(layers, design(*(sheet.assigned for sheet, _ in layers))).rests


def below(*layers: Layer) -> list[list[str]]:
    """The names of the sheets that each upper part lies on."""
    found = stacked(layers, design(*(sheet.assigned for sheet, _ in layers)))
    return [[found.bodies[k].sheet.label for k in rest.on] for rest in found.rests]


def test_half_of_a_bar_beyond_the_edge():
    (rest,) = rests(layer("base", PLATE), layer("top", box(70, 40, 130, 50)))
    assert rest.share == pytest.approx(0.5)
    assert rest.carried == pytest.approx(0.5)
    assert rest.overhang == pytest.approx(30.0)
    assert rest.furthest[0] == pytest.approx(130.0)
    assert rest.edge[0] == pytest.approx(100.0)
    assert rest.contact.area == pytest.approx(300.0)
    assert rest.widest == pytest.approx(10.0, abs=0.01)
    assert rest.overhanging.area == pytest.approx(300.0)
    assert rest.height == 3.0


def test_kerf_takes_from_both_parts():
    """Both edges draw back by half a kerf: the overhang stays, the contact is a kerf shorter."""
    (rest,) = rests(layer("base", PLATE, kerf=0.4), layer("top", box(70, 40, 130, 50), kerf=0.4))
    assert rest.overhang == pytest.approx(30.0)
    assert rest.contact.area == pytest.approx((30 - 0.4) * (10 - 0.4))
    assert rest.share == pytest.approx((30 - 0.4) / (60 - 0.4))


def test_a_disc_over_an_edge():
    # the chord at 4 mm from the middle of a disc of radius 10: the larger side carries
    (rest,) = rests(layer("base", PLATE), layer("top", disc(96, 50, 10)))
    cap = 100 * math.acos(0.4) - 4 * math.sqrt(100 - 16)
    assert rest.carried == pytest.approx(1 - cap / (100 * math.pi), abs=1e-3)
    assert rest.overhang == pytest.approx(6.0, abs=0.01)


def test_a_lid_on_a_rim_is_carried():
    rim = disc(0, 0, 30).difference(disc(0, 0, 24))
    (rest,) = rests(layer("base", rim), layer("top", disc(0, 0, 26)))
    assert rest.share == pytest.approx(1 - (24 / 26) ** 2, abs=1e-3)
    assert rest.carried == pytest.approx(1.0)
    assert rest.overhang == pytest.approx(0.0, abs=1e-6)
    assert rest.widest == pytest.approx(2.0, abs=0.02)


def test_a_bar_on_two_posts_overhangs_at_its_ends_alone():
    posts = box(20, 0, 30, 10), box(70, 0, 80, 10)
    (rest,) = rests(layer("base", *posts), layer("top", box(5, 0, 90, 10)))
    assert len(rest.on) == 2
    assert rest.share == pytest.approx(20 / 85)
    assert rest.carried == pytest.approx(60 / 85)
    assert rest.overhang == pytest.approx(15.0)
    assert rest.furthest[0] == pytest.approx(5.0)


def test_a_part_in_an_opening_lies_on_the_layer_beneath():
    ring = box(20, 20, 80, 80).difference(box(40, 40, 60, 60))
    layers = (
        layer("base", PLATE, thickness=3.0),
        layer("ring", ring, thickness=2.0),
        layer("top", box(22, 22, 38, 30), box(45, 45, 55, 55)),
    )
    assert below(*layers) == [["base"], ["ring"], ["base"]]
    on_base, on_ring, in_opening = rests(*layers)
    assert [on_base.height, on_ring.height, in_opening.height] == [3.0, 5.0, 3.0]
    assert on_ring.overhang == in_opening.overhang == 0.0
    assert in_opening.share == pytest.approx(1.0)


def test_a_part_half_over_an_opening_lies_on_the_ring_alone():
    ring = PLATE.difference(box(40, 0.5, 60, 99.5))
    layers = (layer("base", PLATE), layer("ring", ring), layer("top", box(35, 40, 55, 50)))
    assert below(*layers)[1] == ["ring"]
    assert rests(*layers)[1].overhang == pytest.approx(15.0)


def test_the_highest_thing_below_carries():
    """A plate laid over a pebble rocks on it, however much else is below."""
    pebble = disc(50, 50, 3)
    layers = (layer("base", PLATE), layer("pebble", pebble), layer("top", box(10, 10, 90, 90)))
    assert below(*layers) == [["base"], ["pebble"]]
    rest = rests(*layers)[1]
    assert rest.carried == pytest.approx(pebble.area / 6400)
    # from the disc's edge to a corner of the plate
    assert rest.overhang == pytest.approx(40 * math.sqrt(2) - 3, abs=0.01)


def test_things_of_one_height_carry_together():
    """A layer that lies lower than another in the order may reach as high."""
    layers = (
        layer("base", PLATE),
        layer("left", box(0, 0, 20, 100), thickness=2.0),
        layer("right", box(80, 0, 100, 100), thickness=2.0),
        layer("top", box(10, 40, 90, 60)),
    )
    assert below(*layers)[2] == ["left", "right"]
    assert rests(*layers)[2].overhang == 0.0


def test_film_below_does_not_lift_a_part_off_what_is_beside_the_film():
    layers = (
        layer("base", PLATE),
        layer("film", box(0, 0, 50, 100), thickness=0.1),
        layer("top", box(40, 40, 60, 60)),
    )
    assert below(*layers)[1] == ["base", "film"]
    rest = rests(*layers)[1]
    assert rest.share == pytest.approx(1.0)
    assert rest.height == pytest.approx(3.1)


def test_nothing_below():
    base = PLATE.difference(box(30, 30, 70, 70))
    outside, inside = rests(
        layer("base", base), layer("top", box(120, 0, 130, 10), box(40, 40, 60, 60))
    )
    for rest in (outside, inside):
        assert rest.on == ()
        assert not rest.held
        assert rest.share == rest.carried == rest.overhang == rest.widest == 0.0
        assert rest.height == 0.0


def test_an_inlay_is_held():
    opening = box(30, 30, 70, 70)
    base = layer("base", PLATE.difference(opening), kerf=0.2)
    (whole,) = rests(base, layer("top", opening, kerf=0.2))
    assert whole.on == ()
    assert whole.held
    # two halves that share the opening hold each other
    halves = box(30, 30, 50, 70), box(50.3, 30, 70, 70)
    assert [rest.held for rest in rests(base, layer("top", *halves))] == [True, True]
    (small,) = rests(base, layer("top", box(32, 32, 68, 68), kerf=0.2))
    assert not small.held


@pytest.mark.parametrize("degrees", [0, 90, 180, 270])
@pytest.mark.parametrize(("high", "held"), [(8, True), (12, False)])
def test_a_part_is_held_by_three_quarters_of_its_outline(high: float, held: bool, degrees: float):
    """Between two bars along its sides of 30 mm, and where a corner is within half a millimetre of
    them: 62 of 76 mm are held, or 62 of 84."""
    bars = box(-15, high / 2 + 0.1, 15, 20), box(-15, -20, 15, -high / 2 - 0.1)
    sheets = [layer("base", *(turned(bar, degrees) for bar in bars))]
    sheets.append(layer("top", turned(box(-15, -high / 2, 15, high / 2), degrees)))
    (rest,) = rests(*sheets)
    assert (rest.on, rest.held) == ((), held)


def test_one_layer_is_no_stack():
    found = stacked((layer("base", PLATE),), design("base", "top"))
    assert (found.bodies, found.rests) == ((), ())


def test_an_inlay_on_a_backing_lies_on_it():
    opening = box(30, 30, 70, 70)
    layers = (
        layer("back", PLATE),
        layer("base", PLATE.difference(opening)),
        layer("top", opening.buffer(0.05, join_style="mitre")),
    )
    assert below(*layers) == [["back"], ["back"]]


@pytest.mark.parametrize(("strip", "lies"), [(EDGE - 0.01, False), (EDGE + 0.01, True)])
def test_a_strip_at_the_edge_is_no_contact(strip: float, lies: bool):
    (rest,) = rests(layer("base", PLATE), layer("top", box(100 - strip, 20, 130, 60)))
    assert bool(rest.on) is lies


def test_a_strip_at_the_edge_does_not_carry():
    """The base has an arm that the part overlaps by less than an edge, far from the contact."""
    base = shapely.union_all([box(0, 0, 20, 40), box(0, 0, 100, 10.1)])
    (rest,) = rests(layer("base", base), layer("top", box(10, 10, 90, 30)))
    assert rest.overhang == pytest.approx(70.0)
    assert rest.contact.area == pytest.approx(200.0)


def test_which_sheets_are_layers():
    base, top = layer("base", PLATE), layer("top", box(40, 40, 50, 50))
    assert stacked((base, top), None).rests == ()
    assert stacked((base, top), design()).bodies == ()
    assert stacked((base, top), design("base")).rests == ()
    # the lowest layer that is there is the bottom
    assert stacked((top,), design("base", "top")).rests == ()
    # the order is that of the stack, not that of the sheets
    (rest,) = stacked((top, base), design("base", "middle", "top")).rests
    assert rest.body.sheet.label == "top"
    assert rest.share == 1.0
    (rest,) = stacked((base, top), design("top", "base")).rests
    assert rest.body.sheet.label == "base"


def test_a_layer_that_the_kerf_eats_is_none():
    assert rests(layer("base", PLATE), layer("top", box(10, 10, 60, 10.3), kerf=0.4)) == ()


def test_widest_place_of_a_contact():
    key = shapely.union_all([disc(50, 50, 6), box(50, 49, 80, 51)])
    (rest,) = rests(layer("base", PLATE), layer("top", key))
    assert rest.widest == pytest.approx(12.0, abs=0.03)


Rect = tuple[float, float, float, float]


def rect(width: st.SearchStrategy[float], place: st.SearchStrategy[float]) -> Any:
    return st.tuples(place, place, width, width).map(
        lambda r: (r[0], r[1], r[0] + r[2], r[1] + r[3])
    )


@given(
    low=rect(st.floats(5, 60), st.floats(-20, 20)),
    high=rect(st.floats(5, 60), st.floats(-30, 30)),
    angle=st.floats(0, 360),
    far=st.sampled_from([0.0, 1e3, 1e5]),
)
@example((0.0, 4.8125, 21.0, 9.8125), (0.0, 0.0, 21.0, 9.0), 66.0481645831006, 0.0)
@example((-12.65625, 4.78125, 4.34375, 9.78125), (0, 4.765625, 19, 9.765625), 66.0481645831006, 0.0)
@settings(max_examples=60, deadline=None)
def test_rectangles(low: Rect, high: Rect, angle: float, far: float):
    """What a rectangle shares with another is one too, and the furthest corner is off by the
    larger excess in each direction."""
    x0, y0, x1, y1 = (
        max(low[0], high[0]), max(low[1], high[1]), min(low[2], high[2]), min(low[3], high[3]),
    )  # fmt: skip
    base, top = (layer(n, turned(box(*r), angle, far, -far)) for n, r in (("b", low), ("t", high)))
    (rest,) = rests(base, top)
    strip = min(x1 - x0, y1 - y0)
    if strip < EDGE - 1e-6:
        assert rest.on == ()
    elif strip > EDGE + 1e-6:
        dx, dy = max(x0 - high[0], high[2] - x1), max(y0 - high[1], high[3] - y1)
        assert rest.overhang == pytest.approx(math.hypot(dx, dy), abs=1e-5)
        area = (x1 - x0) * (y1 - y0)
        assert rest.contact.area == pytest.approx(area, rel=1e-6)
        assert rest.carried == pytest.approx(area / box(*high).area, rel=1e-6)
        assert rest.widest == pytest.approx(strip, abs=0.01)
