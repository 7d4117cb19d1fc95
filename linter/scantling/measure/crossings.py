"""Where cut lines cross and where they touch."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scantling.measure.close import Close
from scantling.measure.joins import Joined
from scantling.measure.pairs import Table
from scantling.measure.segments import cross, distance_to, length

Points = NDArray[np.float64]
Index = NDArray[np.int64]
Flags = NDArray[np.bool_]

EXACT = 1e-6
"""mm; nearer than this, two lines touch"""


class Meetings(NamedTuple):
    """Pairs of edges of cut lines that cross or touch and are not neighbours on their chain.

    a, b     (k,)  places in Joined.edge; the chain of a comes first, or a itself on one chain
    crosses  (k,)  True where they cross, False where they touch
    t, s     (k,)  where along a and along b, 0 to 1, for those that cross
    """

    a: Index
    b: Index
    crosses: Flags
    t: Points
    s: Points


def meetings(table: Table, close: Close, joined: Joined) -> Meetings:
    """Fact: where cut lines cross or touch, edge by edge.

    Touching and passing through a corner are told apart as if the chain that comes first were
    moved by next to nothing, a little less upwards than sideways: then nothing touches any more,
    and lines that pass through each other's corners cross an odd number of times.
    """
    a, b = joined.place[table.edge[close.i]], joined.place[table.edge[close.j]]
    cut = (a >= 0) & (b >= 0)
    a, b = np.minimum(a, b)[cut], np.maximum(a, b)[cut]
    chain = joined.of_point
    same = chain[a] == chain[b]
    begin, size = joined.start[chain[a]], np.diff(joined.start)[chain[a]]
    around = joined.closed[chain[a]] & (a == begin) & (b == begin + size - 1)
    apart = ~same | ((b - a > 1) & ~around)
    a, b = a[apart], b[apart]

    xy = joined.xy
    after = following(joined)
    p, q = xy[joined.point[a]], xy[joined.point[after[a]]]
    r, s = xy[joined.point[b]], xy[joined.point[after[b]]]
    u, v = q - p, s - r
    r_side = _side(cross(u, r - p), -u[:, 1], u[:, 0])
    s_side = _side(cross(u, s - p), -u[:, 1], u[:, 0])
    p_side = _side(cross(v, p - r), v[:, 1], -v[:, 0])
    q_side = _side(cross(v, q - r), v[:, 1], -v[:, 0])
    crosses = (r_side != s_side) & (p_side != q_side)
    nearest = np.minimum.reduce(
        [distance_to(p, r, s), distance_to(q, r, s), distance_to(r, p, q), distance_to(s, p, q)]
    )
    found = crosses | (nearest <= EXACT)
    a, b, crosses = a[found], b[found], crosses[found]
    p, r, u, v = p[found], r[found], u[found], v[found]
    turn = cross(u, v)
    flat = np.abs(turn) <= 1e-12 * length(u) * length(v)
    safe = np.where(flat, 1.0, turn)
    along_a = np.where(flat, 0.5, np.clip(cross(r - p, v) / safe, 0.0, 1.0))
    along_b = np.where(flat, 0.5, np.clip(cross(r - p, u) / safe, 0.0, 1.0))
    return Meetings(a, b, crosses, along_a, along_b)


def _side(value: Points, first: Points, second: Points) -> Flags:
    """True on the left. A value of naught is decided by what the first move makes of it, one
    to the side by x, and if that is naught too by the second, by y."""
    return np.where(value != 0.0, value, np.where(first != 0.0, first, second)) > 0.0


def following(joined: Joined) -> Index:
    """(p,) the next point along each chain; the last of an open chain is followed by the first."""
    after = np.arange(1, len(joined.point) + 1)
    some = np.diff(joined.start) > 0
    after[joined.start[1:][some] - 1] = joined.start[:-1][some]
    return after
