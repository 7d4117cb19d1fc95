"""What is said at the end of a run: idle entries of job sheets, and lists of known findings."""

from __future__ import annotations

import datetime
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from scantling import Level, Report, lint
from scantling.api import write_known

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40">\n'
    '<rect id="plate" x="5" y="5" width="30" height="20"/>{}</svg>\n'
)
TEXT = '\n<text id="name" x="5" y="35" font-size="5">{}</text>\n'
TODAY = datetime.date(2031, 5, 20)
ENTRY = '[[accept]]\nrule = "live-text"\nreason = "set by the engraver"\n'


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "signs").mkdir()
    (tmp_path / "signs" / "moon.svg").write_text(SVG.format(TEXT.format("Moon")), encoding="utf-8")
    (tmp_path / "signs" / "star.svg").write_text(SVG.format(""), encoding="utf-8")
    return tmp_path


def job(shop: Path, text: str) -> None:
    (shop / "jobsheet.toml").write_text("# our shop\n\n" + text, encoding="utf-8")


def idle(report: Report) -> list[tuple[str, int, str]]:
    return [
        (f.file, f.place.line, f.message) for f in report.findings if f.rule == "idle-acceptance"
    ]


def test_an_entry_that_accepts_something_is_not_idle(shop: Path):
    job(shop, ENTRY)
    report = lint("signs", today=TODAY)
    assert idle(report) == []
    assert report.exit_code == 0
    (finding,) = [f for f in report.findings if f.accepted]
    assert (finding.accepted, finding.accepted_in) == ("set by the engraver", "external")


def test_an_idle_entry_is_a_warning_at_its_place_in_the_job_sheet(shop: Path):
    job(shop, "[rules.drop-out]\n\n" + ENTRY.replace("live-text", "bitmap"))
    report = lint("signs", today=TODAY)
    assert idle(report) == [("jobsheet.toml", 5, "accepts bitmap, but there is no such finding")]
    (finding,) = [f for f in report.findings if f.rule == "idle-acceptance"]
    assert finding.level is Level.WARNING
    text = (shop / "jobsheet.toml").read_text(encoding="utf-8")
    place = text[finding.place.offset : finding.place.end_offset]
    assert place == ENTRY.replace("live-text", "bitmap").strip()


def test_a_run_on_some_drawings_says_nothing_of_entries_about_others(shop: Path):
    job(shop, ENTRY)
    assert idle(lint("signs/star.svg", today=TODAY)) == []
    job(shop, ENTRY + 'files = "signs/star.svg"\n')
    assert len(idle(lint("signs/star.svg", today=TODAY))) == 1
    assert idle(lint("signs/moon.svg", today=TODAY)) == []


def test_drawings_under_a_job_sheet_of_their_own_do_not_count(shop: Path):
    job(shop, ENTRY.replace("live-text", "bitmap"))
    (shop / "signs" / "own").mkdir()
    (shop / "signs" / "own" / "jobsheet.toml").write_text("", encoding="utf-8")
    (shop / "signs" / "own" / "sun.svg").write_text(SVG.format(""), encoding="utf-8")
    assert len(idle(lint(["signs/moon.svg", "signs/star.svg"], today=TODAY))) == 1


def test_an_entry_about_drawings_that_are_not_there(shop: Path):
    job(shop, ENTRY + 'files = "sign/*.svg"\n')
    ((_, _, message),) = idle(lint("signs/star.svg", today=TODAY))
    assert message == (
        'accepts live-text, but no drawing is called "sign/*.svg"; nearest: "signs/*.svg"'
    )
    job(shop, ENTRY + 'files = "boxes/*.svg"\n')
    ((_, _, message),) = idle(lint("signs/star.svg", today=TODAY))
    assert message == 'accepts live-text, but no drawing is called "boxes/*.svg"'


def test_an_entry_past_its_end_date(shop: Path):
    job(shop, ENTRY + "until = 2031-05-19\n")
    report = lint("signs", today=TODAY)
    ((_, _, message),) = idle(report)
    assert message == "accepts live-text until 2031-05-19; that day has passed"
    assert "live-text" in {f.rule for f in report.findings if f.accepted is None}
    assert idle(lint("signs", today=datetime.date(2031, 5, 19))) == []


def test_nobody_can_tell_of_what_was_not_judged(shop: Path):
    (shop / "signs" / "moon.svg").write_text("not a drawing", encoding="utf-8")
    job(shop, ENTRY)
    assert idle(lint("signs", today=TODAY)) == []
    job(shop, ENTRY + '[rules.live-text]\nlevel = "off"\n')
    (shop / "signs" / "moon.svg").write_text(SVG.format(""), encoding="utf-8")
    assert idle(lint("signs", today=TODAY)) == []
    job(shop, ENTRY)
    assert idle(lint("signs", width=60, today=TODAY)) == []  # only tried


DESIGN = '[[design]]\nfiles = "{}"\nwidth = {}\n'


def test_a_design_behind_others_that_take_all_its_drawings_is_told(shop: Path):
    job(shop, DESIGN.format("signs/*.svg", 60) + "\n" + DESIGN.format("signs/moon.svg", 80))
    told = (
        'the design "signs/moon.svg" is never used: "signs/*.svg" in line 3 comes first '
        "and matches its drawings; put the more specific one first"
    )
    for paths in ("signs", "signs/moon.svg"):
        report = lint(paths, today=TODAY)
        assert idle(report) == [("jobsheet.toml", 7, told)]
        assert report.files[0].size is not None
        assert round(report.files[0].size[0]) == 60
    assert idle(lint("signs/star.svg", today=TODAY)) == []  # of another drawing


@pytest.mark.parametrize(
    "designs",
    [
        DESIGN.format("signs/moon.svg", 80) + DESIGN.format("signs/*.svg", 60),
        DESIGN.format("signs/m*.svg", 80) + DESIGN.format("signs/*.svg", 60),  # star.svg is left
        DESIGN.format("signs/*.svg", 80) + DESIGN.format("boxes/*.svg", 60),
        DESIGN.format("signs/*.svg", 80),
    ],
)
def test_a_design_that_counts_for_some_drawing_is_not(shop: Path, designs: str):
    job(shop, designs)
    assert idle(lint("signs", today=TODAY)) == []
    assert idle(lint("signs/moon.svg", today=TODAY)) == []


@pytest.mark.parametrize("more", ["", DESIGN.format("**", 60), DESIGN.format("boxes/*.svg", 80)])
@pytest.mark.parametrize(
    ("files", "near"),
    [
        ("sign/*.svg", "signs/*.svg"),
        ("signs/Moon.svg", "signs/moon.svg"),
        ("moon.svg", "signs/moon.svg"),
    ],
)
def test_a_design_that_names_no_drawing_by_a_slip_is_told(
    shop: Path, files: str, near: str, more: str
):
    job(shop, DESIGN.format(files, 60) + more)
    told = f'the design "{files}" matches no drawing; nearest: "{near}"'
    for paths in ("signs", "signs/moon.svg"):
        assert idle(lint(paths, today=TODAY)) == [("jobsheet.toml", 3, told)]
        for _ in "ab":  # the second time with what is known from the first
            many = [paths] * 30  # so much that earlier results are looked up
            assert idle(lint(many, cache=True)) == [("jobsheet.toml", 3, told)]


@pytest.mark.parametrize(
    "designs",
    [
        DESIGN.format("boxes/*.svg", 60),  # still to come
        DESIGN.format("sign/*.svg", 80) + DESIGN.format("signs/*.svg", 60),  # another has them
        DESIGN.format("**", 60) + DESIGN.format("sign/*.svg", 80),  # and so would "signs/*.svg"
        DESIGN.format("sigma.svg", 60),  # is there
        DESIGN.format("signs/mond.svg", 60) + DESIGN.format("signs/moon.svg", 60),
    ],
)
def test_a_design_that_may_be_meant_as_it_is_written_is_not(shop: Path, designs: str):
    (shop / "sigma.svg").write_text(SVG.format(""), encoding="utf-8")
    job(shop, designs)
    assert [told for told in idle(lint("signs", today=TODAY)) if "no drawing" in told[2]] == []


def test_a_design_counts_as_there_where_its_drawing_is_not_of_this_run(shop: Path):
    (shop / "sign").mkdir()
    (shop / "sign" / "sun.svg").write_text(SVG.format(""), encoding="utf-8")
    job(shop, DESIGN.format("sign/*.svg", 60))
    assert idle(lint("signs", today=TODAY)) == []


def test_the_warning_has_a_level_like_any_other(shop: Path):
    job(shop, ENTRY.replace("live-text", "bitmap") + '[rules.idle-acceptance]\nlevel = "off"\n')
    assert idle(lint("signs", today=TODAY)) == []
    job(shop, ENTRY.replace("live-text", "bitmap") + '[rules.idle-acceptance]\nlevel = "error"\n')
    report = lint(["signs/star.svg", "signs/moon.svg"], today=TODAY)
    assert {f.level for f in report.findings if f.rule == "idle-acceptance"} == {Level.ERROR}


def test_only_new_findings_fail(shop: Path):
    first = lint("signs")
    assert first.exit_code == 1
    done = write_known(first, "known.json")
    assert done.exit_code == 0
    again = lint("signs", known="known.json")
    assert again.exit_code == 0
    assert {f.baseline for f in again.findings} == {"unchanged"}
    (shop / "signs" / "star.svg").write_text(SVG.format(TEXT.format("Star")), encoding="utf-8")
    later = lint("signs", known="known.json")
    assert later.exit_code == 1
    assert [(f.file, f.rule) for f in later.findings if f.baseline == "new" and f.level >= 3] == [
        ("signs/star.svg", "live-text")
    ]


def test_known_findings_survive_changes_elsewhere_in_the_file(shop: Path):
    write_known(lint("signs"), "known.json")
    moon = shop / "signs" / "moon.svg"
    text = moon.read_text(encoding="utf-8")
    more = '<!-- a line more -->\n<circle id="hole" cx="30" cy="10" r="3"/>\n<rect id="plate"'
    moon.write_text(text.replace('<rect id="plate"', more), encoding="utf-8")
    report = lint("signs", known="known.json")
    assert [f.baseline for f in report.findings if f.rule == "live-text"] == ["unchanged"]


def test_what_is_gone_is_said_in_a_note(shop: Path):
    write_known(lint("signs"), "known.json")
    (shop / "signs" / "moon.svg").write_text(SVG.format(""), encoding="utf-8")
    report = lint("signs", known="known.json")
    ((file, _, message),) = idle(report)
    assert file == "known.json"
    assert message == "1 known finding gone (live-text 1); writing the list again forgets them"
    assert report.exit_code == 0
    (shop / "signs" / "moon.svg").unlink()
    assert len(idle(lint("signs", known="known.json"))) == 1
    write_known(lint("signs"), "known.json")
    assert idle(lint("signs", known="known.json")) == []


def test_a_list_that_is_written_says_how_many_it_names_and_what_has_changed(shop: Path):
    def told(*paths: str) -> str:
        said: list[str] = []
        write_known(lint(paths), "known.json", tell=said.append)
        (line,) = said
        names = json.loads((shop / "known.json").read_text(encoding="utf-8"))["known"]
        assert line.startswith(f"known.json lists {len(names)} known finding")
        return line

    moon, star = shop / "signs" / "moon.svg", shop / "signs" / "star.svg"
    assert told("signs") == "known.json lists 1 known finding"
    assert told("signs") == "known.json lists 1 known finding, the same as before"
    star.write_text(SVG.format(TEXT.format("Star") + "<image/>"), encoding="utf-8")
    moon.write_text(SVG.format(""), encoding="utf-8")
    assert told("signs/star.svg") == "known.json lists 3 known findings; 1 before: 0 gone, 2 new"
    assert told("signs") == "known.json lists 2 known findings; 3 before: 1 gone, 0 new"
    moon.write_text(SVG.format(TEXT.format("Moon")), encoding="utf-8")
    star.write_text(SVG.format("<image/>"), encoding="utf-8")
    assert told("signs") == "known.json lists 2 known findings; 2 before: 1 gone, 1 new"


PVC = """[[stock]]
name = "sheet"
material = "PVC film"
thickness = 1
process = "laser"
kerf = 0
minimum = { web = 1, gap = 0.1, hole = 0.1, stroke = 0.1, part = 0.1 }

[[assign]]
colour = "#000000"
stock = "sheet"
operation = "cut"
"""


def test_a_known_finding_that_is_worse_counts_again(shop: Path):
    job(shop, PVC.replace("PVC film", "card"))
    bar = '<rect x="5" y="30" width="30" height="0.9" id="bar"/>'
    (shop / "signs" / "star.svg").write_text(SVG.format(bar), encoding="utf-8")
    write_known(lint("signs"), "known.json")
    assert lint("signs", known="known.json").exit_code == 0
    listed = json.loads((shop / "known.json").read_text(encoding="utf-8"))["known"]
    assert [one["measured"] for one in listed if one["rule"] == "thin-web"] == ["0.9 mm"]
    job(shop, PVC.replace("PVC film", "card").replace("kerf = 0", "kerf = 0.3"))
    report = lint("signs", known="known.json")
    assert report.exit_code == 1
    (worse,) = [f for f in report.findings if f.rule == "thin-web" and f.accepted is None]
    assert worse.message == (
        "web 0.60 mm finished, sheet needs 1.00 mm; was 0.90 mm when the list was written"
    )


def test_no_list_takes_an_unsafe_stock_away(shop: Path):
    job(shop, PVC)
    report = write_known(lint("signs"), "known.json")
    assert report.exit_code == 1
    assert {f.rule for f in report.findings if f.accepted is None} == {"unsafe-stock"}
    known = json.loads((shop / "known.json").read_text(encoding="utf-8"))["known"]
    assert "live-text" in {one["rule"] for one in known}
    assert "unsafe-stock" not in {one["rule"] for one in known}
    assert lint("signs", known="known.json").exit_code == 1


def test_the_list_is_the_same_bytes_wherever_the_run_started(
    shop: Path, monkeypatch: pytest.MonkeyPatch
):
    write_known(lint("signs"), "known.json")
    first = (shop / "known.json").read_bytes()
    monkeypatch.chdir(shop / "signs")
    write_known(lint("."), "../known.json")
    assert (shop / "known.json").read_bytes() == first
    assert json.loads(first)["known"][0]["file"] == "signs/moon.svg"


def run(*args: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "scantling", *args],
        cwd=cwd, capture_output=True, encoding="utf-8", env={**os.environ, "NO_COLOR": "1"},
    )  # fmt: skip


def test_on_the_command_line(shop: Path):
    assert run("lint", "signs", cwd=shop).returncode == 1
    done = run("lint", "signs", "--write-known", "known.json", cwd=shop)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "1 accepted" in done.stdout
    assert done.stderr == "scantling: note: known.json lists 1 known finding\n"
    assert run("lint", "signs", cwd=shop).stderr == ""
    done = run("lint", "signs", "--known", "known.json", "--report", "sarif", cwd=shop)
    assert done.returncode == 0, done.stderr
    results = json.loads(done.stdout)["runs"][0]["results"]
    (known,) = [r for r in results if r["ruleId"] == "live-text"]
    assert known["baselineState"] == "unchanged"
    assert known["suppressions"] == [
        {
            "kind": "external",
            "status": "accepted",
            "justification": "known before, not yet mended",
        }
    ]


def test_a_job_sheet_is_no_drawing_in_sarif(shop: Path):
    job(shop, ENTRY.replace("live-text", "bitmap"))
    done = run("lint", "signs", "--report", "sarif", cwd=shop)
    types = {
        a["location"]["uri"]: a.get("mimeType")
        for a in json.loads(done.stdout)["runs"][0]["artifacts"]
    }
    assert types["jobsheet.toml"] == "application/toml"
    assert types["signs/moon.svg"] == "image/svg+xml"


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("--known", "nowhere.json"), "nowhere.json: cannot be read"),
        (("--known", "signs/moon.svg"), "moon.svg:1:1: not JSON"),
        (("--write-known", "signs/moon.svg"), "moon.svg:1:1: not JSON"),
        (("--write-known", "no/where.json"), "cannot write"),
        (("--known", "k.json", "--write-known", "k.json"), "--write-known"),
    ],
)
def test_lists_that_cannot_be_used(shop: Path, args: tuple[str, ...], words: str):
    (shop / "k.json").write_text('{"form": 1, "known": []}', encoding="utf-8")
    before = (shop / "signs" / "moon.svg").read_bytes()
    done = run("lint", "signs", *args, cwd=shop)
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1, done.stderr
    assert words in done.stderr
    assert (shop / "signs" / "moon.svg").read_bytes() == before
