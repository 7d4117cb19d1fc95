"""Thin webs and narrow gaps of a sheet, whatever their shape.

Local width: the diameter of the largest disc inside the web (or gap) touching the outline at
that place. See `discs` for how it is found and `places` for what makes one place of it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scantling.measure.discs import Discs, discs_of
from scantling.measure.groups import connected
from scantling.measure.model import Arrangement, Narrow, Spot
from scantling.measure.outline import Array, Index, Outline
from scantling.measure.places import Chains, along, chains, links, tips
from scantling.plan.model import Tolerances

HELD = 1.1
"""A web that stays within this many times its least width for more than twice that width is a
bridge, else a neck."""


@dataclass(frozen=True, slots=True)
class Thin:
    """All thin places of a sheet, webs and gaps together, before they are told one by one."""

    outline: Outline | None
    discs: Discs | None
    label: Index
    """(k,) place of each disc, -1 for those of tips and of what is no place"""
    chains: Chains | None


def thin(arrangement: Arrangement, reach: float, tolerances: Tolerances) -> Thin:
    """Fact: the discs of every web and gap up to the reach, and the places they make."""
    xy = arrangement.xy
    if len(xy) == 0:
        return Thin(None, None, np.zeros(0, np.int64), None)
    # far from the origin coordinates lose their last digits; nothing here needs an origin
    centre = np.floor((xy.min(axis=0) + xy.max(axis=0)) / 2.0)
    o = Outline(arrangement, centre)
    discs = discs_of(o, reach, tolerances.chord)
    if len(discs) == 0:
        return Thin(o, None, np.zeros(0, np.int64), None)
    a, b = links(o, discs)
    first = connected(len(discs), a, b)
    c = chains(o, discs, tolerances.chord)
    of_tip, _ = tips(discs, c, tolerances.chord)
    body = np.ones(len(discs), bool)
    body[c.disc[of_tip]] = False
    body |= _spared(discs, c, first, body)
    keep = body[a] & body[b]
    label = np.where(body, connected(len(discs), a[keep], b[keep]), -1)
    return Thin(o, discs, label, c)


def _spared(discs: Discs, c: Chains, label: Index, body: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Where two tips use up a whole place between them, its widest disc is what it is as a web."""
    held = np.zeros(len(body), bool)
    held[label[body]] = True
    both = np.bincount(c.disc, minlength=len(body)) == 2
    lost = np.flatnonzero(both & ~held[label])
    order = lost[np.lexsort((lost, -discs.radius[lost], label[lost]))]
    spared = np.zeros(len(body), bool)
    spared[order[_leads(label[order])]] = True
    return spared


def _leads(label: Index) -> NDArray[np.bool_]:
    """Where a new label begins in a sorted row of them."""
    lead = np.ones(len(label), bool)
    lead[1:] = label[1:] != label[:-1]
    return lead


def webs(thin: Thin, arrangement: Arrangement, reach: float) -> tuple[Narrow, ...]:
    """Fact: every connected thin place of the solid up to the reach, narrowest first."""
    return _told(thin, arrangement, reach, True)


def gaps(thin: Thin, arrangement: Arrangement, reach: float) -> tuple[Narrow, ...]:
    """Fact: every connected narrow place of the void up to the reach, narrowest first."""
    return _told(thin, arrangement, reach, False)


def _told(thin: Thin, arrangement: Arrangement, reach: float, web: bool) -> tuple[Narrow, ...]:
    d, o = thin.discs, thin.outline
    if d is None or o is None:
        return ()
    mine = np.flatnonzero((thin.label >= 0) & (d.web == web) & (2.0 * d.radius <= reach))
    if len(mine) == 0:
        return ()
    dead = np.zeros(len(d), bool)
    if thin.chains is not None:
        dead[thin.chains.disc] = True
    order = mine[np.lexsort((d.at[1, mine], d.at[0, mine], d.radius[mine], thin.label[mine]))]
    cuts = np.flatnonzero(np.diff(thin.label[order])) + 1
    found = [
        _place(thin, arrangement, members, bool(dead[members[0]]))
        for members in np.split(order, cuts)
    ]
    return tuple(sorted(found, key=lambda n: (round(n.width, 6), n.at)))


def _place(thin: Thin, arrangement: Arrangement, members: Index, dead: bool) -> Narrow:
    """One place: its discs in order along it, the narrowest first among `members`."""
    d, o = thin.discs, thin.outline
    assert d is not None
    assert o is not None
    least = members[0]
    i, j = int(d.i[least]), int(d.j[least])
    order = _along(o, d, members)
    at, width = d.at[:, order].T + o.origin, 2.0 * d.radius[order]
    step = np.hypot(*np.diff(at, axis=0).T) if len(order) > 1 else np.zeros(0)
    same = (d.i[order][1:] == d.i[order][:-1]) & (d.j[order][1:] == d.j[order][:-1])
    joined = same | (step <= (width[1:] + width[:-1]) / 2.0)
    length = float(step[joined].sum())
    width_least = 2.0 * float(d.radius[least])
    if o.ring[i] != o.ring[j]:
        kind = "wall"
    elif dead:
        kind = "limb"
    else:
        held = float(step[joined & (np.maximum(width[1:], width[:-1]) <= HELD * width_least)].sum())
        kind = "neck" if held <= 2.0 * width_least else "bridge"
    p, q = d.p[:, least] + o.origin, d.q[:, least] + o.origin
    x, y = d.at[:, least] + o.origin
    return Narrow(
        width_least,
        (float(x), float(y)),
        _spot(arrangement, p, i),
        _spot(arrangement, q, j),
        kind,
        length,
        at,
        width,
        int(arrangement.face[o.ring[i]]) + 1 if d.web[least] else 0,
    )


def _spot(arrangement: Arrangement, at: Array, edge: int) -> Spot:
    return Spot(
        (float(at[0]), float(at[1])),
        int(arrangement.contour[edge]),
        int(arrangement.segment[edge]),
    )


def _along(o: Outline, d: Discs, members: Index) -> Index:
    """The discs in order along the place: by the place of the touching point that stays on the
    side of the narrowest disc's p."""
    i, j = d.i[members], d.j[members]
    p, q = along(o, i, d.p[:, members]), along(o, j, d.q[:, members])
    ri, rj = o.ring[i], o.ring[j]

    def off(place: Array, ring: Index, base: float, of: int) -> Array:
        size = o.round[of]
        away = np.abs(np.mod(place - base + size / 2.0, size) - size / 2.0)
        return np.where(ring == of, away, np.inf)

    straight = off(p, ri, p[0], int(ri[0])) + off(q, rj, q[0], int(rj[0]))
    crossed = off(q, rj, p[0], int(ri[0])) + off(p, ri, q[0], int(rj[0]))
    place = np.where(crossed < straight, q, p)
    ring = np.where(crossed < straight, rj, ri)
    size = o.round[ri[0]]
    signed = np.mod(place - p[0] + size / 2.0, size) - size / 2.0
    return members[np.lexsort((place, np.where(ring == ri[0], signed, 0.0), ring != ri[0], ring))]
