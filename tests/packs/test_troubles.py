"""Packs that go wrong in every way: each is named, the rest is there all the same."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from scantling.installed import Entry
from scantling.judge import packs
from scantling.judge.packs import Rulebook, installed

RULE = """
from scantling.judge import Example, Fault
id = {id!r}
level = "note"
title = why = remedy = source = "invented"
passes = fails = (Example("<svg/>"),)
def check(drawing):
    return ()
"""
Install = Callable[..., Rulebook]


@pytest.fixture
def install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Install:
    """Read the packs with one more beside the built-in one, made of these modules."""

    def read(**modules: str) -> Rulebook:
        for name, text in modules.items():
            (tmp_path / f"{name}.py").write_text(text, encoding="utf-8")
            monkeypatch.delitem(sys.modules, name, raising=False)
        found = [
            Entry("builtin", "scantling_rules", "1"),
            Entry("kites", "kites", "1"),
        ]
        monkeypatch.syspath_prepend(tmp_path)
        monkeypatch.setattr(packs, "entry_points", lambda group: found)
        return installed()

    return read


def test_a_pack_in_order(install: Install):
    book = install(kites='RULES = ("kite_tail",)', kite_tail=RULE.format(id="kite-tail"))
    assert book.troubles == ()
    assert book.by_id()["kite-tail"].pack == "kites"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1 / 0", "pack kites: ZeroDivisionError"),
        ("raise SystemExit('no licence')", "pack kites: SystemExit: no licence"),
        ("import nothing_of_the_kind", "ModuleNotFoundError"),
        ("RULES = (", "SyntaxError"),
        ("", "RULES"),
        ('RULES = ("no_such_rule",)', "no_such_rule"),
    ],
)
def test_a_pack_that_cannot_be_loaded(install: Install, text: str, words: str):
    book = install(kites=text)
    (trouble,) = book.troubles
    assert words in trouble
    assert trouble.startswith("pack kites: ")
    assert "thin-web" in book.by_id()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (RULE.format(id="thin-web"), "rule thin-web is already in pack builtin"),
        (RULE.format(id="Kite Tail"), "is not words-like-this"),
        (
            RULE.format(id="a").replace('"note"', '"loud"'),
            "level 'loud' is not known; allowed: off, note",
        ),
        (RULE.format(id="a").replace("passes = ", ""), "passes"),
        (RULE.format(id="a") + "parameters = {'step': {'type': 'number'}}", "no default"),
        ("raise SystemExit", "SystemExit"),
    ],
)
def test_a_rule_that_cannot_be_used(install: Install, text: str, words: str):
    modules = {"kites": 'RULES = ("kite_bad", "kite_tail")', "kite_bad": text}
    book = install(**modules, kite_tail=RULE.format(id="kite-tail"))
    (trouble,) = book.troubles
    assert words in trouble
    assert "pack kites" in trouble
    assert "kite-tail" in book.by_id()


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ("not toml", "not TOML"),
        ('[[material]]\nname = "paper"\n', "kites.toml"),
        (None, "cannot be read"),
    ],
)
def test_a_stock_table_that_is_none(
    install: Install, tmp_path: Path, table: str | None, words: str
):
    if table is not None:
        (tmp_path / "kites.toml").write_text(table, encoding="utf-8")
    book = install(
        kites=f'RULES = ("kite_tail",)\nSTOCKS = {str(tmp_path / "kites.toml")!r}',
        kite_tail=RULE.format(id="kite-tail"),
    )
    (trouble,) = book.troubles
    assert trouble.startswith("pack kites: ")
    assert words in trouble
    assert len(book.tables) == 1
    assert "kite-tail" in book.by_id()
