"""Sheets measured together against the same sheets measured one by one."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from making import steady

from scantling.linter import Linter
from scantling.measure import together
from scantling.measure.facts import SHEET_FACTS, facts_of
from scantling.measure.model import Narrow
from scantling.plan.model import Sheet
from scantling.read import Source, read_drawing
from scantling.wanted import Wanted

PAGE = '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="90mm" viewBox="0 0 90 90">'
FAULTY = {
    "a hole off centre, a small one, a slot and a thin tip": (
        '<path d="M5 5H40V40H5ZM7 20A8 8 0 1 0 23 20A8 8 0 1 0 7 20'
        'M30 32L31 33.1L32 31.3ZM10 30V37H11V30ZM60 10L61 60L62 10Z"/>'
    ),
    "crossing and doubled": '<path d="M10 10H50V50H10Z"/><path d="M30 30H70V70H30Z"/>'
    '<path d="M10 10H50V50H10Z"/>',
    "open, stray and crowded": '<path d="M3 3H30V30" fill="none" stroke="currentColor"/>'
    '<path d="M80 80h0.1z"/><path d="M40 40'
    + "".join(f"l{0.04 * math.cos(k / 9):.4f} {0.04 * math.sin(k / 9):.4f}" for k in range(60))
    + '"/>',
    "a limb, an eight and an inner cut too late": '<path d="M5 60H30V62H9V80H5Z"/>'
    '<path d="M40 60L60 75V60L40 75Z"/><path d="M65 5H85V25H65Z"/>'
    '<path d="M40 5H60.05L60 4.95V25H40Z"/>'
    '<circle cx="75.25" cy="15" r="3" fill="none" stroke="currentColor"/>',
}
MARKED = {
    "engraved on each other, one of them thin": (
        '<g fill="#333"><path d="M5 5H30V30H5Z"/><path d="M20 20H60V40H20Z"/>'
        '<path d="M70 5h0.3v20h-0.3Z"/></g><path fill="#111" d="M2 2H88V88H2Z"/>'
    ),
    "scored along a cut, and thinly": (
        '<g fill="none" stroke="#222" stroke-width="0.1">'
        '<path d="M2 20V60"/><path d="M10 10H30V5"/></g>'
        '<path fill="#111" d="M2 2H88V88H2Z"/>'
    ),
}
SHOP = """
[[stock]]
name = "one"
material = "plywood"
thickness = "3 mm"
process = "laser"

[[stock]]
name = "two"
material = "plywood"
thickness = "3 mm"
process = "laser"
"""
USES = {"#111": "cut", "#222": "score", "#333": "engrave"}
COLOURS = ("#123456", "#a04020", "#20a040", "#4020a0")


def sheets(*groups: str) -> tuple[Sheet, ...]:
    """A sheet for each group, in millimetres."""
    body = "".join(
        f'<g fill="{colour}" color="{colour}">{group}</g>'
        for colour, group in zip(COLOURS, groups, strict=False)
    )
    linter = Linter(Wanted(stock="acrylic-3"))
    drawing = read_drawing(Source.from_text(f"{PAGE}{body}</svg>", "drawing.svg"))
    return linter.planned(drawing, "drawing.svg", linter.setting_of(None).job, "acrylic-3").sheets


def marked() -> tuple[Sheet, ...]:
    """The sheets of two stocks: what is drawn on the second is that of the first, moved and the
    other way round, so that it is numbered otherwise."""
    job, body = SHOP, ""
    for number, stock in enumerate(("one", "two"), 4):
        for colour, use in USES.items():
            own = colour.replace("#", f"#{number}")[:4]
            job += f'[[assign]]\ncolour = "{own}"\nstock = "{stock}"\noperation = "{use}"\n'
        drawn = "".join(list(MARKED.values())[:: 1 if stock == "one" else -1])
        for colour in USES:
            drawn = drawn.replace(colour, colour.replace("#", f"#{number}")[:4])
        body += f'<g transform="translate({number - 4} 3)">{drawn}</g>'
    linter = Linter(Wanted())
    drawing = read_drawing(Source.from_text(f"{PAGE}{body}</svg>", "drawing.svg"))
    setting = linter.setting_of("jobsheet.toml", job.encode())
    return linter.planned(drawing, "drawing.svg", setting.job, None).sheets


def same(one: Any, other: Any, where: str) -> None:
    """Fail where two facts differ by more than rounding."""
    assert type(one) is type(other), where
    if is_dataclass(one):
        for field in fields(one):
            same(getattr(one, field.name), getattr(other, field.name), f"{where}.{field.name}")
    elif isinstance(one, tuple | list):
        assert len(one) == len(other), where
        for k, (a, b) in enumerate(zip(one, other, strict=True)):
            same(a, b, f"{where}[{k}]")
    elif isinstance(one, dict):
        assert list(one) == list(other), where
        same(tuple(one.values()), tuple(other.values()), where)
    elif isinstance(one, np.ndarray):
        assert one.shape == other.shape, where
        if one.dtype == object:
            same(tuple(one), tuple(other), where)
            return
        assert np.allclose(one, other, rtol=0.0, atol=1e-9), where
    elif isinstance(one, shapely.Geometry):
        assert one.equals_exact(other, 1e-9), where
    elif isinstance(one, float):
        assert one == pytest.approx(other, abs=1e-9), where
    else:
        assert one == other, where


@pytest.mark.parametrize("name", sorted(set(together.SHARED) - {"engraving", "scored_cuts"}))
def test_every_shared_fact_is_what_it_is_alone(name: str) -> None:
    drawn = sheets(*FAULTY.values())
    assert len(drawn) == len(FAULTY)
    jointly = together.facts_of_all(drawn)
    found = 0
    for sheet, facts in zip(drawn, jointly, strict=True):
        alone = facts_of(sheet)[name]
        if name == "arrangement":  # it knows of all sheets together whether any was noded
            assert facts[name].noded
            alone = replace(alone, noded=True)
        same(alone, facts[name], f"{sheet.label} {name}")
        found += name in ("arrangement", "crowding", "outlines") or len(alone) > 0
    assert found or name in ("thin_strokes", "touches")


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("engraving", lambda fact: len(fact.face) == 4),
        ("doubled", lambda fact: fact[0].area == pytest.approx(100.0)),
        ("thin_strokes", lambda fact: {one.operation for one in fact} == {"score", "engrave"}),
        ("scored_cuts", lambda fact: [one.length for one in fact] == pytest.approx([40.0])),
    ],
)
def test_what_is_engraved_and_scored_is_what_it_is_alone(
    name: str, found: Callable[[Any], bool]
) -> None:
    drawn = marked()
    jointly = together.facts_of_all(drawn)
    assert len(drawn) == 2
    for sheet, facts in zip(drawn, jointly, strict=True):
        assert facts.elsewhere
        assert found(facts[name]), facts[name]
        same(facts_of(sheet)[name], facts[name], f"{sheet.label} {name}")


def test_every_thing_that_is_moved_is_found_by_one_of_the_drawings() -> None:
    kinds = {
        type(thing)
        for sheet in sheets(*FAULTY.values(), FAULTY["crossing and doubled"])
        for name, how in together.SHARED.items()
        if how is not together._narrows
        and name not in ("arrangement", "crowding", "outlines", "engraving")
        for thing in facts_of(sheet)[name]
    }
    missing = {kind.__name__ for kind in set(together.MOVED) - kinds}
    assert missing <= {"ThinStroke", "Touch"}


def test_facts_that_are_not_shared_are_measured_from_those_that_are() -> None:
    drawn = sheets(*FAULTY.values())
    for sheet, facts in zip(drawn, together.facts_of_all(drawn), strict=True):
        alone = facts_of(sheet)
        same(alone["least_webs"], facts["least_webs"], "least_webs")
        same(alone["entangled"], facts["entangled"], "entangled")
        same(alone["spacing"].parts, facts["spacing"].parts, "spacing")
        assert set(SHEET_FACTS) >= set(together.SHARED)


def test_a_sheet_of_another_reach_or_too_many_points_is_measured_by_itself() -> None:
    one, *others = sheets(*FAULTY.values())
    assert all(facts.elsewhere for facts in together.facts_of_all([one, *others]))
    alone, *joint = together.facts_of_all([replace(one, reach=2.0 * one.reach), *others])
    assert not alone.elsewhere
    assert all(facts.elsewhere for facts in joint)


at = st.floats(8.0, 82.0)
size = st.floats(0.3, 12.0)
disc = st.builds("<circle cx='{:.3f}' cy='{:.3f}' r='{:.3f}'/>".format, at, at, size)
BAR = (
    "<rect x='{:.3f}' y='{:.3f}' width='{:.3f}' height='{:.3f}' transform='rotate({:.2f} 45 45)'/>"
)
bar = st.builds(BAR.format, at, at, size, size, st.floats(1.0, 89.0))
line = st.builds(
    "<path d='M{:.3f} {:.3f}L{:.3f} {:.3f}' fill='none' stroke='currentColor'/>".format,
    at, at, at, at,
)  # fmt: skip
group = st.lists(st.one_of(disc, bar, line), min_size=1, max_size=5).map("".join)


@given(st.lists(group, min_size=2, max_size=4))
@steady
def test_random_sheets_have_the_same_pieces_and_least_webs(groups: list[str]) -> None:
    drawn = sheets(*groups)
    for sheet, facts in zip(drawn, together.facts_of_all(drawn), strict=True):
        alone = facts_of(sheet)
        for one, other in zip(alone["pieces"], facts["pieces"], strict=True):
            assert (one.number, one.kept, one.name) == (other.number, other.kept, other.name)
            assert one.sides == pytest.approx(other.sides, abs=1e-5)
            assert one.area == pytest.approx(other.area, abs=1e-5)
        # what is one place and what two may hang on the last digit, where all is symmetrical
        assert least(alone["webs"]) == pytest.approx(least(facts["webs"]), abs=1e-5)
        for name in ("holes", "crossings", "open_ends", "overlaps"):
            assert len(alone[name]) == len(facts[name]), f"{sheet.label} {name}"


def least(webs: tuple[Narrow, ...]) -> dict[int, float]:
    """The narrowest web of each piece."""
    return {web.piece: web.width for web in reversed(webs)}


@pytest.mark.parametrize(
    "faces",
    [
        '<path d="M28.77734375 15.36328125L22.10546875 55.4453125L5 36.90625Z"/>'
        '<path d="M24.953125 38.5390625L54.03125 39.06640625L25.90625 32.7421875Z"/>',
        '<path d="M21.06640625 15.5078125L26.609375 51.765625L5 30.71484375Z"/>'
        '<path d="M25.9609375 47.3828125L54.4140625 32.46875L21.9921875 21.4609375Z"/>',
    ],
)
def test_no_piece_is_lost_where_a_double_ends_at_a_short_fraction(faces: str):
    """Ends at odd multiples of 1/128 mm, right between two places of a grid of a millionth: laid
    out anew, the last digit of such an end differs, and its line must not come apart there."""
    laid = sheets('<circle cx="45" cy="45" r="3"/>', faces)
    alone = facts_of(laid[1])["pieces"]
    assert len(alone) == 2
    assert len(together.facts_of_all(laid)[1]["pieces"]) == 2
