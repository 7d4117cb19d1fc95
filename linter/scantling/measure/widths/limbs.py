"""Long limbs: dead ends of the solid that are slender for their length, however wide.

Those that are no wider than the reach are known from the webs. A wider one must be long before it
is slender: only large parts are looked at once more, and on a coarser outline, since slenderness
does not care for a tenth of a millimetre.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.groups import stretches
from scantling.measure.model import Arrangement, Limb, Spot
from scantling.measure.pairs import LIMITS
from scantling.measure.widths.coarse import coarser
from scantling.measure.widths.discs import Discs
from scantling.measure.widths.ends import BLUNT, Chains, leads, place_on
from scantling.measure.widths.outline import Outline, of_faces
from scantling.measure.widths.places import Thin, places
from scantling.measure.widths.search import discs_of
from scantling.plan.model import Tolerances
from scantling.read.limits import Limits

if TYPE_CHECKING:
    from scantling.arrays import Array, Flags, Index

FARTHER = 2.0
"""Limbs are sought up to this many times the reach in width: at that width a limb may be some
hundred millimetres long before it is slender, and looking farther costs by the square."""
LEAN = 7.5
"""Limbs wider than the reach are sought in parts that are this many times larger than their width
squared by the reach. (The strength of a bar at its root goes by the square of its width over its
length; the reach exceeds any minimum, its kerf included, by a half.)"""
COARSE = 0.05
"""The outline that they are measured on is within this part of the reach of the true one."""
STUB = 2.0
"""What is not this many times as long as its mean width is no limb."""
ROUND = np.radians(120.0)
"""The sides of a limb run together at no more than 30 degrees, so its end turns by 150 or more."""
DIRECTIONS = 8
"""in which parts are measured across"""


def limbs(
    slitted: Arrangement,
    thin: Thin | None,
    reach: float,
    tolerances: Tolerances,
    limits: Limits = LIMITS,
) -> tuple[Limb, ...]:
    """Fact: limbs that are at least twice as long as they are wide in the mean, by where they
    end; those wider than the reach up to `FARTHER` times that, and in large parts (`LEAN`). Each
    is told at the length where it is most slender: from its end to where it is lost in a body or
    meets another limb."""
    if len(slitted.xy) == 0:
        return ()
    wide = _across(slitted) > LEAN * reach
    if wide.any():
        o = Outline(of_faces(slitted, wide))
        wide[:] = False
        wide[o.arrangement.face[_ending(o, BLUNT * FARTHER * reach)]] = True
    found: list[Limb] = []
    if thin is not None:
        found += _told(thin.outline, thin.discs, thin.chains, wide)
    if wide.any():
        chord = max(COARSE * reach, tolerances.chord)
        o = Outline(coarser(of_faces(slitted, wide), chord))
        discs = discs_of(o, FARTHER * reach, chord, limits)
        if len(discs):
            found += _told(o, discs, places(o, discs, FARTHER * reach, chord).chains, ~wide)
    return tuple(sorted(found, key=lambda limb: limb.spot.at))


def _across(arrangement: Arrangement) -> Array:
    """(f,) at least how large each face is across, and at most a fiftieth more; 0 for those
    without rings."""
    angle = np.pi / DIRECTIONS * np.arange(DIRECTIONS)
    along = arrangement.xy @ np.stack((np.cos(angle), np.sin(angle)))
    first = arrangement.first[:-1]
    span = np.maximum.reduceat(along, first) - np.minimum.reduceat(along, first)
    size = np.zeros(int(arrangement.face.max()) + 1)
    np.maximum.at(size, arrangement.face, span.max(axis=1))
    size /= np.cos(np.pi / DIRECTIONS / 2.0)
    return size


def _ending(o: Outline, within: float) -> Flags:
    """(r,) the rings that turn round somewhere, as round the end of a limb: by `ROUND` towards
    the solid, within a length of outline, or within a half or a quarter of it."""
    size = np.diff(o.first)
    # each ring twice over, on one line where every ring has room of its own
    pick, of = stretches(np.repeat(o.first[:-1], 2), np.repeat(size, 2))
    lap = of % 2
    ring = of // 2
    room = 2.0 * o.round + within + 1.0
    line = o.along[pick] + lap * o.round[ring] + (np.cumsum(room) - room)[ring]
    turned = np.concatenate(([0.0], np.cumsum(np.arctan2(*o.turn)[pick])))
    start = np.flatnonzero(lap == 0)
    ring = ring[start]
    most = np.zeros(len(size))
    for window in (within, within / 2.0, within / 4.0):
        stop = np.searchsorted(line, line[start] + window, side="right")
        stop = np.minimum(stop, start + size[ring])
        np.maximum.at(most, ring, turned[stop] - turned[start])
    ends: Flags = most >= ROUND
    return ends


def _told(o: Outline, discs: Discs, c: Chains, without: Flags) -> Iterator[Limb]:
    """The limbs among dead ends, but for those of some faces (f,)."""
    if len(c.chain) == 0:
        return
    first = np.flatnonzero(leads(c.chain))
    number = c.chain[first]
    width = 2.0 * discs.radius[c.disc]
    ends = np.where(c.sharp[number], 0.0, width[first])
    best, mean = _most_slender(c.cut / 2.0, width, first, ends)
    long = c.cut[best] / 2.0 >= STUB * mean
    long &= discs.web[c.disc[first]] & ~without[o.arrangement.face[c.ring[number]]]
    for k in long.nonzero()[0].tolist():
        which, last = int(number[k]), int(best[k])
        edge, at = place_on(o, int(c.ring[which]), float(c.apex[which]))
        middles = discs.at[:, c.disc[first[k] : last + 1]]
        length, tapers = float(c.cut[last]) / 2.0, bool(c.tip[last])
        yield _limb(o, edge, at, length, float(mean[k]), middles, tapers)


def _most_slender(length: Array, width: Array, first: Index, ends: Array) -> tuple[Index, Array]:
    """Of dead ends (c,) measured at these lengths (m,) from their ends, where they are `ends`
    (c,) wide; `first` (c,) is where each begins. The place (c,) in the row at which each is most
    slender, and its mean width (c,) so far.

    A straight taper is as slender all along: its whole length counts.
    """
    since, before = np.roll(length, 1), np.roll(width, 1)
    since[first], before[first] = 0.0, ends
    area = np.cumsum((length - since) * (width + before) / 2.0)
    size = np.diff(first, append=len(length))
    so_far = np.concatenate(([0.0], area))[first].repeat(size)
    mean = (area - so_far) / length
    slender = length / np.maximum(mean, 1e-300)
    near = slender >= 0.95 * np.maximum.reduceat(slender, first).repeat(size)
    best = np.maximum.reduceat(np.where(near, np.arange(len(length)), -1), first)
    return best, mean[best]


def _limb(
    o: Outline, edge: int, at: Array, length: float, width: float, middles: Array, tapers: bool
) -> Limb:
    a = o.arrangement
    path = np.concatenate((at[:, None], middles), axis=1).T + o.origin
    spot = Spot((float(path[0, 0]), float(path[0, 1])), int(a.contour[edge]), int(a.segment[edge]))
    return Limb(spot, length, width, int(a.face[o.ring[edge]]) + 1, path, tapers)
