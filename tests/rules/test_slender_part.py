"""Limbs against their length. Allowed lengths are worked out by hand from w²/L: 10 times the
square of the finished width by the minimum of 1.5 mm, in 3 mm acrylic with a kerf of 0.2 mm."""

import numpy as np
import pytest

from scantling.judge import page
from scantling.measure.model import Limb, Spot
from scantling.plan.model import Minimums, Stock
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


class Crossed:
    """Causes of a sheet on which an outline is crossed at x = 0."""

    def of_end(self, spot: Spot) -> str:
        return "crossing-cuts" if spot.at[0] == 0.0 else ""


@pytest.mark.parametrize("turned", [False, True])
def test_of_a_bar_with_two_free_ends_the_one_without_another_cause_is_told(turned):
    ends = (0.0, 10.0), (60.0, 10.0)
    there, back = (
        Limb(Spot(one, 0, 0), 60.0, 2.0, 1, np.array((one, other)), taper=False)
        for one, other in (ends, ends[::-1])
    )
    minimum = Minimums(web=1.5, gap=0.5, hole=0.5, stroke=0.2, part=6.0)
    stock = Stock("sheet", "acrylic", 3.0, "laser", 0.2, minimum, brittle=True)
    limbs = (back, there) if turned else (there, back)
    options = {name: form["default"] for name, form in rule.parameters.items()}
    (found,) = rule.check(limbs, {}, stock, minimum, options, Crossed())
    assert found.on == back.spot
    assert found.told_by == ""
