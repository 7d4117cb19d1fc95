"""The installed rules, put together: by id, in the order of their packs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from scantling.judge.rule import Rule, packs
from scantling.records import dataclass


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
