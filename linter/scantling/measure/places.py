"""From discs to thin places: what is connected is one place, and tapers are told from webs.

Two discs that overlap lie in one thin place, as do two that one pair of edges makes. A place
may run into dead ends. Of each dead end the discs are ordered by the length of outline that
they cut off: a dead end whose width keeps growing is a tip, up to where it begins to hold its
width; what holds its width is a limb, however it ends.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from scantling.measure.discs import Discs
from scantling.measure.facing import FACING
from scantling.measure.groups import connected
from scantling.measure.model import Arrangement
from scantling.measure.outline import Array, Flags, Index, Outline
from scantling.measure.pairs import boxes_that_meet

HOLD = 2.0 * np.tan(np.radians(4.0))
"""A dead end that widens by less than this per unit of length (8 degrees from side to side)
holds its width."""
BLUNT = 2.7
"""A disc that cuts off less outline than this many of its diameters closes a blunt end: a square
end takes 2, a round one pi/2, a gable of 45 degrees 2.6."""
SHARP = -0.5
"""Cosine of the turn at a corner from which on it is an apex: 60 degrees inside."""


def links(o: Outline, discs: Discs) -> tuple[Index, Index]:
    """Pairs of discs that belong together: those of one pair of edges, those of pairs that
    follow each other along the outline (a taper's discs are too small to meet), and discs that
    overlap."""
    n = len(o)
    # discs of one pair of edges, and one of them to speak for the pair
    key = (discs.i * n + discs.j) * 2 + discs.web
    on = np.einsum("ij,ij->j", discs.p, o.rows[4:6, discs.i])
    order = np.lexsort((on, key))
    ranked = key[order]
    lead = np.ones(len(ranked), bool)
    lead[1:] = ranked[1:] != ranked[:-1]
    pair, speaker = ranked[lead], order[lead]
    i, j, web = discs.i[speaker], discs.j[speaker], discs.web[speaker]
    ahead, above, below = o.next[i], o.next[j], o.prev[j]
    a, b = np.stack((ahead, i, ahead)), np.stack((j, above, below))
    want = (np.minimum(a, b) * n + np.maximum(a, b)) * 2 + web
    place = np.minimum(np.searchsorted(pair, want), len(pair) - 1)
    there = pair[place] == want
    _, follower = np.nonzero(there)
    # overlapping discs
    at, r = discs.at, discs.radius
    a, b = boxes_that_meet(np.concatenate((at - r, -at - r)))
    apart, near = at[:, a] - at[:, b], r[a] + r[b]
    keep = np.einsum("ij,ij->j", apart, apart) <= near * near
    keep &= discs.web[a] == discs.web[b]
    return (
        np.concatenate((order[:-1][~lead[1:]], speaker[follower], a[keep])),
        np.concatenate((order[1:][~lead[1:]], speaker[place[there]], b[keep])),
    )


@dataclass(frozen=True, slots=True)
class Chains:
    """Discs of dead ends. A disc may stand in two chains, one for each arc it cuts off.

    disc    (m,)  index of the disc; sorted by chain, then by `cut`
    chain   (m,)  number of the dead end
    cut     (m,)  length of outline that the disc cuts off
    forward (m,)  True where that arc runs from p forward to q
    apex    (c,)  place of each dead end along its ring; `ring` (c,) its ring
    sharp   (c,)  True at a corner, False at a blunt end
    dots    discs that have a blunt end on either side
    """

    disc: Index
    chain: Index
    cut: Array
    forward: Flags
    apex: Array
    ring: Index
    sharp: Flags
    dots: Index


@dataclass(frozen=True, slots=True)
class Thin:
    """All thin places of a sheet, webs and gaps together, before they are told one by one.

    arrangement     what was measured, without dust
    label   (k,)    place of each disc, -1 for those of tips
    links   (2, e)  which discs of one place hang together
    of_tip  (m,)    which entries of the chains belong to a tip
    dead    (k,)    True for discs of dead ends and of dots
    """

    arrangement: Arrangement
    outline: Outline
    discs: Discs
    label: Index
    links: Index
    chains: Chains
    of_tip: Flags
    dead: Flags


def along(o: Outline, edge: Index, at: Array) -> Array:
    """Distance from the first point of its ring to each point `at` (2, k) on an edge."""
    away = at - o.rows[:2, edge]
    place: Array = o.along[edge] + np.sqrt(np.einsum("ij,ij->j", away, away))
    return place


def chains(o: Outline, discs: Discs, chord: float) -> Chains:
    """The dead ends of all places, and the discs of each in order from its end."""
    disc = np.flatnonzero(o.ring[discs.i] == o.ring[discs.j])
    i, j = discs.i[disc], discs.j[disc]
    size = o.round[o.ring[i]]
    p, q = along(o, i, discs.p[:, disc]), along(o, j, discs.q[:, disc])
    ahead = np.mod(q - p, size)
    # a dot has no ends
    long = np.maximum(ahead, size - ahead) > 2.0 * BLUNT * discs.radius[disc]
    dots = disc[~long]
    disc, p, q, ahead, size = disc[long], p[long], q[long], ahead[long], size[long]
    ring = o.ring[discs.i[disc]]
    disc = np.concatenate((disc, disc))
    ring = np.concatenate((ring, ring))
    start = np.concatenate((p, q))
    cut = np.concatenate((ahead, size - ahead))
    forward = np.arange(len(disc)) < len(p)
    web = discs.web[disc]
    width_of = 2.0 * discs.radius
    width = width_of[disc]

    # apexes: sharp corners, and the middles of the arcs of blunt ends that hold none
    turned = o.turn[1] < SHARP
    corner = np.flatnonzero(turned)
    corner_web = o.turn[0, corner] > 0.0
    group = 2 * ring + web
    keys = _Keys(2 * o.ring[corner] + corner_web, o.along[corner], o.round)
    blunt = (cut <= BLUNT * width) & (keys.count(group, start, cut) == 0)
    at = np.mod(start[blunt] + cut[blunt] / 2.0, o.round[ring[blunt]])
    ends = _merged(group[blunt], at, width[blunt], cut[blunt], o.round)
    a_group = np.concatenate((2 * o.ring[corner] + corner_web, group[blunt][ends]))
    a_at = np.concatenate((o.along[corner], at[ends]))
    a_sharp = np.arange(len(a_at)) < len(corner)
    keys = _Keys(a_group, a_at, o.round)
    one = keys.count(group, start, cut) == 1
    disc, ring, cut, forward = disc[one], ring[one], cut[one], forward[one]
    chain = keys.following(group[one], start[one])

    # a chain is what follows on without a break from its innermost disc
    order = np.lexsort((cut, chain))
    disc, chain, cut, forward = disc[order], chain[order], cut[order], forward[order]
    head = np.ones(len(chain), bool)
    head[1:] = chain[1:] != chain[:-1]
    which = chain[head]
    number = np.cumsum(head) - 1
    broken = np.zeros(len(chain), bool)
    broken[1:] = ~head[1:] & ~follows(o, discs, disc[:-1], disc[1:])
    breaks = np.cumsum(broken)
    keep = breaks == breaks[head][number]
    # nor does it begin far from its apex, beyond a body that is wide
    half = np.full(len(a_at), np.tan(FACING / 2.0))
    half[: len(corner)] = np.minimum(half[: len(corner)], _half_angle(o, corner))
    begins = cut[head] <= 1.25 * width_of[disc[head]] / half[which] + 20.0 * chord
    keep &= begins[number]
    disc, number, cut, forward = disc[keep], number[keep], cut[keep], forward[keep]
    return Chains(
        disc, number, cut, forward, a_at[which], a_group[which] // 2, a_sharp[which], dots
    )


def leads(label: Index) -> Flags:
    """Where a new label begins in a sorted row of them."""
    lead = np.ones(len(label), bool)
    lead[1:] = label[1:] != label[:-1]
    return lead


def _half_angle(o: Outline, corner: Index) -> Array:
    """Tangent of half the angle inside a corner that turns by more than a right angle."""
    # the turn is pi less the angle: tan(angle / 2) = cot(turn / 2)
    tangent: Array = np.abs(o.turn[0, corner]) / (1.0 - o.turn[1, corner])
    return tangent


def follows(o: Outline, discs: Discs, a: Index, b: Index) -> Flags:
    """Whether disc b comes next to disc a: it overlaps it, or touches the same two edges or
    their neighbours."""

    def near(e: Index, f: Index) -> Any:
        return (e == f) | (o.next[e] == f) | (o.prev[e] == f)

    i, j, k, m = discs.i[a], discs.j[a], discs.i[b], discs.j[b]
    at, r = discs.at, discs.radius
    apart, reach = at[:, a] - at[:, b], r[a] + r[b]
    follows: Flags = (
        (near(i, k) & near(j, m))
        | (near(i, m) & near(j, k))
        | (np.einsum("ij,ij->j", apart, apart) <= reach * reach)
    )
    return follows


class _Keys:
    """Places along rings, sorted, to count them within an arc."""

    def __init__(self, group: Index, at: Array, size: Array) -> None:
        self.order = np.lexsort((at, group))
        groups = 2 * len(size)
        self.bounds = np.searchsorted(group[self.order], np.arange(groups + 1))
        # one increasing number line: every group has a stretch of its own
        self.base = np.concatenate(([0.0], np.cumsum(np.repeat(size, 2) + 1.0)))
        self.line = at[self.order] + self.base[group[self.order]]
        self.size = size

    def _rank(self, group: Index, at: Array) -> Index:
        return np.searchsorted(self.line, self.base[group] + at)

    def count(self, group: Index, start: Array, length: Array) -> Index:
        """How many places lie on the arc that begins at `start`."""
        size = self.size[group // 2]
        start = np.minimum(start, size)
        end = start + length
        over = end > size
        low = self._rank(group, start)
        high = self._rank(group, np.where(over, end - size, end))
        return high - low + np.where(over, np.diff(self.bounds)[group], 0)

    def following(self, group: Index, start: Array) -> Index:
        """Index of the first place at or after `start`, going round."""
        rank = self._rank(group, np.minimum(start, self.size[group // 2]))
        rank = np.where(rank >= self.bounds[group + 1], self.bounds[group], rank)
        return self.order[rank]


def _merged(group: Index, at: Array, width: Array, cut: Array, size: Array) -> Index:
    """Of blunt ends whose middles lie within half a width of each other, the innermost."""
    n = len(at)
    if n < 2:
        return np.arange(n)
    order = np.lexsort((at, group))
    g, a, w = group[order], at[order], width[order]
    following = np.roll(np.arange(n), -1)
    gap = a[following] - a
    same = g[following] == g
    # the last of a group is followed round the ring by its first
    starts = np.flatnonzero(np.r_[True, g[1:] != g[:-1]])
    stops = np.r_[starts[1:], n] - 1
    following[stops] = starts
    gap[stops] = a[starts] + size[g[starts] // 2] - a[stops]
    same[stops] = True
    near = same & (gap <= np.maximum(w, w[following]) / 2.0)
    lab = connected(n, np.flatnonzero(near), following[near])
    pick = np.lexsort((a, cut[order], lab))
    lead = np.r_[True, lab[pick][1:] != lab[pick][:-1]]
    return order[pick[lead]]


def tip_discs(discs: Discs, c: Chains, chord: float) -> Flags:
    """Which entries of the chains belong to a tip: those before it begins to hold its width."""
    if len(c.disc) == 0:
        return np.zeros(0, bool)
    w = 2.0 * discs.radius[c.disc]
    x = c.cut / 2.0
    stop = np.searchsorted(c.chain, c.chain, side="right") - 1
    # flattening moves widths by up to two chord tolerances: look far enough for that to be little
    far = np.minimum(x + np.maximum(w / 2.0, 64.0 * chord), x[stop])
    known = far - x > w / 4.0
    # width at `far` along the same chain
    shift = np.zeros(len(c.apex) + 1)
    longest = np.zeros(len(c.apex))
    np.maximum.at(longest, c.chain, x)
    np.cumsum(longest + 1.0, out=shift[1:])
    there = np.interp(far + shift[c.chain], x + shift[c.chain], w)
    slope = np.where(known, (there - w) / np.where(known, far - x, 1.0), np.inf)
    holds = (slope < HOLD) & (~c.sharp[c.chain] | (slope < 0.5 * w / np.maximum(x, 1e-300)))
    until = np.full(len(c.apex), np.inf)
    np.minimum.at(until, c.chain[holds], c.cut[holds])
    tip: Flags = c.cut < until[c.chain]
    return tip
