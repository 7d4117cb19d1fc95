"""The developers' guide does what it says."""

from __future__ import annotations

import doctest
import re
from pathlib import Path

import pytest

GUIDE = Path(__file__).resolve().parents[2] / "DEVELOPERS.md"


def test_the_worked_example_in_python(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.chdir(tmp_path)
    (text,) = re.findall(r"```pycon\n(.*?)```", GUIDE.read_text(encoding="utf-8"), re.DOTALL)
    example = doctest.DocTestParser().get_doctest(text, {}, "DEVELOPERS.md", None, 0)
    assert len(example.examples) > 10
    said: list[str] = []
    result = doctest.DocTestRunner(verbose=False).run(example, out=said.append)
    assert result.failed == 0, "".join(said)


def test_everything_that_is_named_in_it_exists():
    """Paths of files and folders of this project, in code spans."""
    root = GUIDE.parent
    text = GUIDE.read_text(encoding="utf-8")
    named = set(re.findall(r"`((?:linter|rules|tests|examples)/[\w./-]+)`", text))
    assert len(named) > 8
    assert [path for path in sorted(named) if not (root / path).exists()] == []
