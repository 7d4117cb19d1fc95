"""The least web of each part and the least gap of a sheet, whatever their size.

What is not found within the reach is sought with a reach twice as large, and so on: each time on
the parts only that have shown nothing, and on an outline as much coarser as the reach is larger,
so that every round costs about as much as the first.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from scantling.measure.model import Arrangement, Narrow
from scantling.measure.widths.coarse import coarser
from scantling.measure.widths.outline import of_faces
from scantling.measure.widths.telling import Narrows, told
from scantling.measure.widths.thin import thin_of
from scantling.plan.model import Tolerances

COARSE = 0.002
"""Beyond the reach widths are told to within about twice this part of themselves."""


def least_webs(
    narrows: Narrows, slitted: Arrangement, reach: float, tolerances: Tolerances
) -> tuple[Narrow, ...]:
    """Fact: the least web of each part that has one, by the number of the part. A part as plain
    as a disc or a square has none but itself, which is its own narrowest place."""
    least = _first_of_each(narrows[0])
    size = _sizes(slitted)
    while True:
        reach *= 2.0
        missing = np.array([k + 1 not in least for k in range(len(size))], bool)
        missing &= reach < 4.0 * size
        if not missing.any():
            return tuple(least[number] for number in sorted(least))
        found = _sought(of_faces(slitted, missing), reach, tolerances)[0]
        least = _first_of_each(found) | least


def least_gap(
    narrows: Narrows, arrangement: Arrangement, reach: float, tolerances: Tolerances
) -> Narrow | None:
    """Fact: the narrowest gap of the sheet; None where there is none."""
    gaps = narrows[1]
    size = float(np.ptp(arrangement.xy, axis=0).max()) if len(arrangement.xy) else 0.0
    while not gaps and reach < size:
        reach *= 2.0
        gaps = _sought(arrangement, reach, tolerances)[1]
    return gaps[0] if gaps else None


def _first_of_each(webs: tuple[Narrow, ...]) -> dict[int, Narrow]:
    """The narrowest web of each part: they come narrowest first."""
    return {web.piece: web for web in reversed(webs)}


def _sought(arrangement: Arrangement, reach: float, tolerances: Tolerances) -> Narrows:
    chord = max(tolerances.chord, COARSE * reach)
    return told(thin_of(coarser(arrangement, chord), reach, replace(tolerances, chord=chord)))


def _sizes(arrangement: Arrangement) -> np.ndarray:
    """(f,) longer side of the box of each face, 0 for those without rings."""
    count = int(arrangement.face.max(initial=-1)) + 1
    size = np.zeros(count)
    if count:
        low = np.minimum.reduceat(arrangement.xy, arrangement.first[:-1])
        high = np.maximum.reduceat(arrangement.xy, arrangement.first[:-1])
        np.maximum.at(size, arrangement.face, (high - low).max(axis=1))
    return size
