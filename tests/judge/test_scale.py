"""How small a design may be made, in closed form: the finished lengths that a stock asks for, with
its kerf of 0.2 mm, as shares of what is drawn."""

from __future__ import annotations

from pathlib import Path

import pytest

from scantling.judge import assigned, page, stocked
from scantling.linter import Linter, Wanted
from scantling.report.model import FileReport

PLATE = '<path fill-rule="evenodd" d="M5 5H{0}V{0}H5Z"/>'
FRAME = '<path fill-rule="evenodd" d="M9 9V41H41V9ZM5 5H45V45H5Z"/>'  # 40 mm, webs of 4 mm


def judged(folder: Path, body: str, *keys: str, rules: str = "", **wanted: bool) -> FileReport:
    job = stocked("ply", "plywood", 'kerf = "0.2 mm"', *keys) + assigned("#000", "ply") + rules
    (folder / "jobsheet.toml").write_text(job, encoding="utf-8")
    drawing = folder / "drawing.svg"
    drawing.write_text(page(body, 600, 600), encoding="utf-8")
    report = Linter(Wanted(**{"how_small": True, **wanted})).file(str(drawing))
    assert report.failure is None
    return report


@pytest.mark.parametrize(
    ("body", "keys", "width"),
    [
        pytest.param(FRAME, 'web = "1 mm", part = "2 mm"', 40 * 1.2 / 4, id="web"),
        pytest.param(FRAME, 'web = "0.1 mm", hole = "8 mm"', 40 * 7.8 / 32, id="hole"),
        pytest.param(PLATE.format(25), 'part = "6 mm"', 6.2, id="part"),
        pytest.param(PLATE.format(25), 'part = "6 mm", part-area = 100', 10.2, id="area"),
    ],
)
def test_each_minimum_counts(tmp_path: Path, body: str, keys: str, width: float):
    report = judged(tmp_path, body, f"minimum = {{ {keys} }}")
    assert report.findings == ()
    assert report.smallest_safe_width == pytest.approx(width, rel=1e-3)
    assert not report.safe_bound


def test_what_falls_through_the_bed_counts(tmp_path: Path):
    report = judged(tmp_path, PLATE.format(25), 'bed-opening = "15 mm"')
    assert report.smallest_safe_width == pytest.approx(15.2)


def test_a_rule_that_only_notes_does_not_count(tmp_path: Path):
    minimum = 'minimum = { web = "1 mm", part = "7 mm" }'
    quiet = '\n[rules.thin-web]\nlevel = "note"\n'
    assert judged(tmp_path, FRAME, minimum).smallest_safe_width == pytest.approx(12.0)
    report = judged(tmp_path, FRAME, minimum, rules=quiet)
    assert report.smallest_safe_width == pytest.approx(7.2)


def test_nothing_is_sought_below_a_twelfth(tmp_path: Path):
    report = judged(tmp_path, PLATE.format(505))
    assert (report.smallest_safe_width, report.safe_bound) == (pytest.approx(500 / 12), True)
    report = judged(tmp_path, PLATE.format(505), how_small=False)
    assert (report.smallest_safe_width, report.safe_bound) == (pytest.approx(500 / 1.5), True)
