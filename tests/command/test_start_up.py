"""What start-up may import: answering `--version` or `--help` needs no geometry, and judging one
small drawing by the built-in table needs nothing of job sheets, stacks, pages or repairs."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

import scantling_rules
from scantling import api

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
    "numpy.ma", "numpy.typing", "jsonschema", "tinycss2", "cssselect2", "coloraide", "jinja2",
    "markdown_it", "rich",
    "scantling.arrays", "scantling.catalogue.audit", "scantling.catalogue.pool", "scantling.live",
    "scantling.catalogue.command", "scantling.mend.command",
    "scantling.mend.mender", "scantling.report.page", "scantling.report.sarif",
    "scantling.measure.assembly.cylinder", "scantling.measure.assembly.fits",
    "scantling.measure.assembly.moments", "scantling.measure.assembly.slots",
    "scantling.measure.assembly.stack", "scantling.plan.start",
}  # fmt: skip
SPARED_SMALL = {"json", "zlib", "sqlite3", "scantling.closing", "scantling.judge.known"}
"""What is spared besides for a small drawing named by itself, of which no result is kept, where no
list is given and there is no job sheet."""
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


def _lint(code: int, *args: str, what: str = "one.svg") -> str:
    return (
        "from scantling.cli import main\n"
        f"try:\n    main({['lint', *args, what]!r})\n"
        f"except SystemExit as stop:\n    assert stop.code == {code}, stop.code\n"
    )


def _draw(folder: Path, body: str) -> None:
    folder.joinpath("one.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'
        f"{body}</svg>"
    )


@pytest.mark.parametrize(("body", "code"), [(PLAIN, 0), (THIN, 1)], ids=["clean", "findings"])
@pytest.mark.parametrize("what", ["one.svg", "."])
def test_a_plain_run_loads_little_but_geometry(tmp_path: Path, body: str, code: int, what: str):
    _draw(tmp_path, body)
    loaded = _loaded(_lint(code, "--stock", "acrylic-3", what=what), tmp_path)
    assert {"numpy", "shapely", "scantling.measure.widths.thin"} <= loaded
    spared = SPARED | SPARED_SMALL if what == "one.svg" else SPARED
    assert (tmp_path / "kept").exists() == (what == ".")
    assert not (loaded - _loaded(BARE, tmp_path)) & spared


@pytest.mark.skipif(
    not os.access(os.path.dirname(scantling_rules.STOCKS), os.W_OK), reason="nothing is kept there"
)
def test_the_stock_table_is_read_as_toml_but_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.delenv("PYTHONDONTWRITEBYTECODE", raising=False)
    _draw(tmp_path, PLAIN)
    for more in ([], ["--afresh"]):
        loaded = _loaded(_lint(0, "--stock", "acrylic-3", *more), tmp_path)
    assert "numpy" in loaded
    assert "tomllib" not in loaded


def test_a_known_result_needs_no_geometry(tmp_path: Path):
    _draw(tmp_path, THIN)
    _loaded(_lint(1, "--stock", "acrylic-3", what="."), tmp_path)
    again = _loaded(_lint(1, "--stock", "acrylic-3", what="."), tmp_path)
    assert not again & {"numpy", "shapely", "scantling_rules", "scantling.linter", *SPARED}


def test_what_a_stack_needs_is_loaded_for_it(tmp_path: Path):
    _draw(tmp_path, PLAIN + '<path fill="#f00" d="M8 8H32V32H8Z"/>')
    tmp_path.joinpath("jobsheet.toml").write_text(STACK)
    loaded = _loaded(_lint(0, "--afresh"), tmp_path)
    assert {"scantling.measure.assembly.stack", "jsonschema"} <= loaded


@pytest.mark.parametrize("what", ["one.svg", "."])
def test_a_plain_run_looks_for_no_cycles(tmp_path: Path, what: str):
    _draw(tmp_path, THIN)
    code = (
        "import atexit, gc, scantling.__main__\n"
        "looks = []\n"
        "gc.callbacks.append(lambda phase, told: looks.append(phase))\n"
        "atexit.register(lambda: print(looks))"
    )
    args = ["lint", "--stock", "acrylic-3", str(tmp_path / what)]
    done = _process(code, *args, SCANTLING_CACHE=str(tmp_path / "kept"))
    assert done.returncode == 1
    assert done.stdout.splitlines()[-1] == "[]"


# The command as a process of its own


def _process(code: str, *args: str, **env: str) -> subprocess.CompletedProcess[str]:
    """Code, then the command, in a process."""
    return subprocess.run(
        [sys.executable, "-c", f"{code}\nfrom scantling.__main__ import run; run()", *args],
        capture_output=True,
        text=True,
        env=os.environ | env,
    )


@pytest.mark.parametrize(
    ("args", "code"),
    [(["--version"], 0), (["lint", "--afresh", "--stock", "acrylic-3"], 1), (["lunt"], 2)],
)
def test_exit_codes_and_output_of_a_process(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, args: list[str], code: int
):
    monkeypatch.chdir(tmp_path)
    _draw(tmp_path, THIN)
    left = _process("", *args)
    ended = _process("import atexit; atexit.register(int)", *args)  # in the ordinary way
    assert left.returncode == ended.returncode == code
    assert left.stdout == ended.stdout
    assert left.stderr == ended.stderr
    assert left.stdout or left.stderr


@pytest.mark.parametrize(
    "code",
    [
        "import atexit; atexit.register(print, 'done')",
        "import sys, threading, time\n"
        "threading.Thread(target=lambda: (time.sleep(0.5), print('done'))).start()",
        "import sys, cProfile\n"
        "p = cProfile.Profile(); p.enable()\n"
        "import scantling.__main__ as m\n"
        "def run(start=m.run):\n    try:\n        start()\n    finally:\n        print('done')\n"
        "m.run = run",
    ],
    ids=["a function at the end", "a thread", "a profile"],
)
def test_what_is_still_to_be_done_is_done(code: str):
    done = _process(code, "--version")
    assert done.returncode == 0
    assert done.stdout.startswith("scantling ")
    assert done.stdout.endswith("done\n")


def test_a_process_tears_nothing_down():
    """With PYTHONVERBOSE, Python tells of every module that it cleans up."""
    loud = {"PYTHONVERBOSE": "1"}
    assert "# cleanup" not in _process("", "--version", **loud).stderr
    assert (
        "# cleanup" in _process("import atexit; atexit.register(int)", "--version", **loud).stderr
    )


def test_only_a_process_of_its_own_sets_the_number_of_threads(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.delenv("OPENBLAS_NUM_THREADS", raising=False)
    told = "import atexit, os; atexit.register(lambda: print(os.environ['OPENBLAS_NUM_THREADS']))"
    assert _process(told, "--version").stdout.endswith("\n1\n")
    assert _process(told, "--version", OPENBLAS_NUM_THREADS="3").stdout.endswith("\n3\n")
    _draw(tmp_path, PLAIN)
    assert api.lint(tmp_path, stock="acrylic-3").exit_code == 0
    assert "OPENBLAS_NUM_THREADS" not in os.environ


@pytest.mark.skipif(os.name != "posix", reason="the words of another shell")
def test_a_process_without_any_output():
    command = f"'{sys.executable}' -m scantling --version >&- 2>&-"
    assert subprocess.run(["sh", "-c", command]).returncode == 0


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no device that is always full")
@pytest.mark.parametrize("words", [["--version"], ["explain"], ["lint", "--stock", "acrylic-3"]])
def test_output_that_cannot_be_written_is_one_line_and_no_success(words: list[str], tmp_path: Path):
    _draw(tmp_path, PLAIN)
    file = [str(tmp_path)] if words[0] == "lint" else []
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "scantling", *words, *file], stdout=full, stderr=subprocess.PIPE
        )
    assert done.returncode == 2
    assert done.stderr.decode().splitlines() == ["scantling: error: No space left on device"]
