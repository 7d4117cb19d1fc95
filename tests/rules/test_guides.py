"""What is said of guides, and of what is not seen: nothing is made of either."""

import pytest

from scantling.judge import page
from scantling_rules.drawing import bitmap, broken_reference, hidden_lines, live_text
from scantling_rules.drawing import paint_only_effect as effect

PLATE = '<rect x="5" y="5" width="30" height="30"/>'
DASHED = '<path d="M5 20h30" fill="none" stroke="{}" stroke-dasharray="2 1"/>'
SHADED = '<linearGradient id="s"><stop/></linearGradient><rect width="9" height="9" {}/>'
JOB = """
[[assign]]
colour = "#000"
stock = "card-1.5"
operation = "cut"

[[assign]]
layer = "guides"
operation = "guide"

[[assign]]
layer = "cuts"
stock = "card-1.5"
operation = "cut"

[[assign]]
colour = "#0ff"
operation = "guide"
"""


def on(layer: str, body: str, more: str = "") -> str:
    return page(f'{PLATE}<g id="{layer}"{more}>{body}</g>')


@pytest.mark.parametrize(
    ("rule", "body"),
    [
        (effect, DASHED.format("#f00")),
        (effect, SHADED.format('fill="url(#s)"')),
        (effect, f'<clipPath id="c"><circle r="9"/></clipPath><g clip-path="url(#c)">{PLATE}</g>'),
        (broken_reference, '<use href="#gone"/>'),
        (broken_reference, '<rect width="9" height="9" fill="url(#gone)"/>'),
        (hidden_lines, f'<g display="none">{PLATE}</g>'),
        (hidden_lines, '<text display="none">a</text>'),
        (hidden_lines, '<image visibility="hidden" href="b.png"/>'),
        (live_text, "<text>a</text>"),
        (bitmap, '<image href="b.png"/>'),
    ],
)
def test_a_layer_of_guides_is_let_be(rule, body: str, findings_of):
    assert len(findings_of(rule, on("cuts", body), JOB)) == 1
    assert not findings_of(rule, on("guides", body), JOB)


def test_a_layer_of_cuts_within_one_of_guides_is_judged(findings_of):
    within = f'<g id="cuts">{DASHED.format("#000")}</g>'
    assert len(findings_of(effect, on("guides", within), JOB)) == 1


def test_a_colour_of_guides_is_let_be(findings_of):
    assert not findings_of(effect, on("any", DASHED.format("#0ff")), JOB)
    assert len(findings_of(effect, on("any", DASHED.format("#000")), JOB)) == 1
    unseen = ' display="none"'
    assert not findings_of(hidden_lines, on("any", DASHED.format("#0ff"), unseen), JOB)
    assert len(findings_of(hidden_lines, on("any", DASHED.format("#000"), unseen), JOB)) == 1


def test_what_is_not_seen_is_told_of_once(findings_of):
    """Its effects, words and pixels are not seen either."""
    body = f'{DASHED.format("#000")}<text>a</text><image href="b.png"/>'
    unseen = on("any", body, ' display="none"')
    for rule in (effect, live_text, bitmap):
        assert not findings_of(rule, unseen, JOB)
        assert len(findings_of(rule, on("any", body), JOB)) == 1
    assert [finding.message for finding in findings_of(hidden_lines, unseen, JOB)] == [
        "path is not seen (its display is none) but a machine would still follow it",
        "text “a” is not seen (its display is none) but is still in the file",
        "a linked picture (b.png) is not seen (its display is none) but is still in the file",
    ]


def test_an_effect_on_what_is_drawn_twice_counts_where_one_is_made(findings_of):
    both = f'<g id="cuts"><g id="one">{DASHED.format("#000")}</g></g><use href="#one"/>'
    assert len(findings_of(effect, page(both), JOB)) == 1
