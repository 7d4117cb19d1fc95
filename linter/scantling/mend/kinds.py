"""The kinds of repair, by the rule whose findings they mend."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import TYPE_CHECKING

from scantling.near import get_close_matches
from scantling.records import NamedTuple

if TYPE_CHECKING:
    from scantling.mend.repair import Case, Found


class Kind(NamedTuple):
    """A kind of repair; `safe` False: only when asked for by name."""

    rule: str
    safe: bool
    title: str
    of_sheet: bool = True
    """True: it is asked for each sheet; False: once for the drawing."""

    @property
    def repairs(self) -> Callable[[Case], Found]:
        """The function that makes them; its module is imported when it is first needed."""
        module = import_module(f"scantling.mend.{self.rule.replace('-', '_')}")
        function: Callable[[Case], Found] = module.repairs
        return function


KINDS = (
    Kind("open-path", True, "close outlines, join ends"),
    Kind("duplicate-line", True, "keep one of the lines on top of each other"),
    Kind("double-engraving", True, "keep one of the engraved shapes that cover the same"),
    Kind("stray-fragment", True, "take out what is too short to be meant"),
    Kind("self-crossing", True, "take small loops out of outlines"),
    Kind("crowded-nodes", True, "draw dense nodes as fewer curves"),
    Kind("inside-last", True, "put inner cuts first"),
    Kind("unassigned-colour", True, "put the assigned colour for one that is close", False),
    Kind("ambiguous-outline", False, "make outlines of wide strokes"),
    Kind("thin-web", False, "grow webs to the minimum"),
)
"""In the order in which they are tried."""


def chosen(rules: tuple[str, ...]) -> tuple[Kind, ...]:
    """The kinds asked for by rule; all safe ones where none is. Raises ValueError, naming the
    nearest valid word."""
    if not rules:
        return tuple(kind for kind in KINDS if kind.safe)
    known = {kind.rule: kind for kind in KINDS}
    for rule in rules:
        if rule not in known:
            near = get_close_matches(rule, known, 1)
            hint = f"did you mean {near[0]!r}?" if near else f"there are {', '.join(known)}"
            raise ValueError(f"there is no repair for {rule!r}; {hint}")
    return tuple(kind for kind in KINDS if kind.rule in rules)
