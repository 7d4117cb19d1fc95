"""What the planning room hands on: sheets in millimetres at the finished size.

This module holds words only; `plan.jobsheet` reads them from TOML, `plan.planner` makes them
from a drawing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.read.drawing import Colour, Drawing, Shape
from scantling.records import dataclass

if TYPE_CHECKING:
    from numpy.typing import NDArray

CUT, SCORE, ENGRAVE, GUIDE = "cut", "score", "engrave", "guide"
OPERATIONS = (CUT, SCORE, ENGRAVE, GUIDE)
PROCESSES = ("laser", "blade", "router")
BAND = 0.5
"""mm at finished size: a stroke from this width on is seen as a band, not as a line (common
practice, no source)."""


@dataclass(frozen=True, slots=True)
class Minimums:
    """Least finished dimensions of a stock, in mm (`part_area` in mm²); None: not judged."""

    web: float
    gap: float
    hole: float
    stroke: float
    part: float
    part_area: float | None = None


@dataclass(frozen=True, slots=True)
class Stock:
    """A sheet of material that a job may use. Lengths in mm."""

    name: str
    material: str
    thickness: float
    process: str
    kerf: float
    minimum: Minimums
    compensated: bool = False
    """True: the outlines are offset for the kerf on their way to the machine, so that finished
    sizes equal drawn ones, and no gap or hole can be narrower than the kerf."""
    brittle: bool = False
    sheet: tuple[float, float] | None = None
    bed_opening: float | None = None
    """The bed's opening: a part whose both sides are below it falls through."""
    density: float | None = None
    """kg/m³"""
    density_source: str | None = None
    speed: float | None = None
    """cutting speed, mm/s"""
    price: float | None = None
    """of one full sheet, in the shop's currency"""
    cautions: tuple[str, ...] = ()
    source: str = "common practice, no source"
    """Where its minimums come from."""

    @property
    def slot(self) -> float:
        """Kerf that finished sizes must be corrected by: 0 where already compensated."""
        return 0.0 if self.compensated else self.kerf


@dataclass(frozen=True, slots=True)
class Assignment:
    """Colour or layer → stock + operation."""

    colour: Colour | None
    layer: str | None
    stock: str
    operation: str


@dataclass(frozen=True, slots=True)
class Acceptance:
    """One accepted finding of the job sheet (`[[accept]]`)."""

    rule: str
    reason: str
    files: str = "**"
    element: str | None = None
    at: tuple[float, float] | None = None
    within: float = 1.0
    until: str | None = None
    line: int = 0


@dataclass(frozen=True, slots=True)
class Design:
    """One `[[design]]` entry: which files, how big, and in which order they stack."""

    files: str
    width: float | None = None
    height: float | None = None
    stack: tuple[str, ...] = ()
    fit: str | None = None
    line: int = 0


@dataclass(frozen=True, slots=True)
class Job:
    """A job sheet as read, or the one made up when there is none (`path` is None)."""

    path: str | None
    stocks: Mapping[str, Stock]
    assignments: tuple[Assignment, ...] = ()
    designs: tuple[Design, ...] = ()
    rules: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    accepted: tuple[Acceptance, ...] = ()
    rules_from: tuple[str, ...] = ()
    """Paths of Python files with rules of the shop's own, whether they may be run or not."""
    default_stock: str | None = None
    """The stock for every colour when there is no job sheet."""
    join_tolerance: float = 0.05
    coincidence: float = 0.05
    chord: float = 0.01


@dataclass(frozen=True, slots=True)
class Lines:
    """The lines of one sheet as polylines in mm: n points in m contours.

    xy        (n, 2)  points; a closed contour does not repeat its first point at the end
    first     (m+1,)  contour k is points first[k]:first[k+1]
    closed    (m,)    True: an edge runs from the last point back to the first
    shape     (m,)    index into Drawing.shapes
    operation (m,)    index into OPERATIONS
    filled    (m,)    True where the contour bounds a fill (material is what the fill covers),
                      False where it is the centre line of a stroke
    width     (m,)    stroke width in mm at finished size, 0 for fills
    segment   (n,)    index into Drawing.curves of the segment that the edge starting at this
                      point comes from
    """

    xy: NDArray[np.float64]
    first: NDArray[np.int64]
    closed: NDArray[np.bool_]
    shape: NDArray[np.int64]
    operation: NDArray[np.int8]
    filled: NDArray[np.bool_]
    width: NDArray[np.float64]
    segment: NDArray[np.int64]

    def of(self, *operations: str) -> NDArray[np.bool_]:
        """(m,) True where one of these operations is done."""
        done: NDArray[np.bool_] = self.operation == OPERATIONS.index(operations[0])
        for other in operations[1:]:
            done |= self.operation == OPERATIONS.index(other)
        return done


@dataclass(frozen=True, slots=True)
class Tolerances:
    """mm, at finished size."""

    chord: float = 0.01
    join: float = 0.05
    coincidence: float = 0.05


@dataclass(frozen=True, slots=True)
class Sheet:
    """All geometry of one drawing that lands on one stock, at finished size.

    label     what reports call it: the stock's name, with the colour where a drawing without
              a job sheet makes one sheet of each colour
    reach     how far the measuring room has to look for webs, gaps and holes (mm): the largest
              minimum plus kerf that will be asked for, with room to spare
    """

    label: str
    stock: Stock
    lines: Lines
    drawing: Drawing
    tolerances: Tolerances
    reach: float
    colours: tuple[str, ...] = ()
    assigned: str = ""
    """The stock that the job sheet assigns; without assignments the colour."""


@dataclass(frozen=True, slots=True)
class Unassigned:
    """A shape's paint that no assignment names. `nearest` is an assigned colour close by, with
    its CIEDE2000 difference."""

    shape: Shape
    paint: str
    colour: Colour | None
    nearest: str | None = None
    difference: float | None = None


@dataclass(frozen=True, slots=True)
class Plan:
    """Drawing + job sheet, ready to be measured.

    boxes     (m, 4) exact extents of each contour of the drawing: x0 y0 x1 y1 in pixels
    scale     mm per page pixel at finished size
    extents   x0 y0 x1 y1 of all assigned geometry without guides, mm at finished size; None
              where there is none
    sized_by  'job' (finished size given), 'drawing' (its own physical size), or 'screen'
              (neither; pixels were taken at 96 to the inch)
    """

    drawing: Drawing
    boxes: NDArray[np.float64]
    job: Job
    design: Design | None
    sheets: tuple[Sheet, ...]
    guides: tuple[Shape, ...]
    unassigned: tuple[Unassigned, ...]
    scale: float
    extents: tuple[float, float, float, float] | None
    sized_by: str
    notices: tuple[str, ...] = ()
    """What the report says first: assumptions made for want of a job sheet."""
    asked: tuple[float | None, float | None] = (None, None)
    """Finished width and height in mm that the job sheet or the command line asks for. Where
    both are given and disagree with the artwork's proportions, it is made to fit inside both."""
