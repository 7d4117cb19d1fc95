"""The published hook under real pre-commit, in a temporary repository, against this checkout."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
GOOD = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40">\n'
    '<rect x="5" y="5" width="30" height="30"/>\n</svg>\n'
)
BAD = GOOD.replace("/>\n</svg>", "/>\n<path d='M10 10H20V20'/>\n</svg>")

pytestmark = pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed")


@pytest.fixture
def repo(tmp_path: Path) -> Path:
    """A repository whose pre-commit runs the hook of this checkout.

    The hook is taken as published but for its language: `system` runs the scantling that these
    tests run, so that nothing is fetched and the very code under test answers.
    """
    published = (ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8")
    assert "id: scantling-lint" in published
    hook = published.replace("language: python", "language: system").replace(
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
        [sys.executable, "-m", "pre_commit", "install"],
        cwd=work,
        capture_output=True,
        text=True,
        env=environment(tmp_path),
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return work


def environment(home: Path) -> dict[str, str]:
    return {**os.environ, "PRE_COMMIT_HOME": str(home / "pre-commit"), "NO_COLOR": "1"}


def git(repo: Path, *args: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["git", *args], cwd=repo, capture_output=True, text=True, env=environment(repo.parent)
    )


def commit(repo: Path, name: str, text: str) -> subprocess.CompletedProcess[str]:
    (repo / name).write_text(text, encoding="utf-8")
    git(repo, "add", name, ".pre-commit-config.yaml")
    return git(repo, "commit", "-m", f"Add {name}")


def test_bad_drawing_blocks_the_commit_and_shows_the_finding(repo: Path):
    done = commit(repo, "bad.svg", BAD)
    told = done.stdout + done.stderr
    assert done.returncode != 0, told
    assert "bad.svg:3:" in told
    assert "[open-path]" in told
    assert git(repo, "log", "--oneline").stdout == ""


def test_clean_drawing_passes(repo: Path):
    done = commit(repo, "good.svg", GOOD)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "good.svg" in git(repo, "show", "--stat").stdout


def test_other_files_are_left_alone(repo: Path):
    done = commit(repo, "notes.txt", "not a drawing <svg>")
    assert done.returncode == 0, done.stdout + done.stderr
    assert "Skipped" in done.stdout + done.stderr


def test_only_changed_files_are_judged(repo: Path):
    (repo / "old.svg").write_text(BAD, encoding="utf-8")
    git(repo, "add", "old.svg")
    git(repo, "commit", "-q", "--no-verify", "-m", "Add an old drawing")
    done = commit(repo, "good.svg", GOOD)
    assert done.returncode == 0, done.stdout + done.stderr


def test_it_installs_and_runs_as_published(tmp_path: Path):
    """pre-commit takes this checkout as any repository of hooks: clones it, installs it into an
    environment of its own, and runs the hook."""
    work = tmp_path / "designs"
    work.mkdir()
    git(work, "init", "-q")
    (work / "bad.svg").write_text(BAD, encoding="utf-8")
    git(work, "add", "bad.svg")
    wanted = ["scantling-lint", "--files", "bad.svg"]
    done = subprocess.run(
        [sys.executable, "-m", "pre_commit", "try-repo", str(ROOT), *wanted],
        cwd=work,
        capture_output=True,
        text=True,
        # modules that no test imports need not be compiled
        env={**environment(tmp_path), "PIP_COMPILE": "0"},
    )
    told = done.stdout + done.stderr
    assert done.returncode == 1, told
    assert "bad.svg:3:" in told
    assert "[open-path]" in told
