"""Thin places and tips, told one by one as the rules see them."""

from __future__ import annotations

import numpy as np

from scantling.measure.groups import connected
from scantling.measure.model import HELD, Narrow, Spot, Tip, least_of, neck_or_bridge
from scantling.measure.outline import Array, Flags, Index, Outline
from scantling.measure.places import Thin, along, follows, leads


def told(thin: Thin | None, web: bool) -> tuple[Narrow, ...]:
    """The places of the solid (`web`) or the void, narrowest first."""
    if thin is None:
        return ()
    d, o, arrangement = thin.discs, thin.outline, thin.arrangement
    mine = np.flatnonzero((thin.label >= 0) & (d.web == web))
    if len(mine) == 0:
        return ()
    order, first = _in_order(thin, mine)
    number = np.full(len(d), -1)
    number[order] = np.arange(len(order))
    bounds = np.append(np.flatnonzero(first), len(order))
    # discs that follow each other on the path hang together unless a branch begins between them
    here = np.flatnonzero(~first[1:])
    here = here[follows(o, d, order[here], order[here + 1])]
    tied = np.stack((here, here + 1))
    if len(here) + len(bounds) - 1 < len(order):
        others = number[thin.links]
        others = others[:, (others >= 0).all(axis=0)]
        tied = _tree(d.at[:, order], np.concatenate((tied, others), axis=1))
    tied = tied.T
    cuts = np.searchsorted(tied.min(axis=1), bounds)

    i, j = d.i[order], d.j[order]
    path = (d.at[:, order] + o.origin[:, None]).T
    widths = 2.0 * d.radius[order]
    sides = np.stack((d.p[:, order].T, d.q[:, order].T), axis=1) + o.origin
    edges = np.stack((i, j), axis=1)
    source = np.stack((arrangement.contour[edges], arrangement.segment[edges]), axis=2)
    wall = o.ring[i] != o.ring[j]
    piece = arrangement.face[o.ring[i]] + 1 if web else np.zeros(len(i), np.int64)
    steps = np.hypot(*(path[tied[:, 1]] - path[tied[:, 0]]).T)
    found = []
    for k, (a, b) in enumerate(zip(bounds[:-1].tolist(), bounds[1:].tolist(), strict=True)):
        least = a + least_of(path[a:b], widths[a:b])
        own = slice(cuts[k], cuts[k + 1])
        width = float(widths[least])
        if wall[least]:
            kind = "wall"
        elif thin.dead[order[least]]:
            kind = "limb"
        else:
            holds = (widths[tied[own]] <= HELD * width).all(axis=1)
            kind = neck_or_bridge(width, float(steps[own][holds].sum()))
        p, q = sides[least].tolist()
        p_from, q_from = source[least].tolist()
        found.append(
            Narrow(
                width,
                (float(path[least, 0]), float(path[least, 1])),
                Spot((p[0], p[1]), *p_from),
                Spot((q[0], q[1]), *q_from),
                kind,
                float(steps[own].sum()),
                path[a:b],
                widths[a:b],
                int(piece[least]),
                sides[a:b],
                source[a:b],
                tied[own] - a,
            )
        )
    return tuple(sorted(found, key=lambda n: (round(n.width, 6), n.at)))


def _in_order(thin: Thin, mine: Index) -> tuple[Index, Flags]:
    """The discs place by place, each place's along it; and where each place begins.

    The order is that of the touching points on the sides where the narrowest disc has its p
    and q.
    """
    o, d = thin.outline, thin.discs
    label = thin.label[mine]
    narrowest = np.lexsort((d.at[1, mine], d.at[0, mine], np.round(d.radius[mine], 6), label))
    head = narrowest[leads(label[narrowest])]
    number = np.searchsorted(label[head], label)
    i, j = d.i[mine], d.j[mine]
    p, q = along(o, i, d.p[:, mine]), along(o, j, d.q[:, mine])
    ring_p, ring_q = o.ring[i], o.ring[j]
    on_p, on_q = ring_p[head][number], ring_q[head][number]
    at_p, at_q = p[head][number], q[head][number]

    def away(place: Array, ring: Index, base: Array, of: Index) -> Array:
        size = o.round[of]
        turned = np.mod(place - base + size / 2.0, size) - size / 2.0
        return np.where(ring == of, turned, np.inf)

    # one side of the outline runs forward along the place, the other back
    forward, back = away(p, ring_p, at_p, on_p), away(q, ring_q, at_q, on_q)
    other_way = away(q, ring_q, at_p, on_p), away(p, ring_p, at_q, on_q)
    cross = np.abs(other_way[0]) + np.abs(other_way[1]) < np.abs(forward) + np.abs(back)
    forward = np.where(cross, other_way[0], forward)
    back = np.where(cross, other_way[1], back)
    stray = ~np.isfinite(forward) | ~np.isfinite(back)
    key = np.where(stray, 0.0, forward) - np.where(stray, 0.0, back)
    order = np.lexsort((d.at[1, mine], d.at[0, mine], key, stray, label))
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


def _tree(at: Array, links: Index) -> Index:
    """Of links (2, e) the shortest that span each place, sorted by their discs.

    Borůvka's algorithm: every group of discs takes its shortest link to another, in rounds.
    """
    n = at.shape[1]
    apart = np.hypot(*(at[:, links[0]] - at[:, links[1]]))
    by_rank = np.argsort(apart, kind="stable")
    a, b = links[:, by_rank]
    group = np.arange(n)
    chosen = np.zeros(len(a), bool)
    while True:
        one, other = group[a], group[b]
        open_ = np.flatnonzero(one != other)
        if len(open_) == 0:
            break
        best = np.full(n, len(a))
        np.minimum.at(best, one[open_], open_)
        np.minimum.at(best, other[open_], open_)
        chosen[best[best < len(a)]] = True
        group = connected(n, a[chosen], b[chosen])
    kept = np.stack((a[chosen], b[chosen]))
    return kept[:, np.argsort(kept.min(axis=0), kind="stable")]


def tapers(thin: Thin | None) -> tuple[Tip, ...]:
    """The tips of the solid, by where they end."""
    if thin is None:
        return ()
    o, d, c, arrangement = thin.outline, thin.discs, thin.chains, thin.arrangement
    pick = np.flatnonzero(thin.of_tip & d.web[c.disc])
    if len(pick) == 0:
        return ()
    chain, disc = c.chain[pick], c.disc[pick]
    first = np.flatnonzero(leads(chain))
    stop = np.append(first[1:], len(pick))
    found = []
    for a, b in zip(first.tolist(), stop.tolist(), strict=True):
        number = int(chain[a])
        edge, end = _at(o, int(c.ring[number]), float(c.apex[number]))
        middles = (d.at[:, disc[a:b]] + o.origin[:, None]).T
        widths = 2.0 * d.radius[disc[a:b]]
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


def _at(o: Outline, ring: int, place: float) -> tuple[int, Array]:
    """Edge and point at a distance along a ring."""
    first, stop = int(o.first[ring]), int(o.first[ring + 1])
    edge = first + int(np.searchsorted(o.along[first:stop], place, side="right")) - 1
    edge = max(edge, first)
    return edge, o.rows[:2, edge] + (place - o.along[edge]) * o.rows[4:6, edge]


def _angle(o: Outline, edge: int) -> float:
    """Degrees inside the corner that an edge starts from."""
    cross, dot = o.turn[:, edge]
    return 180.0 - float(np.degrees(np.arctan2(abs(cross), dot)))


def _opening(o: Outline, i: Index, j: Index) -> float:
    """Degrees between two edges that face each other."""
    t, u = o.rows[4:6, i], o.rows[4:6, j]
    return float(np.degrees(np.arccos(np.clip(-(t * u).sum(), -1.0, 1.0))))
