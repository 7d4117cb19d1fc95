"""The published hooks under real pre-commit, in temporary repositories, against this checkout."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]

needs_git = pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed")


def environment(home: Path) -> dict[str, str]:
    return {**os.environ, "PRE_COMMIT_HOME": str(home / "pre-commit"), "NO_COLOR": "1"}


def run(repo: Path, *command: str, **env: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        command, cwd=repo, capture_output=True, text=True, env=environment(repo.parent) | env
    )


def git(repo: Path, *args: str) -> subprocess.CompletedProcess[str]:
    return run(repo, "git", *args)


def pre_commit(repo: Path, *args: str, **env: str) -> subprocess.CompletedProcess[str]:
    return run(repo, sys.executable, "-m", "pre_commit", *args, **env)


def repository(folder: Path, hook: str) -> Path:
    """A repository whose pre-commit runs one hook of this checkout.

    The hook is taken as published but for its language: `system` runs the scantling that these
    tests run, so that nothing is fetched and the very code under test answers.
    """
    published = (ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8")
    (entry,) = [one for one in re.split(r"^(?=- id: )", published, flags=re.M) if hook in one]
    entry = entry.replace("language: python", "language: system").replace(
        "entry: scantling", f"entry: {sys.executable} -m scantling"
    )
    indented = "".join(f"      {line}\n" for line in entry.splitlines())
    work = folder / "designs"
    work.mkdir()
    (work / ".pre-commit-config.yaml").write_text(
        f"repos:\n  - repo: local\n    hooks:\n{indented}", encoding="utf-8"
    )
    git(work, "init", "-q")
    git(work, "config", "user.name", "Maker")
    git(work, "config", "user.email", "maker@example.invalid")
    done = pre_commit(work, "install")
    assert done.returncode == 0, done.stdout + done.stderr
    return work
