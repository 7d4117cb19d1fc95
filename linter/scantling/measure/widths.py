"""Thin webs and narrow gaps of a sheet, whatever their shape.

Local width: the diameter of the largest disc inside the web (or gap) touching the outline at
that place. See `discs` for how it is found and `places` for what makes one place of it.

How a taper goes on is seen only up to the reach, so it should exceed every width that is asked
for by a tenth. What hangs together up to the reach may be several places by a smaller measure:
`Narrow.below` tells them apart.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scantling.measure.discs import Discs, discs_of
from scantling.measure.groups import connected
from scantling.measure.model import Arrangement, Narrow, Tip
from scantling.measure.outline import Index, Outline, without_dust
from scantling.measure.places import Chains, Thin, chains, leads, links, tip_discs
from scantling.measure.telling import tapers, told
from scantling.plan.model import Tolerances


def thin(arrangement: Arrangement, reach: float, tolerances: Tolerances) -> Thin | None:
    """Fact: the discs of every web and gap up to the reach, and the places they make."""
    if len(arrangement.xy):
        arrangement = without_dust(arrangement)
    xy = arrangement.xy
    if len(xy) == 0:
        return None
    # far from the origin coordinates lose their last digits; nothing here needs an origin
    centre = np.floor((xy.min(axis=0) + xy.max(axis=0)) / 2.0)
    o = Outline(arrangement, centre)
    discs = discs_of(o, reach, tolerances.chord)
    if len(discs) == 0:
        return None
    a, b = links(o, discs)
    first = connected(len(discs), a, b)
    c = chains(o, discs, tolerances.chord)
    of_tip = tip_discs(discs, c, tolerances.chord)
    body = np.ones(len(discs), bool)
    body[c.disc[of_tip]] = False
    body |= _spared(discs, c, first, body)
    keep = body[a] & body[b]
    label = np.where(body, connected(len(discs), a[keep], b[keep]), -1)
    dead = np.zeros(len(discs), bool)
    dead[c.disc] = True
    dead[c.dots] = True
    return Thin(arrangement, o, discs, label, np.stack((a[keep], b[keep])), c, of_tip, dead)


def _spared(discs: Discs, c: Chains, label: Index, body: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Where two tips use up a whole place between them, its widest disc is what it is as a web."""
    held = np.zeros(len(body), bool)
    held[label[body]] = True
    both = np.bincount(c.disc, minlength=len(body)) == 2
    lost = np.flatnonzero(both & ~held[label])
    order = lost[np.lexsort((lost, -discs.radius[lost], label[lost]))]
    spared = np.zeros(len(body), bool)
    spared[order[leads(label[order])]] = True
    return spared


def webs(thin: Thin | None) -> tuple[Narrow, ...]:
    """Fact: every connected thin place of the solid up to the reach, narrowest first."""
    return told(thin, True)


def gaps(thin: Thin | None) -> tuple[Narrow, ...]:
    """Fact: every connected narrow place of the void up to the reach, narrowest first."""
    return told(thin, False)


def tips(thin: Thin | None) -> tuple[Tip, ...]:
    """Fact: every taper of the solid of less than 30 degrees (`facing.FACING`) that ends in a
    corner, a blunt or a rounded end, by where it ends.

    A taper of 30 degrees is 1.87 times as long as any width it reaches; blunter ones are
    shorter."""
    return tapers(thin)
