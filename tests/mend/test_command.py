"""The command: what it shows, what it writes, and how it ends."""

from __future__ import annotations

import gzip
import os
import shutil
import subprocess
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from sketching import HAIR, page

from scantling.cli import cli
from scantling.linter import Linter, Wanted

OPEN = page('<!-- 🌙 stays -->\n<path d="M5 5H35V35"/>\n<text x="5" y="9">a</text>')
SHUT = OPEN.replace('V35"', 'V35Z"')


def run(*args: str) -> Result:
    return CliRunner().invoke(cli, ["mend", "--stock", "plywood-3", *args])


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_diff_is_shown_and_nothing_written(folder: Path):
    Path("moon.svg").write_text(OPEN, encoding="utf-8")
    done = run("moon.svg")
    assert done.exit_code == 1
    assert done.stdout.splitlines()[:2] == ["--- a/moon.svg", "+++ b/moon.svg"]
    assert [row for row in done.stdout.splitlines() if row[:1] in "+-"][2:] == [
        '-<path d="M5 5H35V35"/>',
        '+<path d="M5 5H35V35Z"/>',
    ]
    assert "moon.svg:3:14: close the outline as its fill does [open-path]" in done.stderr
    assert Path("moon.svg").read_text(encoding="utf-8") == OPEN


@pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed")
@pytest.mark.parametrize("end", ["\n", "\r\n", ""])
def test_the_diff_can_be_applied(folder: Path, end: str):
    text = OPEN.replace("\n", end or "\n")
    text = text if end else text.rstrip("\n")
    file = Path("moon.svg")
    file.write_bytes(text.encode())
    Path("change.diff").write_bytes(run("moon.svg").stdout_bytes)
    environment = {**os.environ, "GIT_DIR": os.devnull, "GIT_CEILING_DIRECTORIES": str(folder)}
    done = subprocess.run(
        ["git", "apply", "--whitespace=nowarn", "change.diff"], capture_output=True, env=environment
    )
    assert done.returncode == 0, done.stderr
    assert file.read_bytes() == text.replace('V35"', 'V35Z"').encode()


def test_writing_mends_and_a_second_run_finds_nothing_to_do(folder: Path):
    file = Path("moon.svg")
    file.write_text(OPEN, encoding="utf-8")
    file.chmod(0o640)
    first = run("--write", "moon.svg")
    assert (first.exit_code, first.stdout) == (1, "")
    assert file.read_text(encoding="utf-8") == SHUT
    assert file.stat().st_mode & 0o777 == 0o640
    second = run("--write", "moon.svg")
    assert (second.exit_code, second.stdout, second.stderr) == (0, "", "")


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-be", "latin-1", "cp1252"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_every_other_byte_stays(folder: Path, encoding: str, end: str):
    declared = "utf-8" if encoding == "utf-8-sig" else encoding.removesuffix("-be")
    head = f'<?xml version="1.0" encoding="{declared}"?>\n'
    old = (head + OPEN.replace("🌙", "é")).replace("\n", end)
    new = (head + SHUT.replace("🌙", "é")).replace("\n", end)
    file = Path("moon.svg")
    mark = b"\xfe\xff" if encoding == "utf-16-be" else b""
    file.write_bytes(mark + old.encode(encoding))
    assert run("--write", "moon.svg").exit_code == 1
    assert file.read_bytes() == mark + new.encode(encoding)


def test_compressed_drawings_stay_compressed(folder: Path):
    file = Path("moon.svgz")
    file.write_bytes(gzip.compress(OPEN.encode()))
    assert run("--write", "moon.svgz").exit_code == 1
    assert gzip.decompress(file.read_bytes()).decode() == SHUT


def test_only_the_rules_asked_for_are_mended(folder: Path):
    square = '<rect x="5" y="5" width="9" height="9"/>'
    twice = page(f'<g {HAIR}>{square}{square}</g>\n<path d="M35 5H65V35"/>')
    Path("moon.svg").write_text(twice, encoding="utf-8")
    assert "V35Z" not in run("moon.svg", "--rule", "duplicate-line").stdout
    assert "V35Z" in run("moon.svg", "--rule", "open-path").stdout
    wrong = run("moon.svg", "--rule", "open-pat")
    assert wrong.exit_code == 2
    assert "did you mean 'open-path'?" in wrong.stderr


def test_what_stays_is_said_with_its_reason(folder: Path):
    Path("moon.svg").write_text(page(f'<path {HAIR} d="M5 5H35V35H5V5.4"/>'), encoding="utf-8")
    done = run("moon.svg")
    assert (done.exit_code, done.stdout) == (0, "")
    assert done.stderr == (
        "moon.svg:2:59: stays: its ends are 0.40 mm apart, and ends are joined up to 0.05 mm "
        "[open-path]\n"
    )
    assert run("moon.svg", "--join", "0.5 mm").exit_code == 1
    assert run("moon.svg", "--join", "wide").exit_code == 2


def test_files_that_cannot_be_mended_do_not_keep_the_others_from_it(folder: Path):
    Path("broken.svg").write_text("<svg", encoding="utf-8")
    Path("moon.svg").write_text(OPEN, encoding="utf-8")
    done = run("--write", "broken.svg", "none.svg", "moon.svg")
    assert done.exit_code == 2
    assert "broken.svg:1:" in done.stderr
    assert "none.svg: error: no such file or folder" in done.stderr
    assert Path("moon.svg").read_text(encoding="utf-8") == SHUT


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root writes anything")
def test_a_write_protected_file_is_left(folder: Path):
    Path("moon.svg").write_text(OPEN, encoding="utf-8")
    Path("moon.svg").chmod(0o444)
    done = run("--write", "moon.svg")
    assert done.exit_code == 2
    assert "moon.svg: error: cannot be written: it is write-protected" in done.stderr


def test_folders_are_searched(folder: Path):
    Path("deep").mkdir()
    Path("deep/moon.svg").write_text(OPEN, encoding="utf-8")
    assert run("--write", ".").exit_code == 1
    assert Path("deep/moon.svg").read_text(encoding="utf-8") == SHUT


def test_accepted_findings_are_not_mended(folder: Path):
    accepted = OPEN.replace("<path", '<path data-scantling-accept="open-path: a slot"')
    Path("moon.svg").write_text(accepted, encoding="utf-8")
    assert run("moon.svg").exit_code == 0
    report = Linter(Wanted(stock="plywood-3")).file("moon.svg")
    assert any(finding.accepted == "a slot" for finding in report.findings)
