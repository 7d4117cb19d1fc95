"""Thin webs and narrow gaps of a sheet, whatever their shape.

Local width: the diameter of the largest disc inside the web (or gap) touching the outline at
that place. See `discs` for how it is found, `places` for what makes one place of it, and `ends`
for what is a tip.

How a taper goes on is seen only up to the reach, so it should exceed every width that is asked
for by a tenth. What hangs together up to the reach may be several places by a smaller measure:
`Narrow.below` tells them apart.
"""

from __future__ import annotations

from scantling.measure.model import Arrangement, Narrow, Tip
from scantling.measure.pairs import LIMITS
from scantling.measure.widths.coarse import not_crowded
from scantling.measure.widths.outline import Outline
from scantling.measure.widths.places import Thin, places
from scantling.measure.widths.search import discs_of
from scantling.measure.widths.telling import Narrows, tapers, told
from scantling.plan.model import Tolerances
from scantling.read.limits import Limits


def thin(
    slitted: Arrangement, reach: float, tolerances: Tolerances, limits: Limits = LIMITS
) -> Thin | None:
    """Fact: what `thin_of` says of the sheet with its slits."""
    return thin_of(slitted, reach, tolerances, limits)


def thin_of(
    arrangement: Arrangement, reach: float, tolerances: Tolerances, limits: Limits = LIMITS
) -> Thin | None:
    """The discs of every web and gap up to the reach, and the places they make; None where there
    are none. Where there are slits, of webs alone."""
    if len(arrangement.xy) == 0:
        return None
    o = not_crowded(Outline(arrangement), reach, tolerances.chord)
    discs = discs_of(o, reach, tolerances.chord, limits)
    if o.arrangement.noded and len(discs):
        shared = o.shared()
        discs = discs.take(discs.web | ~(shared[discs.i] | shared[discs.j]))
    if o.arrangement.slit is not None and len(discs):
        discs = discs.take(discs.web)  # the void between the sides of a slit is none
    return places(o, discs, reach, tolerances.chord) if len(discs) else None


def narrows(
    thin: Thin | None,
    arrangement: Arrangement,
    slitted: Arrangement,
    reach: float,
    tolerances: Tolerances,
    limits: Limits = LIMITS,
) -> Narrows:
    """Fact: webs and gaps, told together; gaps as if there were no slits."""
    if slitted is arrangement:
        return told(thin)
    return told(thin)[0], told(thin_of(arrangement, reach, tolerances, limits))[1]


def webs(narrows: Narrows) -> tuple[Narrow, ...]:
    """Fact: every connected thin place of the solid up to the reach, narrowest first."""
    return narrows[0]


def gaps(narrows: Narrows) -> tuple[Narrow, ...]:
    """Fact: every connected narrow place of the void up to the reach, narrowest first."""
    return narrows[1]


def tips(thin: Thin | None) -> tuple[Tip, ...]:
    """Fact: every taper of the solid of less than 30 degrees (`facing.FACING`) that ends in a
    corner, a blunt or a rounded end, by where it ends.

    A taper of 30 degrees is 1.94 times as long as any width it reaches; blunter ones are
    shorter.
    """
    return () if thin is None else tapers(thin)
