"""Cut lines joined at their ends, across contours and elements.

Two ends that lie within the join tolerance of each other are one corner. Where more than two
meet, they are paired nearest first, a line's own two ends before others, the straightest way
through next; an end left over has met other lines all the same and is not loose. Ends that are
joined are moved together, so that what closes does close; an end on the middle of another line
is moved onto it, but joins nothing. Lines that lie on earlier ones all along (`overlaps`) take
no part: they would close loops of their own with what they double.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.groups import connected, lasts, leads, onward
from scantling.measure.lines.close import Close, Edges
from scantling.measure.lines.overlaps import Ruler, Runs
from scantling.measure.model import OpenEnd, Spot
from scantling.measure.segments import distance_to, dot, foot, length
from scantling.plan.model import CUT, Lines, Tolerances
from scantling.records import dataclass

if TYPE_CHECKING:
    from scantling.arrays import Flags, Index, Points


LOOSE, TOUCHES, MEETS = 0, 1, 2
"""How the end of an open chain is met: by nothing, by the middle of a line, by other ends."""


@dataclass(frozen=True, slots=True)
class Joined:
    """Cut lines as chains: c contours in r chains, p points.

    xy        (n, 2)  Lines.xy with joined ends moved together
    contours  (c,)    contour indices, chain after chain; `turned` (c,) True where run backwards
    first     (r+1,)  chain k is contours first[k]:first[k+1]
    closed    (r,)    True for rings
    filled    (r,)    True where every contour of the chain bounds a fill
    met       (r, 2)  how each end of an open chain is met: LOOSE, TOUCHES or MEETS
    chain     (m,)    chain of each contour of Lines; -1: not cut, doubled, or without length
    point     (p,)    the chains' points as indices into xy, no two equal ones in succession
    start     (r+1,)  chain k is point[start[k]:start[k+1]]; closed ones do not repeat the first
    edge      (p,)    index in Lines of the edge that starts at the point; -1 for the last point
                      of an open chain
    place     (n,)    of each edge of Lines: where in `edge` it stands, else -1
    """

    xy: Points
    contours: Index
    turned: Flags
    first: Index
    closed: Flags
    filled: Flags
    met: Index
    chain: Index
    point: Index
    start: Index
    edge: Index
    place: Index

    @property
    def ring(self) -> Flags:
        """(r,) True where a chain goes around an area, even if only its fill closes it."""
        return (self.closed | self.filled) & (np.diff(self.start) >= 3)

    @property
    def of_point(self) -> Index:
        """(p,) the chain of each point."""
        return np.repeat(np.arange(len(self.closed)), np.diff(self.start))

    @property
    def after(self) -> Index:
        """(p,) the next point along each chain; the last of an open chain is followed by the
        first."""
        return onward(self.start)


def joined(lines: Lines, edges: Edges, close: Close, runs: Runs, tolerances: Tolerances) -> Joined:
    """Fact: the sheet's cut lines, joined."""
    within = tolerances.join
    total = runs.ruler.total
    cut = lines.of(CUT) & ~runs.whole & (total > 0.0)
    xy = lines.xy
    chains = [[(c, False)] for c in np.flatnonzero(cut & lines.closed).tolist()]
    rings = [True] * len(chains)
    how = [(LOOSE, LOOSE)] * len(chains)
    open_ = np.flatnonzero(cut & ~lines.closed)
    if len(open_):
        xy = xy.copy()
        ends = _Ends(lines, open_, total, within)
        ends.move(xy)
        met = ends.met(lines, edges, close, cut, runs.ruler, xy)
        for chain, ring, at in ends.chains(met):
            chains.append(chain)
            rings.append(ring)
            how.append(at)
    order = sorted(range(len(chains)), key=lambda k: min(chains[k]))
    return _laid_out(
        lines,
        xy,
        [chains[k] for k in order],
        np.array([rings[k] for k in order], bool),
        np.array([how[k] for k in order], np.int64).reshape(-1, 2),
    )


class _Ends:
    """The ends of open cut lines: end 2k is the start of the k-th of them, 2k + 1 its end."""

    def __init__(self, lines: Lines, contours: Index, total: Points, within: float) -> None:
        self.contours = contours
        self.within = within
        first, last = lines.first[contours], lines.first[contours + 1] - 1
        self.point = np.column_stack([first, last]).ravel()
        inner = np.column_stack([first + 1, last - 1]).ravel()
        self.at = lines.xy[self.point]
        self.out = self.at - lines.xy[inner]
        a, b = self._near()
        apart = length(self.at[a] - self.at[b])
        own = a // 2 == b // 2
        # A line that is hardly longer than the tolerance is not a ring of its own.
        real = ~own | (total[contours[a // 2]] > 4.0 * within)
        self.a, self.b, apart, own = a[real], b[real], apart[real], own[real]
        self.cluster = connected(len(self.at), self.a, self.b)
        self.partner = self._pair(apart, own)

    def _near(self) -> tuple[Index, Index]:
        none = np.zeros(0, np.int64)
        if not len(self.at):
            return none, none
        import shapely

        points = shapely.points(self.at)
        tree = shapely.STRtree(points)
        a, b = tree.query(points, predicate="dwithin", distance=self.within)
        once = a < b
        return a[once], b[once]

    def _pair(self, apart: Points, own: Flags) -> Index:
        """The end that each end is joined to, or -1. Best pairs first: taking every pair that
        is the best left for both its ends, again and again, comes to the same."""
        a, b = self.a, self.b
        size = length(self.out)
        out = self.out / np.where(size > 0.0, size, 1.0)[:, None]
        straight = np.round(dot(out[a], out[b]), 6)
        steps = np.floor(apart / self.within * 10.0 + 1e-6)
        order = np.lexsort((b, a, straight, ~own, steps))
        a, b = a[order], b[order]
        partner = np.full(len(self.at), -1)
        while len(a):
            rank = np.arange(len(a))
            best = np.full(len(partner), len(a))
            np.minimum.at(best, a, rank)
            np.minimum.at(best, b, rank)
            taken = (best[a] == rank) & (best[b] == rank)
            partner[a[taken]], partner[b[taken]] = b[taken], a[taken]
            left = (partner[a] < 0) & (partner[b] < 0)
            a, b = a[left], b[left]
        return partner

    def move(self, xy: Points) -> None:
        """Move the ends that meet to one point: the middle of all that meet there."""
        low, high = self.at.copy(), self.at.copy()
        np.minimum.at(low, self.cluster, self.at)
        np.maximum.at(high, self.cluster, self.at)
        spread = (high - low).max(axis=1, initial=0.0)[self.cluster]
        together = ((low + high) / 2.0)[self.cluster]
        mates = np.where(self.partner < 0, np.arange(len(self.at)), self.partner)
        # Ends strewn wider than the tolerance meet two by two only.
        by_two = (self.at + self.at[mates]) / 2.0
        xy[self.point] = np.where((spread <= 2.0 * self.within)[:, None], together, by_two)

    def met(
        self,
        lines: Lines,
        edges: Edges,
        close: Close,
        cut: Flags,
        ruler: Ruler,
        xy: Points,
    ) -> Index:
        """How each end that joins nothing is met. Ends on the middle of a line move onto it."""
        position, size, total = ruler.position, ruler.size, ruler.total
        among = np.bincount(self.cluster, minlength=len(self.at))[self.cluster]
        how = np.where(among > 1, MEETS, LOOSE)
        if not len(self.at) or not (how == LOOSE).any():
            return how
        end, over = self._at_ends(lines, edges, close, how == LOOSE)
        apart = distance_to(self.at[end], edges.start[over], edges.end[over])
        # The line that ends here is near its own end all along the last bit of it.
        mine = edges.contour[over] == self.contours[end // 2]
        to_end = np.where(end % 2 == 0, position[over], total[edges.contour[over]] - position[over])
        beyond = ~mine | (to_end - np.where(end % 2 == 0, 0.0, size[over]) > 4.0 * self.within)
        near = cut[edges.contour[over]] & (apart <= self.within) & beyond
        end, over, apart = end[near], over[near], apart[near]
        order = np.lexsort((over, apart, end))
        end, over = end[order], over[order]
        nearest = leads(end)
        end, over = end[nearest], over[nearest]
        how[end] = TOUCHES
        start, finish = edges.start[over], edges.end[over]
        t = foot(self.at[end], start, finish)[:, None]
        xy[self.point[end]] = start + t * (finish - start)
        return how

    def _at_ends(
        self, lines: Lines, edges: Edges, close: Close, wanted: Flags
    ) -> tuple[Index, Index]:
        """The wanted ends, each with every edge that is close to its last edge."""
        number = np.full(len(lines.closed), -1)
        number[self.contours] = np.arange(len(self.contours))
        of = number[edges.contour]
        first, last = leads(edges.contour), lasts(edges.contour)
        ends, others = [], []
        for mine, other in ((close.i, close.j), (close.j, close.i)):
            for side, here in ((0, first), (1, last)):
                k = np.flatnonzero((of[mine] >= 0) & here[mine])
                k = k[wanted[2 * of[mine[k]] + side]]
                ends.append(2 * of[mine[k]] + side)
                others.append(other[k])
        return np.concatenate(ends), np.concatenate(others)

    def chains(self, met: Index) -> list[tuple[list[tuple[int, bool]], bool, tuple[int, int]]]:
        """Chains of (contour, turned), whether they close, and how their two ends are met.

        A step is the number of the end at which a contour is entered; it is left at the other.
        """
        partner = self.partner.tolist()
        seen = [False] * len(self.contours)

        def onward(step: int) -> tuple[list[int], bool]:
            steps: list[int] = []
            while (step := partner[step ^ 1]) >= 0:
                if seen[step // 2]:
                    return steps, True
                seen[step // 2] = True
                steps.append(step)
            return steps, False

        found = []
        for k in range(len(self.contours)):
            if seen[k]:
                continue
            seen[k] = True
            after, ring = onward(2 * k)
            before = [] if ring else onward(2 * k + 1)[0]
            steps = [step ^ 1 for step in reversed(before)] + [2 * k, *after]
            chain = [(int(self.contours[step // 2]), bool(step & 1)) for step in steps]
            at = (LOOSE, LOOSE) if ring else (int(met[steps[0]]), int(met[steps[-1] ^ 1]))
            found.append((chain, ring, at))
        return found


def _laid_out(
    lines: Lines,
    xy: Points,
    chains: list[list[tuple[int, bool]]],
    closed: Flags,
    met: Index,
) -> Joined:
    """The chains' points and edges, one after another."""
    flat = [step for chain in chains for step in chain]
    contours = np.array([contour for contour, _ in flat], np.int64)
    turned = np.array([back for _, back in flat], bool)
    first = np.concatenate([[0], np.cumsum([len(chain) for chain in chains])]).astype(np.int64)
    of_contour = np.repeat(np.arange(len(chains)), np.diff(first))
    chain = np.full(len(lines.closed), -1)
    chain[contours] = of_contour
    bare = np.bincount(of_contour, ~lines.filled[contours], len(chains))
    filled = bare == 0.0

    begin, size = lines.first[contours], np.diff(lines.first)[contours]
    slot = np.repeat(np.arange(len(contours)), size)
    step = np.arange(len(slot)) - (np.cumsum(size) - size)[slot]
    back = turned[slot]
    point = begin[slot] + np.where(back, size[slot] - 1 - step, step)
    edge = np.where(back, point - 1, point)
    at_end = step == size[slot] - 1
    edge[at_end & ~lines.closed[contours][slot]] = -1
    of_point = of_contour[slot]
    ends_chain = lasts(of_point)
    # Where one contour ends and the next begins, one of their two points is enough.
    kept = (edge >= 0) | (ends_chain & ~closed[of_point])
    point, edge, of_point = point[kept], edge[kept], of_point[kept]

    start = np.searchsorted(of_point, np.arange(len(chains) + 1))
    lost = (xy[point] == xy[point[onward(start)]]).all(axis=1) & (edge >= 0)
    point, edge, of_point = point[~lost], edge[~lost], of_point[~lost]
    start = np.searchsorted(of_point, np.arange(len(chains) + 1))
    place = np.full(len(xy), -1)
    place[edge[edge >= 0]] = np.flatnonzero(edge >= 0)
    return Joined(
        xy, contours, turned, first, closed, filled, met, chain, point, start, edge, place
    )


def open_ends(lines: Lines, joined: Joined) -> tuple[OpenEnd, ...]:
    """Fact: the chains of cut lines that do not close, in drawing order.

    The gap is the distance between a chain's two ends, or from a loose end to the nearest other
    loose end if that is smaller.
    """
    open_ = np.flatnonzero(~joined.closed & (np.diff(joined.start) > 1))
    if not len(open_):
        return ()
    point = np.column_stack(
        [joined.point[joined.start[open_]], joined.point[joined.start[open_ + 1] - 1]]
    )
    edge = np.column_stack(
        [joined.edge[joined.start[open_]], joined.edge[joined.start[open_ + 1] - 2]]
    )
    at = joined.xy[point]
    gap = np.minimum(length(at[:, 0] - at[:, 1]), _to_nearest(at, joined.met[open_] == LOOSE))
    contour_of = np.repeat(np.arange(len(lines.closed)), np.diff(lines.first))
    found = []
    for k, chain in enumerate(open_.tolist()):
        ends = [
            Spot(
                (float(at[k, s, 0]), float(at[k, s, 1])),
                int(contour_of[point[k, s]]),
                int(lines.segment[edge[k, s]]),
            )
            for s in (0, 1)
        ]
        run = joined.xy[joined.point[joined.start[chain] : joined.start[chain + 1]]]
        contours = joined.contours[joined.first[chain] : joined.first[chain + 1]]
        met = joined.met[chain] != LOOSE
        found.append(
            OpenEnd(
                start=ends[0],
                end=ends[1],
                gap=float(gap[k]),
                length=float(length(np.diff(run, axis=0)).sum()),
                contours=tuple(contours.tolist()),
                touches=(bool(met[0]), bool(met[1])),
            )
        )
    return tuple(found)


def _to_nearest(at: Points, loose: Flags) -> Points:
    """(k,) the least distance of a chain's loose ends to any other loose end; inf: none."""
    least = np.full(at.shape[:2], np.inf)
    where = np.flatnonzero(loose.ravel())
    if len(where) > 1:
        import shapely

        points = shapely.points(at.reshape(-1, 2)[where])
        # No two loose ends are in one place: they would have been joined.
        (of, _), apart = shapely.STRtree(points).query_nearest(
            points, exclusive=True, all_matches=False, return_distance=True
        )
        least.ravel()[where[of]] = apart
    return np.asarray(least.min(axis=1))
