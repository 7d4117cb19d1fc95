"""The audit as a whole, on a small catalogue."""

import csv
import io
import json
import multiprocessing
import os
import subprocess
import sys
from functools import wraps
from pathlib import Path

import pytest
from auditing import FORMS, audit, written
from shop import JOB, endless, page

from scantling import api
from scantling.catalogue.against import NoBaseline
from scantling.catalogue.audit import Audit, Interrupted, Silence, in_part
from scantling.catalogue.table import chosen
from scantling.report.model import FileReport
from scantling.wanted import Wanted

pytestmark = pytest.mark.usefixtures("shop")


def verdicts(done: Audit) -> dict[tuple[str, str], str]:
    return {(o.row.file, o.row.trial): o.row.verdict(done.asked.fail_at) for o in done.outcomes}


def reports(done: Audit, trial: str = "") -> list[FileReport]:
    return list(done.reports(trial))


class Count(Silence):
    """Counts, and does something after so many drawings."""

    def __init__(self, after: int = -1, then=lambda: None) -> None:
        self.done = self.known = 0
        self.after, self.then = after, then

    def step(self, findings: int, known: bool) -> None:
        self.done += 1
        self.known += known
        if self.done == self.after:
            self.then()


# What it says


def test_by_job_sheet_it_says_what_lint_says():
    with audit() as done:
        assert verdicts(done) == {
            ("doors/narrow.svg", ""): "fails",
            ("doors/open.svg", ""): "fails",
            ("doors/sound.svg", ""): "passes",
            ("signs/arrow.svg", ""): "passes",
            ("signs/broken.svg", ""): "not judged",
        }
        assert done.exit_code == 2
        assert tuple(reports(done)) == api.lint(".").files
        narrow = done.outcomes[0].row
        assert narrow.stock == "birch-4"
        assert narrow.least_web == pytest.approx(1.0, abs=0.02)  # 1.2 drawn, kerf 0.2
        assert narrow.safe_width == pytest.approx(50 * 1.8 / 1.2, rel=0.02)
        assert narrow.parts == 1


@pytest.mark.workers
def test_several_stocks_are_judged_as_each_would_be_alone():
    with audit("birch-4", "card-1", "plywood-3") as done:
        found = verdicts(done)
        assert found["doors/narrow.svg", "birch-4"] == "fails"
        assert found["doors/narrow.svg", "card-1"] == "passes"
        for trial in done.asked.trials:
            alone = api.lint(".", stock=trial)
            for mine, other in zip(reports(done, trial), alone.files, strict=True):
                assert mine.findings == other.findings
                assert mine.size == other.size
                assert [s.label for s in mine.sheets] == [s.label for s in other.sheets]


def test_a_stock_that_nobody_knows_costs_its_rows_alone():
    with audit("birch-4", "birhc-4") as done:
        assert verdicts(done)["doors/sound.svg", "birch-4"] == "passes"
        row = next(o.row for o in done.outcomes if o.row.trial == "birhc-4")
        assert 'nearest: "birch-4"' in row.failure


def test_one_measurement_serves_every_stock(monkeypatch: pytest.MonkeyPatch):
    from scantling.catalogue.task import Desk
    from scantling.catalogue.work import Given, prepare
    from scantling.measure.widths import thin as widths

    calls = []
    real = widths.webs

    @wraps(real)  # facts are found by the names of the parameters
    def counted(*args, **facts):
        calls.append(1)
        return real(*args, **facts)

    monkeypatch.setattr(widths, "webs", counted)
    trials = ("birch-4", "card-1", "plywood-3")
    work = prepare(Given(Wanted(), trials))
    answer = work(Desk(Wanted(), trials).task("doors/narrow.svg"))
    assert len(answer.results) == 3
    assert len(calls) == 1


# What is kept


def test_a_second_audit_measures_nothing_and_writes_the_same_bytes():
    with audit() as first:
        before = {form: written(first, form) for form in FORMS}
    count = Count()
    with audit(progress=count) as second:
        assert count.known == 5
        assert {form: written(second, form) for form in FORMS} == before
    with audit(keep=False) as third:
        assert {form: written(third, form) for form in FORMS} == before


def test_what_is_known_is_told_without_importing_geometry():
    Path("signs/broken.svg").unlink()
    code = (
        "import sys\nfrom scantling.cli import main\n"
        "try:\n    main({!r})\nexcept SystemExit:\n    pass\n"
        "heavy = ('numpy', 'shapely', 'svgelements', 'tinycss2', 'jsonschema', 'jinja2')\n"
        "print([name for name in heavy if name in sys.modules], file=sys.stderr)\n"
    )
    for command in (["audit", ".", "--report", "sarif"], ["lint", "."]):
        outs = []
        for _ in range(2):
            done = subprocess.run(
                [sys.executable, "-c", code.format(command)],
                capture_output=True, text=True, encoding="utf-8", timeout=60,
            )  # fmt: skip
            outs.append(done.stdout)
        assert done.stderr == "[]\n"
        assert outs[0] == outs[1]
        assert "thin-web" in outs[0]


def test_only_what_changed_is_measured_again():
    with audit():
        pass
    path = Path("doors/narrow.svg")
    path.write_text(path.read_text().replace("M6.2", "M9.2"))
    count = Count()
    with audit(progress=count) as done:
        assert count.known == 4
        assert verdicts(done)["doors/narrow.svg", ""] == "passes"


def test_a_store_that_is_lost_in_the_middle_costs_no_result(tmp_path: Path):
    with audit() as done:
        done.store._base.execute("DELETE FROM bodies")
        assert tuple(reports(done)) == api.lint(".").files


def test_rows_in_the_store_that_are_not_sound_are_measured_again():
    with audit():
        pass
    with audit() as done:
        done.store._base.execute("UPDATE bodies SET row = '{\"file\": 3}'")
    count = Count()
    with audit(progress=count) as done:
        assert count.known == 0
        assert verdicts(done)["doors/narrow.svg", ""] == "fails"


# Workers


@pytest.mark.workers
def test_a_worker_that_is_killed_costs_one_design_and_the_next_audit_makes_up_for_it():
    Path("doors/z-endless.svg").write_text(endless())

    def kill():
        """The one worker is at the fourth design when the third is told."""
        (worker,) = [c for c in multiprocessing.active_children() if c.name == "scantling"]
        worker.kill()

    with audit(progress=Count(3, kill)) as done:
        found = verdicts(done)
        assert found.pop(("doors/z-endless.svg", "")) == "not judged"
        assert found["doors/narrow.svg", ""] == "fails"
        assert found["signs/arrow.svg", ""] == "passes"
        (row,) = [o.row for o in done.outcomes if "endless" in o.row.file]
        assert row.failure.startswith("its worker process died")
        assert done.exit_code == 2
    Path("doors/z-endless.svg").write_text(Path("doors/sound.svg").read_text())
    with audit() as done:
        assert verdicts(done)["doors/z-endless.svg", ""] == "passes"


@pytest.mark.workers
def test_a_design_over_its_time_is_given_up_and_not_kept():
    Path("doors/endless.svg").write_text(endless())
    with audit(limit=2.0) as done:
        found = verdicts(done)
        assert found["doors/endless.svg", ""] == "not judged"
        assert found["signs/arrow.svg", ""] == "passes"
        row = next(o.row for o in done.outcomes if o.row.file == "doors/endless.svg")
        assert row.failure == "took longer than 2 s and was stopped"
    count = Count()
    with audit(limit=2.0, progress=count):
        assert count.known == 5  # of six


@pytest.mark.workers
def test_interrupted_it_keeps_what_is_done():
    def interrupt():
        raise KeyboardInterrupt

    with pytest.raises(Interrupted) as stop:
        audit(progress=Count(2, interrupt))
    assert (stop.value.total, stop.value.kept) == (5, True)
    assert not [c for c in multiprocessing.active_children() if c.name == "scantling"]
    count = Count()
    with audit(progress=count):
        assert count.known >= 2


def test_an_interrupted_command_says_how_to_go_on(capsys: pytest.CaptureFixture[str], monkeypatch):
    from scantling.catalogue import progress
    from scantling.cli import main

    def interrupt():
        raise KeyboardInterrupt

    monkeypatch.setattr(progress, "bar", lambda: Count(2, interrupt))
    with pytest.raises(SystemExit) as stop:
        main(["audit", ".", "--workers", "1"])
    assert stop.value.code == 130
    out, err = capsys.readouterr()
    assert out == ""
    assert "interrupted after 1 of 5 designs; what is done is kept: the same command" in err


# Parts


def test_the_parts_of_an_audit_are_the_whole():
    with audit() as whole:
        every = sorted(verdicts(whole).items())
        results = results_of(json.loads(written(whole, "sarif")))
    parts, merged, ids = [], [], set()
    for k in (1, 2, 3):
        with audit(part=(k, 3)) as done:
            parts += verdicts(done).items()
            log = json.loads(written(done, "sarif"))
            merged += results_of(log)
            ids |= {run["automationDetails"]["id"] for run in log["runs"]}
    assert sorted(parts) == every
    assert sorted(merged) == sorted(results)
    assert ids == {f"scantling/audit/job sheet/part {k} of 3" for k in (1, 2, 3)}


def test_a_design_stays_in_its_part():
    names = [f"{n}.svg" for n in range(300)]
    of = {name: [k for k in range(1, 8) if in_part(name, (k, 7))] for name in names}
    assert all(len(found) == 1 for found in of.values())
    assert {found[0] for found in of.values()} == set(range(1, 8))
    assert all(in_part(name, None) for name in names)


def results_of(log) -> list[tuple[str, str, str]]:
    return [
        (
            result["ruleId"],
            result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"],
            result["partialFingerprints"]["scantlingFinding/v1"],
        )
        for run in log["runs"]
        for result in run["results"]
    ]


# Against an earlier audit


def mend_and_break() -> None:
    """One finding gone, one new, one as it was, one design gone."""
    narrow = Path("doors/narrow.svg")
    narrow.write_text(narrow.read_text().replace("M6.2", "M9.2"))
    sound = Path("doors/sound.svg")
    sound.write_text(sound.read_text().replace("M9 ", "M5.9 "))


def states(log) -> dict[tuple[str, str], str]:
    return {
        (
            result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"],
            result["ruleId"],
        ): result["baselineState"]
        for run in log["runs"]
        for result in run["results"]
    }


def test_against_the_last_audit():
    Path("signs/broken.svg").unlink()
    with audit():
        pass
    mend_and_break()
    with audit(against="LAST") as done:
        assert states(json.loads(written(done, "sarif"))) == {
            ("doors/narrow.svg", "thin-web"): "absent",
            ("doors/open.svg", "open-path"): "unchanged",
            ("doors/sound.svg", "thin-web"): "new",
        }
        text = written(done, "text")
        assert "1 new, 1 gone, 1 unchanged" in text
        assert done.exit_code == 1
    with audit(against="LAST") as done:
        assert set(states(json.loads(written(done, "sarif"))).values()) == {"unchanged"}
        assert done.exit_code == 0  # nothing is new
    Path("doors/open.svg").unlink()
    with audit(against="LAST") as done:
        found = states(json.loads(written(done, "sarif")))
        assert found["doors/open.svg", "open-path"] == "absent"
        assert "0 new, 1 gone, 1 unchanged" in written(done, "text")


def test_what_has_become_worse_is_new(tmp_path: Path):
    """A web of 1.2 mm, with a kerf of 0.2 mm and then of 0.4 mm."""
    only = ("doors/narrow.svg",)
    with audit(paths=only) as done:
        (tmp_path / "before.sarif").write_text(written(done, "sarif"), encoding="utf-8")
        before = next(f for r in reports(done) for f in r.findings if f.rule == "thin-web")
    Path("jobsheet.toml").write_text(JOB.replace("0.2 mm", "0.4 mm"), encoding="utf-8")
    for baseline in ("last", str(tmp_path / "before.sarif")):
        with audit(paths=only, against=baseline) as done:
            assert done.exit_code == 1
            worse = next(f for r in reports(done) for f in r.findings if f.rule == "thin-web")
            assert worse.baseline == "updated"
            assert worse.message == (
                before.message.replace("1.00 mm finished", "0.80 mm finished") + "; was 1.00 mm"
            )
            text, page = written(done, "text"), written(done, "page")
            assert "1 new, 0 gone" in text
            assert f"{worse.message}; at x" in text
            assert f"worse: error: {worse.message}" in page
    with audit(paths=only, against="LAST") as done:
        assert done.exit_code == 0


def test_what_is_called_like_the_last_audit_may_be_a_file():
    Path("last").write_text("{", encoding="utf-8")
    with pytest.raises(NoBaseline, match="last is not a SARIF file"):
        audit(against="last")


def test_of_what_does_not_come_loose_nothing_is_told_of_sizes():
    line = '<path fill="none" stroke="#1f6f78" stroke-width=".1" d="M15 15H25V25"/>'
    Path("doors/open.svg").write_text(page(line), encoding="utf-8")
    with audit(paths=("doors/open.svg",)) as done:
        (outcome,) = done.outcomes
        assert (outcome.row.parts, outcome.row.safe_width) == (0, None)
        assert "≤" not in written(done, "text")


def test_against_a_sarif_file(tmp_path: Path):
    with audit() as done:
        (tmp_path / "before.sarif").write_text(written(done, "sarif"))
    mend_and_break()
    Path("doors/open.svg").unlink()
    with audit(against=str(tmp_path / "before.sarif")) as done:
        assert states(json.loads(written(done, "sarif"))) == {
            ("doors/narrow.svg", "thin-web"): "absent",
            ("doors/open.svg", "open-path"): "absent",
            ("doors/sound.svg", "thin-web"): "new",
        }
        gone = next(f for r in reports(done) for f in r.findings if f.rule == "open-path")
        assert gone.place.line == 2
        assert "from its" in gone.message or gone.message


def test_against_what_lint_wrote(tmp_path: Path):
    from scantling.report import sarif
    from scantling.report.model import Manner

    text = sarif.render(api.lint(".", stock="card-1"), Manner())
    (tmp_path / "lint.sarif").write_text(text)
    with audit("card-1", against=str(tmp_path / "lint.sarif")) as done:
        assert set(states(json.loads(written(done, "sarif"))).values()) == {"unchanged"}


def test_an_accepted_finding_that_stands_again_is_new():
    sheet = Path("jobsheet.toml")
    before = sheet.read_text()
    sheet.write_text(before + '[[accept]]\nrule = "thin-web"\nreason = "held by a frame"\n')
    with audit() as done:
        assert verdicts(done)["doors/narrow.svg", ""] == "passes"
    sheet.write_text(before)
    with audit(against="LAST") as done:
        found = states(json.loads(written(done, "sarif")))
        assert found["doors/narrow.svg", "thin-web"] == "new"


def test_other_stocks_and_folders_are_no_baseline():
    with audit():
        pass
    for asked in ({"paths": ("doors",)}, {"trials": ("card-1",)}, {"part": (1, 2)}):
        with audit(against="LAST", **asked) as done:
            assert done.against is None
            assert "nothing to compare with" in done.notes[0]
            assert done.exit_code in (0, 1, 2)
    with audit(against="2020-01-01") as done:
        assert done.against is None


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (None, "cannot be read"),
        ("{", "not a SARIF file"),
        ("{}", "not a SARIF file"),
        ("[]", "not a SARIF"),
    ],
)
def test_a_baseline_that_cannot_be_used_is_one_line(tmp_path: Path, content, words: str, capsys):
    from scantling.cli import main

    if content is not None:
        (tmp_path / "x.sarif").write_text(content)
    with pytest.raises(SystemExit) as stop:
        main(["audit", ".", "--against", str(tmp_path / "x.sarif")])
    assert stop.value.code == 2
    err = capsys.readouterr().err
    assert words in err
    assert len(err.splitlines()) == 1


# From Python


def test_the_same_from_python():
    with api.audit(".", stocks=["birch-4", "card-1"]) as done:
        rows = {(o.row.file, o.row.trial): o.row for o in done.outcomes}
        assert rows["doors/narrow.svg", "birch-4"].errors == 1
        assert rows["doors/narrow.svg", "card-1"].errors == 0
    (stock,) = api.parts(["doors/sound.svg", "signs/arrow.svg"]).stocks
    assert stock.count == 2


def test_how_small_each_may_be_made():
    """A plate 50 mm wide with webs of 4 mm, from a stock that needs 1.6 mm after a kerf of 0.2: it
    passes down to 50 × 1.8 / 4 mm. Without being asked, it was measured down to two thirds."""
    with audit(paths=("doors/sound.svg",)) as done:
        (outcome,) = done.outcomes
        assert outcome.row.safe_bound
        assert outcome.row.safe_width == pytest.approx(50 / 1.5)
        assert "≤ 33.33" in written(done, "text")
    with audit(paths=("doors/sound.svg",), wanted=Wanted(how_small=True)) as done:
        (outcome,) = done.outcomes
        assert not outcome.row.safe_bound
        assert outcome.row.safe_width == pytest.approx(50 * 1.8 / 4)
    # a web is let pass that is too thin by less than the measuring error of 0.02 mm
    for width, verdict in ((22.5, "passes"), (22.2, "fails")):
        with audit(paths=("doors/sound.svg",), wanted=Wanted(width=width)) as done:
            assert verdicts(done)["doors/sound.svg", ""] == verdict


# Forms


def test_the_table_can_be_sorted_and_sieved():
    with audit("birch-4", "card-1") as done:

        def shown(**how) -> list[tuple[str, str]]:
            return [(o.row.file, o.row.trial) for o in chosen(done, **how)]

        every = shown()
        assert every[:2] == [("doors/narrow.svg", "birch-4"), ("doors/narrow.svg", "card-1")]
        assert shown(backwards=True) == every[::-1]
        assert set(shown(order="verdict")[:2]) == {
            ("signs/broken.svg", "birch-4"), ("signs/broken.svg", "card-1")
        }  # fmt: skip
        assert shown(order="least-web")[0][0] == "doors/narrow.svg"
        assert shown(order="least-web")[-1][0] == "signs/broken.svg"
        assert shown(only=["fails"]) == [
            ("doors/narrow.svg", "birch-4"), ("doors/open.svg", "birch-4"),
            ("doors/open.svg", "card-1"),
        ]  # fmt: skip
        for order in ("design", "stock", "findings", "safe-width", "width", "cut", "parts", "new"):
            assert sorted(shown(order=order)) == sorted(every)
            known = [p for p in shown(order=order, backwards=True) if "broken" not in p[0]]
            assert len(known) == len(every) - 2


def test_csv_has_one_row_a_design_and_stock():
    with audit("birch-4", "card-1") as done:
        rows = list(csv.DictReader(io.StringIO(written(done, "csv"), newline="")))
    assert len(rows) == 10
    assert rows[0]["design"] == "doors/narrow.svg"
    assert rows[0]["verdict"] == "fails"
    assert float(rows[0]["least_web_mm"]) == pytest.approx(1.0, abs=0.02)
    assert rows[0]["rules"] == "thin-web:1"
    assert rows[-1]["failure"]


def test_json_has_every_report():
    with audit("birch-4", "card-1") as done:
        data = json.loads(written(done, "json"))
    assert data["stocks"] == ["birch-4", "card-1"]
    assert data["totals"]["not judged"] == 2
    design = data["designs"][0]
    assert (design["design"], design["trial"], design["verdict"]) == (
        "doors/narrow.svg", "birch-4", "fails",
    )  # fmt: skip
    assert design["report"]["findings"][0]["rule"] == "thin-web"


def test_sarif_is_valid_and_readers_see_all_of_it(tmp_path: Path):
    import jsonschema

    schema = Path(__file__).parents[1] / "report" / "sarif-2.1.0.schema.json"
    with audit():
        pass
    mend_and_break()
    with audit("birch-4", "card-1", against="LAST") as done:
        text = written(done, "sarif")
    log = json.loads(text)
    jsonschema.validate(log, json.loads(schema.read_text()))
    assert [run["automationDetails"]["id"] for run in log["runs"]] == [
        "scantling/audit/birch-4/", "scantling/audit/card-1/",
    ]  # fmt: skip
    for one in log["runs"]:
        files = [artifact["location"]["uri"] for artifact in one["artifacts"]]
        assert len(files) == 5
        for result in one["results"]:
            where = result["locations"][0]["physicalLocation"]["artifactLocation"]
            assert files[where["index"]] == where["uri"]
            rules = one["tool"]["driver"]["rules"]
            assert rules[result["ruleIndex"]]["id"] == result["ruleId"]
    tools = pytest.importorskip("sarif.loader")
    (tmp_path / "a.sarif").write_text(text)
    assert tools.load_sarif_file(str(tmp_path / "a.sarif")).get_result_count() == sum(
        len(one["results"]) for one in log["runs"]
    )


def test_repairs_are_those_that_lint_offers_and_are_kept():
    late = page('<path fill-rule="evenodd" d="M5 5H55V35H5Z M9 10V30H45V10Z"/>')
    Path("doors/late.svg").write_text(late, encoding="utf-8")

    def fixes(done) -> dict[str, list]:
        (run,) = json.loads(written(done, "sarif"))["runs"]
        return {r["partialFingerprints"].popitem()[1]: r["fixes"]
                for r in run["results"] if "fixes" in r}  # fmt: skip

    with audit() as done:
        assert fixes(done) == {}
    with audit(wanted=Wanted(repairs=True)) as done:
        offered = fixes(done)
    count = Count()
    with audit(wanted=Wanted(repairs=True), progress=count) as done:
        assert fixes(done) == offered
        assert count.known == 6
    lint = api.with_fixes(api.lint("doors"))
    assert sorted(offered) == sorted(f.fingerprint for f in lint.findings if f.fixes)
    assert any(f.rule == "inside-last" for f in lint.findings if f.fixes)


def test_the_page_shows_names_as_text():
    odd = Path("doors") / "<b>&amp;.svg"
    try:
        odd.write_text(Path("doors/narrow.svg").read_text())
    except OSError:
        pytest.skip("the file system has no such names")
    with audit() as done:
        text = written(done, "page")
    assert "<b>&amp;" not in text
    assert "&lt;b&gt;&amp;amp;.svg" in text
    assert "default-src 'none'" in text.replace("&#39;", "'")
    assert text.count("<tr data-verdict") == 6


def test_the_text_says_it_all():
    with audit() as done:
        lines = written(done, "text").splitlines()
        page = written(done, "page")
    notices = [line for line in lines if line.startswith("scantling: note: ")]
    assert notices == lines[: len(notices)]
    assert notices == [
        "scantling: note: of 4 designs: no finished size given: judged at the drawing's own "
        "physical size"
    ]
    assert "of 4 designs: no finished size given" in page
    assert '<span class="level passes">2 pass</span>' in page
    lines = lines[len(notices) :]
    assert lines[0].split() == [
        "design", "stock", "verdict", "errors", "warnings", "notes", "least", "web", "where",
        "width", "safe", "width", "cut", "parts",
    ]  # fmt: skip
    assert lines[1].startswith("doors/narrow.svg")
    assert any(line.startswith("signs/broken.svg: error: ") for line in lines)
    most = "errors and warnings, by designs: open-path in 1, thin-web in 1"
    assert lines[-2:] == [most, "5 designs: 2 pass, 2 fail, 1 not judged"]
    assert most in page


def test_why_many_designs_were_not_judged_is_said_once(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("scantling.catalogue.audit_text.MOST_FAILURES", 3)
    with audit("moss-3") as done:
        errors = [line for line in written(done, "text").splitlines() if ": error: " in line]
    once, broken = sorted(errors, key=lambda line: line.startswith("signs"))
    assert once.startswith('scantling: error: of 4 designs: no stock is called "moss-3"; allowed: ')
    assert broken.startswith("signs/broken.svg: error: ")
    monkeypatch.setattr("scantling.catalogue.audit_text.MOST_FAILURES", 4)
    with audit("moss-3") as done:
        assert written(done, "text").count(': error: no stock is called "moss-3"') == 4


def test_a_narrow_terminal_cuts_names_short():
    from scantling.catalogue.audit_text import lines

    with audit() as done:
        table = ["".join(words for words, _ in line) for line in lines(done, chosen(done), 80)]
        tiny = ["".join(words for words, _ in line) for line in lines(done, chosen(done), 20)]
    told = sum(row.startswith("scantling: note: ") for row in table)
    tiny = tiny[told:]
    rows = table[told : table.index("")]
    assert all(len(row) <= 80 for row in rows)
    assert rows[0].split()[:3] == ["design", "stock", "verdict"]
    assert "safe width" in rows[0]
    assert tiny[1].startswith("…")
    assert "narrow.svg" in tiny[1]


def test_an_empty_folder_is_told(tmp_path: Path):
    (tmp_path / "none").mkdir()
    with audit(paths=(str(tmp_path / "none"), "missing.svg")) as done:
        assert done.exit_code == 2
        assert [o.row.failure for o in done.outcomes] == [
            "no SVG drawing in this folder", "no such file or folder",
        ]  # fmt: skip


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["--part", "3/2"], "K/N with K from 1 to N"),
        (["--part", "x"], "K/N with K from 1 to N"),
        (["--report", "junit"], "csv"),
        (["--sort", "colour"], "least-web"),
        (["--only", "bad"], "not-judged"),
        (["--workers", "0"], "from 1 to 1024"),
    ],
)
def test_wrong_usage_is_told_before_anything_is_done(args: list[str], words: str, capsys):
    from scantling.cli import main

    with pytest.raises(SystemExit) as stop:
        main(["audit", ".", *args])
    assert stop.value.code == 2
    assert words in capsys.readouterr().err
    assert not Path(os.environ["SCANTLING_CACHE"]).exists()
