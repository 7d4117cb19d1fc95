"""Every rule's own examples hold: `passes` raise nothing under it, `fails` at least one finding."""

from pathlib import Path

import pytest

from scantling.judge.packs import installed
from scantling.judge.rule import Example, Rule
from scantling.linter import Linter, Wanted

BOOK = installed()
EXAMPLES = [
    pytest.param(rule, example, wanted, id=f"{rule.id}-{word}-{number}")
    for rule in BOOK.rules
    for word, wanted, examples in (("passes", False, rule.passes), ("fails", True, rule.fails))
    for number, example in enumerate(examples)
]


def test_packs_load_without_trouble():
    assert BOOK.troubles == ()
    assert len(BOOK.rules) == len({rule.id for rule in BOOK.rules})


@pytest.mark.parametrize("rule", BOOK.rules, ids=lambda rule: rule.id)
def test_rule_documents_itself(rule: Rule):
    assert rule.passes
    assert rule.fails
    for text in (rule.title, rule.why, rule.remedy, rule.source):
        assert text.strip()


@pytest.mark.parametrize(("rule", "example", "wanted"), EXAMPLES)
def test_example(rule: Rule, example: Example, wanted: bool, tmp_path: Path):
    drawing = tmp_path / "example.svg"
    drawing.write_text(example.svg, encoding="utf-8")
    job = None
    if example.job:
        (tmp_path / "jobsheet.toml").write_text(example.job, encoding="utf-8")
        job = str(tmp_path / "jobsheet.toml")
    linter = Linter(Wanted(job=job, stock=example.stock, width=example.width), book=BOOK)
    report = linter.file(str(drawing))
    assert report.failure is None
    raised = [finding for finding in report.findings if finding.rule == rule.id]
    assert bool(raised) is wanted, [finding.message for finding in report.findings]
    for finding in raised:  # what Fault.others asks for, so that reports name the right one
        first, *more = [other.message for other in finding.related] or [""]
        assert all(message == first or message.startswith("another ") for message in more)
