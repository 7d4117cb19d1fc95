"""no-real-size: where the size of a page stands, and whether it is one."""

from __future__ import annotations

import pytest

from scantling.judge import Level
from scantling_rules.drawing import no_real_size as rule

JOB = '[[assign]]\ncolour = "#000"\nstock = "card-1.5"\noperation = "cut"\n'
SIZED = JOB + '[[design]]\nfiles = "**"\nwidth = "45 mm"\n'


def drawn(attributes: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 40" {attributes}>'
        '<rect x="5" y="5" width="30" height="30"/></svg>'
    )


@pytest.mark.parametrize(
    ("attributes", "level", "words"),
    [
        ("", Level.WARNING, "judged 7.94 mm wide, taking 96 pixels to the inch"),
        ('style="width:60mm"', Level.NOTE, "the page's size of 60.00 x 60.00 mm stands in a style"),
        ('width="60mm" style="width:9cm"', Level.NOTE, "programs differ in which they take"),
        (
            'width="40" height="40" style="width:60mm"',
            Level.WARNING,
            "to the inch; its style says another, but its width and height come first",
        ),
    ],
)
def test_what_is_said(findings_of, attributes: str, level: Level, words: str):
    (finding,) = findings_of(rule, drawn(attributes), JOB)
    assert finding.level is level
    assert words in finding.message
    assert findings_of(rule, drawn(attributes), SIZED) == ()  # the job says how big it is


@pytest.mark.parametrize(
    "attributes", ['width="60mm"', 'height="6cm" style="height:60mm"', 'width="2in" style="x:1mm"']
)
def test_a_size_in_the_attributes_says_enough(findings_of, attributes: str):
    assert findings_of(rule, drawn(attributes), JOB) == ()
