"""From discs to thin places: what hangs together is one place, and tips are none.

Two discs that overlap lie in one thin place, as do two that one pair of edges makes, and those
of pairs that follow each other along the outline.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.groups import connected, leads
from scantling.measure.pairs import boxes_that_meet
from scantling.measure.widths.discs import Discs, concatenated
from scantling.measure.widths.ends import HOLD, Chains, Hold, along, chains_of
from scantling.measure.widths.outline import BX, LENGTH, TX, TY, Outline
from scantling.records import dataclass

if TYPE_CHECKING:
    from scantling.arrays import Array, Flags, Index

PQ, QP = [3, 4, 5, 6], [5, 6, 3, 4]
"""Rows of discs: their touching points, and the same the other way round."""
MANY = 100
"""From so many discs on it is worthwhile to let one speak for its neighbours."""


@dataclass(frozen=True, slots=True)
class Thin:
    """All thin places of a sheet, webs and gaps together, before they are told one by one.

    p, q    (k,)    where each disc's touching points lie along their rings
    label   (k,)    place of each disc, -1 for those of tips
    links   (2, e)  which discs of one place hang together
    dead    (k,)    True for discs of dead ends and of dots
    ends    (c,)    by dead end: the disc at which its tip ends and something begins that holds
                    its width; -1 where there is none
    """

    outline: Outline
    discs: Discs
    p: Array
    q: Array
    label: Index
    links: Index
    chains: Chains
    dead: Flags
    ends: Index


def places(o: Outline, discs: Discs, reach: float, chord: float) -> Thin:
    """Sort the discs of an outline into places."""
    k = len(discs)
    p, q = along(o, discs.i, discs.p), along(o, discs.j, discs.q)
    links = _links(o, discs, reach)
    label = connected(k, *links)
    c = chains_of(o, discs, p, q, chord)
    dead = np.zeros(k, bool)
    dead[c.dots] = True
    ends = np.full(len(c.apex), -1)
    if len(c.disc):
        dead[c.disc] = True
        body = np.ones(k, bool)
        body[c.disc[c.tip]] = False
        if not body.all():
            body |= _spared(discs, c, label, body)
            links = links[:, body[links[0]] & body[links[1]]]
            hold = c.hold.take(body[c.hold.following])
            if len(hold.chain):
                discs, p, q, hold = _with_ends(o, discs, p, q, hold, chord)
                added = np.arange(k, len(discs))
                ends[hold.chain] = added
                links = np.concatenate((links, (hold.following, added)), axis=1)
                body, dead = (np.append(some, np.ones(len(added), bool)) for some in (body, dead))
            label = np.where(body, connected(len(body), *links), -1)
    label = _least_inside(discs, label, dead, chord)
    return Thin(o, discs, p, q, label, links, c, dead, ends)


def _with_ends(
    o: Outline, discs: Discs, p: Array, q: Array, hold: Hold, chord: float
) -> tuple[Discs, Array, Array, Hold]:
    """The discs with one more for each tip that turns into something else, between the two at
    which it does, and the places of all touching points along their rings; then those tips. Where
    the outline has a corner between the two there may be no such disc."""
    a, b = hold.last, hold.following
    start, end = discs.rows[:, a], discs.rows[:, b]
    # the two may have their touching points the other way round
    straight, crossed = (np.abs(end[3:7] - start[way]).sum(axis=0) for way in (PQ, QP))
    turned = crossed < straight
    rows = start + hold.share * (end - start)
    at, radius = rows[1:3], rows[0]
    sides = np.empty((2, len(a)), np.int64)
    true = np.ones(len(a), bool)
    for side, one, other, of_b in ((0, discs.i, discs.j, discs.i), (1, discs.j, discs.i, discs.j)):
        edges = np.stack((np.where(turned, other[a], one[a]), of_b[b]))
        feet = _feet(o, at[:, None], edges)
        away = np.hypot(*(feet - at[:, None]))
        nearer = away.argmin(axis=0), np.arange(len(a))
        sides[side] = edges[nearer]
        rows[3 + 2 * side : 5 + 2 * side] = feet[:, *nearer]
        true &= np.abs(away[nearer] - radius) <= np.minimum(chord / 2.0, 0.1 * radius)
    swap = sides[0] > sides[1]
    rows[3:7] = np.where(swap, rows[QP], rows[PQ])
    made = Discs(rows, sides.min(axis=0), sides.max(axis=0), discs.web[b]).take(true)
    p = np.append(p, along(o, made.i, made.p))
    q = np.append(q, along(o, made.j, made.q))
    return concatenated((discs, made)), p, q, hold.take(true)


def _least_inside(discs: Discs, label: Index, dead: Flags, chord: float) -> Index:
    """The labels without the places that are no more than a flank of a wider taper: those that
    are narrowest where the angle between their sides begins to count as facing."""
    k = len(discs)
    least = np.full(k + 1, np.inf)  # the last is for -1
    np.minimum.at(least, label, discs.radius)
    proper = np.zeros(k + 1, bool)
    holds = dead | ((discs.slope <= HOLD) & (discs.radius <= least[label] + chord / 2.0))
    proper[label[holds]] = True
    proper[k] = True
    return label if proper[label].all() else np.where(proper[label], label, -1)


def _links(o: Outline, discs: Discs, reach: float) -> Index:
    """(2, e) discs that belong together: those of one pair of edges, those of pairs that follow
    each other along the outline (a taper's discs are too small to meet), and discs that
    overlap. Pairs with a corner between them that is out of reach do not follow each other."""
    n = len(o)
    # discs of one pair of edges, and one of them to speak for the pair
    key = (discs.i * n + discs.j) * 2 + discs.web
    t = o.rows[TX : TY + 1, discs.i]
    order = np.lexsort((discs.p[0] * t[0] + discs.p[1] * t[1], key))
    ranked = key[order]
    lead = leads(ranked)
    pair, speaker = ranked[lead], order[lead]
    i, j, web = discs.i[speaker], discs.j[speaker], discs.web[speaker]
    ahead = o.next[i]
    a, b = np.concatenate((ahead, i, ahead)), np.concatenate((j, o.next[j], o.prev[j]))
    want = (np.minimum(a, b) * n + np.maximum(a, b)) * 2 + np.concatenate((web, web, web))
    place = np.minimum(pair.searchsorted(want), len(pair) - 1)
    there = (pair[place] == want).nonzero()[0]
    corner, edge = np.concatenate((ahead, o.next[j], ahead)), np.concatenate((j, i, o.prev[j]))
    at = o.rows[:BX, corner[there]]
    there = there[np.hypot(*(_feet(o, at, edge[there]) - at)) <= reach]
    same = (~lead[1:]).nonzero()[0]
    one, other = _overlaps(o, discs)
    links = np.empty((2, len(same) + len(there) + len(one)), np.int64)
    np.concatenate((order[same], speaker[there % len(speaker)], one), out=links[0])
    np.concatenate((order[same + 1], speaker[place[there]], other), out=links[1])
    return links


def _feet(o: Outline, at: Array, edge: Index) -> Array:
    """The nearest places (2, …) of edges (…) to points (2, …)."""
    e = o.rows[:, edge]
    x, y = at - e[:BX]
    s = np.minimum(np.maximum(x * e[TX] + y * e[TY], 0.0), e[LENGTH])
    return np.asarray(e[:BX] + s * e[TX:LENGTH])


def _overlaps(o: Outline, discs: Discs) -> tuple[Index, Index]:
    """Pairs of discs that overlap. Where they lie close, one disc speaks for all those within a
    quarter of their radius."""
    at, r, web = discs.at, discs.radius, discs.web
    crowd: tuple[Index, Index] | None = None
    if len(discs) > MANY:
        octave = np.floor(np.log2(r))
        cell = np.floor((at + o.origin[:, None]) / np.exp2(octave - 2.0))
        order = np.lexsort((r, cell[0], cell[1], octave, web))
        key = np.stack((web, octave, cell[0], cell[1]))[:, order]
        lead = np.ones(len(order), bool)
        np.any(key[:, 1:] != key[:, :-1], axis=0, out=lead[1:])
        speakers = order[lead]
        crowd = speakers[lead.cumsum() - 1][~lead], order[~lead]
        at, r, web = at[:, speakers], r[speakers], web[speakers]
    a, b = boxes_that_meet(np.concatenate((at - r, -at - r)))
    x, y = at[:, a] - at[:, b]
    near = r[a] + r[b]
    keep = x * x + y * y <= near * near
    keep &= web[a] == web[b]
    a, b = a[keep], b[keep]
    if crowd is None:
        return a, b
    return np.concatenate((speakers[a], crowd[0])), np.concatenate((speakers[b], crowd[1]))


def _spared(discs: Discs, c: Chains, label: Index, body: Flags) -> Flags:
    """Where two tips use up a whole place between them, its widest disc is what it is as a web."""
    held = np.zeros(len(body), bool)
    held[label[body]] = True
    both = np.bincount(c.disc, minlength=len(body)) == 2
    lost = (both & ~held[label]).nonzero()[0]
    order = lost[np.lexsort((lost, -discs.radius[lost], label[lost]))]
    spared = np.zeros(len(body), bool)
    spared[order[leads(label[order])]] = True
    return spared
