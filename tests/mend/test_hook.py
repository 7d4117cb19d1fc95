"""The published hook that mends."""

from __future__ import annotations

from pathlib import Path

import pytest
from hooking import git, needs_git, repository

GOOD = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40">\n'
    '<path d="M5 5H35V35Z"/>\n</svg>\n'
)
BAD = GOOD.replace("Z", "")

pytestmark = needs_git


@pytest.fixture
def repo(tmp_path: Path) -> Path:
    return repository(tmp_path, "scantling-mend")


def test_the_hook_changes_the_file_and_fails_then_passes(repo: Path):
    (repo / "moon.svg").write_text(BAD, encoding="utf-8")
    git(repo, "add", "moon.svg", ".pre-commit-config.yaml")
    first = git(repo, "commit", "-m", "Add the moon")
    told = first.stdout + first.stderr
    assert first.returncode != 0, told
    assert "files were modified by this hook" in told
    assert "close the outline as its fill does [open-path]" in told
    assert (repo / "moon.svg").read_text(encoding="utf-8") == GOOD
    git(repo, "add", "moon.svg")
    second = git(repo, "commit", "-m", "Add the moon")
    assert second.returncode == 0, second.stdout + second.stderr
