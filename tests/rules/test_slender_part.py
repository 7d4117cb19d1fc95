"""Limbs against their length. Allowed lengths are worked out by hand from w²/L: 10 times the
square of the finished width by the minimum of 1.5 mm, in 3 mm acrylic with a kerf of 0.2 mm."""

import pytest

from scantling.judge import page
from scantling_rules.features import slender_part as rule

JOB = '[[stock]]\nname = "sheet"\nmaterial = "cast acrylic"\nthickness = "3 mm"\n'


def reaching(length: float, width: float) -> str:
    """A body of 12 by 30 mm with a limb: `length` from its end to the body."""
    low, high = 20 - width / 2, 20 + width / 2
    end = 14 + length
    return page(f'<path d="M2 5H14V{low}H{end}V{high}H14V35H2Z"/>', 120)


@pytest.mark.parametrize(
    ("width", "allowed"),
    [
        (1.8, 10 * 1.6**2 / 1.5),
        (2.6, 10 * 2.4**2 / 1.5),  # wider than webs are looked for
        (3.2, 10 * 3.0**2 / 1.5),
        (4.0, 10 * 3.8**2 / 1.5),
    ],
)
def test_a_limb_of_any_width_is_told_from_its_allowed_length_on(findings_of, width, allowed):
    # its lever runs from the middle of its end to where it is lost in the body
    assert findings_of(rule, reaching(allowed - 1.5 * width, width), JOB) == ()
    (found,) = findings_of(rule, reaching(allowed + 1.0, width), JOB)
    assert found.required == pytest.approx(allowed, rel=0.02)
    assert found.measured == pytest.approx(allowed + 1.0, abs=width)
