"""The documentation of the rules under rules/handbook is what their modules say."""

from pathlib import Path

from scantling.handbook import handbook
from scantling.judge.packs import installed
from scantling.report.explain import page

FOLDER = Path(__file__).resolve().parents[2] / "rules" / "handbook"


def test_the_pages_are_up_to_date():
    """Where this fails: `scantling explain --pages rules/handbook` writes them anew."""
    book = installed()
    builtin = tuple(rule for rule in book.rules if rule.pack == "builtin")
    made = dict(handbook(type(book)(builtin, book.tables, ())))
    kept = {
        path.relative_to(FOLDER).as_posix(): path.read_text(encoding="utf-8")
        for path in FOLDER.rglob("*")
        if path.is_file()
    }
    assert sorted(made) == sorted(kept)
    assert [name for name in made if made[name] != kept[name]] == []


def test_a_job_sheet_that_examples_share_is_shown_once():
    rule = next(rule for rule in installed().rules if rule.id == "score-on-cut")
    examples = len(rule.passes) + len(rule.fails)
    jobs = len(dict.fromkeys(e.job for e in rule.passes)) + len(
        dict.fromkeys(e.job for e in rule.fails)
    )
    told = page(rule)
    assert told.count("with the job sheet") == jobs
    assert told.count("with the same job sheet") == examples - jobs > 0
