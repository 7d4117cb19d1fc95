"""Bad input: one clear line each, exit code 2, the other files still judged, never a traceback."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

GOOD = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40">'
    '<rect x="5" y="5" width="30" height="30"/></svg>'
)
HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40">'
BAD: dict[str, bytes] = {
    "not-xml.svg": b"this is no drawing",
    "empty.svg": b"",
    "cut-off.svg": b"<svg xmlns='http://www.w3.org/2000/svg'><g>",
    "html.svg": b"<html><body>404</body></html>",
    "encoding.svg": b"<?xml version='1.0' encoding='utf-8'?><svg>\xff\xfe\xfa</svg>",
    "no-such-encoding.svg": b"<?xml version='1.0' encoding='moon'?><svg/>",
    "entity.svg": b'<!DOCTYPE svg [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]><svg>&b;</svg>',
    "outside.svg": b'<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/passwd">]><svg>&a;</svg>',
    "deep.svg": HEAD.encode() + b"<g>" * 10_000 + b"</g>" * 10_000 + b"</svg>",
}
# Read up to the trouble, or with it left out, and said in a finding.
ODD: dict[str, str] = {
    "loop.svg": HEAD + '<g id="a"><use href="#a"/><rect width="9" height="9"/></g></svg>',
    "nan.svg": HEAD + '<path d="M5 5H35V35H5Z M NaN 3 L 4 4"/></svg>',
    "far.svg": HEAD + '<path d="M5 5H35V35H5Z M1e308 0L1e308 9L1e307 3Z"/></svg>',
}


def run(*args: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "scantling", *args],
        cwd=cwd,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=60,
        env={**os.environ, "NO_COLOR": "1"},
    )


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    base = tmp_path_factory.mktemp("drawings")
    for name, data in BAD.items():
        (base / name).write_bytes(data)
    for name, text in ODD.items():
        (base / name).write_text(text, encoding="utf-8")
    (base / "good.svg").write_text(GOOD, encoding="utf-8")
    (base / "nothing").mkdir()
    return base


def test_each_unreadable_file_is_one_line_and_the_rest_is_judged(folder: Path):
    names = [*sorted(BAD), "missing.svg", "nothing"]
    done = run("lint", *names, "good.svg", cwd=folder)
    assert done.returncode == 2, done.stdout + done.stderr
    assert "Traceback" not in done.stdout + done.stderr
    lines = done.stdout.splitlines()
    for name in names:
        told = [line for line in lines if line.startswith(f"{name}:")]
        assert len(told) == 1, (name, told)
        assert "error:" in told[0]
        assert len(told[0]) < 300
    assert any("good.svg" in line for line in lines)


@pytest.mark.parametrize("name", sorted(ODD))
def test_odd_drawings_are_judged_with_a_finding(folder: Path, name: str):
    done = run("lint", name, cwd=folder)
    assert "Traceback" not in done.stdout + done.stderr
    assert done.returncode in (0, 1, 2)
    assert f"{name}:" in done.stdout


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("lnt",), "did you mean 'lint'"),
        (("explain", "thin-wbe"), "did you mean 'thin-web'"),
        (("lint", "good.svg", "--stock", "plywod-3"), "plywood-3"),
        (("lint", "good.svg", "--width", "six mm"), "six mm"),
        (("lint", "good.svg", "--report", "sarf"), "sarif"),
        (("lint", "good.svg", "--job", "nowhere.toml"), "nowhere.toml"),
        (("lint", "good.svg", "--limit", "nestin=3"), "nesting"),
    ],
)
def test_wrong_usage_is_one_line_with_the_nearest_word(
    folder: Path, args: tuple[str, ...], words: str
):
    done = run(*args, cwd=folder)
    told = done.stdout + done.stderr
    assert done.returncode == 2, told
    assert words in told
    assert "Traceback" not in told
