"""A kept result is never shown once anything that it depends on has changed. Each run is a process
of its own, as on the command line."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

import scantling
import scantling_rules

PLATE = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'
    '<rect id="plate" x="5" y="5" width="50" height="30"/>'
    '<rect x="6.5" y="6.5" width="20" height="20"/></svg>'
)
JOB = """
[[stock]]
name = "ours-3"
material = "acrylic"
thickness = "3 mm"

[[assign]]
colour = "#000"
stock = "ours-3"
operation = "cut"
"""
RULE = """
from scantling.judge import Example, Fault, page

id = "a-bell"
level = "warning"
title = "a plate"
why = "It would ring."
remedy = "None."
source = "common practice, no source"
parameters = {}
passes = ()
fails = (Example(page('<rect width="20" height="20"/>')),)


def check(pieces):
    for piece in pieces:
        if piece.kept:
            yield Fault(message="it rings", on=piece.outer)
"""
STOCKS = """
[[material]]
name = "bronze"
title = "bronze"
thicknesses = ["3 mm"]
kerf = { laser = "0.1 mm" }

[material.minimum]
web = "1.0 mm"
gap = "0.1 mm"
hole = "0.1 mm"
stroke = "0.1 mm"
part = "0.1 mm"
"""


class Shop:
    """A folder with a drawing, a place for results, and packages that Python finds first. (It is
    judged as a folder: of a small drawing by itself no result is kept.)"""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.packages = folder / "packages"
        self.packages.mkdir()
        self.drawing = folder / "plate.svg"
        self.drawing.write_text(PLATE)

    def pack(self, value: str) -> None:
        """Have a pack found whose module is `value`."""
        info = self.packages / "bells-1.dist-info"
        info.mkdir()
        (info / "entry_points.txt").write_text(f"[scantling.rules]\nbells = {value}\n")

    def run(self, *args: str, **env: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "scantling", "lint", *args, "."],
            cwd=self.folder,
            capture_output=True,
            text=True,
            env=os.environ
            | {"PYTHONPATH": str(self.packages), "SCANTLING_CACHE": str(self.folder / "kept")}
            | env,
        )

    def lint(self, *args: str) -> str:
        """What lint says for the first and for the second time, which is the same."""
        first, second = self.run(*args), self.run(*args)
        assert first.stdout
        assert (first.stdout, first.returncode) == (second.stdout, second.returncode)
        assert first.stderr == second.stderr == ""
        return first.stdout


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    return Shop(tmp_path)


def _replace(file: Path, old: str, new: str) -> None:
    """Change a file as little as can be: it stays as long, and as old."""
    text = file.read_text(encoding="utf-8")
    assert old in text
    assert len(old) == len(new)
    times = os.stat(file)
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    os.utime(file, ns=(times.st_atime_ns, times.st_mtime_ns))
    for kept in (file.parent / "__pycache__").glob(f"{file.stem}.*"):
        kept.unlink()  # Python itself goes by length and time


def test_the_drawing(shop: Shop):
    assert "[thin-web]" in shop.lint("--stock", "acrylic-3")
    _replace(shop.drawing, 'y="6.5"', 'y="7.5"')
    _replace(shop.drawing, 'x="6.5"', 'x="7.5"')
    assert "[thin-web]" not in shop.lint("--stock", "acrylic-3")


def test_the_job_sheet(shop: Shop):
    sheet = shop.folder / "jobsheet.toml"
    sheet.write_text(JOB + '[rules.thin-web]\nlevel = "error"\n')
    assert ": error: " in shop.lint()
    sheet.write_text(JOB + '[rules.thin-web]\nlevel = "note"\n')
    assert ": error: " not in shop.lint()
    sheet.unlink()
    assert "ours-3" not in shop.lint()


def test_the_program_its_rules_and_its_stock_table(shop: Shop):
    for package in (scantling, scantling_rules):
        source = Path(package.__file__).parent
        away = shutil.ignore_patterns("__pycache__")
        shutil.copytree(source, shop.packages / source.name, ignore=away)
    table = shop.packages / "scantling_rules" / "stocks.toml"
    rule = shop.packages / "scantling_rules" / "features" / "thin_web.py"
    before = shop.lint("--stock", "acrylic-3")
    assert ": error: " in before
    assert "cast acrylic, 3 mm" in before
    _replace(table, 'title = "cast acrylic"', 'title = "cost acrylic"')
    after = shop.lint("--stock", "acrylic-3")
    assert "cost acrylic, 3 mm" in after
    _replace(rule, 'level = "error"', 'level = "note "')
    _replace(rule, 'level = "note "', 'level =  "note"')
    assert ": error: " not in shop.lint("--stock", "acrylic-3")
    _replace(shop.packages / "scantling" / "report" / "text.py", "finished", "FINISHED")
    assert "FINISHED" in shop.lint("--stock", "acrylic-3")


@pytest.mark.parametrize("outside", [False, True], ids=["in its package", "outside of it"])
def test_a_pack_and_its_stock_table(shop: Shop, outside: bool):
    pack = shop.packages / "bells"
    pack.mkdir()
    place = shop.packages / "elsewhere" if outside else pack
    place.mkdir(exist_ok=True)
    assert "it rings" not in shop.lint("--stock", "acrylic-3")
    (place / "stocks.toml").write_text(STOCKS)
    (place / "bell.py").write_text(RULE)
    (pack / "__init__.py").write_text(
        f"RULES = ('{place.name}.bell',)\nSTOCKS = {str(place / 'stocks.toml')!r}\n"
    )
    shop.pack("bells")
    assert "it rings" in shop.lint("--stock", "acrylic-3")
    before = shop.lint("--stock", "bronze-3")
    _replace(place / "bell.py", "it rings", "it jangs")
    after = shop.lint("--stock", "bronze-3")
    assert before.replace("it rings", "it jangs") == after
    assert "[thin-web]" not in after
    _replace(place / "stocks.toml", 'web = "1.0 mm"', 'web = "1.6 mm"')
    assert "[thin-web]" in shop.lint("--stock", "bronze-3")
    shutil.rmtree(shop.packages / "bells-1.dist-info")
    assert "it jangs" not in shop.lint("--stock", "acrylic-3")


@pytest.mark.parametrize("many", [False, True], ids=["a module", "in two folders"])
def test_a_pack_that_is_no_ordinary_package(shop: Shop, many: bool):
    if many:  # a namespace package: the rule is in the second folder of its path
        pack = shop.packages / "more" / "bells" / "pack"
        (shop.packages / "bells").mkdir()
        pack.mkdir(parents=True)
        (shop.packages / "bells" / "other.py").write_text("")
        name, file = "bells.pack", pack / "__init__.py"
    else:
        name, file = "bells", shop.packages / "bells.py"
    file.write_text(RULE + f"\nRULES = ('{name}',)\n")
    shop.pack(name)
    (shop.packages / "more").mkdir(exist_ok=True)
    path = os.pathsep.join((str(shop.packages), str(shop.packages / "more")))

    def said() -> list[str]:
        return [shop.run("--stock", "acrylic-3", PYTHONPATH=path).stdout for _ in range(2)]

    assert all("it rings" in text for text in said())
    _replace(file, "it rings", "it jangs")
    assert all("it jangs" in text for text in said())


def test_processes_that_make_the_store_at_once(shop: Shop):
    plain = shop.run("--afresh", "--stock", "acrylic-3").stdout
    runs = [
        subprocess.Popen(
            [sys.executable, "-m", "scantling", "lint", "--stock", "acrylic-3", "."],
            cwd=shop.folder,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env=os.environ | {"SCANTLING_CACHE": str(shop.folder / "kept")},
        )
        for _ in range(4)
    ]
    assert [run.communicate(timeout=60) for run in runs] == [(plain, "")] * 4
    assert shop.lint("--stock", "acrylic-3") == plain


UNPRIVILEGED = """
import os, sys
from scantling.cli import main
args = ["lint", "--stock", "acrylic-3", "."]
os.chdir(sys.argv[1])
try:
    main([*args, "--afresh"])  # loads what is needed
except SystemExit:
    print("--")
import scantling.catalogue.kept, scantling.catalogue.thumb, sqlite3
sys.stdout.flush()
if os.geteuid() == 0:
    os.seteuid(65534)
main(args)
"""


@pytest.fixture
def open_shop() -> Iterator[Shop]:
    """In a folder that any user can enter."""
    with tempfile.TemporaryDirectory() as folder:
        os.chmod(folder, 0o755)
        yield Shop(Path(folder))


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="nothing keeps a user from writing")
@pytest.mark.parametrize("filled", [False, True], ids=["an empty folder", "a store"])
def test_a_folder_that_cannot_be_written_to(open_shop: Shop, filled: bool):
    kept = open_shop.folder / "kept"
    kept.mkdir()
    if filled:
        assert open_shop.run("--stock", "acrylic-3").stdout
        (kept / "scantling.sqlite3").chmod(0o444)
    kept.chmod(0o555)
    done = subprocess.run(
        [sys.executable, "-c", UNPRIVILEGED, str(open_shop.folder)],
        capture_output=True,
        text=True,
        env=os.environ | {"SCANTLING_CACHE": str(kept)},
    )
    plain, _, again = done.stdout.partition("--\n")
    assert plain == again
    assert "[thin-web]" in again
    assert done.returncode == 1
    assert "cannot be used" in done.stderr
    assert "nothing is kept" in done.stderr
    kept.chmod(0o755)
