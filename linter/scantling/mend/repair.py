"""What a repair is, and what the modules that make them are given.

A module of this room that mends the findings of a rule holds

    rule        the id of the rule
    safe        True: done unless another rule is asked for; False: only when asked for by name
    title       one line: what it does
    repairs     a function: Case → Repairs, and Refusals for findings that cannot be mended
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from scantling.judge.places import Subject
from scantling.measure.facts import Facts
from scantling.mend.drawn import Drawn
from scantling.mend.edit import Edit
from scantling.plan.model import Lines, Plan, Sheet
from scantling.read.drawing import Drawing, Shape
from scantling.read.tree import Node


@dataclass(frozen=True, slots=True)
class Repair:
    """Edits that mend one finding, or several at once.

    on         the subjects of those findings, as the rule's Faults have them
    message    what it does, in a few words: 'Close the outline'
    edits      of the text; they do not meet
    nodes      the elements that it changes or takes out
    contours   indices into Curves of what may change or go; the rest of `nodes` stays
    paints     True where it changes the paint of `nodes`, and nothing else of them
    shapes     True where `nodes` may change altogether (outlines instead of strokes)
    same_pieces   True where the pieces that are cut stay the same
    same_engraving   True where what is engraved stays the same
    words      a part of the finding's message, where one subject may have several findings
    causes     why a rule may find something new, by its id, in the words of one who knows the line
    """

    on: tuple[Subject, ...]
    message: str
    edits: tuple[Edit, ...]
    nodes: tuple[Node, ...]
    contours: frozenset[int] = frozenset()
    paints: bool = False
    shapes: bool = False
    same_pieces: bool = False
    same_engraving: bool = False
    words: str = ""
    causes: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Refusal:
    """A finding that is not mended, and why in one clause."""

    on: Subject
    reason: str
    words: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What a maker may say about repairs. Lengths in mm at finished size.

    rules    ids of the rules whose findings are mended; none: all safe ones
    join     ends up to this far apart are joined; None: the job sheet's join tolerance
    colour   CIEDE2000 difference up to which a colour is taken for the assigned one
    loop     loops up to this size are taken out of outlines that cross themselves
    """

    rules: tuple[str, ...] = ()
    join: float | None = None
    colour: float = 1.0
    loop: float = 0.5


@dataclass
class Case:
    """One drawing, or one sheet of it, with its facts; `options` are those of the rule."""

    plan: Plan
    facts: Facts
    wish: Wish
    sheet: Sheet | None = None
    options: Mapping[str, Any] = field(default_factory=dict)
    _drawn: dict[int, Drawn] = field(default_factory=dict)

    @property
    def drawing(self) -> Drawing:
        return self.plan.drawing

    @property
    def lines(self) -> Lines:
        assert self.sheet is not None
        return self.sheet.lines

    def fact(self, name: str) -> Any:
        """A fact of the sheet."""
        return self.facts[name]

    def shape(self, contour: int) -> Shape:
        """The shape of one of the sheet's contours."""
        return self.drawing.shapes[int(self.lines.shape[contour])]

    def drawn(self, shape: Shape) -> Drawn:
        """The shape as its element writes it. Raises Unwritable."""
        if shape.index not in self._drawn:
            self._drawn[shape.index] = Drawn(self.drawing, shape, self.plan.scale)
        return self._drawn[shape.index]

    def curve(self, contour: int) -> int:
        """The contour of Curves that one of the sheet's contours is made of."""
        import numpy as np

        segment = int(self.lines.segment[self.lines.first[contour]])
        return int(np.searchsorted(self.drawing.curves.first, segment, side="right")) - 1

    @cached_property
    def _shapes_of(self) -> dict[int, list[Shape]]:
        found: dict[int, list[Shape]] = {}
        for shape in self.drawing.shapes:
            found.setdefault(id(shape.node), []).append(shape)
        return found

    def drawn_once(self, shape: Shape) -> bool:
        """Whether the shape's element is drawn only here."""
        return len(self._shapes_of[id(shape.node)]) == 1


Found = Iterator[Repair | Refusal]
