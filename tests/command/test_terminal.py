"""Where the command meets shells, terminals, names and platforms."""

from __future__ import annotations

import io
import json
import os
import re
import shutil
import subprocess
import sys
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

import click
import pytest

from scantling import lint, wanted
from scantling.cli import cli, main
from scantling.report.forms import Delivery, rendered
from scantling.report.model import Manner

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40">\n'
    '<text x="5" y="35">Moon</text><rect x="5" y="5" width="30" height="20"/></svg>\n'
)
NAME = "Entwürfe/月 & 🌙 #1.svg"
START = "import sys; sys.argv[0] = 'scantling'; from scantling.__main__ import run; run()"


def run(*args: str, cwd: Path, **env: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-c", START, *args],
        cwd=cwd, capture_output=True, env={**os.environ, "NO_COLOR": "1", **env}, timeout=60,
    )  # fmt: skip


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    (tmp_path / NAME).parent.mkdir()
    (tmp_path / NAME).write_text(SVG, encoding="utf-8")
    return tmp_path


# Shell completion, by the protocol of click's scripts


@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        ("scantling wat", ["plain,watch"]),
        ("scantling explain thin-", ["plain,thin-web", "plain,thin-stroke"]),
        ("scantling lint --report sa", ["plain,sarif"]),
        ("scantling lint --report sarif=out", ["file,out"]),
        ("scantling lint --stock mine", ["plain,mine-3"]),
        ("scantling lint --fail-at w", ["plain,warning"]),
        ("scantling lint --kno", ["plain,--known"]),
        ("scantling lint Ent", ["file,Ent"]),
    ],
)
def test_completion(shop: Path, typed: str, offered: list[str]):
    (shop / "jobsheet.toml").write_text(
        '[[stock]]\nname = "mine-3"\nmaterial = "plywood"\nthickness = 3\n'
        '[[assign]]\ncolour = "#000"\nstock = "mine-3"\noperation = "cut"\n',
        encoding="utf-8",
    )
    done = run(
        cwd=shop,
        _SCANTLING_COMPLETE="bash_complete",
        COMP_WORDS=typed,
        COMP_CWORD=str(len(typed.split()) - 1),
    )
    assert done.stdout.decode().split() == offered
    assert done.stderr == b""


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_shells_are_given_their_script(shop: Path, shell: str):
    if shell == "bash" and not shutil.which("bash"):
        pytest.skip("click asks bash for its version")
    done = run(cwd=shop, _SCANTLING_COMPLETE=f"{shell}_source")
    assert b"_SCANTLING_COMPLETE" in done.stdout


# Help


def test_every_command_and_option_says_what_it_does():
    ctx = click.Context(cli)
    for name in cli.list_commands(ctx):
        command = cli.get_command(ctx, name)
        assert command.help, name
        for option in command.params:
            if option.param_type_name == "option":
                assert getattr(option, "help", None), (name, option.name)


def test_help_documents_the_exit_codes(shop: Path):
    told = " ".join(run("--help", cwd=shop).stdout.decode().split())
    for words in ("Exit codes: 0", "1 findings", "2 some work could not be done"):
        assert words in told


def test_help_fits_a_narrow_terminal(shop: Path):
    told = run("lint", "--help", cwd=shop, COLUMNS="50").stdout.decode()
    assert max(map(len, told.splitlines())) <= 50


# Terminals


def on_terminal(shop: Path, *args: str, columns: int, **env: str) -> str:
    """What a terminal of so many columns is sent."""
    pty = pytest.importorskip("pty", reason="there are no pseudo-terminals here")
    import fcntl
    import struct
    import termios

    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    known = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "COLUMNS", "LINES")}
    process = subprocess.Popen(
        [sys.executable, "-m", "scantling", *args],
        cwd=shop, stdout=theirs, stderr=theirs, stdin=subprocess.DEVNULL,
        env={**known, "TERM": "xterm-256color", **env},
    )  # fmt: skip
    os.close(theirs)
    said = b""
    while True:
        try:
            more = os.read(ours, 65536)
        except OSError:  # Linux says so at the end
            break
        if not more:
            break
        said += more
    process.wait(60)
    os.close(ours)
    return said.decode()


ESCAPE = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")


def test_colour_on_a_terminal_and_none_with_no_color(shop: Path):
    assert ESCAPE.search(on_terminal(shop, "lint", columns=100))
    plain = on_terminal(shop, "lint", columns=100, NO_COLOR="1")
    assert not re.search(r"\x1b\[[0-9;]*3[0-9]", plain), "a colour"
    assert "live-text" in plain


def test_no_control_characters_on_a_dumb_terminal(shop: Path):
    assert "\x1b" not in on_terminal(shop, "lint", columns=100, TERM="dumb")


def test_a_terminal_of_few_characters_names_the_others_by_number(shop: Path):
    few = {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    assert r"60.8 mm\xb2 finished" in on_terminal(shop, "explain", "small-part", columns=200, **few)
    said = on_terminal(shop, "lint", columns=200, **few)
    assert r"Entw\xfcrfe/\u6708 & \U0001f319 #1.svg" in ESCAPE.sub("", said)


@pytest.mark.parametrize("columns", [20, 40, 80])
def test_lines_fit_the_terminal(shop: Path, columns: int):
    from rich.cells import cell_len

    said = ESCAPE.sub("", on_terminal(shop, "lint", columns=columns))
    assert "live-text" in "".join(said.split())
    assert max(cell_len(line) for line in said.splitlines()) <= columns


# Names and platforms


def test_names_of_any_script(shop: Path):
    done = run("lint", NAME, cwd=shop)
    assert f"{NAME}:2:1: error: ".encode() in done.stdout
    done = run("lint", NAME, "--report", "sarif", cwd=shop)
    (artifact,) = json.loads(done.stdout)["runs"][0]["artifacts"]
    # RFC 3986: what is not ASCII, and '#', '&' where it might be taken otherwise, is escaped
    assert artifact["location"]["uri"].startswith("Entw%C3%BCrfe/%E6%9C%88%20")
    assert "#" not in artifact["location"]["uri"]


def test_names_of_any_script_where_the_locale_knows_only_ascii(shop: Path):
    done = run("lint", NAME, cwd=shop, LC_ALL="C", PYTHONUTF8="0", PYTHONIOENCODING="ascii")
    assert b"Traceback" not in done.stdout + done.stderr
    assert done.returncode == 1
    assert b"live-text" in done.stdout


EVERYTHING = (
    ("lint", NAME), ("lint", NAME, "--report", "annotations"), ("lint", NAME, "--report", "junit"),
    ("audit", "Entwürfe"), ("audit", "Entwürfe", "--report", "csv"), ("parts", NAME),
    ("mend", NAME), ("start", NAME), ("explain",), ("explain", "thin-web"), ("stocks",),
    ("lint", "fehlt ☾.svg"),
)  # fmt: skip


def on_console(encoding: str, args: tuple[str, ...]) -> tuple[object, bytes]:
    """The exit code and what comes out of a command whose streams are in an encoding, as Python
    opens them for a process."""
    out = io.TextIOWrapper(io.BytesIO(), encoding, errors="strict")
    err = io.TextIOWrapper(io.BytesIO(), encoding, errors="backslashreplace")
    code: object = 0
    with redirect_stdout(out), redirect_stderr(err):
        try:
            main(list(args))
        except SystemExit as stop:
            code = stop.code
    out.flush()
    return code, out.buffer.getvalue()


@pytest.mark.parametrize("command", EVERYTHING, ids=" ".join)
def test_a_console_of_few_characters_is_no_obstacle(
    shop: Path, command: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
):
    """As on a Windows console: code page 1252 has neither 月 nor ☾. What goes to a file is UTF-8
    all the same."""
    monkeypatch.chdir(shop)
    code, said = on_console("utf-8", command)
    assert on_console("cp1252", command) == (code, said)
    said.decode("utf-8")


def test_a_process_on_a_console_of_few_characters(shop: Path):
    done = run("lint", NAME, cwd=shop, PYTHONIOENCODING="cp1252", PYTHONUTF8="0")
    assert done.returncode == 1
    assert f"{NAME}:2:1: error: ".encode() in done.stdout
    assert b"Traceback" not in done.stderr


@pytest.mark.skipif(sys.platform != "linux", reason="other systems have no such names")
def test_a_name_that_is_not_even_text(shop: Path):
    name = os.path.join(os.fsencode(shop), b"\xff.svg")
    Path(os.fsdecode(name)).write_text(SVG, encoding="utf-8")
    done = run("lint", os.fsdecode(name), "--write-known", "known.json", cwd=shop)
    assert done.returncode == 0, done.stderr
    report = lint(os.fsdecode(name), known=shop / "known.json")
    assert report.exit_code == 0
    for form in ("text", "sarif", "json", "junit", "csv", "annotations"):
        rendered(Delivery(form), report, Manner()).decode("utf-8")


def test_paths_are_shown_with_forward_slashes(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(wanted.os, "sep", "\\")
    assert wanted.shown(r"signs\Mond Uhr.svg") == "signs/Mond Uhr.svg"
