"""small-part: areas are finished ones, and a design enlarged as it says just passes."""

import math

import pytest

from scantling.judge import assigned, page, stocked
from scantling_rules.parts import drop_out, small_part

JOB = stocked(
    "ply",
    "plywood",
    'kerf = "{kerf} mm"',
    'bed-opening = "1 mm"',
    'minimum = {{ part = "1 mm", part-area = {least} }}',
) + assigned("#000", "ply")
DROPS = stocked("ply", "plywood", 'bed-opening = "8 mm"') + assigned("#000", "ply")


def square(side: float) -> str:
    return page(f'<rect x="2" y="2" width="{side}" height="{side}"/>', 60)


@pytest.mark.parametrize("kerf", [0.0, 0.2, 1.0])
def test_the_area_is_what_the_kerf_leaves(findings_of, kerf: float):
    """Closed form: a square of side a keeps (a - kerf) squared."""
    left = (8.0 - kerf) ** 2
    assert not findings_of(small_part, square(8), JOB.format(kerf=kerf, least=left - 0.01))
    (found,) = findings_of(small_part, square(8), JOB.format(kerf=kerf, least=left + 0.01))
    assert found.measured == pytest.approx(left)
    assert f"{left:.1f} mm²" in found.message


@pytest.mark.parametrize("kerf", [0.0, 0.2, 1.0])
def test_enlarged_as_needed_it_just_passes(findings_of, kerf: float):
    least = 100.0
    job = JOB.format(kerf=kerf, least=least)
    (found,) = findings_of(small_part, square(8), job)
    assert found.measured == pytest.approx((8.0 - kerf) ** 2)
    exact = (math.sqrt(least) + kerf) / 8.0  # times the size, its finished side is 10 mm
    times = found.smallest_safe_width / 8.0
    assert times == pytest.approx(exact, rel=1e-4)
    assert not findings_of(small_part, square(8 * times * 1.0001), job)
    assert findings_of(small_part, square(8 * times * 0.999), job)


def test_several_drop_outs_are_many(findings_of):
    outer, hole = "M2 2H58V58H2Z", "M{0} 6v{1}h{1}v-{1}Z"

    def message(*holes: tuple[float, float]) -> str:
        path = outer + "".join(hole.format(*one) for one in holes)
        body = f'<path fill-rule="evenodd" d="{path}"/>'
        (found,) = findings_of(drop_out, page(body, 60), DROPS)
        return found.message.removesuffix(
            " on a bed with openings of 8.00 mm: 24.00 mm across would lie flat"
        )

    assert message((6, 4)) == "drop-out 3.80 x 3.80 mm falls through"
    assert message((6, 4), (20, 5)) == "2 drop-outs, the largest 4.80 x 4.80 mm, fall through"
    assert message((6, 10)) == "drop-out 9.80 x 9.80 mm can tip up"


@pytest.mark.parametrize("turn", [0, 7, 56, 70, 91, 147])
def test_the_largest_drop_out_is_that_of_the_largest_rectangle(findings_of, turn: int):
    """Of equal longer sides one is always longer by a last digit, and another where it turns."""
    holes = "M10 10H20V15H10Z M25 10H35V20H25Z M10 25H20V30H10Z"
    body = f'<path fill-rule="evenodd" transform="rotate({turn} 20 20)" d="M0 0H40V40H0Z{holes}"/>'
    (found,) = findings_of(drop_out, page(body, 60), DROPS)
    assert found.message.startswith("3 drop-outs, the largest 9.80 x 9.80 mm, can tip up")
