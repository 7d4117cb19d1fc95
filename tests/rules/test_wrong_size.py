"""wrong-size: each length is named after the side that it is asked for."""

import pytest

from scantling.judge import page
from scantling_rules.drawing import wrong_size

PLATE = page('<rect x="5" y="5" width="30" height="20"/>')


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (
            'width = "60 mm"',
            ["the drawing is 30.00 mm wide, the job wants 60.00 mm: judged at 2 times its size"],
        ),
        (
            'height = "60 mm"',
            ["the drawing is 20.00 mm high, the job wants 60.00 mm: judged at 3 times its size"],
        ),
        (
            'width = "60 mm"\nheight = "60 mm"',
            [
                "the job wants 60.00 mm in height, but in the drawing's proportions it comes out "
                "60.00 x 40.00 mm",
                "the drawing is 30.00 mm wide, the job wants 60.00 mm: judged at 2 times its size",
            ],
        ),
        (
            'width = "60 mm"\nheight = "10 mm"',
            [
                "the job wants 60.00 mm in width, but in the drawing's proportions it comes out "
                "15.00 x 10.00 mm",
                "the drawing is 20.00 mm high, the job wants 10.00 mm: judged at 0.5 times its "
                "size",
            ],
        ),
        ('width = "30 mm"\nheight = "20 mm"', []),
    ],
)
def test_what_is_said_of_which_side(asked: str, said: list[str], findings_of):
    found = findings_of(wrong_size, PLATE, f'[[design]]\nfiles = "*.svg"\n{asked}\n')
    assert sorted(finding.message for finding in found) == sorted(said)
