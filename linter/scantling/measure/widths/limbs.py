"""Long limbs: dead ends of the solid that are slender for their length, however wide.

Those that are no wider than the reach are known from the webs. A wider one must be long before it
is slender: only large parts are looked at once more, and on a coarser outline, since slenderness
does not care for a tenth of a millimetre.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from scantling.measure.groups import stretches
from scantling.measure.model import Arrangement, Limb, Spot
from scantling.measure.pairs import LIMITS
from scantling.measure.widths.coarse import coarser
from scantling.measure.widths.discs import Discs, discs_of
from scantling.measure.widths.ends import BLUNT, Chains, leads, place_on
from scantling.measure.widths.outline import Array, Flags, Outline, of_faces
from scantling.measure.widths.places import Thin, places
from scantling.plan.model import Tolerances
from scantling.read.limits import Limits

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
    arrangement: Arrangement,
    thin: Thin | None,
    reach: float,
    tolerances: Tolerances,
    limits: Limits = LIMITS,
) -> tuple[Limb, ...]:
    """Fact: limbs that are at least twice as long as they are wide in the mean, by where they
    end; those wider than the reach up to `FARTHER` times that, and in large parts (`LEAN`). Each
    is told at the length where it is most slender: from its end to where it is lost in a body or
    meets another limb."""
    if len(arrangement.xy) == 0:
        return ()
    wide = _across(arrangement) > LEAN * reach
    if wide.any():
        o = Outline(of_faces(arrangement, wide))
        wide[:] = False
        wide[o.arrangement.face[_ending(o, BLUNT * FARTHER * reach)]] = True
    found: list[Limb] = []
    if thin is not None:
        found += _told(thin.outline, thin.discs, thin.chains, wide)
    if wide.any():
        chord = max(COARSE * reach, tolerances.chord)
        o = Outline(coarser(of_faces(arrangement, wide), chord))
        discs = discs_of(o, FARTHER * reach, chord, limits)
        if len(discs):
            found += _told(o, discs, places(o, discs, chord).chains, ~wide)
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
    stop = np.append(first[1:], len(c.chain))
    # a quick look first: most dead ends are stubs even at their least width
    width = 2.0 * discs.radius[c.disc]
    least = np.minimum.reduceat(width, first)
    number = c.chain[first]
    least = np.where(c.sharp[number], least / 2.0, least)
    may = c.cut[stop - 1] / 2.0 >= STUB * least
    may &= discs.web[c.disc[first]] & ~without[o.arrangement.face[c.ring[number]]]
    for a, b, which in zip(
        first[may].tolist(), stop[may].tolist(), number[may].tolist(), strict=True
    ):
        end = 0.0 if c.sharp[which] else float(width[a])
        length, mean, many = _most_slender(c.cut[a:b] / 2.0, width[a:b], end)
        if length >= STUB * mean:
            edge, at = place_on(o, int(c.ring[which]), float(c.apex[which]))
            yield _limb(o, edge, at, length, mean, discs.at[:, c.disc[a : a + many]])


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
