"""unsupported-part: what carries a part, from the drawing to the finding."""

import pytest
import stacks
from stacks import ALL, BASE, FILM, PLATE, RING, drawing, rect

from scantling.judge import Level
from scantling_rules.assembly import unsupported_part as rule


def job(stack: str = ALL, options: str = "") -> str:
    return stacks.job(rule.id, options, stack)


@pytest.mark.parametrize(
    ("overhang", "level"),
    [(9.0, None), (9.1, Level.WARNING), (29.9, Level.WARNING), (30.1, Level.ERROR)],
)
def test_a_bar_over_the_edge(findings_of, overhang: float, level: Level | None):
    # three times its thickness of 3 mm are allowed, and half its length of 60 mm
    svg = drawing(PLATE, rect(40 + overhang, 40, 60, 10))
    found = findings_of(rule, svg, job())
    assert [finding.level for finding in found] == ([level] if level else [])


def test_what_it_says_of_an_overhang(findings_of):
    (finding,) = findings_of(rule, drawing(PLATE, rect(55, 40, 60, 10)), job())
    assert finding.message == (
        "part overhangs base by 15.00 mm, 9.00 mm are usual; 75 % of its area is carried"
    )
    assert finding.at == pytest.approx((115, 40)) or finding.at == pytest.approx((115, 50))
    assert (finding.measured, finding.required) == pytest.approx((15.0, 9.0))
    assert (finding.stock, finding.part, finding.element) == ("top", "bar", "bar")
    assert finding.place.line == 3
    (below,) = finding.related
    assert below.place.line == 2
    assert below.at is not None
    # the mark is the outline of what reaches out
    (mark,) = finding.mark
    assert sorted({round(x, 6) for x, _ in mark}) == [100.0, 115.0]


def test_what_it_says_of_too_little_below(findings_of):
    (finding,) = findings_of(rule, drawing(PLATE, rect(80, 40, 60, 10)), job())
    assert finding.message == (
        "part is carried by base on 33 % of its area, 50 % are needed; it overhangs by 40.00 mm"
    )
    assert finding.measured == pytest.approx(100 / 3)
    assert finding.unit == "%"


def test_film_may_overhang_by_the_least(findings_of):
    svg = drawing(PLATE, rect(81, 40, 20.9, 10, FILM))
    assert findings_of(rule, svg, job()) == ()
    (finding,) = findings_of(rule, drawing(PLATE, rect(81, 40, 21.1, 10, FILM)), job())
    assert "overhangs base by 2.10 mm, 2.00 mm are usual" in finding.message


def test_options(findings_of):
    svg = drawing(PLATE, rect(80, 40, 60, 10))
    loose = "carried = 0.3\noverhang = 14"
    assert findings_of(rule, svg, job(options=loose)) == ()


def test_a_star_through_a_ring_lies_on_the_base(findings_of):
    ring = f'<path fill-rule="evenodd" fill="{RING}" d="M5 5H95V95H5ZM20 20V80H80V20Z"/>'
    inside, across = rect(30, 30, 20, 20, FILM, "in"), rect(70, 30, 20, 20, FILM, "across")
    assert findings_of(rule, drawing(PLATE, ring, inside), job()) == ()
    # laid over the ring's edge it lies on the ring with half of itself
    (finding,) = findings_of(rule, drawing(PLATE, ring, inside, across), job())
    assert finding.part == "across"
    assert "overhangs ring by 10.00 mm" in finding.message


def test_nothing_below(findings_of):
    svg = drawing(PLATE, rect(10, 10, 20, 20), rect(120, 10, 25, 20, name="lost"))
    (finding,) = findings_of(rule, svg, job())
    assert finding.message == "part has no layer of the stack below it"
    assert finding.level is Level.ERROR
    assert finding.part == "lost"


def test_a_whole_layer_beside_the_others_is_one_finding(findings_of):
    beside = [rect(120, 30 * k, 20, 20, name=f"part-{k}") for k in range(5)]
    (finding,) = findings_of(rule, drawing(PLATE, *beside), job())
    assert finding.message == "none of the 5 parts of top has any layer of the stack below it"
    assert len(finding.related) == 4


def test_a_copy_beside_the_stack_is_a_spare(findings_of):
    """Turned and off the base; another outline, or one over a gap of the base, is lost instead."""
    placed = rect(10, 10, 20, 12)
    spares = [rect(130, 10, 20, 12, name="spare"), rect(130, 40, 12, 20, name="another")]
    (finding,) = findings_of(rule, drawing(PLATE, placed, *spares), job())
    assert finding.level is Level.NOTE
    assert finding.message == (
        "2 parts lie beside the stack, of the same outline as others of top: taken for spare"
    )
    (finding,) = findings_of(rule, drawing(PLATE, placed, rect(130, 10, 20, 13)), job())
    assert finding.level is Level.ERROR
    corner = f'<path fill="{BASE}" d="M0 0H100V40H40V100H0Z"/>'
    (finding,) = findings_of(rule, drawing(corner, placed, rect(60, 60, 20, 12)), job())
    assert finding.level is Level.ERROR


def test_an_inlay_needs_nothing_below(findings_of):
    plate = f'<path fill-rule="evenodd" fill="{BASE}" d="M0 0H100V100H0ZM20 20V60H60V20Z"/>'
    assert findings_of(rule, drawing(plate, rect(20, 20, 40, 40)), job()) == ()
    (finding,) = findings_of(rule, drawing(plate, rect(25, 25, 30, 30)), job())
    assert finding.message == "part has no layer of the stack below it"


@pytest.mark.parametrize("stack", ["", '"top"', '"base"', '"base", "film"'])
def test_only_sheets_of_the_stack(findings_of, stack: str):
    assert findings_of(rule, drawing(PLATE, rect(150, 40, 30, 10)), job(stack)) == ()


def test_the_order_is_that_of_the_stack(findings_of):
    svg = drawing(rect(60, 40, 80, 10), PLATE)
    (finding,) = findings_of(rule, svg, job('"top", "base"'))
    assert finding.part == "plate"


def test_without_a_job_sheet_nothing_is_stacked(findings_of):
    assert findings_of(rule, drawing(PLATE, rect(150, 40, 30, 10)), "") == ()
