"""Several sheets of one drawing measured in one go.

Most drawings are a handful of small sheets, and on those a call into numpy or GEOS costs more
than the numbers that it is given. So the sheets are laid below one another, farther apart than
anything is looked for, and measured as one; what is found is shared out to the sheets that it
lies on, moved back, and numbered as if each had been measured by itself. (Below and not beside:
so that pieces stay in reading order.) On public artwork of six colours this took less than half
the time.

Facts that are not in `SHARED` are measured sheet by sheet, from what was shared out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.measure.distinct import distinct
from scantling.measure.facts import Facts, facts_of
from scantling.measure.lines.close import Edges
from scantling.measure.lines.crowding import Crowding
from scantling.measure.model import (
    Arrangement,
    Crossing,
    Fragment,
    Hole,
    InsideCorner,
    Late,
    Limb,
    Narrow,
    OpenEnd,
    Overlap,
    Piece,
    Spot,
    ThinStroke,
    Tip,
    Touch,
)
from scantling.measure.pieces.faces import Faces
from scantling.measure.pieces.pieces import numbered
from scantling.plan.model import Lines, Sheet
from scantling.records import dataclass

if TYPE_CHECKING:
    from scantling.arrays import Array, Index
    from scantling.measure.pieces.engraving import Engraving


SMALL = 4_000
"""Points of a sheet from which on it is measured by itself: calls cost next to nothing."""
APART = 64.0
"""mm: sheets are moved by multiples of this, which costs coordinates no digit that matters, and
lie at least so many searches apart."""
FARTHEST = 1e5
"""mm: beyond that, coordinates begin to lose their last digits."""


def facts_of_all(sheets: Sequence[Sheet]) -> tuple[Facts, ...]:
    """The facts of each sheet of a drawing: those that are small and are measured alike are
    measured together, when the first of them asks."""
    alike = defaultdict(list)
    for k, sheet in enumerate(sheets):
        if 0 < len(sheet.lines.xy) < SMALL:
            alike[sheet.tolerances, sheet.reach].append(k)
    facts: dict[int, Facts] = {}
    for mine in alike.values():
        if len(mine) > 1:
            together = _laid_out([sheets[k] for k in mine])
            if together is not None:
                facts |= {k: together.facts(number) for number, k in enumerate(mine)}
    return tuple(facts[k] if k in facts else facts_of(sheet) for k, sheet in enumerate(sheets))


@dataclass(frozen=True, slots=True)
class Away:
    """How a sheet was moved and what its things are numbered from, when it was laid out.

    down       mm
    contour    of the first of its contours
    piece      (p,) by number of a piece of all sheets: its number on its own, from 1
    """

    down: float
    contour: int
    piece: Index

    def spot(self, spot: Spot) -> Spot:
        return Spot(self.point(spot.at), spot.contour - self.contour, spot.segment)

    def spots(self, spots: tuple[Spot, ...]) -> tuple[Spot, ...]:
        return tuple(map(self.spot, spots))

    def point(self, at: tuple[float, float]) -> tuple[float, float]:
        return (at[0], at[1] - self.down)

    def path(self, path: Array) -> Array:
        """Any array of points, the last axis being x and y."""
        return path - (0.0, self.down)

    def paths(self, paths: tuple[Array, ...]) -> tuple[Array, ...]:
        return tuple(map(self.path, paths))

    def number(self, piece: int) -> int:
        return int(self.piece[piece])

    def source(self, source: Index) -> Index:
        """Contours and segments, as in Narrow.source."""
        return source - (self.contour, 0)

    def contours(self, contours: tuple[int, ...]) -> tuple[int, ...]:
        return tuple(k - self.contour for k in contours)


MOVED: Mapping[type, Mapping[str, Callable[[Away, Any], Any]]] = {
    OpenEnd: {"start": Away.spot, "end": Away.spot, "contours": Away.contours},
    Overlap: {"first": Away.spot, "second": Away.spot, "run": Away.path, "runs": Away.paths},
    Crossing: {"first": Away.spot, "second": Away.spot},
    Late: {"outer": Away.spot, "inner": Away.spots, "piece": Away.number},
    Fragment: {"spot": Away.spot, "contours": Away.contours},
    Piece: {
        "number": Away.number,
        "centre": Away.point,
        "outer": Away.spot,
        "contours": Away.contours,
    },
    Narrow: {
        "at": Away.point,
        "p": Away.spot,
        "q": Away.spot,
        "path": Away.path,
        "piece": Away.number,
        "sides": Away.path,
        "source": Away.source,
    },
    Tip: {"spot": Away.spot, "path": Away.path, "piece": Away.number},
    Limb: {"spot": Away.spot, "piece": Away.number, "path": Away.path},
    InsideCorner: {"spot": Away.spot, "piece": Away.number},
    Touch: {"first": Away.spot, "second": Away.spot, "piece": Away.number},
    Hole: {"at": Away.point, "spot": Away.spot, "piece": Away.number},
    ThinStroke: {"at": Away.point, "spot": Away.spot},
}
"""What of a thing has to do with where it lies, and how that is moved back. The first `Spot` of
each says on which sheet it lies."""


@dataclass(slots=True)
class Together:
    """Sheets that are measured as one: the lines of all of them, moved apart.

    joint    the facts of all
    down     (s,)    how far each sheet was moved
    first    (s+1,)  contours of sheet k are first[k]:first[k+1]
    points   (s+1,)  points of sheet k are points[k]:points[k+1]
    """

    sheets: Sequence[Sheet]
    joint: Facts
    down: Array
    first: Index
    points: Index
    shared: dict[str, list[Any]]
    _away: list[Away] | None = None

    def facts(self, k: int) -> Facts:
        """The facts of sheet k."""
        return facts_of(self.sheets[k], {name: partial(self._one, name, k) for name in SHARED})

    def _one(self, name: str, k: int) -> Any:
        return self.share(name)[k]

    def share(self, name: str) -> list[Any]:
        """What each sheet has of a fact."""
        if name not in self.shared:
            self.shared[name] = SHARED[name](self, name)
        return self.shared[name]

    @property
    def away(self) -> list[Away]:
        """How each sheet was moved."""
        if self._away is None:
            faces: Faces = self.joint["faces"]
            ring = np.searchsorted(faces.face, np.arange(len(faces.solid)))
            of = self.of(faces.contour[faces.first[ring]])
            number = np.zeros((len(self.sheets), len(of) + 1), np.int64)
            for k in range(len(self.sheets)):
                mine = np.flatnonzero(of == k)
                number[k, mine + 1] = np.arange(1, len(mine) + 1)
            self._away = [
                Away(float(self.down[k]), int(self.first[k]), number[k])
                for k in range(len(self.sheets))
            ]
        return self._away

    def of(self, contour: Any) -> Index:
        """The sheet of each contour."""
        return np.asarray(np.searchsorted(self.first, contour, side="right") - 1)


def _laid_out(sheets: Sequence[Sheet]) -> Together | None:
    """Sheets below one another; None where that would take too much room."""
    sizes = [len(sheet.lines.closed) for sheet in sheets]
    gap = APART * max(1.0, sheets[0].reach)
    down = np.zeros(len(sheets))
    bottom = 0.0
    for k, sheet in enumerate(sheets):
        y = sheet.lines.xy[:, 1]
        top = float(y.min())
        if k:
            down[k] = np.ceil((bottom + gap - top) / APART) * APART
        bottom = float(y.max()) + down[k]
        if not -FARTHEST < top < bottom < FARTHEST:
            return None
    lines = [sheet.lines for sheet in sheets]
    start = np.cumsum([0, *(len(one.xy) for one in lines)])
    joint = Lines(
        xy=np.concatenate(
            [one.xy + np.array((0.0, by)) for one, by in zip(lines, down.tolist(), strict=True)]
        ),
        first=np.concatenate(
            [[0], *(one.first[1:] + at for one, at in zip(lines, start.tolist(), strict=False))]
        ),
        closed=np.concatenate([one.closed for one in lines]),
        shape=np.concatenate([one.shape for one in lines]),
        operation=np.concatenate([one.operation for one in lines]),
        filled=np.concatenate([one.filled for one in lines]),
        width=np.concatenate([one.width for one in lines]),
        segment=np.concatenate([one.segment for one in lines]),
    )
    facts = facts_of(replace(sheets[0], lines=joint))
    return Together(sheets, facts, down, np.cumsum([0, *sizes]), start, {})


def _things(together: Together, name: str) -> list[Any]:
    """Things that know where they lie, in the order in which they were found."""
    found = together.joint[name]
    shares: list[list[Any]] = [[] for _ in together.sheets]
    if found:
        how = MOVED[type(found[0])]
        spot = next(name for name, by in how.items() if by is Away.spot)
        of = together.of([getattr(thing, spot).contour for thing in found]).tolist()
        for k, thing in zip(of, found, strict=True):
            shares[k].append(_moved(thing, how, together.away[k]))
    return [tuple(share) for share in shares]


def _moved(thing: Any, how: Mapping[str, Callable[[Away, Any], Any]], away: Away) -> Any:
    return replace(thing, **{name: by(away, getattr(thing, name)) for name, by in how.items()})


RUNS = {"overlaps": "runs", "scored_cuts": "scored_runs"}


def _overlaps(together: Together, name: str) -> list[Any]:
    """The same, with the numbers that stretches have on their own sheet."""
    of = together.of(together.joint[RUNS[name]].contour)
    before = np.searchsorted(of, np.arange(len(together.sheets))).tolist()
    return [
        tuple(replace(one, stretches=tuple(n - first for n in one.stretches)) for one in share)
        for first, share in zip(before, _things(together, name), strict=True)
    ]


def _pieces(together: Together, name: str) -> list[Any]:
    """Pieces, which are named by how many of a sheet share a name."""
    import shapely

    shares = []
    for k, share in enumerate(_things(together, name)):
        sheet, down = together.sheets[k], together.down[k]
        shapes = [sheet.lines.shape[piece.outer.contour] for piece in share]
        names = numbered(sheet.drawing, shapes, [piece.kept for piece in share])
        polygons = np.array([piece.polygon for piece in share], object)
        if down and len(share):
            polygons = shapely.transform(polygons, lambda xy, down=down: xy - (0.0, down))
        shares.append(
            tuple(
                replace(piece, name=called, polygon=polygon)
                for piece, called, polygon in zip(share, names, polygons, strict=True)
            )
        )
    return shares


def _arrangements(together: Together, name: str) -> list[Any]:
    joint: Arrangement = together.joint[name]
    size = np.diff(joint.first)
    of = together.of(joint.contour[joint.first[:-1]])
    shares = []
    for k, away in enumerate(together.away):
        rings = of == k
        points = rings.repeat(size)
        edge = joint.edge[points]
        shares.append(
            Arrangement(
                xy=away.path(joint.xy[points]),
                first=np.concatenate([[0], np.cumsum(size[rings])]),
                face=away.piece[joint.face[rings] + 1] - 1,
                outer=joint.outer[rings],
                contour=joint.contour[points] - away.contour,
                segment=joint.segment[points],
                edge=np.where(edge < 0, edge, edge - together.points[k]),
                noded=joint.noded,
            )
        )
    return shares


def _outlines(together: Together, name: str) -> list[Any]:
    joint: Index = together.joint[name]
    chains = len(together.joint["joined"].closed)
    shares, before = [], 0
    for a, b in pairwise(together.first.tolist()):
        chained = joint[a:b] < chains
        own = len(distinct(joint[a:b][chained]))
        alone = own + np.arange(b - a)
        shares.append(np.where(chained, joint[a:b] - before, alone))
        before += own
    return shares


def _crowdings(together: Together, name: str) -> list[Any]:
    joint: Crowding = together.joint[name]
    ends = np.searchsorted(joint.contour, together.first).tolist()
    return [
        Crowding(
            sheet.lines,
            joint.first[a:b] - together.points[k],
            joint.points[a:b],
            joint.length[a:b],
            joint.contour[a:b] - together.first[k],
        )
        for k, (sheet, a, b) in enumerate(zip(together.sheets, ends[:-1], ends[1:], strict=True))
    ]


def _engravings(together: Together, name: str) -> list[Any]:
    import shapely

    joint: Engraving = together.joint[name]
    of_pair, of_edge = together.of(joint.contour), together.of(joint.edges.contour)
    shares = []
    for k, (down, first) in enumerate(zip(together.down, together.first.tolist(), strict=False)):
        pairs, mine = of_pair == k, of_edge == k
        faces, number = np.unique(joint.number[pairs], return_inverse=True)
        move = (0.0, down)
        shares.append(
            joint._replace(
                face=shapely.transform(joint.face[faces], lambda xy, move=move: xy - move),
                number=number,
                contour=joint.contour[pairs] - first,
                edges=Edges(
                    joint.edges.start[mine] - move,
                    joint.edges.end[mine] - move,
                    joint.edges.edge[mine] - together.points[k],
                    joint.edges.contour[mine] - first,
                ),
            )
        )
    return shares


def _narrows(together: Together, name: str) -> list[Any]:
    return list(zip(*(together.share(one) for one in ("webs", "gaps")), strict=True))


SHARED: Mapping[str, Callable[[Together, str], list[Any]]] = {
    "open_ends": _things,
    "overlaps": _overlaps,
    "scored_cuts": _overlaps,
    "crossings": _things,
    "grazes": _things,
    "order": _things,
    "outlines": _outlines,
    "fragments": _things,
    "crowding": _crowdings,
    "arrangement": _arrangements,
    "pieces": _pieces,
    "narrows": _narrows,
    "webs": _things,
    "gaps": _things,
    "tips": _things,
    "limbs": _things,
    "inside_corners": _things,
    "touches": _things,
    "holes": _things,
    "engraving": _engravings,
    "thin_strokes": _things,
}
