"""The documentation of the rules under rules/handbook is what their modules say."""

from pathlib import Path

from scantling.handbook import handbook
from scantling.judge.packs import installed

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
