"""swallowable-part: what is tried is the finished part, in the stock's thickness."""

import pytest

from scantling.judge import assigned, page, stocked
from scantling_rules.assembly import swallowable_part as rule

JOB = (
    stocked("ply", "plywood", 'kerf = "{kerf}"', thickness="{thickness}")
    + assigned("#000", "ply")
    + """
[rules.swallowable-part]
level = "warning"
{options}
"""
)


def job(thickness: str = "3 mm", kerf: str = "0.2 mm", options: str = "") -> str:
    return JOB.format(thickness=thickness, kerf=kerf, options=options)


def rect(width: float, height: float) -> str:
    return page(f'<rect id="tile" x="5" y="5" width="{width}" height="{height}"/>', 100, 100)


def test_is_off_unless_asked_for(findings_of):
    asked = job().replace('level = "warning"', "tolerance = 0.05")
    assert findings_of(rule, rect(10, 10), asked) == ()
    assert len(findings_of(rule, rect(10, 10), job())) == 1


@pytest.mark.parametrize(
    ("width", "height", "how"),
    [
        (20, 20, "fits entirely into the small-parts cylinder, lying flat"),
        (31, 31, "fits entirely into the small-parts cylinder, on edge"),
        (60, 5, "fits entirely into the small-parts cylinder, tilted by 6"),
    ],
)
def test_says_how_it_fits(findings_of, width, height, how):
    (finding,) = findings_of(rule, rect(width, height), job())
    assert how in finding.message
    assert "16 CFR 1501.4" in finding.message
    assert f"part {max(width, height) - 0.2:.2f} x" in finding.message
    assert finding.part == "tile"
    assert finding.at == pytest.approx((5 + width / 2, 5 + height / 2))


def test_kerf_decides(findings_of):
    # a plate of 31.9 is wider than the cylinder's 31.75, but not once 0.3 mm is cut away
    assert findings_of(rule, rect(31.9, 31.9), job(kerf="0 mm")) == ()
    assert len(findings_of(rule, rect(31.9, 31.9), job(kerf="0.4 mm"))) == 1


def test_thickness_decides(findings_of):
    assert len(findings_of(rule, rect(31, 31), job("3 mm"))) == 1
    assert findings_of(rule, rect(31, 31), job("12 mm")) == ()


def test_near_the_limit_it_may_fit(findings_of):
    # 31.7 wide and 3 thick on edge: √(31.7² + 3²) = 31.84 in a circle of 31.75, so no more than
    # 0.05 stands out
    (finding,) = findings_of(rule, rect(31.7, 31.7), job(kerf="0 mm"))
    assert "may fit entirely into the small-parts cylinder" in finding.message
    assert "to within 0.05 mm" in finding.message


def test_another_cylinder(findings_of):
    small = 'diameter = "10 mm"\nleast-depth = "10 mm"\ngreatest-depth = "10 mm"'
    assert findings_of(rule, rect(12, 12), job(options=small)) == ()
    assert len(findings_of(rule, rect(6, 6), job(options=small))) == 1


def test_holes_and_dents_do_not_help(findings_of):
    frame = page('<path fill-rule="evenodd" d="M5 5H25V25H5ZM7 7V23H23V7Z"/>')
    # the frame is kept; the loose square in it is waste
    (finding,) = findings_of(rule, frame, job())
    assert "part 19.80 x 19.80 x 3.00 mm" in finding.message


def test_a_part_that_the_kerf_cuts_in_two(findings_of):
    # two plates of 40 x 30 joined by a bridge 0.1 mm wide, thinner than the kerf: each plate of
    # 30 mm goes in on its own, while 82 x 30 would not
    dumbbell = page("M5 5H45V19.95H47V5H87V35H47V20.05H45V35H5Z".join(('<path d="', '"/>')), 100)
    assert findings_of(rule, dumbbell, job(kerf="0 mm")) == ()
    assert len(findings_of(rule, dumbbell, job(kerf="0.2 mm"))) == 1


def test_a_part_that_the_kerf_eats_is_none(findings_of):
    assert findings_of(rule, rect(20, 0.15), job(kerf="0.2 mm")) == ()
