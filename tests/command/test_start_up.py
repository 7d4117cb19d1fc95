"""What start-up may import: answering `--version` or `--help` needs no geometry, and judging one
small drawing by the built-in table needs nothing of job sheets, stacks, pages or repairs."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

HEAVY = ("numpy", "shapely", "svgelements", "jsonschema", "cssselect2", "tinycss2", "rich")


@pytest.mark.parametrize("args", [["--version"], ["--help"], ["lint", "--help"]])
def test_no_geometry_before_it_is_needed(args: list[str]):
    code = (
        "import sys\n"
        "from scantling.cli import main\n"
        f"try:\n    main({args!r})\n"
        "except SystemExit as stop:\n    assert not stop.code, stop.code\n"
        f"print([name for name in {HEAVY!r} if name in sys.modules], file=sys.stderr)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.stderr.strip() == "[]"
    assert done.returncode == 0


BARE = "import sys, numpy, shapely"
"""What a run cannot do without."""
SPARED = {
    "importlib.metadata", "email", "socket", "multiprocessing", "subprocess", "difflib",
    "numpy.ma", "jsonschema", "tinycss2", "cssselect2", "coloraide", "jinja2", "markdown_it",
    "rich",
    "scantling.catalogue.audit", "scantling.catalogue.pool", "scantling.live",
    "scantling.catalogue.command", "scantling.mend.command",
    "scantling.mend.mender", "scantling.report.page", "scantling.report.sarif",
    "scantling.measure.assembly.cylinder", "scantling.measure.assembly.fits",
    "scantling.measure.assembly.moments", "scantling.measure.assembly.slots",
    "scantling.measure.assembly.stack", "scantling.plan.start",
}  # fmt: skip
SPARED_AFRESH = {"json", "zlib", "scantling.closing", "scantling.judge.known"}
"""What is spared besides where no results are kept, no list is given and there is no job sheet."""
PLAIN = '<path d="M5 5H35V35H5Z"/>'
THIN = '<path d="M5 5H25V19.6H45V5H55V35H45V20.4H25V35H5Z"/>'
STACK = """
[[assign]]
colour = "#000"
stock = "acrylic-3"
operation = "cut"

[[assign]]
colour = "#f00"
stock = "card-1.5"
operation = "cut"

[[design]]
files = "*.svg"
stack = ["acrylic-3", "card-1.5"]
"""


def _loaded(code: str, folder: Path) -> set[str]:
    """The modules that a program has loaded at its end."""
    told = (
        "import sys; loaded = sorted(sys.modules)\n"
        "import json; print(json.dumps(loaded), file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", f"{code}\n{told}"],
        cwd=folder,
        capture_output=True,
        text=True,
        env=os.environ | {"SCANTLING_CACHE": str(folder / "kept")},
    )
    return set(json.loads(done.stderr.splitlines()[-1]))


def _lint(code: int, *args: str) -> str:
    return (
        "from scantling.cli import main\n"
        f"try:\n    main({['lint', *args, 'one.svg']!r})\n"
        f"except SystemExit as stop:\n    assert stop.code == {code}, stop.code\n"
    )


def _draw(folder: Path, body: str) -> None:
    folder.joinpath("one.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'
        f"{body}</svg>"
    )


@pytest.mark.parametrize(("body", "code"), [(PLAIN, 0), (THIN, 1)], ids=["clean", "findings"])
@pytest.mark.parametrize("more", [[], ["--afresh"]], ids=["empty store", "afresh"])
def test_a_plain_run_loads_little_but_geometry(
    tmp_path: Path, body: str, code: int, more: list[str]
):
    _draw(tmp_path, body)
    loaded = _loaded(_lint(code, "--stock", "acrylic-3", *more), tmp_path)
    assert {"numpy", "shapely", "scantling.measure.widths.thin"} <= loaded
    spared = SPARED | SPARED_AFRESH if more else SPARED
    assert not (loaded - _loaded(BARE, tmp_path)) & spared


def test_a_known_result_needs_no_geometry(tmp_path: Path):
    _draw(tmp_path, THIN)
    _loaded(_lint(1, "--stock", "acrylic-3"), tmp_path)
    again = _loaded(_lint(1, "--stock", "acrylic-3"), tmp_path)
    assert not again & {"numpy", "shapely", "scantling_rules", "scantling.linter", *SPARED}


def test_what_a_stack_needs_is_loaded_for_it(tmp_path: Path):
    _draw(tmp_path, PLAIN + '<path fill="#f00" d="M8 8H32V32H8Z"/>')
    tmp_path.joinpath("jobsheet.toml").write_text(STACK)
    loaded = _loaded(_lint(0, "--afresh"), tmp_path)
    assert {"scantling.measure.assembly.stack", "jsonschema"} <= loaded


def test_a_plain_run_seldom_looks_for_cycles(tmp_path: Path):
    _draw(tmp_path, THIN)
    before = (
        "import gc, numpy, shapely, scantling.cli\nat_first = gc.get_stats()[1]['collections']\n"
    )
    after = "assert gc.get_stats()[1]['collections'] == at_first, gc.get_stats()"
    assert _loaded(before + _lint(1, "--stock", "acrylic-3", "--afresh") + after, tmp_path)
