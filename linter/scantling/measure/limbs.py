"""Long limbs: dead ends of the solid that are slender for their length, however wide.

Slenderness does not care for a tenth of a millimetre, so limbs are measured several times
farther than webs on a coarser outline.
"""

from __future__ import annotations

import numpy as np

from scantling.measure.coarse import coarser
from scantling.measure.discs import discs_of
from scantling.measure.ends import leads, place_on
from scantling.measure.model import Arrangement, Limb, Spot
from scantling.measure.outline import Array, Outline
from scantling.measure.places import places
from scantling.plan.model import Tolerances

FARTHER = 2.0
"""Limbs are sought up to this many times the reach in width: at that width a limb may be some
hundred millimetres long before it is slender, and looking farther costs by the square."""
COARSE = 0.05
"""The outline that they are measured on is within this part of the reach of the true one."""
STUB = 2.0
"""What is not this many times as long as its mean width is no limb."""


def limbs(arrangement: Arrangement, reach: float, tolerances: Tolerances) -> tuple[Limb, ...]:
    """Fact: limbs of up to twice the reach in width that are at least twice as long as
    they are wide in the mean, by where they end. Each is told at the length where it is most
    slender: from its end to where it is lost in a body or meets another limb."""
    if len(arrangement.xy) == 0:
        return ()
    chord = max(COARSE * reach, tolerances.chord)
    o = Outline(coarser(arrangement, chord))
    discs = discs_of(o, FARTHER * reach, chord)
    if len(discs) == 0:
        return ()
    c = places(o, discs, chord).chains
    if len(c.chain) == 0:
        return ()
    first = np.flatnonzero(leads(c.chain))
    found = []
    for a, b in zip(first.tolist(), [*first[1:].tolist(), len(c.chain)], strict=True):
        disc, number = c.disc[a:b], int(c.chain[a])
        if discs.web[disc[0]]:
            widths = 2.0 * discs.radius[disc]
            end = 0.0 if c.sharp[number] else float(widths[0])
            length, width, many = _most_slender(c.cut[a:b] / 2.0, widths, end)
            if length >= STUB * width:
                edge, at = place_on(o, int(c.ring[number]), float(c.apex[number]))
                middles = discs.at[:, disc[:many]]
                found.append(_limb(o, edge, at, length, width, middles))
    return tuple(sorted(found, key=lambda limb: limb.spot.at))


def _most_slender(length: Array, width: Array, end: float) -> tuple[float, float, int]:
    """Of a dead end measured at these lengths from its end, where it is `end` wide: the length
    at which it is most slender, its mean width so far, and the number of discs up to there.

    A straight taper is as slender all along: its whole length counts.
    """
    x, w = np.concatenate(([0.0], length)), np.concatenate(([end], width))
    mean = np.cumsum(np.diff(x) * (w[1:] + w[:-1]) / 2.0) / length
    slender = length / mean
    best = int(np.flatnonzero(slender >= 0.95 * slender.max())[-1])
    return float(length[best]), float(mean[best]), best + 1


def _limb(o: Outline, edge: int, at: Array, length: float, width: float, middles: Array) -> Limb:
    a = o.arrangement
    path = np.concatenate((at[:, None], middles), axis=1).T + o.origin
    spot = Spot((float(path[0, 0]), float(path[0, 1])), int(a.contour[edge]), int(a.segment[edge]))
    return Limb(spot, length, width, int(a.face[o.ring[edge]]) + 1, path)
