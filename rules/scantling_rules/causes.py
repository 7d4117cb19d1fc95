"""One finding a cause: what another rule reports already.

Where outlines cross each other or themselves, or run on each other, slivers, crumbs and narrow gaps
come of it that nobody drew, and that go when the crossing does: crossing-cuts, self-crossing or
duplicate-line reports the place. What only the fill of an open outline makes a part, open-path
reports. And a stray fragment is not a part, hole, drop-out or open outline.
"""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass

import numpy as np

from scantling.measure.lines.entangled import Entangled
from scantling.measure.model import Fragment, Hole, Narrow, OpenEnd, Piece, Spot, Touch
from scantling.plan.model import Job, Tolerances
from scantling_rules.lines import crossing_cuts, duplicate_line, self_crossing, stray_fragment

OPEN_PATH, NARROW_GAP = "open-path", "narrow-gap"
"""ids of rules that ask for causes themselves, so that their modules cannot be asked here"""
AT = 0.05
"""mm: a corner or an end this near to a crossing is made by it."""


@dataclass(frozen=True, slots=True)
class Causes:
    """What other rules tell of on a sheet. Each method gives the id of such a rule, or ''."""

    entangled: Entangled
    stray: frozenset[int]
    """contours of stray fragments"""
    off: frozenset[str]
    """rules that the job sheet has turned off: they tell nothing. (open-path, too, where lines may
    stay open)"""

    def of_narrow(self, narrow: Narrow, within: float) -> str:
        """Of a web or gap: between outlines that cross or run on each other; between two places of
        an outline that crosses or runs on itself within a distance of it, in mm; at a line that
        only closes the fill of an open outline; or between two loose ends."""
        pair = self.entangled.pair(narrow.p, narrow.q)
        if self.stray and self._at_strays(narrow):
            return stray_fragment.id
        if pair in self.entangled.crossed:
            return self._told(crossing_cuts.id)
        if pair in self.entangled.doubled:
            return self._told(duplicate_line.id)
        if (
            self.entangled.on_closing(narrow.p)
            or self.entangled.on_closing(narrow.q)
            or self.entangled.between_ends(narrow.p, narrow.q)
        ):
            return self._told(OPEN_PATH)
        if pair[0] == pair[1] and self.entangled.near_fold(narrow.path, within):
            return self._told(duplicate_line.id)
        if pair[0] == pair[1]:
            crossing = self.entangled.near(narrow.path, within)
            if crossing >= 0 and self.entangled.own[crossing]:
                return self._told(self_crossing.id)
        return ""

    def at_graze(self, narrow: Narrow, tolerances: Tolerances) -> bool:
        """Whether a web or gap is no more than the corner of a loop that the kerf swallows, of an
        overshooting end, say. Nobody needs to be told."""
        p, q = narrow.p, narrow.q
        return self.entangled.at_graze(p, q, narrow.path, tolerances.coincidence)

    def _at_strays(self, narrow: Narrow) -> bool:
        return _all_along(narrow, self.stray)

    def of_sliver(self, web: Narrow, holes: Sequence[Hole], tolerances: Tolerances) -> str:
        """Of a web beside holes that are no more than slivers: narrow-gap reports these."""
        slivers = {h.spot.contour for h in holes if h.diameter <= tolerances.coincidence}
        return self._told(NARROW_GAP) if slivers and _all_along(web, slivers) else ""

    def of_place(self, at: tuple[float, float], within: float = AT) -> str:
        """Of what is at a crossing."""
        return self._by(self.entangled.near(np.array([at]), within))

    def of_end(self, spot: Spot) -> str:
        """Of a tip or limb that ends at a crossing, or whose outline only a fill closes."""
        if int(self.entangled.outline[spot.contour]) in self.entangled.open:
            return self._told(OPEN_PATH)
        return self.of_place(spot.at)

    def of_corner(self, spot: Spot) -> str:
        """Of a corner at a crossing, or where a line that only closes a fill meets a drawn one, or
        of a stray."""
        if spot.contour in self.stray:
            return stray_fragment.id
        if self.entangled.on_closing(spot):
            return self._told(OPEN_PATH)
        return self.of_place(spot.at)

    def of_piece(self, piece: Piece) -> str:
        """Of a piece that is there only because its outlines cross or a fill closes an open one,
        or that is a stray."""
        if piece.outer.contour in self.stray:
            return stray_fragment.id
        if int(self.entangled.outline[piece.outer.contour]) in self.entangled.open:
            return self._told(OPEN_PATH)
        return self._by(self.entangled.torn.get(piece.number, -1))

    def of_chain(self, chain: OpenEnd) -> str:
        """Of lines that do not close: strays need not."""
        return stray_fragment.id if self.stray.issuperset(chain.contours) else ""

    def of_touch(self, touch: Touch) -> str:
        """Of two outlines that touch where others cross or run on each other, or of strays."""
        if touch.first.contour in self.stray or touch.second.contour in self.stray:
            return stray_fragment.id
        if self.entangled.pair(touch.first, touch.second) in self.entangled.doubled:
            return self._told(duplicate_line.id)
        if self.entangled.made_by_closing(touch):
            return self._told(OPEN_PATH)
        return self.of_place(touch.first.at)

    def of_hole(self, hole: Hole) -> str:
        """Of a hole between outlines that cross, or that is a stray."""
        if hole.spot.contour in self.stray:
            return stray_fragment.id
        return self.of_place(hole.at, hole.diameter)

    def same_outline(self, p: Spot, q: Spot) -> bool:
        one, other = self.entangled.pair(p, q)
        return one == other

    def _by(self, crossing: int) -> str:
        if crossing < 0:
            return ""
        return self._told(self_crossing.id if self.entangled.own[crossing] else crossing_cuts.id)

    def _told(self, rule: str) -> str:
        return "" if rule in self.off else rule


def _all_along(narrow: Narrow, contours: Set[int]) -> bool:
    """Whether a web or gap has one of some lines beside it all along: without them it is not
    there."""
    if contours.isdisjoint((narrow.p.contour, narrow.q.contour)):  # not where it is narrowest
        return False
    beside = np.isin(narrow.source[:, :, 0], list(contours))
    return bool(beside.any(axis=1).all())


def cause(entangled: Entangled, fragments: Sequence[Fragment], job: Job) -> Causes:
    """What the rules about lines tell of on a sheet, as the job sheet sets them."""
    off = frozenset(
        rule
        for rule, own in job.rules.items()
        if own.get("level") == "off" or (rule == OPEN_PATH and own.get("slits"))
    )
    usual = stray_fragment.parameters["length"]["default"]
    longest = job.rules.get(stray_fragment.id, {}).get("length", usual)
    stray = frozenset(
        contour
        for fragment in fragments
        if fragment.extent <= longest and stray_fragment.id not in off
        for contour in fragment.contours
    )
    return Causes(entangled, stray, off)


SLIT = 3.0
"""A hole of more than so many squares of its diameter is a slit: about four times as long as wide
(common practice, no source)."""


def is_slit(hole: Hole) -> bool:
    """Whether a hole is so long that it is judged as the gap that it is."""
    return hole.area > SLIT * hole.diameter**2
