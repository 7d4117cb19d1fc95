"""A finding, and what a rule says to make one."""

from __future__ import annotations

import enum
from dataclasses import field
from typing import TYPE_CHECKING

from scantling.records import NamedTuple, dataclass

if TYPE_CHECKING:  # a finding is read back from the store without any geometry
    from collections.abc import Callable

    import numpy as np
    from numpy.typing import NDArray

    from scantling.measure.model import Spot
    from scantling.plan.model import Sheet
    from scantling.read.drawing import Shape
    from scantling.read.tree import Node

    Mark = tuple[NDArray[np.float64], ...]


ESTIMATED, UNDRAWN, WHOLE = "estimated", "undrawn", "whole"
"""Scopes of findings; see Finding.scope."""


class Level(enum.IntEnum):
    """Levels as in SARIF 2.1.0, section 3.27.10, in rising order. OFF: the rule is not run."""

    OFF = 0
    NOTE = 1
    WARNING = 2
    ERROR = 3

    @property
    def word(self) -> str:
        return self.name.lower()


class Place(NamedTuple):
    """A region of the source text. Lines and columns count from 1, columns in Unicode code
    points; the end is exclusive. `offset` and `end_offset` count characters from 0."""

    line: int
    column: int
    end_line: int
    end_column: int
    offset: int
    end_offset: int


@dataclass(frozen=True, slots=True)
class OnSheet:
    """A spot of a certain sheet: the subject where a rule is asked about the whole drawing."""

    sheet: Sheet
    spot: Spot


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """What a rule yields: the subject and the numbers. The judge adds the rest.

    message    one clause in the rule's own words, without the place; numbers in it are finished
               sizes, two decimals. Like `extent` and `mark` it may be a function, where it takes
               long to find: a rule is asked about many stocks, and it is called for findings alone
    on         the subject: a Spot of the sheet's lines (a rule about the whole drawing says OnSheet
               of which), a Shape, a Node, or None for the file
    at         mm on the page; if left out that of a Spot, or the start of what is drawn of a Shape
               or Node
    offset     character offset in the source where it is known better than by `on`
    measured, required   in `unit`, finished
    drawn, needed        where the trouble scales with the design: a drawn length in mm that is the
               same whatever the stock, and what it must be drawn as to pass. needed / drawn is the
               least scale at which this fault is gone or, where that is below 1, the greatest.
               Nominal: the measuring error that `limits.short` lets pass is not counted on.
               A function where it takes long to find: it is called for findings alone
    by_stock   whether another stock may help; None: yes where `needed` is given. To be said where
               `needed` is a function of lengths that a stock asks for, all of them in proportion
    told_by    id of the rule that reports this trouble: here it makes no finding, and is only
               said so that it is not said to pass on another stock
    others     further places of the same fault: (what it is, subject). First what else the fault is
               between ("the outline it crosses", "the other side of the gap"), which reports name
               in the finding's own line; then, each as "another …", more places like this one
    mark       outline of the trouble for pictures: polylines of (k, 2) mm; if left out what is
               drawn of a Shape or Node
    level      only where a rule is milder than its level in this one case
    """

    message: str | Callable[[], str]
    on: Spot | OnSheet | Shape | Node | None = None
    at: tuple[float, float] | None = None
    offset: int = -1
    measured: float | None = None
    required: float | None = None
    unit: str = "mm"
    extent: float | Callable[[], float] | None = None
    drawn: float | None = None
    needed: float | Callable[[], float | None] | None = None
    by_stock: bool | None = None
    told_by: str = ""
    part: str = ""
    others: tuple[tuple[str, Spot | OnSheet | Shape | Node], ...] = ()
    mark: Mark | Callable[[], Mark] = ()
    level: Level | None = None

    @property
    def decided_by_stock(self) -> bool:
        return self.needed is not None if self.by_stock is None else self.by_stock

    def scale(self) -> float | None:
        """The factor by which the design must be made larger, or smaller, for this to be gone;
        None where no size is known to help."""
        needed = self.needed() if callable(self.needed) else self.needed
        return needed / self.drawn if self.drawn and needed is not None else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Related:
    """A further place of a finding: see Fault.others."""

    message: str
    place: Place
    at: tuple[float, float] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Fix:
    """A change of the source text that mends a finding: (where, the new text) each."""

    message: str
    replacements: tuple[tuple[Place, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One result of a rule, complete, with nothing in it but plain values: it can be pickled,
    cached and written as JSON.

    at, extent, measured, required: mm (or `unit`), finished size, page's top left, y down.
    """

    rule: str
    level: Level
    message: str
    file: str
    place: Place
    at: tuple[float, float] | None = None
    extent: float | None = None
    measured: float | None = None
    required: float | None = None
    unit: str = "mm"
    stock: str = ""
    part: str = ""
    layer: str = ""
    element: str = ""
    uses: tuple[int, ...] = ()
    """Offsets of the `use` elements that it is drawn through, outermost first."""
    related: tuple[Related, ...] = ()
    mark: tuple[tuple[tuple[float, float], ...], ...] = ()
    scope: str = ""
    """What `at` and `mark` say: empty, the very place; 'estimated', the mark does not know how far
    letters reach; 'undrawn', there is no place, since nothing is drawn there; 'whole', there is
    none, since it is about the whole sheet or drawing."""
    smallest_safe_width: float | None = None
    """The least finished width of the artwork, in mm, at which this finding is gone."""
    largest_safe_width: float | None = None
    """The greatest, where the trouble is that something is too large."""
    by_stock: bool = False
    """Whether another stock may help."""
    passing_stocks: tuple[str, ...] = ()
    """Other stocks on which this finding is gone at this size."""
    acceptable: bool = True
    """False where nobody may accept it away."""
    accepted: str | None = None
    """The written reason where the finding is accepted."""
    accepted_in: str = ""
    """'inSource' or 'external', as in SARIF `suppressions`."""
    fingerprint: str = ""
    count: int = field(default=1)
    snippet: str = ""
    """The text of `place` where it is short enough to quote whole; else empty."""
    fixes: tuple[Fix, ...] = ()
    baseline: str = ""
    """'new', 'unchanged', 'updated' (worse than it was known to be) or 'absent' against a baseline;
    empty: none was asked for."""
