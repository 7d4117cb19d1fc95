"""Dead ends of thin places, and which of them are tips.

Of each dead end the discs are ordered by the length of outline that they cut off. A dead end
whose width keeps growing is a tip, up to where it begins to hold its width; what holds its
width is a limb, however it ends.

Where a taper begins to hold its width is told by its width over its mean width from the end on:
that is 2 along a straight taper and tends to 1 along a bar. Unlike a slope it hardly feels how
the outline is flattened, and is the same at any size. Only a blunt end, which is none of a straight
taper, asks for a slope besides.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.measure.groups import connected
from scantling.measure.groups import leads as leads
from scantling.measure.widths.discs import Discs
from scantling.measure.widths.facing import FACING
from scantling.measure.widths.outline import BX, Outline
from scantling.records import NamedTuple

if TYPE_CHECKING:
    from scantling.arrays import Array, Flags, Index

HOLD = 2.0 * np.tan(np.radians(4.0))
"""What goes on from a blunt end holds its width where it widens by less than this per unit of
length: 8 degrees from side to side."""
TAPER = 1.55
"""A tip goes on for as long as its width is more than this many times its mean width so far. The
horn of a crescent of arcs goes on to 99 % of the crescent's greatest width."""
BLUNT = 2.7
"""A disc that cuts off less outline than this many of its diameters closes a blunt end: a square
end takes 2, a round one pi/2, a gable of 45 degrees 2.6."""
SHARP = -0.5
"""Cosine of the turn at a corner from which on it is an apex: 60 degrees inside."""


class Chains(NamedTuple):
    """Discs of dead ends. A disc may stand in two chains, one for each arc it cuts off.

    disc    (m,)  index of the disc; sorted by chain, then by `cut`
    chain   (m,)  number of the dead end
    cut     (m,)  length of outline that the disc cuts off
    apex    (c,)  place of each dead end along its ring; `ring` (c,) its ring
    sharp   (c,)  True at a corner, False at a blunt end
    tip     (m,)  True where the disc belongs to a tip
    dots          discs that have a blunt end on either side
    hold          where tips turn into what holds its width
    """

    disc: Index
    chain: Index
    cut: Array
    apex: Array
    ring: Index
    sharp: Flags
    tip: Flags
    dots: Index
    hold: Hold


class Hold(NamedTuple):
    """Places of h dead ends where they begin to hold their width, between two discs each.

    chain     (h,)  number of the dead end, ascending
    last      (h,)  the last disc of its tip, and the first beyond it
    following (h,)
    share     (h,)  of the way from one to the other
    """

    chain: Index
    last: Index
    following: Index
    share: Array

    def take(self, which: Flags) -> Hold:
        return Hold(self.chain[which], self.last[which], self.following[which], self.share[which])


def along(o: Outline, edge: Index, at: Array) -> Array:
    """Distance from the first point of its ring to each point `at` (2, k) on an edge."""
    x, y = at - o.rows[:BX, edge]
    x *= x
    y *= y
    x += y
    place: Array = np.sqrt(x)
    place += o.along[edge]
    return place


def place_on(o: Outline, ring: int, place: float) -> tuple[int, Array]:
    """Edge and point at a distance along a ring."""
    first, stop = int(o.first[ring]), int(o.first[ring + 1])
    edge = first + int(np.searchsorted(o.along[first:stop], place, side="right")) - 1
    edge = max(edge, first)
    return edge, o.rows[:2, edge] + (place - o.along[edge]) * o.rows[4:6, edge]


def follows(o: Outline, discs: Discs, a: Index, b: Index) -> Flags:
    """Whether disc b comes next to disc a: it overlaps it, or touches the same two edges or
    their neighbours."""
    x, y = discs.at[:, a] - discs.at[:, b]
    near = discs.radius[a] + discs.radius[b]
    follows: Flags = x * x + y * y <= near * near
    apart = (~follows).nonzero()[0]
    if len(apart):
        a, b = a[apart], b[apart]

        def by(e: Index, f: Index) -> Any:
            return (e == f) | (o.next[e] == f) | (o.prev[e] == f)

        i, j, k, m = discs.i[a], discs.j[a], discs.i[b], discs.j[b]
        follows[apart] = (by(i, k) & by(j, m)) | (by(i, m) & by(j, k))
    return follows


def chains_of(o: Outline, discs: Discs, p: Array, q: Array, chord: float) -> Chains:
    """The dead ends of all places, and the discs of each in order from its end. p and q (k,):
    places of the touching points along their rings."""
    arcs, dots = _arcs(o, discs, p, q)
    apexes = _apexes(o, arcs)
    disc, chain, cut = _from_apex(arcs, apexes)
    if len(disc) == 0:
        nothing, none = np.zeros(0, np.int64), np.zeros(0)
        flags = np.zeros(0, bool)
        hold = Hold(nothing, nothing, nothing, none)
        return Chains(nothing, nothing, none, none, nothing, flags, flags, dots, hold)
    first = leads(chain).nonzero()[0]
    which = chain[first]
    number = leads(chain).cumsum() - 1
    keep = _unbroken(o, discs, disc, chain)
    # nor does a dead end begin far from its apex, beyond a body that is wide
    near = 2.5 * discs.radius[disc[first]] / apexes.half[which] + 20.0 * chord
    keep &= (cut[first] <= near)[number]
    disc, number, cut = disc[keep], number[keep], cut[keep]
    sharp = which < apexes.corners
    tip, last, share = _of_tip(2.0 * discs.radius[disc], number, cut, sharp, chord)
    hold = Hold(number[last], disc[last], disc[last + 1], share)
    return Chains(
        disc, number, cut, apexes.at[which], apexes.of[which] // 2, sharp, tip, dots, hold
    )


class _Arcs(NamedTuple):
    """Arcs of outline that discs cut off, two by each: from p ahead to q, and from q ahead to p.

    disc   (m,)  index of the disc
    group  (m,)  twice the ring, and one more for the solid side
    start  (m,)  where each begins along its ring
    cut    (m,)  its length
    width  (m,)  diameter of the disc
    """

    disc: Index
    group: Index
    start: Array
    cut: Array
    width: Array


def _arcs(o: Outline, discs: Discs, p: Array, q: Array) -> tuple[_Arcs, Index]:
    """The arcs of all discs that touch one ring twice; then the discs with so little outline on
    either side that they are dots, which have no ends."""
    ring = o.ring[discs.i]
    disc = (ring == o.ring[discs.j]).nonzero()[0]
    ring, p, q = ring[disc], p[disc], q[disc]
    size = o.round[ring]
    ahead = np.mod(q - p, size)
    width = 2.0 * discs.radius[disc]
    long = np.maximum(ahead, size - ahead) > BLUNT * width
    dots = disc[~long]
    start, cut = np.empty((2, len(disc))), np.empty((2, len(disc)))
    start[0], start[1] = p, q
    cut[0], cut[1] = ahead, size - ahead
    both = np.concatenate((long, long))
    twice = np.concatenate((disc, disc))[both]
    group = np.concatenate((ring, ring))[both] * 2 + discs.web[twice]
    width = 2.0 * discs.radius[twice]
    return _Arcs(twice, group, start.ravel()[both], cut.ravel()[both], width), dots


class _Apexes(NamedTuple):
    """Where dead ends may end: sharp corners, which come first, and the middles of blunt ends.

    at       (c,)  place along its ring
    of       (c,)  twice the ring, and one more for the solid side
    half     (c,)  tangent of half the angle inside; of blunt ends the widest that is sought
    corners        how many are corners
    """

    at: Array
    of: Index
    half: Array
    corners: int
    places: _Places


def _apexes(o: Outline, arcs: _Arcs) -> _Apexes:
    """Sharp corners, and the middles of the arcs of blunt ends that hold none."""
    corner = (o.turn[1] < SHARP).nonzero()[0]
    at, of = o.along[corner], o.ring[corner] * 2 + (o.turn[0, corner] > 0.0)
    blunt = arcs.cut <= BLUNT * arcs.width
    if len(corner):
        blunt &= _Places(of, at, o.round).count(arcs.group, arcs.start, arcs.cut) == 0
    ends = blunt.nonzero()[0]
    if len(ends):
        group, cut = arcs.group[ends], arcs.cut[ends]
        middle = np.mod(arcs.start[ends] + cut / 2.0, o.round[group // 2])
        keep = _innermost(group, middle, arcs.width[ends], cut, o.round)
        at = np.concatenate((at, middle[keep]))
        of = np.concatenate((of, group[keep]))
    half = np.full(len(at), np.tan(FACING / 2.0))
    inside = half[: len(corner)]
    np.minimum(inside, _half_angle(o, corner), out=inside)
    return _Apexes(at, of, half, len(corner), _Places(of, at, o.round))


def _from_apex(arcs: _Arcs, apexes: _Apexes) -> tuple[Index, Index, Array]:
    """The discs that cut off one apex alone, with its number and the length that they cut off:
    sorted by apex, from the innermost on."""
    one = (apexes.places.count(arcs.group, arcs.start, arcs.cut) == 1).nonzero()[0]
    disc, cut = arcs.disc[one], arcs.cut[one]
    chain = apexes.places.following(arcs.group[one], arcs.start[one])
    order = np.lexsort((cut, chain))
    return disc[order], chain[order], cut[order]


def _unbroken(o: Outline, discs: Discs, disc: Index, chain: Index) -> Flags:
    """The discs of each chain that follow on without a break from its innermost one."""
    head = leads(chain)
    broken = np.zeros(len(chain), bool)
    np.logical_not(follows(o, discs, disc[:-1], disc[1:]), out=broken[1:])
    broken[head] = False
    breaks = broken.cumsum()
    unbroken: Flags = breaks == breaks[head][head.cumsum() - 1]
    return unbroken


def _half_angle(o: Outline, corner: Index) -> Array:
    """Tangent of half the angle inside a corner that turns by more than a right angle."""
    # the turn is pi less the angle: tan(angle / 2) = cot(turn / 2)
    tangent: Array = np.abs(o.turn[0, corner]) / (1.0 - o.turn[1, corner])
    return tangent


class _Places:
    """Places along the two sides of rings, sorted, to count them within an arc. A group is
    twice the ring, and one more for the solid side."""

    def __init__(self, group: Index, at: Array, size: Array) -> None:
        # one increasing number line: every group has a stretch of its own
        self.base = np.zeros(2 * len(size) + 1)
        (size.repeat(2) + 1.0).cumsum(out=self.base[1:])
        line = at + self.base[group]
        self.order = line.argsort()
        self.line = line[self.order]
        self.bounds = self.line.searchsorted(self.base)
        self.size = size

    def count(self, group: Index, start: Array, length: Array) -> Index:
        """How many places lie on the arc that begins at `start`."""
        size, base = self.size[group // 2], self.base[group]
        start = np.minimum(start, size)
        end = start + length
        over = end > size
        count = self.line.searchsorted(base + np.where(over, end - size, end))
        count -= self.line.searchsorted(base + start)
        count += np.where(over, self.bounds[group + 1] - self.bounds[group], 0)
        return count

    def following(self, group: Index, start: Array) -> Index:
        """Index of the first place at or after `start`, going round."""
        rank = self.line.searchsorted(self.base[group] + np.minimum(start, self.size[group // 2]))
        return self.order[np.where(rank >= self.bounds[group + 1], self.bounds[group], rank)]


def _innermost(group: Index, at: Array, width: Array, cut: Array, size: Array) -> Index:
    """Of blunt ends whose middles lie within half a width of each other, the innermost."""
    n = len(at)
    if n < 2:
        return np.arange(n)
    order = np.lexsort((at, group))
    g, a, w = group[order], at[order], width[order]
    following = np.arange(1, n + 1)
    following[-1] = 0
    gap = a[following] - a
    # the last of a group is followed round the ring by its first
    starts = leads(g).nonzero()[0]
    stops = np.append(starts[1:], n) - 1
    following[stops] = starts
    gap[stops] = a[starts] + size[g[starts] // 2] - a[stops]
    near = (gap <= np.maximum(w, w[following]) / 2.0).nonzero()[0]
    label = connected(n, near, following[near])
    pick = np.lexsort((a, cut[order], label))
    return order[pick[leads(label[pick])]]


def _of_tip(
    w: Array, chain: Index, cut: Array, sharp: Flags, chord: float
) -> tuple[Flags, Index, Array]:
    """Which discs of width w belong to a tip: those before it begins to hold its width. Then the
    last of each such tip (an index into the row), and which share of the way to the following
    one it goes on."""
    if len(w) == 0:
        return np.zeros(0, bool), np.zeros(0, np.int64), np.zeros(0)
    x = cut / 2.0
    lead = leads(chain)
    head = lead.nonzero()[0]
    sharp = sharp[chain[head]]
    chain = lead.cumsum() - 1  # none is left out
    steps = np.diff(x, prepend=0.0)
    steps[head] = x[head]
    mean = (w + np.roll(w, 1)) / 2.0
    mean[head] = w[head] / 2.0  # on to its apex; and a square or round end is as large
    area = np.cumsum(steps * mean)
    area -= (area[head] - x[head] * w[head] / 2.0)[chain]
    # that a width is off by as much as flattening may do must not end a tip
    slack = 2.0 * chord
    over = x * (w + slack) - TAPER * area
    holds = over < 0.0
    widens = np.full(len(w), -HOLD)
    if not sharp.all():
        # a blunt end may be one of a taper
        blunt = ~sharp[chain]
        widens[blunt] = _slopes(w, x, chain, lead, chord)[blunt] - HOLD
        holds = (holds | (blunt & lead)) & (widens < 0.0)
    turns = _first(holds, chain, len(sharp))
    # nor does a tip go on beyond where it is widest before it gets narrower again
    apart = 2.0 * w.max() * chain
    widest = np.maximum.accumulate(w + apart) - apart
    drops = w < widest - np.minimum(slack, 0.1 * w)
    peak = np.full(len(sharp), np.inf)
    np.minimum.at(peak, chain[drops], widest[drops])
    ends = np.minimum(turns, _first(w >= peak[chain] * (1.0 - 1e-9), chain, len(sharp)))
    tip: Flags = np.arange(len(w)) < ends[chain]
    between = ((turns == ends) & (turns > head) & (turns < len(w))).nonzero()[0]
    last = turns[between] - 1
    share = _share(x, w, over, last, slack)
    tapers = last[widens[last] > 0.0]
    share[widens[last] > 0.0] = 1.0 / (1.0 - widens[tapers + 1] / widens[tapers])
    return tip, last, share


def _slopes(w: Array, x: Array, chain: Index, lead: Flags, chord: float) -> Array:
    """By how much dead ends widen for a unit of length, over half as far again as they are wide,
    from their first discs on half as far; infinite where they are not seen so far."""
    # flattening moves widths by up to two chord tolerances: look far enough for that to be little
    ahead = np.maximum(np.where(lead, 0.5, 1.5) * w, 64.0 * chord)
    stop = chain.searchsorted(chain, side="right") - 1
    far = np.minimum(x + ahead, x[stop])
    known = far - x > 0.5 * np.where(lead, 0.5, 1.5) * w
    # the chains one after another on one line
    size = x[stop] - x[lead.nonzero()[0]][chain] + 1.0
    shift = np.cumsum(np.where(lead, size, 0.0)) - x[stop]
    there = np.interp(far + shift, x + shift, w)
    run = np.where(known, far - x, 1.0)
    return np.where(known, (there - w) / run, np.inf)


def _first(which: Flags, chain: Index, chains: int) -> Index:
    """The first place of each chain at which something is so; beyond the row where nowhere."""
    first = np.full(chains, len(which))
    places = which.nonzero()[0]
    np.minimum.at(first, chain[places], places)
    return first


def _share(x: Array, w: Array, over: Array, last: Index, slack: float) -> Array:
    """Which share of the way from some discs to the following ones `over` comes to zero, where
    the width varies linearly between them: a root of a quadratic."""
    run = np.maximum(x[last + 1] - x[last], 1e-300)
    slope = (w[last + 1] - w[last]) / run
    square = slope * (1.0 - TAPER / 2.0)
    linear = x[last] * slope + w[last] + slack - TAPER * w[last]
    root = np.sqrt(np.maximum(linear * linear - 4.0 * square * over[last], 0.0))
    share: Array = 2.0 * over[last] / np.maximum(root - linear, 1e-300) / run
    return np.minimum(share, 1.0)
