"""What may be written wrongly on the command line: one line each that says what would be right,
exit code 2, nothing written."""

from __future__ import annotations

from pathlib import Path

import pytest

from scantling import lint
from scantling.cli import main

GOOD = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40">'
    '<rect x="5" y="5" width="30" height="30"/></svg>'
)
EMPTY = "it is empty; name something, or leave it out"
JUDGING = (("lint",), ("audit",), ("parts",), ("mend",), ("watch",))


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SCANTLING_CACHE", str(tmp_path / "cache"))
    (tmp_path / "good.svg").write_text(GOOD, encoding="utf-8")
    (tmp_path / "bad.svg").write_text("<svg>\n<g></svg>", encoding="utf-8")
    (tmp_path / "empty").mkdir()
    return tmp_path


def said(args: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> str:
    """The one line that is said."""
    with pytest.raises(SystemExit) as stop:
        main(args)
    assert stop.value.code == 2
    out, err = capsys.readouterr()
    assert out == ""
    (line,) = err.splitlines()
    assert line.startswith("scantling: error: ")
    return line


@pytest.mark.parametrize("command", JUDGING)
@pytest.mark.parametrize(
    ("width", "words"),
    [
        ("-5", "is negative; allowed: a length such as"),
        ("0", "is not above 0; allowed: a length such as"),
        ("10 furlongs", 'has the unknown unit "furlongs"; allowed: mm, cm, '),
        ("ten", "is not a length; allowed: "),
        ("10,5 mm", "write a decimal point, not a comma"),
        ("", "is not a length; allowed: "),
    ],
)
def test_a_wrong_size(
    shop: Path, command: tuple[str], width: str, words: str, capsys: pytest.CaptureFixture[str]
):
    assert words in said((*command, "good.svg", "--width", width), capsys)


@pytest.mark.parametrize("command", JUDGING)
@pytest.mark.parametrize("option", ["--job", "--stock"])
def test_a_name_that_is_empty(
    shop: Path, command: tuple[str], option: str, capsys: pytest.CaptureFixture[str]
):
    assert EMPTY in said((*command, "good.svg", option, ""), capsys)


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("lint", ""), EMPTY),
        (("start", ""), EMPTY),
        (("explain", "--pages", ""), EMPTY),
        (("lint", "good.svg", "--known", ""), EMPTY),
        (("lint", "good.svg", "--write-known", ""), EMPTY),
        (("audit", "--against", ""), EMPTY),
        (("audit", "--scheduler", ""), EMPTY),
        (("start", "empty"), "empty is a folder; name one drawing"),
        (("start", "bad.svg"), "bad.svg:2:6: not XML: mismatched tag"),
        (("start", "nosuch.svg"), "nosuch.svg: cannot be opened: no such file"),
        (("explain", "what"), "no rule is called 'what'; `scantling explain` lists the rules"),
        (("explain", "thinweb"), "no rule is called 'thinweb'; did you mean 'thin-web'?"),
        (("explain", "--pages", "good.svg"), "'good.svg' is a file"),
        (("explain", "--pages", "good.svg/in"), "cannot write good.svg/in"),
        (("audit", "--workers", "0"), "'0' is not a whole number from 1 to 1024"),
        (("audit", "--workers", "two"), "'two' is not a whole number from 1 to 1024"),
        (("audit", "--time-limit", "-1"), "'-1' is not a number from 0 to 86400"),
        (("audit", "--time-limit", "nan"), "'nan' is not a number from 0 to 86400"),
        (("audit", "--part", "3/2"), "allowed: K/N with K from 1 to N, such as 2/5"),
        (("audit", "--against", "nosuch"), "LAST, a date and a SARIF file can be compared with"),
        (("watch", "good.svg", "--port", "99999"), "'99999' is not a whole number from 0 to 65535"),
        (("mend", "good.svg", "--colour-difference", "x"), "'x' is not a number from 0 to 100"),
        (("mend", "good.svg", "--join", "-1"), '"-1" is negative; allowed: a length such as'),
        (("lint", "good.svg", "--report", "json=empty"), "cannot write empty: "),
        (("lint", "good.svg", "--report", "json=no/x.json"), "cannot write no/x.json: No such"),
        (("parts", "good.svg", "--report", "csv=empty"), "cannot write empty: "),
        (("audit", ".", "--report", "page=good.svg/in"), "cannot write good.svg/in: "),
        (("lint", "good.svg", "--write-known", "no/x.json"), "cannot write no/x.json: No such"),
    ],
)
def test_a_wrong_value(
    shop: Path, args: tuple[str, ...], words: str, capsys: pytest.CaptureFixture[str]
):
    before = sorted(p.name for p in shop.iterdir() if p.name != "cache")
    assert words in said(args, capsys)
    assert sorted(p.name for p in shop.iterdir() if p.name != "cache") == before


@pytest.mark.parametrize("args", [("lint", ""), ("parts", "", "good.svg")])
def test_an_empty_name_is_not_this_folder(
    shop: Path, args: tuple[str, ...], capsys: pytest.CaptureFixture[str]
):
    """As a script names it whose variable is not set."""
    assert EMPTY in said(args, capsys)
    report = lint("")
    assert [failure.message for failure in report.failures] == ["no such file or folder"]
