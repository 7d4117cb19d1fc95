"""Which forms there are, where they go, and the small ones: JSON, CSV, JUnit, annotations."""

from __future__ import annotations

import csv
import io
import json
import os
import stat
import sys
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree
from xml.sax.saxutils import escape

import pytest

from scantling.judge.finding import Level
from scantling.plan.checked import Problem
from scantling.report import annotations, as_csv, as_json, forms, junit, picture, sarif
from scantling.report.forms import Delivery, FormError, deliver, parse_form, parse_forms
from scantling.report.model import Manner

PLAIN = Manner()


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("text", Delivery("text")),
        ("sarif=out.sarif", Delivery("sarif", "out.sarif")),
        ("page=C:\\x\\a=b.html", Delivery("page", "C:\\x\\a=b.html")),
        ("csv=-", Delivery("csv")),
    ],
)
def test_forms_are_read(written, read):
    assert parse_form(written) == read


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("sarf", "no report form is called 'sarf'; did you mean 'sarif'? There are text, sarif"),
        ("JSON=x", "did you mean 'json'?"),
        ("zzz", "no report form is called 'zzz'. There are"),
        ("csv=", "a file name is missing after '='"),
    ],
)
def test_a_mistyped_form_names_the_nearest(written, said):
    with pytest.raises(FormError) as caught:
        parse_form(written)
    assert said in caught.value.format_message()


def test_text_is_the_default_and_places_are_not_shared():
    assert parse_forms(()) == (Delivery("text"),)
    assert len(parse_forms(("text", "sarif=a", "json=b"))) == 3
    with pytest.raises(FormError, match="both go to standard output"):
        parse_forms(("text", "csv"))
    with pytest.raises(FormError, match="both go to"):
        parse_forms(("json=a", "csv=./a"))


def test_only_drawn_forms_need_scenes():
    assert not forms.draws(parse_forms(("text", "sarif=a")))
    assert forms.draws(parse_forms(("text", "page=a")))


@pytest.mark.parametrize("name", [name for name, form in forms.FORMS.items() if not form.draws])
def test_each_form_is_written_whole_and_the_same_twice(name, report, tmp_path):
    for file in ("one", "two"):
        deliver(report, (Delivery(name, str(tmp_path / file)),), PLAIN)
    assert (tmp_path / "one").read_bytes() == (tmp_path / "two").read_bytes() != b""
    assert sorted(path.name for path in tmp_path.iterdir()) == ["one", "two"]


def test_standard_output_carries_bytes_of_utf8(report, capfdbinary):
    deliver(report, (Delivery("text"),))
    assert "260.00 × 258.40 mm" in capfdbinary.readouterr().out.decode("utf-8")


def test_a_failed_write_leaves_the_old_file(tmp_path, monkeypatch):
    target = tmp_path / "a.json"
    target.write_text("old")

    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", refuse)
    with pytest.raises(FormError, match=r"cannot write .*: No space left on device"):
        forms.write(str(target), b"new")
    assert target.read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["a.json"]


def test_a_missing_folder_is_one_clear_line(tmp_path):
    with pytest.raises(FormError, match=r"cannot write .*: No such file or directory"):
        forms.write(str(tmp_path / "none" / "a"), b"")


@pytest.mark.skipif(sys.platform == "win32", reason="POSIX permissions, links and devices")
def test_files_keep_their_permissions_links_and_devices(tmp_path):
    target = tmp_path / "a"
    target.write_bytes(b"old")
    target.chmod(0o640)
    (tmp_path / "link").symlink_to("a")
    forms.write(str(tmp_path / "link"), b"new")
    assert target.read_bytes() == b"new"
    assert (tmp_path / "link").is_symlink()
    assert stat.S_IMODE(target.stat().st_mode) == 0o640
    forms.write(os.devnull, b"gone")
    assert not Path(os.devnull).is_file()


def test_json_holds_everything(report):
    data = json.loads(as_json.render(report, PLAIN))
    assert data["totals"] == {
        "error": 1, "warning": 1, "note": 1, "accepted": 1, "files": 3, "failed_files": 1,
    }  # fmt: skip
    first, second, third, _ = data["files"][0]["findings"]
    assert (first["measured_mm"], first["required_mm"], first["at_mm"]) == (
        0.82,
        1.2,
        [112.4, 63.18],
    )
    assert first["mark_mm"] == [[[110.0, 63.0], [112.4, 63.18], [115.0, 63.3]]]
    assert second["related"][0]["at_mm"] == [40.0, 41.0]
    assert third["accepted"] == {"reason": "held by the transfer tape", "in": "inSource"}
    assert data["files"][2]["failure"]["line"] == 3


def test_json_has_no_numbers_that_json_lacks(samples):
    odd = samples.finding(at=(float("nan"), 1e308), measured=float("-inf"))
    finding = json.loads(as_json.render(samples.report(odd), PLAIN), parse_constant=pytest.fail)[
        "files"
    ][0]["findings"][0]
    assert finding["at_mm"] == [None, 1e308]


def test_machines_are_told_what_a_mark_is_worth(samples):
    ring = ((0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 0.0))
    report = samples.report(samples.finding(mark=(ring,), scope="estimated"), samples.finding())
    guessed, known = json.loads(as_json.render(report, PLAIN))["files"][0]["findings"]
    assert (guessed["scope"], guessed["mark_mm"]) == ("estimated", [list(map(list, ring))])
    assert "scope" not in known
    log = json.loads(sarif.render(report, PLAIN))
    assert [r["properties"].get("scope") for r in log["runs"][0]["results"]] == ["estimated", None]
    assert picture.svg(report, PLAIN).count("stroke-dasharray") == 1


def test_csv_has_a_row_for_each_finding_and_failure(report):
    written = as_csv.render(report, PLAIN)
    assert written.count("\r\n") == written.count("\n") == 6
    rows = list(csv.DictReader(io.StringIO(written)))
    assert [row["rule"] for row in rows] == [
        "thin-web", "duplicate-line", "thin-web", "off-page", "",
    ]  # fmt: skip
    assert rows[0]["measured"] == "0.82"
    assert rows[2]["accepted"] == "held by the transfer tape"
    assert rows[4]["message"] == "not well-formed: no element found"


@pytest.mark.parametrize("name", ["=1+1", "@SUM(A1)", "+1", "-1"])
def test_no_cell_is_a_formula(samples, name):
    written = as_csv.render(samples.report(samples.finding(part=name)), PLAIN)
    assert next(csv.DictReader(io.StringIO(written)))["part"] == f"'{name}"


def cases(root: ElementTree.Element) -> dict[tuple[str, str], list[str]]:
    return {
        (suite.get("name"), case.get("name")): [child.tag for child in case]
        for suite in root
        for case in suite.iter("testcase")
    }


def test_junit_has_a_suite_for_a_file_and_a_case_for_a_rule(report):
    root = ElementTree.fromstring(junit.render(report, PLAIN).encode())
    assert root.attrib == {
        "name": "scantling", "tests": "11", "failures": "1", "errors": "1", "time": "0",
    }  # fmt: skip
    found = cases(root)
    assert found["clock.svg", "thin-web"] == ["failure"]
    assert found["clock.svg", "duplicate-line"] == ["system-out"]
    assert found["trail/marker 1.svg", "thin-web"] == []
    assert found["broken.svg", "read"] == ["error"]


def test_junit_fails_at_the_failing_level_and_skips_what_is_accepted(report, samples):
    milder = replace(report, fail_at=Level.NOTE)
    root = ElementTree.fromstring(junit.render(milder, PLAIN).encode())
    assert root.get("failures") == "3"
    accepted = samples.report(samples.finding(accepted="taped", accepted_in="external"))
    root = ElementTree.fromstring(junit.render(accepted, PLAIN).encode())
    assert cases(root)["clock.svg", "thin-web"] == ["skipped"]
    assert root.find(".//skipped").get("message") == "1 finding accepted: taped"


def test_a_flood_is_folded_where_people_read(samples):
    """One line for all but the machines' forms, which keep every finding."""
    many = [samples.finding(measured=1.0 - k / 100, message=f"web {k}") for k in range(40)]
    report = samples.report(*many, samples.finding(rule="narrow-gap", message="a gap"))
    failure = ElementTree.fromstring(junit.render(report, PLAIN)).find(".//failure[@type='error']")
    assert failure.text.splitlines() == [
        '14:5: error: web 39; the worst of 40, at x 112.40 y 63.18 mm, part "crescent"'
    ]
    commands = annotations.render(report, PLAIN).splitlines()
    assert [line.partition("::")[2].partition("::")[2][:24] for line in commands] == [
        "web 39 (the worst of 40,", "a gap (x 112.40 y 63.18 ",
    ]  # fmt: skip
    words = picture.svg(report, PLAIN)
    assert "web 39 (the worst of 40)" in words
    assert "a gap" in words
    assert "web 38" not in words
    assert "more" not in words
    everything = json.loads(as_json.render(report, PLAIN))["files"][0]["findings"]
    assert len(everything) == 41
    assert len(as_csv.render(report, PLAIN).splitlines()) == 42


def test_junit_is_of_the_common_shape(report, samples):
    """junit-10.xsd: the schema of a build server's JUnit reader, MIT licence (its head says)."""
    etree = pytest.importorskip("lxml.etree")
    schema = etree.XMLSchema(etree.parse(str(Path(__file__).with_name("junit-10.xsd"))))
    hostile = samples.report(
        samples.finding(message="a\x00\x0b]]>&<b>", part="\ufffe\x1b"), file="<&\n>.svg"
    )
    for one in (report, replace(report, troubles=("pack moss failed",)), hostile):
        schema.assertValid(etree.fromstring(junit.render(one, PLAIN).encode()))


BAD_KEY = Problem("shop/jobsheet.toml", 14, 1, "accept", 'missing key "reason"')


def test_annotations_are_workflow_commands_the_worst_first(report):
    lines = annotations.render(report, PLAIN).splitlines()
    assert [line.split()[0] for line in lines] == ["::error", "::error", "::warning", "::notice"]
    assert lines[1] == (
        "::error file=clock.svg,line=14,endLine=14,col=5,endColumn=45,title=thin-web::"
        'web 0.82 mm finished, walnut-3 needs 1.20 mm (x 112.40 y 63.18 mm, part "crescent")'
    )
    assert "col=" not in lines[3]  # its end is on another line


def test_what_is_wrong_with_a_job_sheet_is_marked_in_it(report):
    troubled = replace(report, troubles=(BAD_KEY, "pack moss failed"))
    assert annotations.render(troubled, PLAIN).splitlines()[:2] == [
        "::error file=shop/jobsheet.toml,line=14,endLine=14,col=1,endColumn=1,title=job sheet::"
        'accept: missing key "reason"',
        "::error::pack moss failed",
    ]
    told = 'shop/jobsheet.toml:14:1: accept: missing key "reason"'
    assert json.loads(as_json.render(troubled, PLAIN))["troubles"] == [told, "pack moss failed"]
    assert escape(told, {'"': "&quot;"}) in junit.render(troubled, PLAIN)


def test_annotations_cannot_be_broken_out_of(samples):
    bad = samples.finding(message="100% sure\n::error::x", file="a,b:c\n.svg")
    (line,) = annotations.render(samples.report(bad, file="a,b:c\n.svg"), PLAIN).splitlines()
    assert "file=a%2Cb%3Ac\\x0a.svg," in line
    assert "::100%25 sure\\x0a::error::x" in line
