"""idle-acceptance: something is accepted that is not there, or not in the way it must be."""

from collections.abc import Iterator, Sequence

from scantling.judge import Example, Fault, page
from scantling.judge.accept import Idle

id = "idle-acceptance"
level = "warning"
title = "an acceptance that accepts nothing, or a design that is never used"
why = """
Acceptances outlive their cause. One that no longer matches anything would silently let the next
defect through at the same place; one without a reason does not say whether it may be removed; one
past its end date means that somebody promised to look again. And of the designs of a job sheet the
first that matches a drawing is used: one behind another that matches all its drawings, or one whose
pattern matches none because it is misspelt, asks for a size that is never checked.
"""
remedy = """
Take it out of the drawing or the job sheet, correct the rule's id, or write the reason after the
colon: `data-scantling-accept="thin-web: held by the transfer tape"`. Put the more
specific of two designs first; spell the pattern as the folder and the file are spelt.
"""
source = "common practice, no source"
_TEXT = '<text x="5" y="30" font-size="9" {}>Moon</text><rect x="5" y="5" width="9" height="9"/>'
_ACCEPT = 'data-scantling-accept="{}"'
passes = (
    Example(
        page(_TEXT.format(_ACCEPT.format("live-text: the engraver sets it"))),
        note="there is live text, and somebody said why it may stay",
    ),
    Example(page(_TEXT.format(""))),
)
fails = (
    Example(
        page(f'<g {_ACCEPT.format("live-text: to be set")}><path d="M5 5h9v9h-9z"/></g>'),
        note="there is no text in this group any more",
    ),
    Example(page(_TEXT.format(_ACCEPT.format("live-text"))), note="no reason"),
    Example(page(_TEXT.format(_ACCEPT.format("life-text: set later"))), note="no such rule"),
)


def check(idle: Sequence[Idle]) -> Iterator[Fault]:
    for one in idle:
        yield Fault(message=one.message, on=one.node, offset=one.offset)
