"""Lines on top of each other.

Where a later line runs within the coincidence tolerance t of an earlier one of the same
operation, that stretch may be doubled. What decides is how the stretch grows when twice the
tolerance is allowed, which has nothing to do with size: a line that crosses another at any angle
is near it twice as long (factor 2), one that touches it as a circle touches a line 1.41 times,
a cusp 1.59 times; a line that truly runs on another hardly longer. With L(w) for the length of a
stretch within w, it is doubled where

    L(2t) <= 1.18 L(t),  or
    L(t) <= 1.12 L(t/2), for lines that go on side by side but not quite as near,

and where it, with the stretches that carry on where it ends, is longer than 6t. Along one
contour, places less than 4t apart along the line are not compared: neighbours are always near.
Contours shorter than 3t are fragments and take no part. Everything is judged on the flattened
lines, so a circle, its four arcs and its four Béziers are one line as long as they differ by
less than t.

Each stretch of a contour counts once, however many earlier lines lie beneath it: three lines on
top of each other are two doubled ones.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.groups import connected
from scantling.measure.lines.close import Close, Edges
from scantling.measure.lines.intervals import through_start, unite
from scantling.measure.model import Overlap, Spot
from scantling.measure.segments import beside, cross, foot, length, near_stretch
from scantling.plan.model import CUT, ENGRAVE, GUIDE, Lines, Tolerances
from scantling.records import NamedTuple, dataclass

if TYPE_CHECKING:
    from scantling.arrays import Array, Flags, Index, Lengths


GROWTH = 1.18
"""Largest growth of a true double from one tolerance to two. A bow that touches a line, or goes
through it by up to the tolerance, grows by 1.22 to 1.41."""
GROWTH_BELOW = 1.12
"""The same from half the tolerance to one, where flattening makes bows grow less."""
LEAST = 6.0
"""tolerances; a shorter double is none"""
FRAGMENT = 3.0
"""tolerances; a shorter contour takes no part"""
PARALLEL = 0.5
"""sine of the largest angle between edges that run together"""


class Ruler(NamedTuple):
    """Arc length along the contours: the edges as laid end to end.

    size, position (n,)  length of each edge, and where it starts along its contour
    start (n,)           where it starts when all contours are laid end to end
    total, origin (m,)   length of each contour, and where it starts
    first (m+1,)         contour k has the edges first[k]:first[k+1]
    """

    size: Lengths
    position: Lengths
    start: Lengths
    total: Lengths
    origin: Lengths
    first: Index

    def edge_at(self, contour: Index, along: Lengths) -> Index:
        """The edge at a place along its contour."""
        edge = np.searchsorted(self.start, self.origin[contour] + along, side="right") - 1
        return np.clip(edge, self.first[contour], self.first[contour + 1] - 1)


def ruler(edges: Edges, contours: int) -> Ruler:
    """Arc length along the contours of a edges."""
    size = length(edges.end - edges.start)
    laid = np.concatenate([[0.0], np.cumsum(size)])
    first = np.searchsorted(edges.contour, np.arange(contours + 1))
    origin = laid[first]
    position = laid[:-1] - origin[edges.contour]
    return Ruler(size, position, laid[:-1], np.diff(origin), origin[:-1], first)


@dataclass(frozen=True, slots=True)
class Runs:
    """The doubled stretches of a sheet: k of them, and s pairs of contours that share line.

    contour, low, high (k,)  from low to high along the later contour, mm; high goes beyond its
                     length where the stretch runs through its first point
    under   (k,)     the earliest contour beneath
    edge, beneath (k,)  edges in its middle, the later and the earlier
    group   (k,)     stretches that are one overlap have one number
    later, earlier, shared (s,)  pairs of contours and the length that they share
    whole   (m,)     True for contours that lie on earlier lines all along
    ruler            arc length along the contours
    """

    contour: Index
    low: Lengths
    high: Lengths
    under: Index
    edge: Index
    beneath: Index
    group: Index
    later: Index
    earlier: Index
    shared: Lengths
    whole: Flags
    ruler: Ruler

    def laid(self) -> tuple[Lengths, Lengths]:
        """From where to where they run when all contours are laid end to end, ascending: one
        through the first point of its contour is two."""
        origin, total = self.ruler.origin[self.contour], self.ruler.total[self.contour]
        over = self.high > total
        low = np.concatenate([origin + self.low, origin[over]])
        high = np.concatenate(
            [origin + np.minimum(self.high, total), (origin + self.high - total)[over]]
        )
        order = np.argsort(low, kind="stable")
        return low[order], high[order]


class _Part(NamedTuple):
    """Doubled stretches of one contour over one other."""

    later: Index
    earlier: Index
    low: Lengths
    high: Lengths


def runs(lines: Lines, edges: Edges, close: Close, tolerances: Tolerances) -> Runs:
    """Fact: the doubled stretches of all lines that a tool follows: all but guides and engraved
    areas."""
    along = ruler(edges, len(lines.closed))
    i, j = _comparable(lines, edges, close, along, tolerances) if len(close.i) else close
    return _runs(lines, edges, along, i, j, tolerances)


def scored_runs(
    lines: Lines, edges: Edges, close: Close, runs: Runs, tolerances: Tolerances
) -> Runs:
    """Fact: the stretches of scored lines and engraved strokes that run on cut lines: as `runs`,
    with the cut line as the one beneath whichever comes first in the drawing. Lines that lie on
    earlier ones of their own operation all along take no part."""
    along = runs.ruler
    followed = _followed(lines, along, tolerances) & ~runs.whole
    cut = followed & (lines.of(CUT))
    marked = followed & ~cut
    a, b = edges.contour[close.i], edges.contour[close.j]
    one, other = cut[a] & marked[b], marked[a] & cut[b]
    i = np.concatenate([close.i[one], close.j[other]])
    j = np.concatenate([close.j[one], close.i[other]])
    return _runs(lines, edges, along, i, j, tolerances)


def _runs(
    lines: Lines, edges: Edges, along: Ruler, i: Index, j: Index, tolerances: Tolerances
) -> Runs:
    """The stretches of the edges j that run on the edges i."""
    t = tolerances.coincidence
    parts = _doubled(lines, edges, along, i, j, t)
    return _assemble(lines, edges, along, parts, i, j, t, min(t, tolerances.join))


def _comparable(
    lines: Lines, edges: Edges, close: Close, along: Ruler, tolerances: Tolerances
) -> tuple[Index, Index]:
    """The close pairs of edges that are followed by one tool and belong to no fragment."""
    operation, followed = lines.operation, _followed(lines, along, tolerances)
    a, b = edges.contour[close.i], edges.contour[close.j]
    keep = (operation[a] == operation[b]) & followed[a] & followed[b]
    return close.i[keep], close.j[keep]


def _followed(lines: Lines, along: Ruler, tolerances: Tolerances) -> Flags:
    """(m,) which contours a tool follows, fragments left out."""
    area = lines.of(ENGRAVE) & lines.filled
    long = along.total >= FRAGMENT * tolerances.coincidence
    return np.asarray(~lines.of(GUIDE) & ~area & long)


def _near(
    lines: Lines, edges: Edges, along: Ruler, i: Index, j: Index, within: float
) -> tuple[Lengths, Lengths]:
    """The stretch of each edge j near edge i, along its contour; low >= high: none."""
    low, high = near_stretch(edges.start[j], edges.end[j], edges.start[i], edges.end[i], within)
    low, high = low + along.position[j], high + along.position[j]
    own = np.flatnonzero(edges.contour[i] == edges.contour[j])
    before, contour = i[own], edges.contour[i[own]]
    clear = 2.0 * within
    low[own] = np.maximum(low[own], along.position[before] + along.size[before] + clear)
    again = along.position[before] + along.total[contour] - clear
    high[own] = np.minimum(high[own], np.where(lines.closed[contour], again, np.inf))
    return low, high


def _doubled(lines: Lines, edges: Edges, along: Ruler, i: Index, j: Index, t: float) -> _Part:
    """The stretches of contour over contour that pass the test of growth."""
    none = np.zeros(0)
    if not len(i):
        return _Part(i, j, none, none)
    many = max(len(lines.closed), 1)
    wide = _near(lines, edges, along, i, j, 2.0 * t)
    there = wide[0] < wide[1]
    i, j = i[there], j[there]
    if not len(i):
        return _Part(i, j, none, none)
    pair, of_pair = np.unique(edges.contour[j] * many + edges.contour[i], return_inverse=True)
    wide_pair, wide_low, wide_high, in_wide = unite(of_pair, wide[0][there], wide[1][there])
    of_contour = pair[wide_pair] // many
    whole = through_start(
        wide_pair, wide_low, wide_high, along.total[of_contour], lines.closed[of_contour]
    )

    low, high = _near(lines, edges, along, i, j, t)
    there = low < high
    i, j = i[there], j[there]
    of_wide, low, high, member = unite(in_wide[there], low[there], high[there])
    run = whole[of_wide]
    at_t = np.bincount(run, high - low, len(whole))
    at_2t = np.bincount(whole, wide_high - wide_low, len(whole))
    true = (at_t >= 2.0 * t) & (at_2t <= GROWTH * at_t)
    if ((at_t >= LEAST * t) & ~true).any():
        less, more = _near(lines, edges, along, i, j, t / 2.0)
        there = less < more
        of, less, more, _ = unite(of_wide[member[there]], less[there], more[there])
        at_half = np.bincount(whole[of], more - less, len(whole))
        true |= (at_t >= 2.0 * t) & (at_t <= GROWTH_BELOW * at_half)

    low, high = _trimmed(edges, along, i, j, member, len(run), t)
    kept = true[run] & (low < high)
    of_pair = wide_pair[of_wide[kept]]
    later, earlier = pair[of_pair] // many, pair[of_pair] % many
    return _Part(later, earlier, low[kept], np.minimum(high[kept], along.total[later]))


def _trimmed(
    edges: Edges, along: Ruler, i: Index, j: Index, run: Index, many: int, t: float
) -> tuple[Lengths, Lengths]:
    """The `many` runs without the bits by which the tolerance reaches beyond the end of the line
    beneath, and where the two part: from the first to the last foot on edges that run the same
    way, on those along which the lines stay at one distance if there are any."""
    a, b = beside(edges.start[j], edges.end[j], edges.start[i], edges.end[i], t)
    turn = cross(edges.end[i] - edges.start[i], edges.end[j] - edges.start[j])
    sine = np.abs(turn) / (along.size[i] * along.size[j])
    a, b, change = a + along.position[j], b + along.position[j], sine * (b - a)
    found = []
    for good in (sine < PARALLEL, (sine < PARALLEL) & (change <= 0.6 * t)):
        good &= a < b
        low, high = np.full(many, np.inf), np.full(many, -np.inf)
        np.minimum.at(low, run[good], a[good])
        np.maximum.at(high, run[good], b[good])
        found += [low, high]
    steady = found[2] < found[3]
    return np.where(steady, found[2], found[0]), np.where(steady, found[3], found[1])


def _assemble(
    lines: Lines,
    edges: Edges,
    along: Ruler,
    parts: _Part,
    i: Index,
    j: Index,
    t: float,
    slack: float,
) -> Runs:
    """Runs of each later contour over whatever lies beneath it, grouped into overlaps. Gaps up
    to the slack are none: lines with such gaps are joined."""
    many = max(len(lines.closed), 1)
    if not len(parts.later):
        bare, none = np.zeros(0), np.zeros(0, np.int64)
        whole = np.zeros(len(lines.closed), bool)
        return Runs(none, bare, bare, none, none, none, none, none, none, bare, whole, along)
    found = _layers(lines, along, parts, slack)
    group = _carried_on(edges, along, found, t)
    long = np.bincount(group, found.high - found.low, len(group))[group] >= LEAST * t
    found = found.only(long)
    group = _of_one_pair(found, group[long], many)

    middle = (found.low + found.high) / 2.0 % along.total[found.contour]
    edge = along.edge_at(found.contour, middle)
    key = edges.contour[i] + many * j
    order = np.argsort(key, kind="stable")
    at = np.searchsorted(key[order], edge * many + found.under)
    beneath = i[order[np.minimum(at, len(order) - 1)]] if len(order) else edge

    accepted = np.isin(parts.later, found.contour)
    pair, of = np.unique((parts.later * many + parts.earlier)[accepted], return_inverse=True)
    shared = np.bincount(of, (parts.high - parts.low)[accepted], len(pair))
    covered = np.bincount(found.contour, found.high - found.low, many)[: len(lines.closed)]
    return Runs(
        contour=found.contour,
        low=found.low,
        high=found.high,
        under=found.under,
        edge=edge,
        beneath=beneath,
        group=group,
        later=pair // many,
        earlier=pair % many,
        shared=np.asarray(shared, float),
        whole=(covered > 0.0) & (covered >= along.total - slack),
        ruler=along,
    )


class _Layer(NamedTuple):
    """Doubled stretches of contours, with the earliest contour beneath and how many there are."""

    contour: Index
    low: Lengths
    high: Lengths
    under: Index
    rank: Index

    def only(self, which: Flags) -> _Layer:
        return _Layer(
            self.contour[which],
            self.low[which],
            self.high[which],
            self.under[which],
            self.rank[which],
        )


def _layers(lines: Lines, along: Ruler, parts: _Part, slack: float) -> _Layer:
    """The doubled stretches of each contour, whatever they lie on."""
    contour, low, high, member = unite(parts.later, parts.low, parts.high, slack)
    high = np.minimum(high, along.total[contour])
    under = np.full(len(contour), len(lines.closed))
    np.minimum.at(under, member, parts.earlier)
    middle = (low + high) / 2.0
    covers = (parts.low <= middle[member]) & (middle[member] <= parts.high)
    rank = np.bincount(member[covers], minlength=len(contour))
    # A run through the first point begins at the end of the contour and goes round.
    one = through_start(contour, low, high, along.total[contour], lines.closed[contour], slack)
    round_ = np.flatnonzero(one != np.arange(len(one)))
    high[round_] = along.total[contour[round_]] + high[one[round_]]
    under[round_] = np.minimum(under[round_], under[one[round_]])
    kept = np.ones(len(contour), bool)
    kept[one[round_]] = False
    return _Layer(contour, low, high, under, rank).only(kept)


def _places(edges: Edges, along: Ruler, contour: Index, at: Lengths) -> Array:
    """Points at places along contours."""
    edge = along.edge_at(contour, at)
    t = np.clip((at - along.position[edge]) / along.size[edge], 0.0, 1.0)
    return np.asarray(edges.start[edge] + t[:, None] * (edges.end[edge] - edges.start[edge]))


def _carried_on(edges: Edges, along: Ruler, found: _Layer, t: float) -> Index:
    """Numbers of the groups of runs that carry on where another ends, layer by layer."""
    many = len(found.contour)
    if many < 2:
        return np.arange(many)
    import shapely

    total = along.total[found.contour]
    back = np.where(found.high > total, found.high - total, found.high)
    ends = [_places(edges, along, found.contour, at) for at in (found.low, back)]
    points = shapely.points(np.concatenate(ends))
    a, b = shapely.STRtree(points).query(points, predicate="dwithin", distance=FRAGMENT * t)
    a, b = a % many, b % many
    together = (a != b) & (found.rank[a] == found.rank[b])
    return connected(many, a[together], b[together])


def _of_one_pair(found: _Layer, group: Index, many: int) -> Index:
    """Groups made one where they are of the same two contours."""
    if not len(group):
        return group
    pair = found.contour * many + found.under
    _, first, of = np.unique(pair, return_index=True, return_inverse=True)
    _, group = np.unique(group, return_inverse=True)
    merged = connected(int(group.max()) + 1, group, group[first[of]])
    return merged[group]


def overlaps(lines: Lines, edges: Edges, runs: Runs) -> tuple[Overlap, ...]:
    """Fact: lines that run on top of each other, one for each two outlines, in drawing order."""
    return _told(lines, edges, runs)


def scored_cuts(lines: Lines, edges: Edges, scored_runs: Runs) -> tuple[Overlap, ...]:
    """Fact: scored lines and engraved strokes, `second`, that run on cut lines, `first`."""
    return _told(lines, edges, scored_runs)


def _told(lines: Lines, edges: Edges, runs: Runs) -> tuple[Overlap, ...]:
    found = []
    order = np.argsort(runs.group, kind="stable")
    breaks = np.flatnonzero(np.diff(runs.group[order])) + 1
    for members in np.split(order, breaks) if len(order) else []:
        size = runs.high[members] - runs.low[members]
        longest = int(members[np.argmax(size)])
        polylines = tuple(_polyline(lines, edges, runs, int(k)) for k in members)
        overlap = _overlap(lines, edges, runs, longest, float(size.sum()), polylines)
        found.append(replace(overlap, stretches=tuple(members.tolist())))
    return tuple(sorted(found, key=lambda o: (o.second.contour, o.first.contour, o.second.at)))


def _overlap(
    lines: Lines, edges: Edges, runs: Runs, k: int, doubled: float, polylines: tuple[Array, ...]
) -> Overlap:
    one, other = runs.edge[k : k + 1], runs.beneath[k : k + 1]
    total = runs.ruler.total[runs.contour[k]]
    middle = np.array([(runs.low[k] + runs.high[k]) / 2.0 % total])
    at = _places(edges, runs.ruler, runs.contour[k : k + 1], middle)
    start, end = edges.start[other], edges.end[other]
    below = start + foot(at, start, end)[:, None] * (end - start)

    def spot(point: Array, edge: Index) -> Spot:
        where = int(edge[0])
        segment = int(lines.segment[edges.edge[where]])
        place = (float(point[0, 0]), float(point[0, 1]))
        return Spot(place, int(edges.contour[where]), segment)

    run = max(polylines, key=lambda p: float(length(np.diff(p, axis=0)).sum()))
    return Overlap(spot(below, other), spot(at, one), doubled, run, polylines)


def _polyline(lines: Lines, edges: Edges, runs: Runs, k: int) -> Array:
    """The points of one run."""
    contour, total = runs.contour[k : k + 1], float(runs.ruler.total[runs.contour[k]])
    low, high = float(runs.low[k]), float(runs.high[k])
    own = slice(int(runs.ruler.first[contour[0]]), int(runs.ruler.first[contour[0] + 1]))
    position, start = runs.ruler.position[own], edges.start[own]
    laps = [(low, min(high, total))] + ([(0.0, high - total)] if high > total else [])
    pieces = []
    for begin, finish in laps:
        inner = start[(position > begin) & (position < finish)]
        ends = _places(edges, runs.ruler, np.repeat(contour, 2), np.array([begin, finish]))
        pieces += [ends[:1], inner, ends[1:]]
    return np.concatenate(pieces)
