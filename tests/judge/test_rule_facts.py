"""Facts that rules bring: asked for by name, and worked out once a sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from types import ModuleType
from typing import Any

from scantling.judge import Fault, page
from scantling.judge.packs import Rulebook, installed
from scantling.judge.rule import rule_from
from scantling.linter import Linter, Wanted
from scantling.measure.model import Piece
from scantling.plan.model import Job, Stock

BODY = '<rect x="5" y="5" width="10" height="10" fill="{}"/>'


def module(asked: list[tuple[int, object]]) -> ModuleType:
    def sizes(pieces: Sequence[Piece], job: Job) -> list[float]:
        asked.append((len(pieces), job.rules.get("too-square")))
        return [piece.area for piece in pieces]

    def check(sizes: list[float], stock: Stock) -> Iterator[Fault]:
        for size in sizes:
            yield Fault(message=f"{size:.0f} mm² of {stock.name}", by_stock=True)

    made: Any = ModuleType("tests.made.too_square")
    made.id, made.level, made.title = "too-square", "warning", "a square"
    made.why = made.remedy = made.source = "none"
    made.passes = made.fails = ()
    made.facts, made.check = (sizes,), check
    return made


def test_a_fact_of_its_own_is_called_once_a_sheet_whatever_stocks_are_tried() -> None:
    asked: list[tuple[int, object]] = []
    rule = rule_from(module(asked))
    assert (rule.asks, rule.per_sheet) == (("sizes", "stock", "pieces", "job"), True)
    linter = Linter(Wanted(stock="card-1.5"), book=Rulebook((rule,), installed().tables, ()))
    report = linter.text(page(BODY.format("red") + BODY.format("blue")))
    assert [f.message for f in report.findings] == ["100 mm² of card-1.5"] * 2
    assert [sheet.passing_stocks for sheet in report.sheets] == [(), ()]  # other stocks were tried
    assert asked == [(1, None)] * 2


def test_two_rules_that_share_one_get_the_same_answer() -> None:
    asked: list[tuple[int, object]] = []
    one, other = module(asked), module(asked)
    other.__dict__.update(id="too-even", facts=one.__dict__["facts"])
    rules = (rule_from(one), rule_from(other))
    linter = Linter(Wanted(stock="card-1.5"), book=Rulebook(rules, installed().tables, ()))
    report = linter.text(page(BODY.format("red")))
    assert {f.rule for f in report.findings} == {"too-square", "too-even"}
    assert len(asked) == 1
