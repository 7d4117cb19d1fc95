"""What a repair must leave alone: a drawing in which it was changed is refused, and why."""

from __future__ import annotations

from typing import Any

import pytest
from sketching import drawing, page

from scantling.mend.guard import damage
from scantling.mend.repair import Repair

OTHER, MINE = "M5 5H25V25Z", "M40 5H60V25Z M70 5H90V25Z"
"""An element that no repair is about, and one of two contours of which the first is mended."""
BODY = f'<path id="other" d="{OTHER}"/><path id="mine" d="{MINE}" fill="#000"/>'
PAINT, PARTS = "its paint would change", "other parts of it would move"
OTHERS = "other elements would change"


def says(old: str, new: str, width: float = 100, **repair: Any) -> str:
    """What is said of putting one text for another in the body."""
    assert old in BODY
    before = drawing(page(BODY))
    node = before.shapes[1].node
    repairs = [Repair(on=(), message="", edits=(), nodes=(node,), **repair)]
    return damage(before, drawing(page(BODY.replace(old, new), width)), repairs, 1.0)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("", "", ""),
        ("M40 5H60V25Z", "M40 5H61V25Z", ""),
        ("M40 5H60V25Z", "", ""),
        ("H90V25Z", "H90.001V25Z", PARTS),
        ("M70 5H90V25Z", "M70 5H90V25", PARTS),
        (" M70 5H90V25Z", "", PARTS),
        ('fill="#000"', 'fill="#001"', PAINT),
        ("H25V25Z", "H25.001V25Z", OTHERS),
        ('id="other"', 'id="another"', OTHERS),
        (f'<path id="other" d="{OTHER}"/>', "", OTHERS),
        ("H25V25Z", "H25V25ZM9 9Z", OTHERS),
    ],
)
def test_only_what_is_mended_changes(old: str, new: str, said: str):
    assert says(old, new, contours=frozenset({1})) == said


def test_a_page_stays_as_large_as_it_is():
    assert says("", "", width=101) == "the page would change"


def test_paint_changes_only_where_that_is_the_repair():
    assert says('fill="#000"', 'fill="#001"', paints=True) == ""
    assert says("H90V25Z", "H90.001V25Z", paints=True) == PARTS


def test_an_element_may_change_altogether_where_that_is_the_repair():
    assert says(MINE, "M0 0H9V9Z", shapes=True) == ""
    assert says("H25V25Z", "H25.001V25Z", shapes=True) == OTHERS
