"""Lint with kept results says what lint without them says."""

from pathlib import Path

import pytest
from shop import JOB, build

from scantling import api
from scantling.catalogue.store import FILE_NAME
from scantling.report.model import Report

OURS = """
from scantling.judge import Example, Fault, page

id = "our-names"
level = "warning"
title = "a part without a name"
why = "Nobody finds it again."
remedy = "Name it."
source = "common practice, no source"
parameters = {}
passes = (Example(page('<rect id="a" width="20" height="20"/>')),)
fails = (Example(page('<rect width="20" height="20"/>')),)


def check(pieces):
    for piece in pieces:
        if piece.name in ("path", "rect"):
            yield Fault(message="part without a name", on=piece.outer)
"""


@pytest.fixture(autouse=True)
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(build(tmp_path / "shop"))
    monkeypatch.setenv("SCANTLING_CACHE", str(tmp_path / "cache"))
    return tmp_path


def thrice(*paths: str, **given) -> Report:
    """Without the store, with an empty one, with a full one: the same."""
    plain = api.lint(paths or ".", **given)
    assert api.lint(paths or ".", cache=True, **given) == plain
    assert api.lint(paths or ".", cache=True, **given) == plain
    return plain


def test_files_and_folders():
    report = thrice("doors", "signs/broken.svg", "missing.svg")
    assert len(report.failures) == 2
    assert len(report.findings) == 2


def test_another_stock_and_size():
    thrice(stock="card-1", width=90)
    thrice(stock="no-such")


def test_acceptances_in_the_job_sheet_idle_ones_among_them():
    Path("jobsheet.toml").write_text(
        JOB
        + '[[accept]]\nrule = "thin-web"\nreason = "held by a frame"\n'
        + '[[accept]]\nrule = "open-path"\nfiles = "signs/arrow.svg"\nreason = "a fold"\n',
        encoding="utf-8",
    )
    report = thrice("doors", "signs/arrow.svg")
    assert [f.rule for f in report.findings if f.accepted] == ["thin-web"]
    assert "idle-acceptance" in [f.rule for f in report.findings]


def test_lists_of_known_findings(tmp_path: Path):
    api.write_known(api.lint("doors"), tmp_path / "known.json")
    report = thrice("doors", known=str(tmp_path / "known.json"))
    assert report.exit_code == 0
    assert all(finding.accepted for finding in report.findings)


def test_rules_of_the_shop_s_own():
    Path("ours.py").write_text(OURS, encoding="utf-8")
    Path("jobsheet.toml").write_text('rules-from = ["ours.py"]\n' + JOB, encoding="utf-8")
    report = thrice("doors", own_rules=True)
    assert "our-names" in [rule.id for rule in report.rules]
    assert "our-names" not in [rule.id for rule in thrice("doors").rules]


def test_a_wrong_job_sheet():
    Path("jobsheet.toml").write_text(JOB.replace("plywood", "plywod"), encoding="utf-8")
    report = thrice("doors")
    assert len(report.failures) == 3
    assert len(report.troubles) == 1


def test_a_broken_store_is_told_and_costs_nothing(tmp_path: Path):
    plain = api.lint("doors")
    (tmp_path / "cache").mkdir()
    (tmp_path / "cache" / FILE_NAME).write_bytes(b"no store at all, but long enough to be read")
    told: list[str] = []
    assert api.lint("doors", cache=True, tell=told.append) == plain
    assert len(told) == 1
    assert "a new one is begun" in told[0]
    assert api.lint("doors", cache=True, tell=told.append) == plain
    assert len(told) == 1


def test_a_cache_folder_that_cannot_be_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setenv("SCANTLING_CACHE", str(tmp_path / "file" / "cache"))
    told: list[str] = []
    assert api.lint("doors", cache=True, tell=told.append) == api.lint("doors")
    assert "nothing is kept" in told[0]
