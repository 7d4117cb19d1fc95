"""Where cut lines cross and where they touch.

Two lines that touch may cross twice or more by a hair, because both are flattened. So crossings
between which both lines stay within the coincidence tolerance of each other are taken together:
an even number of them is a touch, an odd number one crossing. A line that runs past another by
less than the join tolerance ends on it, an outline that crosses itself in a loop of less than
eight tolerances has a kink, and what happens along a double belongs to `overlaps`. Two lines that
run from line to line only divide what they cross in, as the lines of a jigsaw do.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.lines.close import KINK, Close, Edges
from scantling.measure.lines.intervals import through_start, unite
from scantling.measure.lines.joins import LOOSE, Joined
from scantling.measure.lines.overlaps import Runs
from scantling.measure.model import Crossing, Spot
from scantling.measure.pairs import LIMITS
from scantling.measure.segments import cross, distance_to, dot, length, near_stretch
from scantling.plan.model import Lines, Tolerances
from scantling.read.limits import Limits
from scantling.read.source import Unreadable
from scantling.records import NamedTuple

if TYPE_CHECKING:
    from scantling.arrays import Flags, Index, Points


LOOP = 8.0
"""coincidence tolerances; a loop no longer than this is a kink that the kerf swallows"""
EXACT = 1e-6
"""mm; nearer than this, two lines touch"""


class Meetings(NamedTuple):
    """Pairs of edges of cut lines that cross or touch and are not neighbours on their chain.

    a, b     (k,)  places in Joined.edge; on two chains, that of a comes first
    crosses  (k,)  True where they cross, False where they touch
    t, s     (k,)  where along a and along b, 0 to 1, for those that cross
    """

    a: Index
    b: Index
    crosses: Flags
    t: Points
    s: Points


def meetings(edges: Edges, close: Close, joined: Joined, limits: Limits = LIMITS) -> Meetings:
    """Fact: where cut lines cross or touch, edge by edge. Raises Unreadable beyond the limit for
    crossings.

    Touching and passing through a corner are told apart as if the line that comes first were
    moved by next to nothing, sideways and far less up or down: then nothing touches any more,
    and lines that pass through each other's corners cross an odd number of times.
    """
    chain = joined.of_point
    a, b = _apart(edges, close, joined, chain) if len(close.i) else close
    start = joined.xy[joined.point]
    end = start[joined.after]
    more = _closing(joined, start, end)
    a, b = np.concatenate([a, more[0]]), np.concatenate([b, more[1]])
    if not len(a):
        return Meetings(a, b, np.zeros(0, bool), np.zeros(0), np.zeros(0))
    apart = np.minimum.reduce(
        [
            distance_to(start[a], start[b], end[b]),
            distance_to(end[a], start[b], end[b]),
            distance_to(start[b], start[a], end[a]),
            distance_to(end[b], start[a], end[a]),
        ]
    )
    crosses = _cross(start[a], end[a], start[b], end[b])
    touches = apart <= EXACT
    own = np.flatnonzero(touches & (chain[a] == chain[b]))
    if len(own):
        a[own], b[own] = _in_turn(joined, a[own], b[own])
        crosses[own] = _cross(start[a[own]], end[a[own]], start[b[own]], end[b[own]])
    found = crosses | touches
    many = int(np.count_nonzero(found))
    if many > limits.crossings:
        raise Unreadable(limits.exceeded("crossings", f"cut lines cross or touch {many} times"))
    a, b, crosses = a[found], b[found], crosses[found]
    u, v, between = end[a] - start[a], end[b] - start[b], start[b] - start[a]
    turn = cross(u, v)
    flat = np.abs(turn) <= 1e-12 * length(u) * length(v)
    safe = np.where(flat, 1.0, turn)
    t = np.where(
        flat, _shared(start[a], u, start[b], end[b]), np.clip(cross(between, v) / safe, 0.0, 1.0)
    )
    s = np.where(
        flat, _shared(start[b], v, start[a], end[a]), np.clip(cross(between, u) / safe, 0.0, 1.0)
    )
    return Meetings(a, b, crosses, t, s)


def _apart(edges: Edges, close: Close, joined: Joined, chain: Index) -> tuple[Index, Index]:
    """The close pairs of edges a < b, by where they stand in Joined.edge, that do not follow one
    another along a chain."""
    a, b = joined.place[edges.edge[close.i]], joined.place[edges.edge[close.j]]
    cut = (a >= 0) & (b >= 0)
    a, b = np.minimum(a, b)[cut], np.maximum(a, b)[cut]
    same = chain[a] == chain[b]
    begin, size = joined.start[chain[a]], np.diff(joined.start)[chain[a]]
    around = joined.closed[chain[a]] & (a == begin) & (b == begin + size - 1)
    apart = ~same | ((b - a > 1) & ~around)
    return a[apart], b[apart]


def _shared(p: Points, u: Points, r: Points, s: Points) -> Points:
    """Where along the edges p + t u, t in 0..1, the middle of what they share with the edges rs
    lies that run along the same line: an end, where they only touch there."""
    size = dot(u, u)
    safe = np.where(size > 0.0, size, 1.0)
    one = np.clip(dot(r - p, u) / safe, 0.0, 1.0)
    other = np.clip(dot(s - p, u) / safe, 0.0, 1.0)
    return np.asarray((one + other) / 2.0)


def _closing(joined: Joined, start: Points, end: Points) -> tuple[Index, Index]:
    """The lines by which open fills are closed, each with the edges that it meets. No tool
    follows them, so they are not among the edges that `close` compares."""
    none = np.zeros(0, np.int64)
    chain = joined.of_point
    closing = np.flatnonzero((joined.edge < 0) & joined.ring[chain])
    if not len(closing):
        return none, none
    import shapely

    drawn = (joined.edge >= 0) | joined.ring[chain]
    place = np.flatnonzero(drawn & (start != end).any(axis=1))
    lines = shapely.linestrings(np.stack([start, end], axis=1))
    mine, other = shapely.STRtree(lines[place]).query(
        lines[closing], predicate="dwithin", distance=EXACT
    )
    a, b = closing[mine], place[other]
    before = (b == a - 1) & (chain[a] == chain[b])
    apart = (a != b) & ~before & (b != joined.start[chain[a]]) & ((joined.edge[b] >= 0) | (a < b))
    return np.minimum(a, b)[apart], np.maximum(a, b)[apart]


def _cross(p: Points, q: Points, r: Points, s: Points) -> Flags:
    """Whether the edges pq cross the edges rs, if they are moved by next to nothing."""
    u, v = q - p, s - r
    r_left = _left(cross(u, r - p), -u[:, 1], u[:, 0])
    s_left = _left(cross(u, s - p), -u[:, 1], u[:, 0])
    p_left = _left(cross(v, p - r), v[:, 1], -v[:, 0])
    q_left = _left(cross(v, q - r), v[:, 1], -v[:, 0])
    return np.asarray((r_left != s_left) & (p_left != q_left))


def _left(value: Points, first: Points, second: Points) -> Flags:
    """True on the left. A value of zero is decided by what the move to the side makes of it,
    and if that is zero too by the move up or down."""
    return np.where(value != 0.0, value, np.where(first != 0.0, first, second)) > 0.0


def _in_turn(joined: Joined, a: Index, b: Index) -> tuple[Index, Index]:
    """Pairs of edges of one chain in the order in which they come from a point where the chain
    does not touch itself, so that which of two strands is moved does not change as they pass."""
    chain, begin = joined.of_point, joined.start[:-1]
    size = np.diff(joined.start)
    busy = np.zeros(len(chain), bool)
    after = joined.after
    for place in (a, b):
        busy[place] = busy[after[place]] = True
    idle = np.flatnonzero(~busy)
    seam = begin.copy()
    of, first = np.unique(chain[idle], return_index=True)
    seam[of] = np.where(joined.closed[of], idle[first], begin[of])
    turn_a = (a - seam[chain[a]]) % size[chain[a]]
    turn_b = (b - seam[chain[b]]) % size[chain[b]]
    swap = turn_a > turn_b
    return np.where(swap, b, a), np.where(swap, a, b)


class _Track(NamedTuple):
    """Arc length along the chains: of each point's edge, where it starts, of each chain."""

    start: Points
    end: Points
    size: Points
    position: Points
    total: Points


def _track(joined: Joined) -> _Track:
    start = joined.xy[joined.point]
    end = start[joined.after]
    size = np.where(joined.edge >= 0, length(end - start), 0.0)
    laid = np.concatenate([[0.0], np.cumsum(size)])
    origin = laid[joined.start]
    return _Track(start, end, size, laid[:-1] - origin[joined.of_point], np.diff(origin))


def crossings(crossed: tuple[tuple[Crossing, ...], tuple[Crossing, ...]]) -> tuple[Crossing, ...]:
    """Fact: where cut lines cross, one outline itself or two each other, in drawing order."""
    return crossed[0]


def grazes(crossed: tuple[tuple[Crossing, ...], tuple[Crossing, ...]]) -> tuple[Crossing, ...]:
    """Fact: where cut lines touch, or cross by so little that it is not a crossing, in drawing
    order: an end on a line or just beyond it, a kink."""
    return crossed[1]


def crossed(
    lines: Lines,
    edges: Edges,
    close: Close,
    joined: Joined,
    meetings: Meetings,
    runs: Runs,
    tolerances: Tolerances,
) -> tuple[tuple[Crossing, ...], tuple[Crossing, ...]]:
    """Fact: crossings and grazes, told together."""
    real = joined.edge >= 0
    found = np.flatnonzero(real[meetings.a] & real[meetings.b])
    if not len(found):
        return (), ()
    track = _track(joined)
    a, b = meetings.a[found], meetings.b[found]
    on_a = track.position[a] + meetings.t[found] * track.size[a]
    on_b = track.position[b] + meetings.s[found] * track.size[b]
    t, s = meetings.t[found], meetings.s[found]
    single = ~_doubled(lines, edges, joined, runs, a, b, t, s, tolerances.coincidence)
    # (whether an end that lies on a line crosses it is a matter of rounding)
    real = meetings.crosses[found] & single
    real &= ~_at_an_end(joined, track, a, on_a, tolerances.join)
    real &= ~_at_an_end(joined, track, b, on_b, tolerances.join)
    real &= ~_kink(joined, track, a, b, on_a, on_b, LOOP * tolerances.coincidence)
    dividing = _dividing(joined, a, b)
    real &= ~dividing
    a, b, on_a, on_b = a[real], b[real], on_a[real], on_b[real]
    one = _one_of_each_bundle(edges, close, joined, track, a, b, on_a, on_b, tolerances.coincidence)
    crossing = found[real][one]
    grazing = np.setdiff1d(found[single & ~dividing], crossing)
    return (
        _told(lines, joined, track, meetings, crossing),
        _told(lines, joined, track, meetings, grazing),
    )


def _told(
    lines: Lines, joined: Joined, track: _Track, meetings: Meetings, which: Index
) -> tuple[Crossing, ...]:
    """Some meetings as crossings, in drawing order."""
    a, b = meetings.a[which], meetings.b[which]
    at = track.start[a] + meetings.t[which, None] * (track.end[a] - track.start[a])
    contour_of = np.repeat(np.arange(len(lines.closed)), np.diff(lines.first))
    chain = joined.of_point
    own = (chain[a] == chain[b]).tolist()
    order = []
    for k, (p, q) in enumerate(zip(joined.edge[a].tolist(), joined.edge[b].tolist(), strict=True)):
        place = (float(at[k, 0]), float(at[k, 1]))
        first, second = (
            Spot(place, int(contour_of[edge]), int(lines.segment[edge])) for edge in sorted((p, q))
        )
        order.append((min(p, q), max(p, q), place, Crossing(first, second, own[k])))
    return tuple(item[-1] for item in sorted(order, key=lambda item: item[:3]))


def _dividing(joined: Joined, a: Index, b: Index) -> Flags:
    """True where two lines meet both ends of which are on others, and that bound no fill."""
    divides = ~joined.closed & ~joined.filled & (joined.met != LOOSE).all(axis=1)
    one, other = joined.of_point[a], joined.of_point[b]
    return np.asarray(divides[one] & divides[other] & (one != other))


def _at_an_end(joined: Joined, track: _Track, place: Index, on: Points, within: float) -> Flags:
    """True where an open chain is crossed within a distance of its end."""
    chain = joined.of_point[place]
    near = (on <= within) | (track.total[chain] - on <= within)
    return np.asarray(near & ~joined.closed[chain])


def _kink(
    joined: Joined, track: _Track, a: Index, b: Index, on_a: Points, on_b: Points, least: float
) -> Flags:
    """True where a chain crosses itself in a loop shorter than the least."""
    chain = joined.of_point[a]
    loop = np.abs(on_b - on_a)
    other = np.where(joined.closed[chain], track.total[chain] - loop, np.inf)
    return np.asarray((chain == joined.of_point[b]) & (np.minimum(loop, other) < least))


def _doubled(
    lines: Lines,
    edges: Edges,
    joined: Joined,
    runs: Runs,
    a: Index,
    b: Index,
    t: Points,
    s: Points,
    slack: float,
) -> Flags:
    """True where one of the two lines runs along a line, or will within the slack or has, and the
    two share line somewhere."""
    many = max(len(lines.closed), 1)
    number = np.full(len(lines.xy), -1)
    number[edges.edge] = np.arange(len(edges.edge))
    one, other = number[joined.edge[a]], number[joined.edge[b]]
    p, q = edges.contour[one], edges.contour[other]
    shared = np.isin(np.maximum(p, q) * many + np.minimum(p, q), runs.later * many + runs.earlier)
    turned = np.zeros(many, bool)
    turned[joined.contours] = joined.turned
    ruler = runs.ruler
    low, high = runs.laid()

    def within(place: Points) -> Flags:
        # As many begin before a place as end before it, unless it is within one.
        begun = np.searchsorted(low - slack, place, "right")
        return np.asarray(begun > np.searchsorted(high + slack, place, "left"))

    def along(edge: Index, contour: Index, part: Points) -> Flags:
        part = np.where(turned[contour], 1.0 - part, part)
        at = ruler.position[edge] + part * ruler.size[edge]
        origin, total = ruler.origin[contour], ruler.total[contour]
        # the first point of a closed line is its last as well
        again = np.where(at <= slack, at + total, np.where(at >= total - slack, at - total, at))
        again = np.where(lines.closed[contour], again, at)
        return within(origin + at) | within(origin + again)

    return np.asarray(shared & (along(one, p, t) | along(other, q, s)))


def _one_of_each_bundle(
    edges: Edges,
    close: Close,
    joined: Joined,
    track: _Track,
    a: Index,
    b: Index,
    on_a: Points,
    on_b: Points,
    within: float,
) -> Index:
    """One of every odd bundle of crossings: of those between which the lines stay within a
    distance of each other."""
    chain, many = joined.of_point, len(joined.closed)
    pair = chain[a] * many + chain[b]
    keys, times = np.unique(pair, return_counts=True)
    keys = keys[times > 1]
    p, q = _close_strands(edges, close, joined, track, keys, within)
    group = np.searchsorted(keys, chain[p] * many + chain[q])
    asked = np.searchsorted(keys, pair)

    def stretch(mine: Index, other: Index, of_group: Index, on: Points) -> Index:
        """The stretch of the one line near the other that each crossing lies in."""
        low, high = near_stretch(
            track.start[mine], track.end[mine], track.start[other], track.end[other], within
        )
        there = low <= high
        low, high = low + track.position[mine], high + track.position[mine]
        of, low, high, _ = unite(group[there], low[there], high[there])
        number = through_start(
            of, low, high, track.total[of_group[of]], joined.closed[of_group[of]]
        )
        step = float(track.total.max()) + 1.0
        k = np.searchsorted(of * step + low, asked * step + on + 1e-6, side="right") - 1
        lone = -1 - np.arange(len(on))
        if not len(of):
            return lone
        inside = (k >= 0) & (of[k] == asked) & (on <= high[k] + 1e-6)
        return np.where(inside, number[k], lone)

    first, second = stretch(p, q, keys // many, on_a), stretch(q, p, keys % many, on_b)
    swap = (chain[a] == chain[b]) & (first > second)
    first, second = np.where(swap, second, first), np.where(swap, first, second)
    bundle = np.column_stack([pair, first, second])
    _, of, times = np.unique(bundle, axis=0, return_inverse=True, return_counts=True)
    order = np.lexsort((on_b, of))
    begin = np.cumsum(times) - times
    odd = times % 2 == 1
    return np.sort(order[(begin + times // 2)[odd]])


def _close_strands(
    edges: Edges, close: Close, joined: Joined, track: _Track, keys: Index, within: float
) -> tuple[Index, Index]:
    """Where two chains, given as sorted keys of pairs of them, are close: places in Joined.edge, of
    the one and of the other. On one chain either strand may be the one that comes first."""
    chain, many = joined.of_point, len(joined.closed)
    p, q = joined.place[edges.edge[close.i]], joined.place[edges.edge[close.j]]
    cut = (p >= 0) & (q >= 0)
    p, q = np.minimum(p, q)[cut], np.maximum(p, q)[cut]
    same = chain[p] == chain[q]
    neighbours = same & (track.position[q] - track.position[p] - track.size[p] < KINK * within)
    wanted = np.isin(chain[p] * many + chain[q], keys) & ~neighbours
    p, q, same = p[wanted], q[wanted], same[wanted]
    return np.concatenate([p, q[same]]), np.concatenate([q, p[same]])
