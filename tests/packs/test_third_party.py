"""A third party's pack: installed with pip into a fresh environment, found by its entry point."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
import venv
from pathlib import Path

import pytest

import scantling
import scantling_rules

PACK = Path(__file__).parent / "chimes"
PLATE = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">\n'
    '<rect id="long" x="5" y="5" width="20" height="47"/>\n</svg>\n'
)


@pytest.fixture(scope="module")
def python(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The interpreter of a fresh environment that sees the libraries of this one (so that nothing
    is fetched), with the pack installed by pip."""
    pytest.importorskip("pip")
    pytest.importorskip("hatchling", reason="the pack is built with it, offline")
    base = tmp_path_factory.mktemp("shop")
    venv.create(base / "env", with_pip=False, symlinks=os.name != "nt")
    scripts = "Scripts" if os.name == "nt" else "bin"
    python = base / "env" / scripts / ("python.exe" if os.name == "nt" else "python")
    told = subprocess.run(
        [python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"],
        check=True, capture_output=True, text=True,
    )  # fmt: skip
    seen = [
        Path(scantling.__file__).parents[1],
        Path(scantling_rules.__file__).parents[1],
        sysconfig.get_path("purelib"),
        sysconfig.get_path("platlib"),
    ]
    lines = "".join(f"{path}\n" for path in dict.fromkeys(map(str, seen)))
    Path(told.stdout.strip(), "seen.pth").write_text(lines, encoding="utf-8")
    shutil.copytree(PACK, base / "chimes")
    pip = [sys.executable, "-m", "pip", "--python", str(python), "--disable-pip-version-check"]
    done = subprocess.run(
        [*pip, "install", "-q", "--no-index", "--no-deps", "--no-build-isolation",
         str(base / "chimes")],
        capture_output=True, text=True,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    return python


def run(python: Path, *args: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [python, "-m", "scantling", *args],
        cwd=cwd, capture_output=True, encoding="utf-8", env={**os.environ, "NO_COLOR": "1"},
    )  # fmt: skip


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    (tmp_path / "chime.svg").write_text(PLATE, encoding="utf-8")
    return tmp_path


def test_its_rules_are_explained(python: Path, shop: Path):
    done = run(python, "explain", "no-hanger", cwd=shop)
    assert done.returncode == 0, done.stderr
    for words in ("# no-hanger", "chimes", "hangs from a cord", "Common practice, no source"):
        assert words in done.stdout
    listed = run(python, "explain", cwd=shop).stdout
    assert "odd-length" in listed
    assert "thin-web" in listed


def test_its_stocks_are_listed_and_judged_by(python: Path, shop: Path):
    assert "slate-2" in run(python, "stocks", cwd=shop).stdout
    done = run(python, "lint", "chime.svg", "--stock", "slate-2", cwd=shop)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "chime.svg:2:1: warning: nothing to hang it by" in done.stdout
    assert "[no-hanger]" in done.stdout
    assert "length 47.00 mm is no multiple of 5.00 mm" in done.stdout


def test_its_options_are_set_in_the_job_sheet(python: Path, shop: Path):
    job = shop / "jobsheet.toml"
    job.write_text('[rules.odd-length]\nstep = "1 mm"\n', encoding="utf-8")
    assert "odd-length" not in run(python, "lint", "chime.svg", cwd=shop).stdout
    job.write_text("[rules.odd-length]\nstop = 1\n", encoding="utf-8")
    done = run(python, "lint", "chime.svg", cwd=shop)
    assert done.returncode == 2
    assert "step" in done.stdout + done.stderr


def test_a_crash_in_it_is_contained_and_named(python: Path, shop: Path):
    (shop / "jobsheet.toml").write_text("[rules.odd-length]\nstep = 0\n", encoding="utf-8")
    done = run(python, "lint", "chime.svg", cwd=shop)
    assert done.returncode == 2
    assert "Traceback" not in done.stdout + done.stderr
    assert "rule odd-length of pack chimes failed: ZeroDivisionError" in done.stdout
    assert "[no-hanger]" in done.stdout, "the other rules have run all the same"


def test_it_is_not_here(shop: Path):
    done = run(Path(sys.executable), "explain", "no-hanger", cwd=shop)
    assert done.returncode == 2
    assert "no rule is called 'no-hanger'" in done.stderr
