"""Facts by name: each is computed once, and only if somebody asks for it.

A fact is a function whose parameters name the facts it needs; `Facts` calls it when its own
name is asked for and keeps the answer. The tables below are the measuring room's list of
contents: the facts of one sheet, those of a whole drawing, and the module that measures each. A
module is imported when its first fact is asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from importlib import import_module
from types import FunctionType, MappingProxyType
from typing import Any

SHEET_FACTS: Mapping[str, str] = {
    # what is given: sheet, lines, tolerances, reach, drawing, limits
    "edges": "scantling.measure.lines.close",
    "close": "scantling.measure.lines.close",
    "runs": "scantling.measure.lines.overlaps",
    "joined": "scantling.measure.lines.joins",
    "open_ends": "scantling.measure.lines.joins",
    "overlaps": "scantling.measure.lines.overlaps",
    "scored_runs": "scantling.measure.lines.overlaps",
    "scored_cuts": "scantling.measure.lines.overlaps",
    "crossed": "scantling.measure.lines.crossings",
    "crossings": "scantling.measure.lines.crossings",
    "grazes": "scantling.measure.lines.crossings",
    "meetings": "scantling.measure.lines.crossings",
    "faces": "scantling.measure.pieces.faces",
    "order": "scantling.measure.lines.order",
    "fragments": "scantling.measure.lines.fragments",
    "crowding": "scantling.measure.lines.crowding",
    "arrangement": "scantling.measure.pieces.pieces",
    "pieces": "scantling.measure.pieces.pieces",
    "names": "scantling.measure.pieces.pieces",
    "slitted": "scantling.measure.pieces.slits",
    "outlines": "scantling.measure.lines.entangled",
    "entangled": "scantling.measure.lines.entangled",
    "thin": "scantling.measure.widths.thin",
    "narrows": "scantling.measure.widths.thin",
    "webs": "scantling.measure.widths.thin",
    "gaps": "scantling.measure.widths.thin",
    "tips": "scantling.measure.widths.thin",
    "least_webs": "scantling.measure.widths.least",
    "least_gap": "scantling.measure.widths.least",
    "limbs": "scantling.measure.widths.limbs",
    "inside_corners": "scantling.measure.widths.corners",
    "touches": "scantling.measure.widths.corners",
    "holes": "scantling.measure.pieces.holes",
    "engraving": "scantling.measure.pieces.engraving",
    "engraved": "scantling.measure.pieces.engraving",
    "doubled": "scantling.measure.pieces.engraving",
    "copies": "scantling.measure.pieces.doubled",
    "overlaid": "scantling.measure.pieces.doubled",
    "marked": "scantling.measure.pieces.marked",
    "thin_strokes": "scantling.measure.widths.strokes",
    "spacing": "scantling.measure.pieces.spacing",
}
DRAWING_FACTS: Mapping[str, str] = {
    # what is given: drawing, design, and layers: pairs of a sheet and its facts
    "stacked": "scantling.measure.assembly.stack",
    "fits": "scantling.measure.assembly.fits",
    "slots": "scantling.measure.assembly.slots",
}


@cache
def asked(function: Callable[..., Any]) -> tuple[str, ...]:
    """The names of the facts that a function asks for: its parameters, in order."""
    if isinstance(function, FunctionType) and not hasattr(function, "__wrapped__"):
        code = function.__code__
        return code.co_varnames[: code.co_argcount + code.co_kwonlyargcount]
    import inspect

    return tuple(inspect.signature(function).parameters)


class Facts:
    """Answers by name, from what is given and from a table of fact modules."""

    def __init__(
        self,
        given: Mapping[str, Any],
        table: Mapping[str, str],
        elsewhere: Mapping[str, Callable[[], Any]] = MappingProxyType({}),
    ) -> None:
        """`elsewhere`: who else answers by some of the names (`together`)."""
        self._given = dict(given)
        self._answers: dict[str, Any] = {}
        self._kept: dict[Callable[..., Any], tuple[dict[str, Any], Any]] = {}
        self._table = table
        self.elsewhere = elsewhere

    def __contains__(self, name: str) -> bool:
        return name in self._given or name in self._table

    def __getitem__(self, name: str) -> Any:
        if name in self._given:
            return self._given[name]
        if name not in self._answers:
            if name not in self._table:
                raise KeyError(f"no fact is called {name!r}")
            if name in self.elsewhere:
                self._answers[name] = self.elsewhere[name]()
            else:
                self._answers[name] = self.call(getattr(import_module(self._table[name]), name))
        return self._answers[name]

    def on(self, sheet: Any) -> Facts:
        """The same facts for another sheet with the same lines, as cut from another stock: what
        either has measured the other knows. No fact may ask for `sheet` itself."""
        other = Facts({**self._given, "sheet": sheet}, self._table, self.elsewhere)
        other._answers, other._kept = self._answers, self._kept
        return other

    def kept(self, function: Callable[..., Any], **also: Any) -> Any:
        """What `call` says, of a function that is none of the table: kept as a fact is, for as
        long as it is asked with the very same values besides."""
        given, answer = self._kept.get(function, (None, None))
        if given is None or any(given.get(name) is not value for name, value in also.items()):
            answer = self.call(function, **also)
            self._kept[function] = also, answer
        return answer

    def call(self, function: Callable[..., Any], **also: Any) -> Any:
        """Call a function with the facts that its parameters name; `also` are given besides."""
        return function(**{n: also[n] if n in also else self[n] for n in asked(function)})


def facts_of(
    sheet: Any, elsewhere: Mapping[str, Callable[[], Any]] = MappingProxyType({})
) -> Facts:
    """The facts of one sheet (`plan.model.Sheet`)."""
    given = {
        "sheet": sheet,
        "lines": sheet.lines,
        "tolerances": sheet.tolerances,
        "reach": sheet.reach,
        "drawing": sheet.drawing,
        "limits": sheet.drawing.limits,
    }
    return Facts(given, SHEET_FACTS, elsewhere)
