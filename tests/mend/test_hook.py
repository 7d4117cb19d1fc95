"""The published hook that mends, under real pre-commit in a temporary repository."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
GOOD = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40">\n'
    '<path d="M5 5H35V35Z"/>\n</svg>\n'
)
BAD = GOOD.replace("Z", "")

pytestmark = pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed")


def git(repo: Path, *args: str) -> subprocess.CompletedProcess[str]:
    environment = {
        **os.environ, "PRE_COMMIT_HOME": str(repo.parent / "pre-commit"), "NO_COLOR": "1"
    }  # fmt: skip
    return subprocess.run(["git", *args], cwd=repo, capture_output=True, text=True, env=environment)


@pytest.fixture
def repo(tmp_path: Path) -> Path:
    """A repository with this hook alone, as published but that it runs this checkout."""
    published = (ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8")
    hook = "- id: scantling-mend" + published.partition("- id: scantling-mend")[2]
    hook = hook.partition("\n- id:")[0] + "\n"
    hook = hook.replace("language: python", "language: system").replace(
        "entry: scantling", f"entry: {sys.executable} -m scantling"
    )
    indented = "".join(f"      {line}\n" for line in hook.splitlines())
    work = tmp_path / "designs"
    work.mkdir()
    (work / ".pre-commit-config.yaml").write_text(
        f"repos:\n  - repo: local\n    hooks:\n{indented}", encoding="utf-8"
    )
    git(work, "init", "-q")
    git(work, "config", "user.name", "Maker")
    git(work, "config", "user.email", "maker@example.invalid")
    done = subprocess.run(
        [sys.executable, "-m", "pre_commit", "install"], cwd=work, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return work


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
