"""From the subject of a fault to a place in the text and a name a person knows."""

from __future__ import annotations

from dataclasses import field

from scantling.judge.finding import Fault, OnSheet, Place
from scantling.measure.model import Spot
from scantling.plan.model import Sheet
from scantling.read.drawing import Drawing, Shape
from scantling.read.locate import element_range, segment_range
from scantling.read.source import Source
from scantling.read.tree import Node
from scantling.records import dataclass

Subject = Spot | OnSheet | Shape | Node | None


@dataclass(frozen=True, slots=True)
class Subjects:
    """Reads the subjects of faults for one drawing and, for bare spots, one of its sheets."""

    drawing: Drawing
    sheet: Sheet | None = None
    _places: dict[tuple[int, int], Place] = field(default_factory=dict, compare=False)
    """of segments by element and ordinal: many findings name the same ones"""

    def shape(self, subject: Subject) -> Shape | None:
        """The shape that a subject is or lies on; None for a bare element and for the drawing."""
        if isinstance(subject, Shape):
            return subject
        if isinstance(subject, OnSheet):
            return Subjects(self.drawing, subject.sheet).shape(subject.spot)
        if isinstance(subject, Spot) and self.sheet is not None:
            return self.drawing.shapes[int(self.sheet.lines.shape[subject.contour])]
        return None

    def node(self, subject: Subject) -> Node:
        """The element of a subject; the root where it has none."""
        if isinstance(subject, Node):
            return subject
        shape = self.shape(subject)
        return shape.node if shape is not None else self.drawing.root

    def label(self, subject: Subject) -> str:
        """What reports call the sheet that a subject is on."""
        sheet = subject.sheet if isinstance(subject, OnSheet) else self.sheet
        return sheet.label if sheet is not None else ""

    def place(self, subject: Subject, offset: int = -1) -> Place:
        """Where in the text: the character at `offset`, the very segment of path data, or the
        element's start tag."""
        source = self.drawing.source
        if offset >= 0:
            return place_of(source, offset, offset + 1)
        node = self.node(subject)
        if isinstance(subject, OnSheet):
            subject = subject.spot
        if isinstance(subject, Spot) and subject.segment >= 0:
            ordinal = int(self.drawing.curves.ordinal[subject.segment])
            if ordinal >= 0:
                key = id(node), ordinal
                if key not in self._places:
                    found = segment_range(source, node, ordinal) or element_range(source, node)
                    self._places[key] = place_of(source, *found)
                return self._places[key]
        return place_of(source, *element_range(source, node))

    def uses(self, subject: Subject) -> tuple[int, ...]:
        """Offsets of the `use` elements that a shape came through, outermost first."""
        shape = self.shape(subject)
        return tuple(use.offset for use in shape.uses) if shape is not None else ()

    def layer(self, subject: Subject) -> str:
        """The name of the subject's layer; '' where it is in none."""
        shape = self.shape(subject)
        return shape.layer if shape is not None else ""


def place_of(source: Source, start: int, end: int) -> Place:
    """The place of the characters from offset `start` up to `end`."""
    line, column = source.position(start)
    end_line, end_column = source.position(end)
    return Place(line, column, end_line, end_column, start, end)


def spot_at(subject: Subject, fault: Fault | None = None) -> tuple[float, float] | None:
    """Millimetres on the page, where the subject or the fault knows them."""
    if fault is not None and fault.at is not None:
        return fault.at
    if isinstance(subject, OnSheet):
        subject = subject.spot
    return subject.at if isinstance(subject, Spot) else None
