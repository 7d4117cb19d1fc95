"""TOML that is kept compiled says what the text says, whatever is kept."""

from __future__ import annotations

import sys
import tomllib
from pathlib import Path

import pytest

import scantling_rules
from scantling.plan.compiled import loads
from scantling.plan.stocks import read_tables

TEXT = (
    '[defaults]\nsource = "ours"\n[[material]]\nwords = ["a", "ü"]\nkerf = 0.25\nbrittle = true\n'
)


@pytest.fixture(autouse=True)
def writing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    monkeypatch.setattr(sys, "pycache_prefix", None)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "stocks.toml"


def kept(file: Path) -> list[Path]:
    return sorted(file.parent.glob("__pycache__/*"))


def test_it_says_the_same_and_is_kept_once(file: Path, monkeypatch: pytest.MonkeyPatch):
    said = tomllib.loads(TEXT)
    assert loads(TEXT, str(file)) == said
    (one,) = kept(file)
    assert sys.implementation.cache_tag in one.name
    monkeypatch.setattr(tomllib, "loads", None)
    assert loads(TEXT, str(file)) == said
    assert kept(file) == [one]


def test_another_text_is_read(file: Path):
    loads(TEXT, str(file))
    other = TEXT.replace("0.25", "0.75")
    assert loads(other, str(file)) == tomllib.loads(other)
    assert loads(TEXT, str(file)) == tomllib.loads(TEXT)


@pytest.mark.parametrize("at", [0, 20, -1])
def test_what_is_kept_may_be_damaged(file: Path, at: int):
    loads(TEXT, str(file))
    (one,) = kept(file)
    whole = one.read_bytes()
    damaged = bytearray(whole)
    damaged[at] ^= 1
    for data in (bytes(damaged), whole[:at], b""):
        one.write_bytes(data)
        assert loads(TEXT, str(file)) == tomllib.loads(TEXT)
        assert one.read_bytes() == whole


def test_nothing_is_written_where_python_writes_nothing(
    file: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    assert loads(TEXT, str(file)) == tomllib.loads(TEXT)
    assert not file.parent.joinpath("__pycache__").exists()
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    monkeypatch.setattr(sys.implementation, "cache_tag", None)
    assert loads(TEXT, str(file)) == tomllib.loads(TEXT)
    assert not file.parent.joinpath("__pycache__").exists()


def test_nowhere_to_write(file: Path):
    file.parent.joinpath("__pycache__").write_text("in the way")
    assert loads(TEXT, str(file)) == tomllib.loads(TEXT)


def test_what_cannot_be_kept_is_read_each_time(file: Path):
    text = "day = 2025-06-01\n"
    for _ in range(2):
        assert loads(text, str(file)) == tomllib.loads(text)
    assert kept(file) == []


def test_a_text_that_is_no_toml(file: Path):
    for _ in range(2):
        with pytest.raises(tomllib.TOMLDecodeError):
            loads("[", str(file))
    assert kept(file) == []


def test_the_built_in_table_has_a_form_that_can_be_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(sys, "pycache_prefix", str(tmp_path))
    read_tables.cache_clear()
    first = read_tables((scantling_rules.STOCKS,))
    assert len(list(tmp_path.rglob("stocks.toml.*"))) == 1
    read_tables.cache_clear()
    monkeypatch.setattr(tomllib, "loads", None)
    assert read_tables((scantling_rules.STOCKS,)) == first
