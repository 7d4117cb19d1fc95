"""close-parts: parts just nearer and just further than the spacing."""

import pytest

from scantling.judge import Level, assigned, page, stocked
from scantling_rules.parts import close_parts as rule

JOB = (
    stocked("ply", "plywood", 'kerf = "0.2 mm"')
    + assigned("#000", "ply")
    + """
[rules.close-parts]
{}
"""
)


def tiles(gap: float, number: int = 2) -> str:
    rects = [
        f'<rect id="tile-{k}" x="{5 + k * (20 + gap):g}" y="5" width="20" height="30"/>'
        for k in range(number)
    ]
    return page("\n".join(rects), 300, 40)


@pytest.mark.parametrize(
    ("gap", "raised"),
    [
        (0.82, False),  # 1.02 mm finished
        (0.77, True),
        (0.32, True),  # 0.52 mm finished, the stock allows gaps of 0.50 mm
        (0.27, False),  # narrow-gap speaks
        (0.0, False),  # they share a line
    ],
)
def test_spacing(findings_of, gap: float, raised: bool):
    found = findings_of(rule, tiles(gap), JOB.format(""))
    assert [finding.level for finding in found] == [Level.NOTE] * raised


def test_what_it_says(findings_of):
    (finding,) = findings_of(rule, tiles(0.5), JOB.format(""))
    assert finding.message == "parts 0.70 mm apart finished; 1.00 mm between parts cuts cleanly"
    assert (finding.measured, finding.required) == pytest.approx((0.7, 1.0))
    assert finding.at is not None
    assert finding.at[0] == pytest.approx(25.25)
    assert finding.part == "tile-0"
    assert [related.place.line for related in finding.related] == [3]


def test_a_sheet_full_of_them_is_one_finding(findings_of):
    (finding,) = findings_of(rule, tiles(0.5, number=9), JOB.format(""))
    assert finding.message.startswith("8 pairs of parts are near each other, the nearest 0.70 mm")
    assert len(finding.mark) == 8


def test_a_part_in_an_opening(findings_of):
    frame = "M5 5H35V35H5ZM10 10V30H30V10Z"
    inner = '<rect x="10.5" y="10.5" width="19" height="19"/>'
    svg = page(f'<path fill-rule="evenodd" d="{frame}"/>{inner}')
    assert len(findings_of(rule, svg, JOB.format(""))) == 1


def test_options(findings_of):
    assert findings_of(rule, tiles(0.5), JOB.format('spacing = "0.6 mm"')) == ()
    assert len(findings_of(rule, tiles(2.5), JOB.format("spacing = 3"))) == 1
