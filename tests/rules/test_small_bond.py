"""small-bond: contact just inside and just outside the limits."""

import pytest
import stacks
from stacks import FILM, PLATE, TOP, drawing, rect

from scantling.judge import Level
from scantling_rules.assembly import small_bond as rule


def job(options: str = "") -> str:
    return stacks.job(rule.id, options)


@pytest.mark.parametrize(
    ("width", "height", "level"),
    [
        (10.1, 10.0, None),  # 101 mm²
        (9.9, 10.0, Level.NOTE),
        (40.0, 4.1, None),
        (40.0, 3.9, Level.NOTE),
        (40.0, 1.1, Level.NOTE),
        (40.0, 0.9, Level.WARNING),
        (7.0, 1.5, Level.NOTE),  # 10.5 mm²
        (7.0, 1.3, Level.WARNING),
    ],
)
def test_limits(findings_of, width: float, height: float, level: Level | None):
    found = findings_of(rule, drawing(PLATE, rect(20, 20, width, height)), job())
    assert [finding.level for finding in found] == ([level] if level else [])


def test_contact_counts_not_the_part(findings_of):
    (finding,) = findings_of(rule, drawing(PLATE, rect(92, 20, 30, 10)), job())
    assert finding.message == (
        "contact with base is 80.0 mm², use liquid adhesive: sheet adhesive needs 100 mm²"
    )
    assert (finding.measured, finding.required) == pytest.approx((80.0, 100.0))
    assert (finding.unit, finding.stock, finding.part) == ("mm2", "top", "bar")
    assert [related.place.line for related in finding.related] == [2]


def test_a_part_holds_by_its_widest_place(findings_of):
    tail = f'<path fill="{TOP}" d="M20 20H32V29.5H70V30.5H32V32H20Z"/>'
    assert findings_of(rule, drawing(PLATE, tail), job()) == ()
    strip = f'<path fill="{TOP}" d="M20 20H70V22.5H22.5V70H20Z"/>'
    (finding,) = findings_of(rule, drawing(PLATE, strip), job())
    # where two arms of width w meet, a disc touches both outer sides and goes through the inner
    # corner: √2 (w - r) = r
    assert finding.measured == pytest.approx(2.5 * 2 * (2 - 2**0.5), abs=0.02)


def test_liquid_adhesive_alone(findings_of):
    liquid = 'adhesive = "liquid"'
    assert findings_of(rule, drawing(PLATE, rect(20, 20, 8, 3)), job(liquid)) == ()
    (finding,) = findings_of(rule, drawing(PLATE, rect(98, 20, 30, 4)), job(liquid))
    assert finding.message == (
        "contact with base is 8.0 mm², too little even for liquid adhesive, which needs 10 mm²"
    )


def test_film_brings_its_own(findings_of):
    svg = drawing(PLATE, rect(20, 20, 8, 3, FILM))
    assert findings_of(rule, svg, job()) == ()
    assert len(findings_of(rule, svg, job("self-adhesive = []"))) == 1


def test_of_a_part_too_small_small_part_speaks(findings_of):
    assert findings_of(rule, drawing(PLATE, rect(20, 20, 5, 5)), job()) == ()


def test_nothing_below_is_no_bond(findings_of):
    assert findings_of(rule, drawing(PLATE, rect(120, 20, 8, 8)), job()) == ()
