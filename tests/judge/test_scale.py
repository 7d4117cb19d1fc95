"""How small a design may be made, in closed form: the finished lengths that a stock asks for, with
its kerf of 0.2 mm, as shares of what is drawn."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from scantling.judge import Fault, Level, assigned, page, stocked
from scantling.judge.packs import Rulebook, installed
from scantling.judge.rule import rule_from
from scantling.judge.scale import enlarged
from scantling.linter import Linter, Wanted
from scantling.plan.model import Minimums, Stock
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


def by_rule(check: Callable[..., Iterator[Fault]], **more: object) -> tuple[float | None, bool]:
    """How wide a plate of 20 mm must be by one made-up rule, on a stock that asks for webs of 1 mm;
    and whether that is a bound."""
    made: Any = ModuleType("tests.made.too_little")
    made.id, made.level, made.title = "too-little", "error", "too little"
    made.why = made.remedy = made.source = "none"
    made.passes = made.fails = ()
    made.check = check
    made.__dict__.update(more)
    linter = Linter(
        Wanted(stock="card-1.5"), book=Rulebook((rule_from(made),), installed().tables, ())
    )
    report = linter.text(page(PLATE.format(25)))
    assert (report.failure, report.findings) == (None, ())
    return report.smallest_safe_width, report.safe_bound


def lacking(drawn: float, **more: Any) -> Callable[..., Iterator[Fault]]:
    """A check that finds a length too small for the stock's webs of 1 mm."""

    def check(minimum: Minimums) -> Iterator[Fault]:
        if drawn < minimum.web:
            yield Fault(message="too little", **{"drawn": drawn, "needed": minimum.web} | more)

    return check


BOUND = (pytest.approx(20 / 1.5), True)


@pytest.mark.parametrize(
    ("more", "counts"),
    [
        pytest.param({}, True, id="any fault"),
        pytest.param({"level": Level.NOTE}, False, id="a note"),
        pytest.param({"level": Level.WARNING}, True, id="a warning"),
        pytest.param({"told_by": "small-part"}, False, id="told by another rule"),
        pytest.param({"needed": lambda: 1.5}, False, id="long to find"),
        pytest.param({"needed": lambda: 1.5, "by_stock": True}, True, id="long, but by stock"),
        pytest.param({"needed": None}, False, id="of no size"),
        pytest.param({"needed": 1.2 * 0.95}, False, id="too large"),
    ],
)
def test_which_faults_count(more: dict[str, Any], counts: bool):
    """1.2 mm drawn where 1 mm is asked for: a sixth of the width may go."""
    assert by_rule(lacking(1.2, **more)) == ((pytest.approx(20 / 1.2), False) if counts else BOUND)


def test_what_is_just_below_the_bound_counts():
    assert by_rule(lacking(1.5 / 1.05)) == (pytest.approx(20 * 1.05 / 1.5), False)


@pytest.mark.parametrize("level", ["note", "off"])
def test_no_width_where_all_rules_only_note(level: str):
    assert by_rule(lacking(1.2), level=level) == (None, False)


def test_a_rule_that_only_warns_counts():
    assert by_rule(lacking(1.2), level="warning") == (pytest.approx(20 / 1.2), False)


def test_a_rule_without_anything_to_do_is_not_asked():
    assert by_rule(lacking(1.2), applies=lambda plan: False) == (None, False)
    report = Linter(Wanted(stock="card-1.5", how_small=True)).text(page(""))
    assert (report.failure, report.smallest_safe_width) == (None, None)


def test_options_that_are_lengths_scale_and_others_do_not():
    """1.2 mm drawn where 2 rows of 2 tabs, 0.25 mm each, are asked for."""

    def check(minimum: Minimums, options: dict[str, float]) -> Iterator[Fault]:
        needed = options["tab"] * options["tabs"] ** 2
        if needed > 1.2:
            yield Fault(message="too little", drawn=1.2, needed=needed)

    parameters = {
        "tab": {"type": "number", "default": 0.25, "x-unit": "mm"},
        "tabs": {"type": "number", "default": 2},
    }
    assert by_rule(check, parameters=parameters) == (pytest.approx(20 / 1.2), False)


def test_every_length_of_a_stock_scales():
    minimum = Minimums(web=1.0, gap=2.0, hole=4.0, stroke=5.0, part=6.0, part_area=7.0)
    threefold = Minimums(web=3.0, gap=6.0, hole=12.0, stroke=15.0, part=18.0, part_area=63.0)
    stock = Stock("any", "plywood", 1.0, "laser", 0.25, minimum, bed_opening=8.0, sheet=(9.0, 9.0))
    larger = Stock(
        "any", "plywood", 3.0, "laser", 0.75, threefold, bed_opening=24.0, sheet=(9.0, 9.0)
    )
    assert enlarged(stock, 3.0) == larger
