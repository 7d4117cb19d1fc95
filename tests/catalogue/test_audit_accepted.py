"""What is accepted for a whole catalogue: the same that lint accepts, part by part."""

import json
from pathlib import Path

import pytest
from auditing import audit, written
from shop import JOB, page, plate

from scantling import Level, api
from scantling.catalogue.accepted import Accepted
from scantling.catalogue.audit import Audit
from scantling.cli import main
from scantling.judge.known import Known
from scantling.report.model import FileReport

pytestmark = pytest.mark.usefixtures("shop")

ENTRY = '\n[[accept]]\nrule = "{}"\nreason = "held by tape"\n'


def accept(*entries: str) -> None:
    Path("jobsheet.toml").write_text(JOB + "".join(entries), encoding="utf-8")


def said(files) -> list[tuple]:
    """Everything that a report says, with what is accepted and why."""
    return [
        (file.file, f.rule, f.place, f.message, f.accepted, f.baseline)
        for file in files
        for f in file.findings
    ]


def lists() -> Known:
    return Known.read("known.json")


def idle(done: Audit) -> list[tuple[str, int, str]]:
    return [
        (f.file, f.place.line, f.message) for o in done.closing for f in done.report(o).findings
    ]


def write_known() -> None:
    api.write_known(api.lint("."), "known.json")


def test_known_findings_count_no_more_and_a_new_one_does():
    write_known()
    Path("doors/late.svg").write_text(page(plate(1.1)), encoding="utf-8")
    with audit(known=lists()) as done:
        rows = {outcome.row.file: outcome.row for outcome in done.outcomes}
    assert (rows["doors/narrow.svg"].errors, rows["doors/narrow.svg"].accepted) == (0, 1)
    assert (rows["doors/late.svg"].errors, rows["doors/late.svg"].accepted) == (1, 0)


@pytest.mark.parametrize("broken", [True, False])
def test_with_a_list_and_a_job_sheet_it_says_what_lint_says(broken):
    """With a drawing that cannot be judged, nobody knows what is idle."""
    if not broken:
        Path("signs/broken.svg").unlink()
    accept(ENTRY.format("open-path"), ENTRY.format("bitmap"), ENTRY.format("thin-web"))
    write_known()
    Path("doors/narrow.svg").write_text(page(plate(1.1)), encoding="utf-8")
    Path("signs/arrow.svg").unlink()
    listed = json.loads(Path("known.json").read_text(encoding="utf-8"))
    gone = {"file": "signs/arrow.svg", "rule": "thin-web", "fingerprint": "0" * 24}
    listed["known"].append(gone)
    Path("known.json").write_text(json.dumps(listed), encoding="utf-8")
    expected = api.lint(".", known="known.json")
    assert {f.file for f in expected.findings} >= {"known.json", "doors/narrow.svg"}
    assert broken != any("accepts bitmap" in f.message for f in expected.findings)
    with audit(known=lists()) as done:
        ours = said(done.reports(""))
    # what is said last bears the mark of being new here, as everything else does
    assert [one[:5] for one in ours] == [one[:5] for one in said(expected.files)]


def test_an_idle_entry_of_the_job_sheet_is_told_in_every_form():
    Path("signs/broken.svg").unlink()
    accept(ENTRY.format("thin-web"), ENTRY.format("bitmap"))
    line = JOB.count("\n") + 6
    with audit() as done:
        assert [one[1:] for one in idle(done)] == [
            (line, "accepts bitmap, but there is no such finding")
        ]
        assert f"jobsheet.toml:{line}:1: warning: accepts bitmap" in written(done, "text")
        assert "4 designs: " in written(done, "text")
        (closing,) = json.loads(written(done, "json"))["closing"]
        assert closing["findings"][0]["rule"] == "idle-acceptance"
        page = written(done, "page")
        assert page.count('<p class="closing">') == 1
        assert "[idle-acceptance]</p>" in page
        (run,) = json.loads(written(done, "sarif"))["runs"]
        assert [r["locations"][0]["physicalLocation"]["region"]["startLine"]
                for r in run["results"] if r["ruleId"] == "idle-acceptance"] == [line]  # fmt: skip
    accept(ENTRY.format("bitmap"))
    Path("doors/narrow.svg").unlink()
    Path("doors/open.svg").unlink()
    with audit() as done:
        assert done.exit_code == 0
    with audit(fail_at=Level.WARNING) as done:
        assert done.exit_code == 1


def test_a_design_that_never_counts_is_told():
    design = '\n[[design]]\nfiles = "{}"\nwidth = 60\n'
    accept(design.format("doors/*.svg"), design.format("doors/open.svg"))
    with audit() as done:
        ((file, line, message),) = idle(done)
    assert (file, line) == ("jobsheet.toml", JOB.count("\n") + 6)
    assert message.startswith('the design "doors/open.svg" is never used: "doors/*.svg" in line')


@pytest.mark.parametrize("files", ["door/*.svg", "doors/*.SVG", "doors/*.svg"])
def test_a_design_that_names_no_drawing_by_a_slip_is_told(files):
    accept(f'\n[[design]]\nfiles = "{files}"\nwidth = 60\n')
    told = f'the design "{files}" matches no drawing; nearest: "doors/*.svg"'
    for _ in "ab":  # the second time with what is known from the first
        with audit() as done:
            assert [one[2] for one in idle(done)] == [told][files == "doors/*.svg" :]


def test_whether_an_entry_is_idle_is_known_only_once_all_its_drawings_are_judged():
    accept(ENTRY.format("bitmap"))
    with audit(paths=("doors",)) as done:
        assert idle(done) == []
    with audit("birch-4") as done:  # another stock than is really meant
        assert idle(done) == []


def test_parts_of_an_audit_tell_of_an_entry_once():
    accept(ENTRY.format("live-text") + 'files = "gone/*.svg"\n')
    told = []
    for k in (1, 2, 3):
        with audit(part=(k, 3)) as done:
            told += idle(done)
    assert [one[2] for one in told] == ['accepts live-text, but no drawing is called "gone/*.svg"']


def test_a_list_that_is_written_keeps_what_other_parts_have_written(capsys):
    for k in (1, 2):
        with audit(part=(k, 2)) as done:
            done.write_known("known.json")
    both = lists()
    Path("known.json").unlink()
    with audit() as done, done.write_known("known.json") as known:
        assert lists() == both
        assert known.outcomes
        assert not any(o.row.findings for o in known.outcomes)
    write_known()
    assert lists() == both
    Path("signs/broken.svg").unlink()
    count = len(both.entries)
    for options, code, note in (
        (
            ["--write-known", "new.json"],
            0,
            f"scantling: note: new.json lists {count} known findings\n",
        ),
        (["--known", "new.json"], 0, ""),
        ([], 1, ""),
    ):
        with pytest.raises(SystemExit) as stop:
            main(["audit", *options])
        assert (stop.value.code, capsys.readouterr().err) == (code, note), options
    with pytest.raises(SystemExit) as stop:
        main(["audit", "--write-known", "new.json", "--against", "LAST"])
    assert stop.value.code == 2
    assert "--write-known and --against exclude each other" in capsys.readouterr().err


def test_a_list_serves_several_stocks():
    with audit("birch-4", "card-1") as done:
        done.write_known("known.json")
        count = sum(outcome.row.findings for outcome in done.outcomes)
    assert count
    assert len(lists().entries) <= count
    with audit("birch-4", "card-1", known=lists()) as done:
        assert not any(outcome.row.findings for outcome in done.outcomes)
        assert idle(done) == []
    Path("doors/narrow.svg").write_text(page(plate(4)), encoding="utf-8")
    lost = sum(entry.file == "doors/narrow.svg" for entry in lists().entries)
    with audit("birch-4", "card-1", known=lists()) as done:
        ((file, _, message),) = idle(done)
    assert (file, message.split(" known")[0]) == ("known.json", str(lost))


@pytest.mark.parametrize("against", ["LAST", "all.sarif"])
def test_against_an_audit_an_idle_entry_comes_and_goes(against: str):
    Path("signs/broken.svg").unlink()

    def keep(done: Audit) -> None:
        Path("all.sarif").write_text(written(done, "sarif"), encoding="utf-8")

    with audit() as done:
        keep(done)
    accept(ENTRY.format("bitmap"))
    with audit(against=against) as done:
        (outcome,) = done.closing
        assert (outcome.change.new, outcome.change.unchanged) == (1, 0)
    with audit() as done:
        keep(done)
    with audit(against=against) as done:
        assert done.closing[0].change.unchanged == 1
    accept()
    with audit(against=against) as done:
        assert done.closing == ()
        (gone,) = [report for report, _ in done.gone_reports()]
        assert [(f.rule, f.baseline) for f in gone.findings] == [("idle-acceptance", "absent")]


def test_only_reports_that_a_list_or_acceptance_speaks_of_are_read(monkeypatch):
    accept(ENTRY.format("thin-web"))
    with audit():
        pass
    read: list[str] = []
    before = Accepted.row

    def row(self, path, row, digest):
        whole = self.whole

        def counted(row, digest) -> FileReport:
            read.append(row.file)
            return whole(row, digest)

        self.whole = counted
        try:
            return before(self, path, row, digest)
        finally:
            self.whole = whole

    monkeypatch.setattr(Accepted, "row", row)
    with audit() as done:
        assert [o.row.file for o in done.outcomes if o.row.accepted] == read == ["doors/narrow.svg"]
