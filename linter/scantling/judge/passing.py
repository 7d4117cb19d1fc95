"""What would pass: other stocks on which a fault would vanish at this size.

The same rule is asked again about the same facts, with another stock.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from scantling.judge.finding import Fault, Level
from scantling.judge.places import spot_at
from scantling.judge.rule import Rule
from scantling.measure.facts import Facts
from scantling.plan.model import Plan, Stock

Names = tuple[str, ...]


def faults_on(
    rule: Rule, options: Mapping[str, Any], known: Facts, stock: Stock | None, plan: Plan
) -> Iterable[Fault]:
    """What a rule finds among facts, on a stock; None for a rule about the whole drawing."""
    also: dict[str, Any] = {"options": options}
    also |= {fact.__name__: known.kept(fact, job=plan.job) for fact in rule.facts}
    if stock is not None:
        also |= {"stock": stock, "minimum": stock.minimum, "plan": plan}
    return known.call(rule.check, **also) or ()


def subject(fault: Fault) -> tuple[Any, ...]:
    """What makes two faults of one rule the same trouble, whatever the stock."""
    at = spot_at(fault.on, fault)
    return (type(fault.on).__name__, at, fault.part, fault.drawn)


def alternatives(stock: Stock, others: Iterable[Stock]) -> list[Stock]:
    """The stocks that may be taken in place of one: those of its process."""
    return [o for o in others if o.name != stock.name and o.process == stock.process]


def passing_stocks(
    rule: Rule,
    options: Mapping[str, Any],
    known: Facts,
    plan: Plan,
    faults: Sequence[Fault],
    stock: Stock | None,
    others: Sequence[Stock],
) -> dict[tuple[Any, ...], Names]:
    """The other stocks on which each fault would vanish at this size, by its `subject`. Only for
    faults that a stock decides."""
    passing: dict[tuple[Any, ...], list[str]] = {
        subject(fault): [] for fault in faults if fault.decided_by_stock and not fault.told_by
    }
    if stock is None or not passing:
        return {}
    for other in alternatives(stock, others):
        gone = set(passing)
        found: list[Fault] = []
        for one in faults_on(rule, options, known, other, plan):
            found.append(one)
            gone.discard(subject(one))
            if not gone:  # a stock that asks for more may find no end of others
                break
        # Several places may be one by a stricter stock: then its mark goes through them.
        marked = _marked(found) if gone else set()
        for fault in gone:
            if fault[1] not in marked:
                passing[fault].append(other.name)
    return {fault: tuple(names) for fault, names in passing.items()}


def _marked(faults: Sequence[Fault]) -> set[tuple[float, float]]:
    """All points of the marks of some faults."""
    return {
        (x, y)
        for fault in faults
        for line in (fault.mark() if callable(fault.mark) else fault.mark)
        for x, y in line.tolist()
    }


def passing_all(
    rules: Sequence[tuple[Rule, Mapping[str, Any]]],
    known: Facts,
    plan: Plan,
    candidates: Iterable[Stock],
) -> list[Stock]:
    """On which of some stocks a whole sheet passes at this size: none of the rules, given with
    their options, finds anything above a note there that a stock decides."""

    def passes(stock: Stock) -> bool:
        return not any(
            fault.decided_by_stock and not fault.told_by and fault.level is not Level.NOTE
            for rule, options in rules
            for fault in faults_on(rule, options, known, stock, plan)
        )

    return [stock for stock in candidates if passes(stock)]
