"""thin-stroke: what is engraved needs its width; what is scored is only told."""

from __future__ import annotations

import pytest

from scantling.judge import Level, assigned, page, stocked
from scantling_rules.features import thin_stroke as rule

JOB = stocked("ply", "plywood", 'minimum = {{ stroke = "0.2 mm" }}') + assigned("#000", "ply", "{}")
LINES = page(
    '<g id="rays" fill="none" stroke="#000" stroke-width="0.12">'
    '<path id="ray" d="M5 5H35M5 9H35"/></g><path fill="none" stroke="#000" d="M5 20H35"/>'
)


def test_a_scored_hairline_is_a_note_and_asks_for_no_size(findings_of):
    (finding,) = findings_of(rule, LINES, JOB.format("score"))
    assert finding.level is Level.NOTE
    assert finding.message == (
        "scored stroke drawn 0.12 mm wide at its thinnest of 2 places: "
        "a score follows its middle and comes out as wide as the tool's own mark"
    )
    assert (finding.measured, finding.extent) == pytest.approx((0.12, 60.0))
    assert finding.smallest_safe_width is None
    assert not finding.by_stock


def test_an_engraved_hairline_is_a_warning_with_the_size_that_mends_it(findings_of):
    (finding,) = findings_of(rule, LINES, JOB.format("engrave"))
    assert finding.level is Level.WARNING
    assert finding.message == (
        "engraved stroke 0.12 mm wide at its thinnest of 2 places, ply needs 0.20 mm"
    )
    assert finding.smallest_safe_width == pytest.approx(30.0 * 0.2 / 0.12)
    assert finding.by_stock


def test_a_job_sheet_makes_no_error_of_a_score(findings_of):
    job = JOB.format("score") + '[rules.thin-stroke]\nlevel = "error"\n'
    (finding,) = findings_of(rule, LINES, job)
    assert finding.level is Level.NOTE
