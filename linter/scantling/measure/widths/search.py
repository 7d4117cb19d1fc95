"""Every disc that touches the outline on two opposite sides, with nothing of it inside.

The local width of a web or a gap is the diameter of the largest disc inside it. Where it is
thin such a disc touches two places that face each other: the radii to them are opposed within
`facing.FACING`. Two kinds of pairs of edges make these discs:

- the `saddles` of the distance between two places;
- `runs`: edges that face each other over some length. Their discs are needed besides the saddles
  because a bar whose sides are not exactly parallel has no saddle at all.

A disc counts if no edge comes nearer to its middle than its radius, less the chord tolerance.
"""

from __future__ import annotations

from scantling.measure.pairs import BLOCK, LIMITS
from scantling.measure.widths.discs import NONE, Discs, concatenated
from scantling.measure.widths.emptiness import Emptiness
from scantling.measure.widths.facing import facing_pairs
from scantling.measure.widths.outline import Outline
from scantling.measure.widths.runs import moved_on, runs
from scantling.measure.widths.saddles import saddles
from scantling.read.limits import Limits

CROWDED = 8
"""With so many pairs to an edge, details are small for the reach and most discs are full."""


def discs_of(o: Outline, reach: float, chord: float, limits: Limits = LIMITS) -> Discs:
    """The discs of diameter up to `reach` that the outline's edges make. Raises Unreadable beyond
    the limit for pairs."""
    i, j, stretches = facing_pairs(o, reach, limits)
    if len(i) == 0:
        return NONE
    empty = Emptiness(o, stretches, chord, crowded=len(i) > CROWDED * len(o))
    found = []
    for first in range(0, len(i), BLOCK // 8):
        part = slice(first, first + BLOCK // 8)
        made = saddles(o, i[part], j[part], reach)
        along = runs(o, i[part], j[part], reach, chord)
        discs = concatenated([some for some in (made, along.discs) if len(some)])
        if len(discs) == 0:
            continue
        free, deep = empty.of(discs)
        found.append(discs.take(free))
        full = ~free[len(made) :]
        full &= (along.inward != 0.0) | ~deep[len(made) :]
        if full.any():
            found.append(moved_on(o, along.take(full), empty))
    return concatenated(found)
