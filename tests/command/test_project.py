"""What the project promises about itself."""

import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import scantling

ROOT = Path(__file__).resolve().parents[2]


def test_versions_agree():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["version"] == scantling.__version__


def test_readme_has_one_test_command_and_ci_runs_it_to_the_letter():
    readme = (ROOT / "README.md").read_text(encoding="utf-8").splitlines()
    assert sum("python -m pytest" in line for line in readme) == 1
    run = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert "grep -m1 'python -m pytest' README.md" in run
    assert os.access(ROOT / ".ci" / "run", os.X_OK)


@pytest.mark.parametrize("room", ["read", "plan", "measure", "judge", "report"])
def test_rooms_know_only_the_rooms_before_them(room: str):
    order = ["read", "plan", "measure", "judge", "report", "catalogue"]
    later = order[order.index(room) + 1 :]
    for module in (ROOT / "linter" / "scantling" / room).rglob("*.py"):
        text = module.read_text(encoding="utf-8")
        for name in later:
            assert f"scantling.{name}" not in text, f"{module.name} knows {name}"


def test_the_readme_shows_what_the_example_says():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    shown = readme.partition("$ scantling lint examples/incoming\n")[2].partition("```")[0]
    done = subprocess.run(
        [sys.executable, "-m", "scantling", "lint", "examples/incoming"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        encoding="utf-8",
        env={**os.environ, "NO_COLOR": "1"},
    )
    assert done.returncode == 1
    assert shown == done.stdout


def test_the_clean_examples_are_clean():
    done = subprocess.run(
        [sys.executable, "-m", "scantling", "lint", "examples/clock", "examples/coasters"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        encoding="utf-8",
    )
    assert done.returncode == 0
    assert done.stdout.rstrip().endswith("nothing found in 3 files")


def test_the_readme_shows_what_mending_the_example_changes():
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    shown = readme.partition("$ scantling mend examples/incoming\n")[2].partition("```")[0]
    done = subprocess.run(
        [sys.executable, "-m", "scantling", "mend", "examples/incoming"],
        cwd=ROOT, capture_output=True, text=True, encoding="utf-8",
        env={**os.environ, "NO_COLOR": "1"},
    )  # fmt: skip
    assert done.returncode == 1
    changed = [
        line
        for line in done.stdout.splitlines()
        if line[0] in "-+" and not line.startswith(("---", "+++"))
    ]
    assert shown == "\n".join([*changed, "", done.stderr])
