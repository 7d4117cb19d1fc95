"""How small a design may be made: widths scale with it, minimums and kerf do not.

Making a design k times smaller is the same as keeping it and making every length that its stock or
a rule asks for k times larger. So the rules are asked once more, with such a stock and such
options: what they would then find above a note, and at which drawn length it would pass, gives the
least scale at which nothing is too small. Rules about the whole drawing, and what takes long to
find (`Fault.needed` a function), are left out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from scantling.judge.engine import settings
from scantling.judge.finding import Level
from scantling.judge.passing import faults_on
from scantling.judge.rule import Rule
from scantling.measure.facts import Facts
from scantling.measure.together import facts_of_all
from scantling.plan.model import Plan, Stock
from scantling.plan.planner import REACH
from scantling.records import NamedTuple

MOST = 8 * REACH
"""Nobody makes a design twelve times smaller."""


class Scale(NamedTuple):
    """The least scale, 1 being the size that was judged. `bound`: the truth is no larger, but it
    was measured no further."""

    value: float
    bound: bool


def least_scale(
    plan: Plan, rules: Sequence[Rule], facts: Sequence[Facts], times: float = REACH
) -> Scale | None:
    """The least scale at which no rule finds a length too small for the stock. None where no rule
    asks for any, or where one of them failed.

    facts   of the plan's sheets, measured as far as `times` the largest minimum with its kerf
    """
    least = 0.0
    asked = False
    stocks = [enlarged(sheet.stock, times) for sheet in plan.sheets]
    for rule in rules:
        level, options = settings(rule, plan.job.rules)
        if level < Level.WARNING or not rule.per_sheet:
            continue
        try:
            if not rule.has_to_do_with(plan):
                continue
            larger = enlarged_options(rule, options, times)
            found = [
                fault
                for stock, known in zip(stocks, facts, strict=True)
                for fault in faults_on(rule, larger, known, stock, plan)
            ]
        except (Exception, SystemExit):  # told where it is judged
            return None
        for fault in found:
            by_itself = callable(fault.needed) and not fault.by_stock
            if fault.told_by or by_itself or fault.level is Level.NOTE:
                continue
            scale = fault.scale()
            if scale is not None and scale > 1.0:
                least = max(least, scale / times)
        asked = True
    if not asked:
        return None
    return Scale(least, False) if least > 0 else Scale(1.0 / times, True)


def least_scale_of_all(plan: Plan, rules: Sequence[Rule], facts: Sequence[Facts]) -> Scale | None:
    """The same, measured further until something is found that decides, up to MOST times."""
    found, times = least_scale(plan, rules, facts), REACH
    while found is not None and found.bound and times < MOST:
        times *= 2
        sheets = [replace(sheet, reach=sheet.reach * times / REACH) for sheet in plan.sheets]
        wide = replace(plan, sheets=tuple(sheets))
        found = least_scale(wide, rules, facts_of_all(sheets), times)
    return found


def enlarged(stock: Stock, times: float) -> Stock:
    """A stock that asks for lengths so many times larger."""
    own = stock.minimum
    return replace(
        stock,
        thickness=stock.thickness * times,
        kerf=stock.kerf * times,
        minimum=replace(
            own,
            web=own.web * times,
            gap=own.gap * times,
            hole=own.hole * times,
            stroke=own.stroke * times,
            part=own.part * times,
            part_area=None if own.part_area is None else own.part_area * times**2,
        ),
        bed_opening=None if stock.bed_opening is None else stock.bed_opening * times,
    )


def enlarged_options(rule: Rule, options: Mapping[str, Any], times: float) -> dict[str, Any]:
    """A rule's options with every length so many times larger."""
    lengths = {name for name, form in rule.parameters.items() if form.get("x-unit") == "mm"}
    return {name: own * times if name in lengths else own for name, own in options.items()}
