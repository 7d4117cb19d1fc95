"""Stated bounds on what is read and measured, so that no file can exhaust the machine.

A drawing beyond one of them is Unreadable; the message names the limit and how to raise it.
The defaults are far above real artwork (of 25,247 public icons, emoji, flags and maps the largest
has 5,136 elements, 8 levels and 93,981 segments) and far below what a computer notices.
Memory while reading stays under 450 bytes for each segment and 2,000 for each element, which is
some 20 to 160 times the text.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import fields, replace

from scantling.near import get_close_matches
from scantling.records import dataclass


@dataclass(frozen=True, slots=True)
class Limits:
    """Upper bounds. On the command line: `--limit NAME=VALUE`, with hyphens for underscores.

    bytes        of the file, and of the text that a compressed one (.svgz) holds
    elements     as drawn: each time that `use` draws an element counts
    nesting      elements inside one another, following `use`
    segments     of all paths and shapes together, following `use`
    coordinate   largest distance from the page's origin in pixels (1e7 px are 2.6 km)
    rules        selectors of all style sheets together
    matching     steps that matching selectors may take; a few selectors with many combinators
                 can ask for more steps than there are atoms
    crossings    places where the cut lines of a sheet cross or touch; each may make a piece
    pairs        edges of a sheet that are so near to each other that they have to be compared,
                 pair by pair; what a drawing takes to measure goes by it
    """

    bytes: int = 64 * 1024 * 1024
    elements: int = 500_000
    nesting: int = 256
    segments: int = 4_000_000
    coordinate: float = 1e7
    rules: int = 20_000
    matching: int = 20_000_000
    crossings: int = 20_000
    pairs: int = 40_000_000

    @classmethod
    def parse(cls, settings: Iterable[str]) -> Limits:
        """Limits with some changed, each as 'NAME=VALUE'. Raises ValueError naming the nearest
        valid word."""
        limits = cls()
        kinds = {field.name: type(getattr(limits, field.name)) for field in fields(cls)}
        for setting in settings:
            name, equals, value = (part.strip() for part in setting.partition("="))
            if name not in kinds:
                near = get_close_matches(name, kinds, 1)
                hint = f"did you mean {near[0]!r}?" if near else f"there are {', '.join(kinds)}"
                raise ValueError(f"no limit is called {name!r}; {hint}")
            try:
                number = float(value)
                whole = kinds[name](number)
            except (ValueError, OverflowError):
                number, whole = -1.0, 0
            if not equals or not 0 < number <= 1e18 or whole != number:
                raise ValueError(f"limit {name}: {value!r} is not a positive number")
            limits = replace(limits, **{name: whole})
        return limits

    def exceeded(self, name: str, found: str = "") -> str:
        """What to say when a limit is exceeded."""
        value = getattr(self, name)
        shown = f"{value:g}" if isinstance(value, float) else str(value)
        more = f" ({found})" if found else ""
        return (
            f"over the limit of {shown} for {name}{more}; raise it with --limit {name}=VALUE "
            "if the file is meant to be like that"
        )
