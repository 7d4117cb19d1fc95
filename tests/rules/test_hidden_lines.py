"""hidden-lines: what is not seen, and why."""

import pytest

from scantling.judge import page
from scantling_rules.drawing import hidden_lines

PLATE = '<rect x="5" y="5" width="30" height="30"/>'


@pytest.mark.parametrize(
    ("body", "why"),
    [
        (PLATE.replace("/>", ' transform="scale(0)"/>'), "its transform leaves nothing of it"),
        (f'<g transform="scale(1 0)">{PLATE}</g>', "its transform leaves nothing of it"),
        (
            f'<svg viewBox="0 0 0 9">{PLATE}</svg>',
            "the viewport or viewBox that it is drawn in has no size",
        ),
        (f'<g display="none">{PLATE}</g>', "its display is none"),
        (f"<switch><g/>{PLATE}</switch>", "a condition or a switch leaves it out"),
    ],
)
def test_why_it_is_not_seen(body: str, why: str, findings_of):
    (found,) = findings_of(hidden_lines, page(PLATE + body), "")
    assert found.message == f"rect is not seen ({why}) but a machine would still follow it"
