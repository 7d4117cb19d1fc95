"""The published hook that judges."""

import subprocess
from pathlib import Path

import pytest
from hooking import ROOT, git, needs_git, pre_commit, repository

GOOD = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40">\n'
    '<rect x="5" y="5" width="30" height="30"/>\n</svg>\n'
)
BAD = GOOD.replace("/>\n</svg>", "/>\n<path d='M10 10H20V20'/>\n</svg>")

pytestmark = needs_git


@pytest.fixture
def repo(tmp_path: Path) -> Path:
    return repository(tmp_path, "scantling-lint")


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
    done = pre_commit(
        work, "try-repo", str(ROOT), "scantling-lint", "--files", "bad.svg",
        PIP_COMPILE="0",  # modules that are not imported need not be compiled
    )  # fmt: skip
    told = done.stdout + done.stderr
    assert done.returncode == 1, told
    assert "bad.svg:3:" in told
    assert "[open-path]" in told
