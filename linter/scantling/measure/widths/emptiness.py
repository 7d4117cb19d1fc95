"""Which discs have nothing of the outline inside them, but for the chord tolerance."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.distinct import distinct
from scantling.measure.widths.discs import Discs
from scantling.measure.widths.facing import Stretches, tree_of, within, within_tree
from scantling.measure.widths.outline import BX, TX, Outline

if TYPE_CHECKING:
    from scantling.arrays import Array, Flags, Index


class Emptiness:
    """Tells of the discs of an outline, of diameter up to a reach, which edges are inside them."""

    def __init__(self, o: Outline, stretches: Stretches, chord: float, crowded: bool) -> None:
        """`stretches` are those by which pairs were found within the reach; `crowded`: most discs
        are full."""
        self._outline, self._stretches, self._chord = o, stretches, chord
        self._cells = _Cells(o) if crowded else None
        self._tree = tree_of(stretches) if crowded else None

    def of(self, discs: Discs) -> tuple[Flags, Flags]:
        """(k,) which discs have no edge inside them; and where most are full, which have even a
        corner near their middles."""
        if self._cells is None:
            return self._clear(discs), np.zeros(len(discs), bool)
        deep = _full(self._cells, discs, self._chord)
        left = (~deep).nonzero()[0]
        free = ~deep
        free[left] = self._clear(discs.take(left))
        return free, deep

    def inside(self, discs: Discs) -> tuple[Index, Index]:
        """Pairs of a disc (its number) and an edge that is inside it."""
        o, stretches = self._outline, self._stretches
        if self._tree is None:
            d, edge = within(o, stretches, discs.i, discs.p, discs.at, discs.radius)
        else:
            d, edge = within_tree(stretches, self._tree, discs.at, discs.radius)
        e = o.rows[:, edge]
        x, y = discs.at[:, d] - e[:BX]
        tx, ty, length = e[TX:]
        s = x * tx
        s += y * ty
        np.maximum(s, 0.0, out=s)
        np.minimum(s, length, out=s)
        x -= s * tx
        y -= s * ty
        x *= x
        y *= y
        x += y
        nearer = x < _least(discs.radius, self._chord)[d]
        return d[nearer], edge[nearer]

    def _clear(self, discs: Discs) -> Flags:
        free = np.ones(len(discs), bool)
        free[self.inside(discs)[0]] = False
        return free


def _least(radius: Array, chord: float) -> Array:
    """The square of how near an edge may come to the middle of a disc."""
    least = radius - np.minimum(chord, 0.25 * radius)
    least *= least
    return least


class _Cells:
    """The corners of an outline, sorted into square cells: of each size once, however many blocks
    of discs are looked at."""

    def __init__(self, o: Outline) -> None:
        self.corners = o.rows[:BX]
        self.low = self.corners.min(axis=1)[:, None]
        self._sorted: dict[int, tuple[Index, Array, int]] = {}

    def of(self, power: int) -> tuple[Index, Array, int]:
        """Of cells of the size 2 to that power: the sorted keys of those that hold any corner, one
        corner (2, k) of each, and by how much keys differ from one column to the next."""
        if power not in self._sorted:
            cell = self.at(self.corners, power)
            across = int(cell[1].max()) + 3
            keys, some = np.unique(cell[0] * across + cell[1], return_index=True)
            self._sorted[power] = keys, self.corners[:, some], across
        return self._sorted[power]

    def at(self, places: Array, power: int) -> Index:
        """(2, k) column and row of the cell that each place (2, k) is in."""
        cell: Index = ((places - self.low) / 2.0**power).astype(np.int64)
        cell += 1
        return cell


def _full(cells: _Cells, discs: Discs, chord: float) -> Flags:
    """Which discs have a corner of the outline near their middles: most of them, where details
    are small for the reach, and cheaper to tell than which have not.

    The corners are in cells of an eighth to a quarter of the radius, of which the nine about the
    middle are looked into.
    """
    full = np.zeros(len(discs), bool)
    octave = np.floor(np.log2(np.maximum(discs.radius, 1e-3))).astype(np.int64)
    for power in distinct(octave).tolist():
        mine = (octave == power).nonzero()[0]
        keys, (x, y), across = cells.of(power - 2)
        at, radius = discs.at[:, mine], discs.radius[mine]
        middle = cells.at(at, power - 2)
        key = middle[0] * across + middle[1]
        least = _least(radius, chord)
        for aside in (0, -1, 1, -across, across, -across - 1, 1 - across, across - 1, across + 1):
            place = np.minimum(keys.searchsorted(key + aside), len(keys) - 1)
            dx, dy = x[place] - at[0], y[place] - at[1]
            full[mine] |= (keys[place] == key + aside) & (dx * dx + dy * dy < least)
    return full
