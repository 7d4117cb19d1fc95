"""The same repairs as SARIF fixes and as an editor's actions."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import CliRunner
from sketching import HAIR, findings, mended, page

from scantling.cli import cli
from scantling.linter import Linter, Wanted
from scantling.mend.offers import RULES, with_fixes
from scantling.read import Source

SCHEMA = Path(__file__).parents[1] / "report" / "sarif-2.1.0.schema.json"
TEXT = page(
    '<!-- 🌙 --><path d="M5 5H35V35"/><path d="M45 5H75V35"/>\n'
    f'<g {HAIR}><rect x="5" y="50" width="9" height="9"/>\n'
    '<rect x="5" y="50" width="9" height="9"/></g>'
)


def log(folder: Path, monkeypatch: pytest.MonkeyPatch, text: str) -> dict[str, Any]:
    monkeypatch.chdir(folder)
    (folder / "moon.svg").write_text(text, encoding="utf-8")
    done = CliRunner().invoke(
        cli, ["lint", "--afresh", "--stock", "plywood-3", "--report", "sarif", "moon.svg"]
    )
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def test_sarif_tells_of_repairs_by_their_regions(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    found = log(tmp_path, monkeypatch, TEXT)
    jsonschema.validate(found, json.loads(SCHEMA.read_text(encoding="utf-8")))
    run = found["runs"][0]
    assert run["columnKind"] == "unicodeCodePoints"
    with_fix = [r for r in run["results"] if "fixes" in r]
    assert sorted(r["ruleId"] for r in with_fix) == ["duplicate-line", "open-path", "open-path"]
    assert {r["ruleId"] for r in run["results"] if r["ruleId"] in RULES} == {
        r["ruleId"] for r in with_fix
    }
    # each alone mends its own finding
    lines = TEXT.split("\n")
    for result in with_fix:
        new = TEXT
        (fix,) = result["fixes"]
        (change,) = fix["artifactChanges"]
        for one in sorted(change["replacements"], key=lambda r: -r["deletedRegion"]["charOffset"]):
            region = one["deletedRegion"]
            start = region["charOffset"]
            new = new[:start] + one["insertedContent"]["text"] + new[start + region["charLength"] :]
            before = sum(len(line) + 1 for line in lines[: region["startLine"] - 1])
            assert before + region["startColumn"] - 1 == start
        left = [f.rule for f in findings(new) if f.rule in RULES]
        wanted = [r["ruleId"] for r in with_fix]
        wanted.remove(result["ruleId"])
        assert sorted(left) == sorted(wanted)


def test_what_cannot_be_mended_has_no_fix():
    text = page(f'<path {HAIR} d="M5 5H35V35"/>')
    linter = Linter(Wanted(stock="plywood-3"))
    source = Source.from_text(text, "moon.svg")
    report = with_fixes(linter.text(text, "moon.svg"), source, "moon.svg", linter)
    assert [finding.rule for finding in report.findings] == ["open-path"]
    assert all(not finding.fixes for finding in report.findings)


def test_all_repairs_together_are_what_mending_does():
    linter = Linter(Wanted(stock="plywood-3"))
    source = Source.from_text(TEXT, "moon.svg")
    report = with_fixes(linter.text(TEXT, "moon.svg"), source, "moon.svg", linter)
    new = TEXT
    changes = [change for f in report.findings for fix in f.fixes for change in fix.replacements]
    for place, text in sorted(changes, reverse=True):
        new = new[: place.offset] + text + new[place.end_offset :]
    assert new == mended(TEXT).text
