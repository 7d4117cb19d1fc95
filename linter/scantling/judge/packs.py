"""Packs of rules: how they are found, and the rules of all of them put together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from importlib import import_module
from typing import Any

from scantling.installed import entry_points
from scantling.judge.rule import BUILTIN, Rule, rule_from, trouble_with
from scantling.records import dataclass

ENTRY_POINTS = "scantling.rules"
"""The group in which an installed package names its pack."""


@dataclass(frozen=True, slots=True)
class Pack:
    """One installed pack: its rules, its stock table if it has one, and what went wrong."""

    name: str
    rules: tuple[Rule, ...]
    stocks: str | None
    troubles: tuple[str, ...] = ()


def packs() -> Iterator[Pack]:
    """Every installed pack, the built-in one first, then by name."""
    found = sorted(entry_points(group=ENTRY_POINTS), key=lambda e: (e.name != BUILTIN, e.name))
    for entry in found:
        rules: list[Rule] = []
        troubles: list[str] = []
        stocks: str | None = None
        try:
            pack = entry.load()
            stocks = getattr(pack, "STOCKS", None)
            names = tuple(pack.RULES)
        except (Exception, SystemExit) as error:  # a third party's module may fail in any way
            yield Pack(
                entry.name, (), None, (f"pack {entry.name}: {type(error).__name__}: {error}",)
            )
            continue
        for name in names:
            try:
                rules.append(rule_from(import_module(name), entry.name))
            except (Exception, SystemExit) as error:
                troubles.append(f"pack {entry.name}: {trouble_with(name, error)}")
        yield Pack(entry.name, tuple(rules), str(stocks) if stocks else None, tuple(troubles))


@dataclass(frozen=True, slots=True)
class Rulebook:
    """All rules that a run may use, the stock tables of their packs, and what failed to load."""

    rules: tuple[Rule, ...]
    tables: tuple[str, ...]
    troubles: tuple[str, ...]

    def by_id(self) -> dict[str, Rule]:
        return {rule.id: rule for rule in self.rules}

    def parameters(self) -> dict[str, Mapping[str, Any]]:
        """The options of every rule, for the job sheet's schema."""
        return {rule.id: rule.parameters for rule in self.rules}

    def forbids(self, material: str, process: str) -> str:
        """Why a material must not go into a process, in words; '' where no rule says so."""
        said = (rule.forbids(material, process) for rule in self.rules if rule.forbids)
        return next(filter(None, said), "")


def installed() -> Rulebook:
    """Read every pack. What cannot be used is left out and named as a trouble: a second rule of
    the same id, a stock table that is not one."""
    rules: dict[str, Rule] = {}
    tables: list[str] = []
    troubles: list[str] = []
    for pack in packs():
        troubles += pack.troubles
        if pack.stocks:
            trouble = _trouble(tables, pack.stocks)
            if trouble:
                troubles.append(f"pack {pack.name}: {trouble}")
            else:
                tables.append(pack.stocks)
        for rule in pack.rules:
            if rule.id in rules:
                other = rules[rule.id].pack
                troubles.append(f"pack {pack.name}: rule {rule.id} is already in pack {other}")
            else:
                rules[rule.id] = rule
    return Rulebook(tuple(rules.values()), tuple(tables), tuple(troubles))


def _trouble(tables: Sequence[str], more: str) -> str:
    """What is wrong with a further stock table; the first is the built-in one, and in order."""
    if not tables:
        return ""
    from scantling.plan.checked import BadJob
    from scantling.plan.stocks import read_tables

    try:
        read_tables((*tables, more))
    except BadJob as error:
        return str(error)
    return ""
