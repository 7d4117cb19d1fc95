"""SARIF: by the standard's schema, and by readers that others have written."""

from __future__ import annotations

import json
import ntpath
import os
import posixpath
import subprocess
from dataclasses import replace
from pathlib import Path
from urllib.parse import unquote, urlsplit

import jsonschema
import pytest

from scantling.judge.finding import Place
from scantling.plan.checked import Problem
from scantling.report import sarif
from scantling.report.model import Manner
from scantling.report.places import from_root, uri

PLAIN = Manner()
# The standard's JSON Schema (OASIS, SARIF 2.1.0) in its draft 2020-12 edition, MIT licence
SCHEMA = json.loads(Path(__file__).with_name("sarif-2.1.0.schema.json").read_text("utf-8"))


@pytest.fixture(scope="module")
def valid():
    validator = jsonschema.Draft202012Validator(
        SCHEMA, format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER
    )

    def check(log):
        problems = [f"{e.json_path}: {e.message}" for e in validator.iter_errors(log)]
        assert problems == []
        return log["runs"][0]

    return check


def test_the_schema_finds_faults(valid, report):
    broken = sarif.log(report, PLAIN)
    broken["runs"][0]["results"][0]["level"] = "bad"
    with pytest.raises(AssertionError):
        valid(broken)


def test_a_whole_report_is_valid(valid, report):
    run = valid(json.loads(sarif.render(report, PLAIN)))
    assert [result["ruleId"] for result in run["results"]] == [
        "thin-web", "duplicate-line", "thin-web", "off-page",
    ]  # fmt: skip
    for result in run["results"]:
        assert run["tool"]["driver"]["rules"][result["ruleIndex"]]["id"] == result["ruleId"]


def test_empty_and_troubled_runs_are_valid(valid, report):
    assert valid(sarif.log(replace(report, files=(), rules=()), PLAIN))["results"] == []
    run = valid(sarif.log(replace(report, troubles=("pack moss failed",)), PLAIN))
    told = run["invocations"][0]["toolExecutionNotifications"]
    assert [note["level"] for note in told] == ["note", "error", "error"]
    assert run["invocations"][0]["executionSuccessful"] is False
    assert run["invocations"][0]["exitCode"] == 2
    assert "locations" not in told[-1]
    bad_key = Problem("shop/jobsheet.toml", 14, 1, "accept", 'missing key "reason"')
    run = valid(sarif.log(replace(report, troubles=(bad_key,)), PLAIN))
    note = run["invocations"][0]["toolExecutionNotifications"][-1]
    assert note["message"]["text"] == 'Job sheet: accept: missing key "reason".'
    assert note["locations"] == [
        {
            "physicalLocation": {
                "artifactLocation": {"uri": "shop/jobsheet.toml", "uriBaseId": "ROOT"},
                "region": {"startLine": 14, "startColumn": 1},
            }
        }
    ]


def test_places_numbers_and_names(valid, report):
    result = valid(sarif.log(report, PLAIN))["results"][0]
    place = result["locations"][0]["physicalLocation"]
    assert place["artifactLocation"] == {"uri": "clock.svg", "uriBaseId": "ROOT", "index": 0}
    assert place["region"] == {
        "startLine": 14, "startColumn": 5, "endLine": 14, "endColumn": 46,
        "charOffset": 412, "charLength": 41,
        "snippet": {"text": '<path id="crescent" d="M0 0C1 2 3 4 5 6">'},
    }  # fmt: skip
    assert result["properties"] == {
        "at_mm": [112.4, 63.18], "extent_mm": 4.5, "measured_mm": 0.82, "required_mm": 1.2,
        "smallest_safe_width_mm": 312.4, "passing_stocks": ["card-1.5"],
        "stock": "walnut-3", "part": "crescent", "layer": "moon", "element": "crescent",
    }  # fmt: skip
    assert [(n["kind"], n["name"]) for n in result["locations"][0]["logicalLocations"]] == [
        ("layer", "moon"), ("part", "crescent"), ("element", "crescent"),
    ]  # fmt: skip
    assert result["message"]["text"].startswith("Web 0.82 mm finished")
    assert result["message"]["text"].endswith('part "crescent".')


def test_the_other_end_of_a_pair_and_its_mending(valid, report):
    result = valid(sarif.log(report, PLAIN))["results"][1]
    (other,) = result["relatedLocations"]
    assert other["message"] == {"text": "The other line."}
    assert other["properties"] == {"at_mm": [40.0, 41.0]}
    (change,) = result["fixes"][0]["artifactChanges"]
    assert change["replacements"][0]["deletedRegion"]["charOffset"] == 530


def test_accepted_findings_are_suppressed_with_their_reason(valid, report):
    results = valid(sarif.log(report, PLAIN))["results"]
    assert [len(result["suppressions"]) for result in results] == [0, 0, 1, 0]
    assert results[2]["suppressions"] == [
        {"kind": "inSource", "status": "accepted", "justification": "held by the transfer tape"}
    ]


def test_a_baseline_speaks_of_every_result_or_of_none(valid, samples):
    without = valid(sarif.log(samples.report(samples.finding()), PLAIN))["results"]
    assert "baselineState" not in without[0]
    old, new = samples.finding(baseline="unchanged"), samples.finding()
    both = valid(sarif.log(samples.report(old, new), PLAIN))["results"]
    assert [result["baselineState"] for result in both] == ["unchanged", "new"]


def test_rules_explain_themselves(valid, report):
    rules = valid(sarif.log(report, PLAIN))["tool"]["driver"]["rules"]
    assert rules[0]["help"]["markdown"].startswith("**Why**\n\nIt breaks\nat the machine.")
    assert [rule["defaultConfiguration"] for rule in rules] == [
        {"enabled": True, "level": "error"},
        {"enabled": True, "level": "warning"},
        {"enabled": True, "level": "note"},
        {"enabled": True, "level": "error"},
        {"enabled": False, "level": "warning"},
    ]


def test_findings_of_a_file_and_odd_numbers_are_valid(valid, samples):
    odd = samples.finding(
        place=Place(0, 0, 0, 0, 0, 0), at=(float("nan"), -0.0), measured=float("inf"),
        required=4.0, unit="mm²", snippet="", rule="moss-growth", message="", part="a\x00b",
    )  # fmt: skip
    result = valid(json.loads(sarif.render(samples.report(odd), PLAIN)))["results"][0]
    assert result["locations"][0]["physicalLocation"]["region"] == {"startLine": 1}
    assert "ruleIndex" not in result
    assert result["properties"]["at_mm"] == [None, 0.0]
    assert result["properties"]["required"] == 4.0
    assert "measured" not in result["properties"]


@pytest.mark.parametrize(
    ("codec", "name"),
    [  # IANA, "Character Sets" registry, from memory
        ("utf-8", "utf-8"),
        ("utf-16-le", "UTF-16LE"),
        ("iso8859-15", "ISO-8859-15"),
        ("cp1252", "WINDOWS-1252"),
        ("ascii", "US-ASCII"),
        ("shift_jis", "shift_jis"),
    ],
)
def test_encodings_have_registered_names(codec, name):
    assert sarif.charset(codec) == name


def test_no_finding_is_folded(valid, samples):
    many = samples.report(*(samples.finding() for _ in range(50)))
    assert len(valid(sarif.log(many, PLAIN))["results"]) == 50


def test_the_same_bytes_every_run(report):
    assert sarif.render(report, PLAIN) == sarif.render(report, PLAIN)


def test_other_readers_load_it(report, tmp_path):
    loader = pytest.importorskip("sarif.loader")
    model = pytest.importorskip("sarif_pydantic")
    written = sarif.render(report, PLAIN)
    path = tmp_path / "a.sarif"
    path.write_text(written, "utf-8")
    loaded = loader.load_sarif_file(str(path))
    assert loaded.get_distinct_tool_names() == ["scantling"]
    counts = loaded.get_report()
    assert counts.get_issue_count_for_severity("error") == 2
    assert counts.get_issue_count_for_severity("warning") == 1
    assert counts.get_issue_count_for_severity("note") == 1
    assert loaded.get_records()[0]["Location"].endswith("clock.svg")
    read = model.Sarif.model_validate_json(written)
    assert len(read.runs[0].results) == 4
    region = read.runs[0].results[0].locations[0].physical_location.region
    assert (region.start_line, region.char_offset) == (14, 412)


def test_the_public_validator_has_no_error(report, samples, tmp_path):
    """SARIF_VALIDATOR names the executable of the standard's public validator; with its own
    rules and those of code-scanning hosts."""
    validator = os.environ.get("SARIF_VALIDATOR")
    if not validator:
        pytest.skip("SARIF_VALIDATOR names no validator")
    odd = samples.finding(place=Place(0, 0, 0, 0, 0, 0), file="ö #1.svg", part="", element="")
    logs = [report, samples.report(odd, file="ö #1.svg"), replace(report, files=())]
    verdict = tmp_path / "verdict.json"
    for number, one in enumerate(logs):
        (tmp_path / f"{number}.sarif").write_text(sarif.render(one, PLAIN), "utf-8")
    run = subprocess.run(
        [
            validator, "validate", str(tmp_path / "*.sarif"), "--rule-kind", "Sarif;Ghas",
            "--level", "Error;Warning", "--log", "ForceOverwrite", "--output", str(verdict),
        ],
        capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    said = json.loads(verdict.read_text("utf-8-sig"))["runs"][0].get("results", [])
    assert "3 files scanned" in run.stdout
    assert [result for result in said if result.get("level") == "error"] == []
    # a page of the tool's own is the one thing it misses
    assert {result["ruleId"] for result in said} <= {"SARIF2005"}


@pytest.mark.parametrize(
    ("file", "expected"),
    [
        ("clock.svg", ("clock.svg", True)),
        ("./a/../a/b c.svg", ("a/b%20c.svg", True)),
        ("100%#1?.svg", ("100%25%231%3F.svg", True)),
        ("mond・月.svg", ("mond%E3%83%BB%E6%9C%88.svg", True)),
        ("a:b.svg", ("./a:b.svg", True)),
        ("back\\slash.svg", ("back%5Cslash.svg", True)),
        ("\udcff.svg", ("%FF.svg", True)),
        ("/shop/in/x.svg", ("x.svg", True)),
        ("..x/y.svg", ("..x/y.svg", True)),
        ("../out/x y.svg", ("file:///shop/out/x%20y.svg", False)),
        ("/else/x.svg", ("file:///else/x.svg", False)),
    ],
)
def test_names_become_uris(file, expected):
    assert uri(file, "/shop/in", posixpath) == expected


@pytest.mark.parametrize(
    ("file", "expected"),
    [
        ("sub\\clock.svg", ("sub/clock.svg", True)),
        ("C:\\Shop\\In\\moon one.svg", ("moon%20one.svg", True)),
        ("c:\\shop\\in\\moon.svg", ("moon.svg", True)),
        ("D:\\other\\ä.svg", ("file:///D:/other/%C3%A4.svg", False)),
        ("..\\x.svg", ("file:///C:/Shop/x.svg", False)),
        ("\\\\server\\share\\x.svg", ("file://server/share/x.svg", False)),
    ],
)
def test_windows_names_become_uris(file, expected):
    assert uri(file, "C:\\Shop\\In", ntpath) == expected


@pytest.mark.parametrize("name", ["a b.svg", "ö%20.svg", "q?x=1&y#z.svg", "a;b,c+d.svg"])
def test_uris_decode_to_the_name(name):
    reference, relative = uri(name, "/shop", posixpath)
    parts = urlsplit(reference)
    assert relative
    assert not parts.query
    assert not parts.fragment
    assert unquote(parts.path) == name


def test_names_from_the_root():
    assert from_root("/shop/a/b.svg", "/shop", posixpath) == "a/b.svg"
    assert from_root("/else/b.svg", "/shop", posixpath) == "/else/b.svg"
    assert from_root("a\\b.svg", "C:\\x", ntpath) == "a/b.svg"
