"""Rules that a job sheet brings along: never run unless the command line allows it."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from scantling import lint
from scantling.cli import main
from scantling.judge.packs import installed
from scantling.linter import Linter
from scantling.wanted import Wanted

RULE = """
from pathlib import Path
from scantling.judge import Example, Fault

Path(__file__).with_name("was-run").touch()
id = "no-name"
level = "error"
title = "a drawing without the workshop's name"
why = remedy = "Sign it."
source = "common practice, no source"
parameters = {"name": {"type": "string", "default": "Orrery Lane"}}
passes = fails = (Example("<svg/>"),)


def check(drawing, options):
    if options["name"] not in drawing.source.text:
        yield Fault(message=f"{options['name']} is not named", on=drawing.root)
"""
JOB = 'rules-from = ["rules/no_name.py"]\n[rules.no-name]\nname = "Lantern Yard"\n'
SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40">'
    '<rect x="5" y="5" width="30" height="30"/></svg>'
)


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    (tmp_path / "rules").mkdir()
    (tmp_path / "rules" / "no_name.py").write_text(RULE, encoding="utf-8")
    (tmp_path / "jobsheet.toml").write_text(JOB, encoding="utf-8")
    (tmp_path / "sign.svg").write_text(SVG, encoding="utf-8")
    return tmp_path


def ran(shop: Path) -> bool:
    return (shop / "rules" / "was-run").exists()


def test_not_without_leave(shop: Path):
    report = lint(shop / "sign.svg")
    assert not ran(shop)
    (file,) = report.files
    assert report.exit_code == 0, file
    assert any("no_name.py" in n and "--allow-own-rules" in n for n in file.notices)
    assert "no-name" not in {rule.id for rule in report.rules}


def test_with_leave(shop: Path):
    report = lint(shop / "sign.svg", own_rules=True)
    assert ran(shop)
    (finding,) = [f for f in report.findings if f.rule == "no-name"]
    assert finding.message == "Lantern Yard is not named"
    assert report.exit_code == 1
    assert not report.files[0].notices or "own rules" not in " ".join(report.files[0].notices)
    (text,) = [rule for rule in report.rules if rule.id == "no-name"]
    assert (text.family, text.title) == ("own", "a drawing without the workshop's name")
    assert not list((shop / "rules").rglob("*.pyc"))


def test_its_options_are_checked(shop: Path):
    (shop / "jobsheet.toml").write_text(JOB.replace("name =", "nmae ="), encoding="utf-8")
    report = lint(shop / "sign.svg", own_rules=True)
    assert report.exit_code == 2
    assert any("nmae" in t and '"name"' in t for t in map(str, report.troubles)), report.troubles


def test_it_can_be_accepted_like_any_other(shop: Path):
    (shop / "jobsheet.toml").write_text(
        JOB + '[[accept]]\nrule = "no-name"\nreason = "a gift"\n', encoding="utf-8"
    )
    report = lint(shop / "sign.svg", own_rules=True)
    assert [f.accepted for f in report.findings if f.rule == "no-name"] == ["a gift"]
    without = lint(shop / "sign.svg")  # nobody can say that the entry is idle
    assert without.exit_code == 0
    assert "idle-acceptance" not in {f.rule for f in without.findings}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1 / 0", "ZeroDivisionError"),
        ("raise SystemExit(3)", "SystemExit"),
        ("def (", "SyntaxError"),
        ("\0", "no_name.py"),
        (
            "id = 'no-name'",
            "no_name.py: the rule module has no level, title, why, remedy, source, ",
        ),
        (RULE.replace('"no-name"', '"thin-web"'), "there is a rule thin-web already"),
        (None, "cannot be read"),
    ],
)
def test_what_goes_wrong_in_it_is_named_and_the_rest_is_judged(
    shop: Path, text: str | None, words: str
):
    file = shop / "rules" / "no_name.py"
    file.unlink() if text is None else file.write_text(text, encoding="utf-8")
    (shop / "sign.svg").write_text(SVG.replace("/></svg>", "/><text>a</text></svg>"))
    report = lint(shop / "sign.svg", own_rules=True)
    assert report.exit_code == 2
    (trouble,) = report.troubles
    assert "no_name.py" in trouble
    assert words in trouble
    assert "live-text" in {finding.rule for finding in report.findings}


def test_a_crash_while_judging(shop: Path):
    text = RULE.replace("    if options", "    1 / 0\n    if options")
    (shop / "rules" / "no_name.py").write_text(text, encoding="utf-8")
    report = lint(shop / "sign.svg", own_rules=True)
    (failure,) = report.failures
    assert "no_name.py failed: ZeroDivisionError" in failure.message
    assert "rule no-name" in failure.message


def test_only_those_of_the_job_sheet_above_a_drawing(shop: Path):
    (shop / "other").mkdir()
    (shop / "other" / "jobsheet.toml").write_text("", encoding="utf-8")
    (shop / "other" / "sign.svg").write_text(SVG, encoding="utf-8")
    report = lint(shop, own_rules=True)
    assert [f.file.endswith("other/sign.svg") for f in report.findings if f.rule == "no-name"] == [
        False
    ]


def test_a_changed_rule_is_read_anew(shop: Path):
    linter = Linter(Wanted(own_rules=True))
    path = str(shop / "sign.svg")
    assert "no-name" in {f.rule for f in linter.file(path).findings}
    assert linter.brought(str(shop / "jobsheet.toml"))
    (shop / "rules" / "no_name.py").write_text(RULE.replace("not in", "in"), encoding="utf-8")
    linter.refresh()
    assert "no-name" not in {f.rule for f in linter.file(path).findings}


def run(shop: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "scantling", *words],
        cwd=shop, capture_output=True, encoding="utf-8", env={**os.environ, "NO_COLOR": "1"},
    )  # fmt: skip


NOT_RUN = "own rules were not run (rules/no_name.py); --allow-own-rules runs them"


def test_on_the_command_line(shop: Path):
    done = run(shop, "lint", "sign.svg")
    assert (done.returncode, ran(shop)) == (0, False)
    assert NOT_RUN in done.stdout
    done = run(shop, "lint", "sign.svg", "--allow-own-rules")
    assert (done.returncode, ran(shop)) == (1, True)
    assert "[no-name]" in done.stdout


def test_it_is_explained_with_leave(shop: Path):
    done = run(shop, "explain", "no-name")
    assert (done.returncode, ran(shop)) == (2, False)
    assert "no rule is called 'no-name'" in done.stderr
    assert NOT_RUN in done.stderr
    done = run(shop, "explain", "no-name", "--allow-own-rules")
    assert (done.returncode, ran(shop), done.stderr) == (0, True, "")
    for words in ("# no-name\n", "rules/no_name.py", "Sign it.", "- `name` = `Orrery Lane`\n"):
        assert words in done.stdout


def test_it_is_listed_with_leave(shop: Path):
    done = run(shop, "explain")
    assert (done.returncode, ran(shop)) == (0, False)
    assert "no-name" not in done.stdout
    assert NOT_RUN in done.stderr
    done = run(shop, "explain", "--allow-own-rules")
    assert (done.returncode, done.stderr) == (0, "")
    assert "  a drawing without the workshop's name\n" in done.stdout
    assert "thin-web" in done.stdout


def test_its_job_sheet_is_the_nearest_above_or_the_one_named(shop: Path):
    below, beside = shop / "a" / "b", shop / "c"
    below.mkdir(parents=True)
    beside.mkdir()
    assert "# no-name" in run(below, "explain", "no-name", "--allow-own-rules").stdout
    (beside / "jobsheet.toml").write_text("", encoding="utf-8")
    assert run(beside, "explain", "no-name", "--allow-own-rules").returncode == 2
    named = ("--job", "../jobsheet.toml", "--allow-own-rules")
    assert "# no-name" in run(beside, "explain", "no-name", *named).stdout


def test_a_shipped_rule_is_explained_whatever_the_job_sheet(shop: Path):
    (shop / "jobsheet.toml").write_text("rules-from = [", encoding="utf-8")
    done = run(shop, "explain", "thin-web", "--allow-own-rules")
    assert (done.returncode, done.stderr) == (0, "")
    assert run(shop, "explain").returncode == 0
    done = run(shop, "explain", "--allow-own-rules")
    assert done.returncode == 2
    assert done.stderr.startswith("scantling: error: jobsheet.toml:1:")
    done = run(shop, "explain", "thin-web", "--job", "other.toml")
    assert done.returncode == 2
    assert "other.toml: cannot be read" in done.stderr


def test_its_options_can_be_looked_up_where_the_job_sheet_has_them_wrong(shop: Path):
    (shop / "jobsheet.toml").write_text(JOB.replace("name =", "nmae ="), encoding="utf-8")
    done = run(shop, "explain", "no-name", "--allow-own-rules")
    assert done.returncode == 0
    assert "- `name` = `Orrery Lane`\n" in done.stdout


def test_one_that_fails_is_named_and_the_others_are_listed(shop: Path):
    (shop / "rules" / "no_name.py").write_text("1 / 0", encoding="utf-8")
    done = run(shop, "explain", "--allow-own-rules")
    assert done.returncode == 2
    assert done.stderr == (
        "scantling: error: rules/no_name.py: ZeroDivisionError: division by zero\n"
    )
    assert "thin-web" in done.stdout


@pytest.mark.parametrize("allowed", [True, False])
def test_its_pages_are_in_the_handbook_with_leave(
    shop: Path, allowed: bool, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    """Of the installed rules one is enough here: tests/rules/test_handbook.py draws them all."""
    whole = installed()
    few = replace(whole, rules=(whole.by_id()["live-text"],))
    monkeypatch.setattr("scantling.judge.packs.installed", lambda: few)
    monkeypatch.chdir(shop)
    main(["explain", "--pages", "pages", *["--allow-own-rules"][: int(allowed)]])
    pages = {path.name for path in (shop / "pages").rglob("*") if path.is_file()}
    assert {"README.md", "live-text.md", "live-text-fails-1.svg"} <= pages
    own = {"no-name.md", "no-name-passes-1.svg", "no-name-fails-1.svg"}
    assert pages & own == (own if allowed else set())
    linked = "[no-name](no-name.md) | error | a drawing without the workshop's name"
    assert (linked in (shop / "pages" / "README.md").read_text(encoding="utf-8")) == allowed
    assert (NOT_RUN in capsys.readouterr().err) == (not allowed)
