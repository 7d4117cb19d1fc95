"""Reports as JSON and back."""

import json
import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scantling.catalogue.codec import Malformed, dump, load_as, load_file, load_rules
from scantling.catalogue.row import Row, row_of
from scantling.judge.finding import Finding, Fix, Level, Place, Related
from scantling.report.model import Failure, FileReport, RuleText, SheetSummary

floats = st.floats(allow_nan=False, allow_infinity=False)
pairs = st.tuples(floats, floats)
places = st.builds(Place, *[st.integers(0, 10**6)] * 6)
texts = st.text(max_size=6)
findings = st.builds(
    Finding,
    rule=texts,
    level=st.sampled_from([Level.NOTE, Level.WARNING, Level.ERROR]),
    message=texts,
    file=texts,
    place=places,
    at=st.none() | pairs,
    measured=st.none() | floats,
    uses=st.lists(st.integers(0, 99), max_size=3).map(tuple),
    related=st.lists(
        st.builds(Related, message=texts, place=places, at=st.none() | pairs), max_size=2
    ).map(tuple),
    mark=st.lists(st.lists(pairs, max_size=2).map(tuple), max_size=1).map(tuple),
    passing_stocks=st.lists(texts, max_size=2).map(tuple),
    accepted=st.none() | texts,
    fixes=st.lists(
        st.builds(
            Fix,
            message=texts,
            replacements=st.lists(st.tuples(places, texts), max_size=2).map(tuple),
        ),
        max_size=1,
    ).map(tuple),
)
sheets = st.builds(
    SheetSummary,
    label=texts,
    stock=texts,
    parts=st.integers(0, 99),
    dropouts=st.integers(0, 9),
    cut=floats,
    score=floats,
    engrave=floats,
    size=pairs,
    least_web=st.none() | floats,
    least_web_at=st.none() | pairs,
)
reports = st.builds(
    FileReport,
    file=texts,
    findings=st.lists(findings, max_size=2).map(tuple),
    notices=st.lists(texts, max_size=2).map(tuple),
    failure=st.none() | st.builds(Failure, file=texts, message=texts, line=st.integers(0, 9)),
    size=st.none() | pairs,
    sheets=st.lists(sheets, max_size=1).map(tuple),
    smallest_safe_width=st.none() | floats,
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(reports)
def test_a_report_comes_back_as_it_was(report: FileReport):
    data = dump(report)
    assert load_file(data) == report
    assert dump(load_file(data)) == data
    row = row_of(report, "birch-4")
    assert load_as(Row, dump(row)) == row


def test_rules_come_back_as_they_were():
    rule = RuleText(
        id="thin-web",
        family="features",
        level=Level.ERROR,
        title="a web",
        why="it breaks",
        remedy="widen it",
        source="common practice, no source",
        parameters={"allowance": {"type": "number", "default": 2.5, "enum": [1, 2.5]}},
    )
    assert load_rules(dump((rule, rule))) == (rule, rule)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[",
        "null",
        "[]",
        "{}",
        '{"file": 3}',
        '{"file": "a", "unheard-of": 1}',
        '{"file": "a", "findings": {}}',
        '{"file": "a", "findings": [{"rule": "r"}]}',
        '{"file": "a", "size": [1]}',
        '{"file": "a", "size": [1, "2"]}',
        '{"file": "a", "scale": true}',
        "[" * 100_000,
        "\udc80",
    ],
)
def test_what_is_no_report_is_refused(text: str):
    with pytest.raises(Malformed):
        load_file(text.encode("utf-8", "surrogatepass"))


def test_levels_and_places_are_checked():
    good = json.loads(dump(FileReport(file="a", findings=(finding(),))))
    for name, wrong in (("level", "HORROR"), ("level", 3), ("place", [1, 2, 3]), ("mark", [[1]])):
        bad = json.loads(json.dumps(good))
        bad["findings"][0][name] = wrong
        with pytest.raises(Malformed):
            load_file(json.dumps(bad).encode())


def test_numbers_of_numpy_are_written_as_numbers():
    np = pytest.importorskip("numpy")
    report = FileReport(file="a", size=(np.float64(1.5), np.float32(2)), scale=np.float64(0.1))
    assert load_file(dump(report)).size == (1.5, 2.0)
    assert math.isclose(load_file(dump(report)).scale, 0.1)


def finding() -> Finding:
    place = Place(1, 2, 3, 4, 5, 6)
    return Finding(rule="r", level=Level.NOTE, message="m", file="a", place=place)
