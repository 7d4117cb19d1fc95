"""What the project promises about itself."""

import os
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
