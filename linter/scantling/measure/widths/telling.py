"""Thin places and tips, told one by one as the rules see them."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.groups import leads, spanning
from scantling.measure.model import HELD, Narrow, Spot, Tip, both_sides, least_of, neck_or_bridge
from scantling.measure.widths.ends import follows, place_on
from scantling.measure.widths.outline import Outline
from scantling.measure.widths.places import Thin
from scantling.records import NamedTuple

if TYPE_CHECKING:
    from scantling.arrays import Array, Flags, Index

Narrows = tuple[tuple[Narrow, ...], tuple[Narrow, ...]]
"""Webs and gaps."""


def told(thin: Thin | None) -> Narrows:
    """The places of the solid and those of the void, each narrowest first."""
    if thin is None:
        return (), ()
    mine = (thin.label >= 0).nonzero()[0]
    if len(mine) == 0:
        return (), ()
    order, first = _in_order(thin, mine)
    tied, more = _tied(thin, order, first)
    row = _Row.of(thin, order, tied, more)
    starts = np.append(first.nonzero()[0], len(order))
    own, ties, besides = (
        [slice(*ends) for ends in pairwise(bounds.tolist())]
        for bounds in (starts, *(some.min(axis=0).searchsorted(starts) for some in (tied, more)))
    )
    found: tuple[list[Narrow], list[Narrow]] = ([], [])
    for part in zip(own, ties, besides, strict=True):
        found[0 if row.web[part[0].start] else 1].append(row.place(*part))
    webs, gaps = (tuple(sorted(some, key=lambda n: (round(n.width, 6), n.at))) for some in found)
    return webs, gaps


class _Row(NamedTuple):
    """The discs of all places in a row, place by place, each place's along it: n of them.

    path, widths, sides, source   as in `Narrow`, but of all places
    web    (n,)    True inside the solid
    wall   (n,)    True between two outlines
    dead   (n,)    True for discs of dead ends
    piece  (n,)    the piece that each belongs to, 0 for those between two
    tied   (e, 2)  which of them hang together, sorted
    steps  (e,)    how far apart those are
    more   (f, 2)  which others do besides, as in `Narrow.more`
    """

    path: Array
    widths: Array
    sides: Array
    source: Index
    web: Flags
    wall: Flags
    dead: Flags
    piece: Index
    tied: Index
    steps: Array
    more: Index

    @classmethod
    def of(cls, thin: Thin, order: Index, tied: Index, more: Index) -> _Row:
        o, d, arrangement = thin.outline, thin.discs.take(order), thin.outline.arrangement
        n = len(order)
        origin = o.origin[:, None]
        path = (d.at + origin).T
        sides = np.empty((n, 2, 2))
        sides[:, 0], sides[:, 1] = (d.p + origin).T, (d.q + origin).T
        source = np.empty((n, 2, 2), np.int64)
        for k, edge in ((0, d.i), (1, d.j)):
            source[:, k, 0], source[:, k, 1] = arrangement.contour[edge], arrangement.segment[edge]
        ring, other = o.ring[d.i], o.ring[d.j]
        face = arrangement.face[ring]
        x, y = (path[tied[1]] - path[tied[0]]).T
        return cls(
            path=path,
            widths=2.0 * d.radius,
            sides=sides,
            source=source,
            web=d.web,
            wall=ring != other,
            dead=thin.dead[order],
            piece=np.where(d.web | (face == arrangement.face[other]), face + 1, 0),
            tied=tied.T,
            steps=np.hypot(x, y),
            more=more.T,
        )

    def place(self, own: slice, ties: slice, besides: slice) -> Narrow:
        """The place that some discs of the row make, with the ties between them."""
        path, widths, source = self.path[own], self.widths[own], self.source[own]
        least = own.start + least_of(path, widths, source)
        p, q = both_sides(self.sides[least], self.source[least])
        x, y = self.path[least].tolist()
        return Narrow(
            float(self.widths[least]),
            (x, y),
            p,
            q,
            self._kind(least, ties),
            float(self.steps[ties].sum()),
            path,
            widths,
            int(self.piece[least]),
            self.sides[own],
            source,
            self.tied[ties] - own.start,
            self.more[besides] - own.start,
        )

    def _kind(self, least: int, ties: slice) -> str:
        """What to call a place, by its narrowest disc."""
        if self.wall[least]:
            return "wall"
        if self.dead[least]:
            return "limb"
        width = float(self.widths[least])
        holds = (self.widths[self.tied[ties]] <= HELD * width).all(axis=1)
        return neck_or_bridge(width, float(self.steps[ties][holds].sum()))


def _in_order(thin: Thin, mine: Index) -> tuple[Index, Flags]:
    """The discs place by place, each place's along it; and where each place begins.

    The order is that of the touching points on the sides where the narrowest disc has its p
    and q.
    """
    o, d = thin.outline, thin.discs
    label, x, y = thin.label[mine], d.at[0, mine], d.at[1, mine]
    narrowest = np.lexsort((y, x, np.round(d.radius[mine], 6), label))
    head = narrowest[leads(label[narrowest])]
    number = label[head].searchsorted(label)
    p, q = thin.p[mine], thin.q[mine]
    ring_p, ring_q = o.ring[d.i[mine]], o.ring[d.j[mine]]
    head = head[number]
    on_p, on_q, at_p, at_q = ring_p[head], ring_q[head], p[head], q[head]

    def away(place: Array, ring: Index, base: Array, of: Index) -> Array:
        size = o.round[of]
        turned = place - base
        turned -= size * np.rint(turned / size)
        return np.where(ring == of, turned, np.inf)

    # one side of the outline runs forward along the place, the other back
    forward, back = away(p, ring_p, at_p, on_p), away(q, ring_q, at_q, on_q)
    other_way = away(q, ring_q, at_p, on_p), away(p, ring_p, at_q, on_q)
    cross = np.abs(other_way[0]) + np.abs(other_way[1]) < np.abs(forward) + np.abs(back)
    forward = np.where(cross, other_way[0], forward)
    back = np.where(cross, other_way[1], back)
    stray = ~np.isfinite(forward) | ~np.isfinite(back)
    key = np.where(stray, 0.0, forward) - np.where(stray, 0.0, back)
    order = np.lexsort((y, x, key, stray, label))
    first = leads(label[order])
    # the same way round whichever way the outline runs
    start = np.flatnonzero(first)
    stop = np.append(start[1:], len(order)) - 1
    ends = np.round(d.at[:, mine[order]], 6)
    a, b = ends[:, start], ends[:, stop]
    turned = (a[0] > b[0]) | ((a[0] == b[0]) & (a[1] > b[1]))
    which = np.cumsum(first) - 1
    place = np.arange(len(order))
    place = np.where(turned[which], start[which] + stop[which] - place, place)
    return mine[order[place]], first


def _tied(thin: Thin, order: Index, first: Flags) -> tuple[Index, Index]:
    """Which discs of each place hang together (2, e), by their numbers in its order, sorted: the
    shortest that span the place; and what else it takes, (2, f), to span what of it is narrower
    than any measure."""
    d, n = thin.discs, len(order)
    # discs that follow each other on the path hang together unless a branch begins between them
    here = (~first[1:]).nonzero()[0]
    here = here[follows(thin.outline, d, order[here], order[here + 1])]
    tied = np.array((here, here + 1))
    if len(here) + np.count_nonzero(first) == n:
        return tied, tied[:, :0]
    number = np.full(len(d), -1)
    number[order] = np.arange(n)
    others = number[thin.links]
    others = others[:, (others >= 0).all(axis=0)]
    links = np.concatenate((tied, others), axis=1)
    d = d.take(order)
    apart = np.hypot(*(d.at[:, links[0]] - d.at[:, links[1]]))
    widest = np.maximum(*d.radius[links])
    nearest, narrowest = np.zeros((2, links.shape[1]), bool)
    for chosen, rank in ((nearest, apart.argsort()), (narrowest, np.lexsort((apart, widest)))):
        chosen[rank] = spanning(n, *links[:, rank])
    narrowest &= ~nearest
    return _sorted(links[:, nearest]), _sorted(links[:, narrowest])


def _sorted(links: Index) -> Index:
    return links[:, np.argsort(links.min(axis=0), kind="stable")]


def tapers(thin: Thin) -> tuple[Tip, ...]:
    """The tips of the solid, by where they end."""
    o, d, c, arrangement = thin.outline, thin.discs, thin.chains, thin.outline.arrangement
    pick = np.flatnonzero(c.tip & d.web[c.disc])
    if len(pick) == 0:
        return ()
    chain, disc = c.chain[pick], c.disc[pick]
    first = np.flatnonzero(leads(chain))
    stop = np.append(first[1:], len(pick))
    found = []
    for a, b in zip(first.tolist(), stop.tolist(), strict=True):
        number = int(chain[a])
        edge, end = place_on(o, int(c.ring[number]), float(c.apex[number]))
        mine = disc[a:b]
        if thin.ends[number] >= 0:
            mine = np.append(mine, thin.ends[number])
        middles = (d.at[:, mine] + o.origin[:, None]).T
        widths = 2.0 * d.radius[mine]
        sharp = bool(c.sharp[number])
        end = end + o.origin
        found.append(
            Tip(
                Spot(
                    (float(end[0]), float(end[1])),
                    int(arrangement.contour[edge]),
                    int(arrangement.segment[edge]),
                ),
                _angle(o, edge) if sharp else _opening(o, d.i[disc[a]], d.j[disc[a]]),
                0.0 if sharp else float(widths[0]),
                np.concatenate((end[None, :], middles)),
                np.concatenate(([0.0 if sharp else widths[0]], widths)),
                int(arrangement.face[c.ring[number]]) + 1,
            )
        )
    return tuple(sorted(found, key=lambda tip: tip.spot.at))


def _angle(o: Outline, edge: int) -> float:
    """Degrees inside the corner that an edge starts from."""
    cross, dot = o.turn[:, edge]
    return 180.0 - float(np.degrees(np.arctan2(abs(cross), dot)))


def _opening(o: Outline, i: Index, j: Index) -> float:
    """Degrees between two edges that face each other."""
    t, u = o.rows[4:6, i], o.rows[4:6, j]
    return float(np.degrees(np.arccos(np.clip(-(t * u).sum(), -1.0, 1.0))))
