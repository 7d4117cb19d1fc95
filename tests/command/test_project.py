"""What the project promises about itself."""

import ast
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


ROOMS = ("read", "plan", "measure", "judge", "report")
TOOLS = {"arrays", "digests", "installed", "late", "near", "records"}
"""Modules that stand below every room."""


def imported(module: Path) -> set[str]:
    """The rooms and top modules of this package that a module names in its imports."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom):
            assert not node.level, f"{module.name} imports relatively"
            below = node.module == "scantling"
            names |= {f"scantling.{name.name}" for name in node.names} if below else {node.module}
        elif isinstance(node, ast.Import):
            names |= {name.name for name in node.names}
    parts = [name.split(".") for name in names]
    return {part[1] for part in parts if part[0] == "scantling" and len(part) > 1}


@pytest.mark.parametrize("room", ROOMS)
def test_rooms_know_only_the_rooms_before_them(room: str):
    may = {*ROOMS[: ROOMS.index(room) + 1], *TOOLS}
    modules = list((ROOT / "linter" / "scantling" / room).rglob("*.py"))
    assert modules
    assert {module.name: names for module in modules if (names := imported(module) - may)} == {}


def test_what_stands_below_every_room_knows_none():
    modules = [ROOT / "linter" / "scantling" / f"{name}.py" for name in TOOLS]
    assert {module.name: names for module in modules if (names := imported(module) - TOOLS)} == {}


def test_the_built_in_rules_know_no_more_than_a_third_partys_may():
    may = {*ROOMS[:4], "arrays", "records"}
    modules = list((ROOT / "rules" / "scantling_rules").rglob("*.py"))
    assert modules
    assert {module.name: names for module in modules if (names := imported(module) - may)} == {}


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
