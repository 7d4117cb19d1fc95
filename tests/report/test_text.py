"""The text report: the GNU message form, folding, the summary, terminals."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pytest

from scantling.judge.finding import Level, Place
from scantling.plan.checked import Problem
from scantling.report import plain, text
from scantling.report.model import Failure, FileReport, Manner, Report

PLAIN = Manner()
# GNU Coding Standards, section 4.4: SOURCEFILE:LINENO:COLUMN: MESSAGE
GNU = re.compile(r"^(?P<file>[^:\n]+):(?P<line>\d+):(?P<column>\d+): (?P<message>.+)$")
# What editors take for a message: a name, a colon, perhaps a blank, and a number
TAKEN = re.compile(r"^[^\n:]*[^\s:][^\n:]*: ?\d")


def said(report: Report, **manner: object) -> list[str]:
    return text.render(report, replace(PLAIN, **manner)).splitlines()


def test_a_finding_is_one_line_in_the_gnu_form(report):
    first = said(report)[0]
    assert first == (
        "clock.svg:14:5: error: web 0.82 mm finished, walnut-3 needs 1.20 mm; "
        'at x 112.40 y 63.18 mm, part "crescent" [thin-web]'
    )
    assert GNU.match(first)["line"] == "14"


def test_findings_of_a_file_have_no_line(samples):
    whole = samples.finding(place=Place(0, 0, 0, 0, 0, 0), at=None, part="", element="", layer="")
    assert said(samples.report(whole))[0].startswith("clock.svg: error: web")


def test_failures_and_notices_are_messages_too(report):
    lines = said(report)
    assert "broken.svg:3:7: error: not well-formed: no element found" in lines
    notice = "trail/marker 1.svg: note: no job sheet: judged as acrylic-3, drawn size 60.00 mm"
    assert notice in lines


def test_notices_come_before_the_findings_of_their_file(samples):
    lines = said(samples.report(samples.finding(), notices=("judged as acrylic-3",)))
    assert lines[0] == "clock.svg: note: judged as acrylic-3"
    assert lines[1].startswith("clock.svg:14:5: error:")


def test_what_many_files_share_is_said_once(samples):
    (file,) = samples.report(samples.finding(), notices=("no job sheet", "page cut")).files
    many = [replace(file, file=f"{k}.svg", notices=file.notices[: 1 + k % 2]) for k in range(16)]
    report = replace(samples.report(), files=tuple(many))
    lines = said(report)
    assert lines[0] == "scantling: note: of 16 files: no job sheet"
    assert [line for line in lines if ": note: " in line][1:] == [
        f"{k}.svg: note: page cut" for k in range(1, 16, 2)
    ]
    each = [line for line in said(report, fold=0) if line.endswith(": note: no job sheet")]
    assert len(each) == 16


def test_why_many_files_were_not_judged_is_said_once(samples):
    def failed(k: int, *, passing: bool) -> FileReport:
        why = Failure(file=f"{k}.svg", message="no stock is called moss", passing=passing)
        return FileReport(file=f"{k}.svg", failure=why)

    report = replace(samples.report(), files=tuple(failed(k, passing=True) for k in range(16)))
    first, _, second, *_ = said(report)
    assert first == "scantling: error: of 16 files: no stock is called moss"
    assert second.endswith("  not judged")
    for each in (
        said(report, fold=0),
        said(replace(report, files=report.files[:12])),
        said(replace(report, files=tuple(failed(k, passing=False) for k in range(16)))),
    ):
        assert each[0] == "0.svg: error: no stock is called moss"


def test_the_summary_is_never_taken_for_a_message(report):
    lines = said(report)
    summary = lines[lines.index("") + 1 :]
    assert len(summary) > 5
    assert not [line for line in summary if TAKEN.match(line)]


def test_the_summary_tells_sizes_sheets_and_totals(report):
    summary = "\n".join(said(report)).split("\n\n")[1]
    assert "clock.svg  260.00 × 258.40 mm finished, job sheet jobsheet.toml" in summary
    assert (
        "walnut-3  3 parts, 2 drop-outs, cut 1240 mm, least web 0.82 mm at x 112.40 y 63.18"
        in summary
    )
    assert "smallest safe width 312.40 mm" in summary
    assert "walnut-3 passes at this size in card-1.5, birch-4" in summary
    assert summary.splitlines()[-1] == (
        "1 file not judged, 1 error, 1 warning, 1 note, 1 accepted in 1 of 3 files"
    )


def test_the_last_line_counts_files_in_plain_words(samples):
    def last(*files: FileReport) -> str:
        return said(replace(samples.whole(), files=files))[-1]

    bad = replace(samples.clock(), findings=(samples.finding(),))
    good = replace(bad, findings=())
    lost = FileReport(file="lost.svg", failure=Failure(file="lost.svg", message="not there"))
    assert last(bad) == "1 error in 1 file"
    assert last(bad, bad) == "2 errors in 2 files"
    assert last(bad, good) == "1 error in 1 of 2 files"
    assert last(good, good) == "nothing found in 2 files"
    assert last(lost) == "1 file not judged"
    assert last(lost, good) == "1 file not judged of 2"
    assert last(lost, bad, good) == "1 file not judged, 1 error in 1 of 3 files"


def test_accepted_findings_are_counted_and_shown_on_request(report):
    assert not any("transfer tape" in line for line in said(report))
    shown = [line for line in said(report, accepted=True) if "transfer tape" in line]
    assert shown == [
        "clock.svg:18:3: accepted: web 0.82 mm finished, walnut-3 needs 1.20 mm; at x 12.00 y "
        '13.00 mm, part "crescent"; reason: held by the transfer tape [thin-web]'
    ]


def test_a_flood_is_one_line_with_its_worst(samples):
    many = [
        samples.finding(
            measured=1.0 - k / 100,
            message=f"web {1 - k / 100:.2f} mm",
            place=Place(k + 1, 1, k + 1, 9, 0, 8),
        )
        for k in range(13)
    ]  # fmt: skip
    milder = samples.finding(level=Level.WARNING, measured=0.1)
    lines = [line for line in said(samples.report(*many, milder)) if "[thin-web]" in line]
    assert len(lines) == 2
    assert lines[0].startswith("clock.svg:13:1: error: web 0.88 mm; the worst of 13, at x")
    few = [line for line in said(samples.report(*many[:12])) if "[thin-web]" in line]
    assert len(few) == 12
    every = said(samples.report(*many, milder), fold=0)
    assert sum("[thin-web]" in line for line in every) == 14


def test_a_long_list_of_files_is_summed_up_by_its_worst(samples):
    files = [replace(samples.clock(), file=f"{k:03}.svg", findings=()) for k in range(40)]
    files[7] = replace(files[7], findings=(samples.finding(level=Level.WARNING),))
    files[9] = replace(files[9], findings=(samples.finding(), samples.finding()))
    lines = said(replace(samples.whole(), files=tuple(files)))
    heads = [line.split()[0] for line in lines if "mm finished, job" in line]
    assert heads == ["009.svg", "007.svg"]
    assert lines[-1] == "2 errors, 1 warning in 2 of 40 files"


def test_what_a_drawing_is_called_cannot_move_the_cursor(samples):
    hostile = "x\n\x1b[2Jevil.svg\u202etxt"
    report = samples.report(samples.finding(part="a\r\x9bb", file=hostile), file=hostile)
    out = text.render(report, PLAIN)
    assert "\\x0a\\x1b[2Jevil.svg\\u202etxt:14:5" in out
    assert '"a\\x0d\\x9bb"' in out
    assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e]", out)


def test_names_of_other_scripts_stay_as_they_are(samples):
    assert 'part "Mond・月"' in text.render(samples.report(samples.finding(part="Mond・月")), PLAIN)


def test_an_empty_run_says_so(report):
    assert said(replace(report, files=())) == ["nothing found in 0 files"]
    clean = FileReport(file="a.svg", size=(10.0, 10.0))
    assert said(replace(report, files=(clean,))) == [
        "a.svg  10.00 × 10.00 mm finished",
        "  nothing found",
        "nothing found in 1 file",
    ]


BAD_KEY = Problem("shop/jobsheet.toml", 14, 1, "accept", 'missing key "reason"')


def test_troubles_of_the_run_come_first(report):
    troubled = replace(report, troubles=("pack moss: ImportError: no such thing",))
    assert said(troubled)[0] == "scantling: error: pack moss: ImportError: no such thing"
    troubled = replace(report, troubles=(BAD_KEY, Problem("gone.toml", 0, 0, "", "cannot be read")))
    assert said(troubled)[:2] == [
        'shop/jobsheet.toml:14:1: error: accept: missing key "reason"',
        "gone.toml: error: cannot be read",
    ]


def test_the_same_bytes_every_run(report):
    assert text.render(report, PLAIN) == text.render(report, PLAIN)


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.fixture
def terminal(monkeypatch):
    monkeypatch.setenv("TERM", "xterm-256color")
    for name in ("NO_COLOR", "FORCE_COLOR", "COLUMNS", "COLORTERM"):
        monkeypatch.delenv(name, raising=False)
    return Terminal()


ANSI = re.compile(r"\x1b\[[0-9;]*m")


@pytest.mark.parametrize("width", [30, 60, 200])
def test_a_terminal_gets_colour_and_its_own_width(report, terminal, width):
    text.show(report, replace(PLAIN, width=width), terminal)
    out = terminal.getvalue()
    assert "\x1b[1;31merror" in out
    lines = ANSI.sub("", out).splitlines()
    assert max(map(len, lines)) <= width
    joined = " ".join(" ".join(lines).split())
    for said_line in said(report):
        assert " ".join(said_line.split()) in joined or width == 30


def test_no_colour_where_it_is_not_wanted(report, terminal, monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    text.show(report, replace(PLAIN, width=100), terminal)
    colours = [
        code for code in ANSI.findall(terminal.getvalue()) if re.search(r"3\d|4\d|9\d", code)
    ]
    assert colours == []


def test_plain_text_needs_no_terminal_library():
    import subprocess
    import sys

    code = (
        "import sys; from scantling.report import text, forms; "
        "from scantling.report.model import Manner, Report; "
        "text.render(Report(files=(), rules=(), version='1'), Manner()); "
        "print([m for m in ('rich', 'jinja2', 'shapely', 'jsonschema') if m in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout == "[]\n"


@pytest.mark.parametrize(
    ("safe", "bound", "words"),
    [
        (312.4, False, "smallest safe width 312.40 mm"),
        (2600.5, False, "smallest safe width 2600 mm, 10 times this: redraw instead"),
        (130.0, False, "what depends on the size passes down to a width of 130.00 mm"),
        (312.4, True, ""),
        (None, False, ""),
    ],
)
def test_a_safe_width_is_told_for_what_it_is(samples, safe, bound, words):
    (file,) = samples.report(samples.finding()).files[:1]
    assert plain.safe_width(replace(file, smallest_safe_width=safe, safe_bound=bound)) == words


def test_notes_alone_pass_from_a_smaller_width(samples):
    note = samples.finding(level=Level.NOTE)
    file = replace(samples.report(note).files[0], smallest_safe_width=130.0, safe_bound=False)
    assert plain.safe_width(file) == "smallest safe width 130.00 mm"


def test_copies_of_one_element_share_a_line(samples):
    """What is wrong with an element is wrong with every `use` of it, and mended once."""
    copies = [samples.finding(uses=(k,), at=(10.0 * k, 5.0)) for k in range(3)]
    other = samples.finding(uses=(7,), place=Place(20, 1, 20, 9, 600, 608))
    lines = said(samples.report(*copies, other))
    told = [line for line in lines if "thin-web" in line]
    assert len(told) == 2
    assert "the worst of 3" in told[0]
    assert "worst" not in told[1]
    everything = said(samples.report(*copies, other), fold=0)
    assert sum("thin-web" in line for line in everything) == 4
