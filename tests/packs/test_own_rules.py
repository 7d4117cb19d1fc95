"""Rules that a job sheet brings along: never run unless the command line allows it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from scantling import lint
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
    assert any("nmae" in t and '"name"' in t for t in report.troubles), report.troubles


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


def test_on_the_command_line(shop: Path):
    def run(*more: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "scantling", "lint", "sign.svg", *more],
            cwd=shop, capture_output=True, encoding="utf-8", env={**os.environ, "NO_COLOR": "1"},
        )  # fmt: skip

    done = run()
    assert (done.returncode, ran(shop)) == (0, False)
    assert "own rules were not run (rules/no_name.py)" in done.stdout
    done = run("--allow-own-rules")
    assert (done.returncode, ran(shop)) == (1, True)
    assert "[no-name]" in done.stdout
