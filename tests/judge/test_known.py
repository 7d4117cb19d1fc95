"""Lists of known findings: only new ones fail, and the file stays readable."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scantling.judge.finding import Finding, Level, Place
from scantling.judge.known import REASON, BadKnown, Entry, Known


def finding(rule: str = "thin-web", fingerprint: str = "aa", **more: object) -> Finding:
    return Finding(
        rule=rule,
        level=Level.ERROR,
        message=f"{rule} says so",
        file="clock.svg",
        place=Place(1, 1, 1, 2, 0, 1),
        fingerprint=fingerprint,
        **more,  # type: ignore[arg-type]
    )


def test_known_findings_are_accepted_and_new_ones_stand(tmp_path: Path):
    known = Known(
        str(tmp_path / "known.json"),
        (
            Entry("clock.svg", "thin-web", "aa"),
            Entry("clock.svg", "thin-web", "bb", reason="glued"),
        ),
    )
    drawing = str(tmp_path / "clock.svg")
    old, glued, new, other = known.mark(
        [finding(), finding(fingerprint="bb"), finding(fingerprint="cc"), finding("small-part")],
        drawing,
    )
    assert (old.accepted, old.accepted_in, old.baseline) == (REASON, "external", "unchanged")
    assert glued.accepted == "glued"
    assert (new.accepted, new.baseline) == (None, "new")
    assert (other.accepted, other.baseline) == (None, "new")


def test_the_same_finding_in_another_drawing_is_new(tmp_path: Path):
    known = Known(str(tmp_path / "known.json"), (Entry("clock.svg", "thin-web", "aa"),))
    (one,) = known.mark([finding()], str(tmp_path / "dial.svg"))
    assert one.accepted is None


def test_what_is_accepted_already_keeps_its_reason(tmp_path: Path):
    known = Known(str(tmp_path / "known.json"), (Entry("clock.svg", "thin-web", "aa"),))
    accepted = finding(accepted="held by tape", accepted_in="inSource")
    (one,) = known.mark([accepted], str(tmp_path / "clock.svg"))
    assert (one.accepted, one.accepted_in, one.baseline) == (
        "held by tape",
        "inSource",
        "unchanged",
    )


def test_names_are_relative_to_the_list(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    (tmp_path / "designs" / "clock").mkdir(parents=True)
    known = Known(str(tmp_path / "designs" / "known.json"))
    known = known.renewed([(str(tmp_path / "designs" / "clock" / "clock.svg"), [finding()])])
    assert [entry.file for entry in known.entries] == ["clock/clock.svg"]
    monkeypatch.chdir(tmp_path)
    (one,) = known.mark([finding()], "designs/clock/clock.svg")
    assert one.accepted == REASON


def test_gone_findings_are_told(tmp_path: Path):
    known = Known(
        str(tmp_path / "known.json"),
        (Entry("clock.svg", "thin-web", "aa"), Entry("clock.svg", "thin-web", "bb")),
    )
    gone = known.gone([finding(fingerprint="bb")], str(tmp_path / "clock.svg"))
    assert [entry.fingerprint for entry in gone] == ["aa"]


def test_writing_again_keeps_reasons_and_drawings_that_were_not_judged(tmp_path: Path):
    first = Known(
        str(tmp_path / "known.json"),
        (
            Entry("clock.svg", "thin-web", "aa", "old words", "glued"),
            Entry("clock.svg", "thin-web", "gone"),
            Entry("dial.svg", "open-path", "dd", "outline is open"),
            Entry("lost.svg", "open-path", "ff"),
        ),
        "before the new machine",
    )
    (tmp_path / "dial.svg").touch()  # not judged, but there; lost.svg is not
    accepted = finding(fingerprint="ee", accepted="held by tape")
    again = first.renewed([(str(tmp_path / "clock.svg"), [finding(), accepted])])
    assert again.entries == (
        Entry("clock.svg", "thin-web", "aa"),
        Entry("dial.svg", "open-path", "dd"),
    )
    assert [(e.says, e.reason) for e in again.entries] == [
        ("thin-web says so", "glued"),
        ("outline is open", ""),
    ]
    assert again.reason == "before the new machine"


def web(measured: float, required: float = 1.5, unit: str = "mm") -> Finding:
    return finding(measured=measured, required=required, unit=unit)


@pytest.mark.parametrize(
    ("known", "now", "counts"),
    [
        ("0.9 mm", web(0.9), False),
        ("0.9 mm", web(0.86), False),  # within 5 %
        ("0.9 mm", web(0.85), True),
        ("0.9 mm", web(1.4), False),  # better
        ("0.1 mm", web(0.07), False),  # within the error of measuring
        ("0.1 mm", web(0.05), True),
        ("100.0 mm", web(104, 50), False),  # too long, not too short
        ("100.0 mm", web(106, 50), True),
        ("0.1 mm", web(0.3, 0.25), True),  # was too little, is too much
        ("0.9 mm", web(20, 36, "mm²"), False),  # judged by something else: nobody can tell
        ("0.9 mm", finding(measured=0.1), False),
        ("0.9 mm", finding(), False),
        ("", web(0.1), False),  # a list of old
    ],
)
def test_what_has_become_worse_counts_again(tmp_path: Path, known: str, now: Finding, counts: bool):
    entry = Entry("clock.svg", "thin-web", "aa", measured=known)
    listed = Known(str(tmp_path / "known.json"), (entry,))
    (one,) = listed.mark([now], str(tmp_path / "clock.svg"))
    assert (one.accepted is None, one.baseline) == (counts, "updated" if counts else "unchanged")
    if counts:
        was = float(known.split()[0])
        assert one.message == f"thin-web says so; was {was:.2f} mm when the list was written"
    else:
        assert one.message == now.message
    assert listed.gone([now], str(tmp_path / "clock.svg")) == ()


def test_the_measure_is_written_down_and_renewed(tmp_path: Path):
    drawing = str(tmp_path / "clock.svg")
    first = Known(str(tmp_path / "known.json")).renewed([(drawing, [web(0.90004), finding("x")])])
    assert [entry.measured for entry in first.entries] == ["0.9 mm", ""]
    again = first.renewed([(drawing, [web(0.5)])])
    assert [entry.measured for entry in again.entries] == ["0.5 mm"]
    assert again.mark([web(0.5)], drawing)[0].accepted == REASON


def test_what_nobody_may_accept_is_on_no_list(tmp_path: Path):
    drawing = str(tmp_path / "clock.svg")
    stays = finding("unsafe-stock", acceptable=False)
    assert Known(str(tmp_path / "known.json")).renewed([(drawing, [stays])]).entries == ()
    written = Known(str(tmp_path / "known.json"), (Entry("clock.svg", "unsafe-stock", "aa"),))
    (one,) = written.mark([stays], drawing)
    assert (one.accepted, one.baseline) == (None, "unchanged")


_MEASURES = st.just("") | st.builds(
    "{} {}".format, st.floats(allow_nan=False, allow_infinity=False), st.text(min_size=1)
)


@given(
    st.lists(
        st.builds(
            Entry,
            file=st.text(min_size=1, max_size=9),
            rule=st.text(min_size=1, max_size=9),
            fingerprint=st.text(min_size=1, max_size=9),
            says=st.text(max_size=9),
            reason=st.text(max_size=9),
            measured=_MEASURES,
        ),
        max_size=3,
        unique_by=lambda e: (e.file, e.rule, e.fingerprint),
    )
)
def test_a_list_is_read_as_it_was_written(tmp_path_factory: pytest.TempPathFactory, entries: list):
    file = tmp_path_factory.getbasetemp() / "known.json"
    written = Known(
        str(file), tuple(sorted(entries, key=lambda e: (e.file, e.rule, e.fingerprint)))
    )
    file.write_bytes(written.text().encode("utf-8"))
    read = Known.read(file)
    assert read == written
    assert [(e.says, e.reason, e.measured) for e in read.entries] == [
        (e.says, e.reason, e.measured) for e in written.entries
    ]


def test_one_line_a_finding(tmp_path: Path):
    entries = Entry("a.svg", "x", "1", "one", measured="0.9 mm"), Entry("b.svg", "x", "2")
    text = Known("known.json", entries).text()
    assert text == (
        "{\n"
        '  "form": 1,\n'
        f'  "reason": "{REASON}",\n'
        '  "known": [\n'
        '    {"file": "a.svg", "rule": "x", "fingerprint": "1", "measured": "0.9 mm", '
        '"says": "one"},\n'
        '    {"file": "b.svg", "rule": "x", "fingerprint": "2"}\n'
        "  ]\n"
        "}\n"
    )
    json.loads(text)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("", "known.json:1:1: not JSON"),
        ("[]", '"known" is missing'),
        ('{"form": 7, "known": []}', "this version reads 1"),
        ('{"form": 1, "known": [3]}', "entry 1"),
        ('{"form": 1, "known": [{"file": "a"}]}', 'has no "rule"'),
        (
            '{"form": 1, "known": [{"file": "a", "rule": "b", "fingerprint": "c", '
            '"measured": "wide"}]}',
            'entry 1 of "known": "measured" is \'wide\'',
        ),
        ('{"form": 1, "reason": "", "known": []}', '"reason"'),
        ("[" * 100_000, "not JSON"),
    ],
)
def test_a_bad_list_is_one_clear_line(tmp_path: Path, content: str, words: str):
    file = tmp_path / "known.json"
    file.write_text(content, encoding="utf-8")
    with pytest.raises(BadKnown) as caught:
        Known.read(file)
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_missing_list_is_said(tmp_path: Path):
    with pytest.raises(BadKnown, match="cannot be read"):
        Known.read(tmp_path / "nowhere.json")


def test_marking_is_no_change_of_the_finding_itself(tmp_path: Path):
    (one,) = Known(str(tmp_path / "known.json")).mark([finding()], str(tmp_path / "clock.svg"))
    assert replace(one, baseline="") == finding()
