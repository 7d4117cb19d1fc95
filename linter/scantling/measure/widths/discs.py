"""Discs that touch the outline on two opposite sides."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from scantling.arrays import Array, Flags, Index

TOUCH = 1e-6
"""mm: places nearer than twice this touch, and have no disc between them."""


class Discs:
    """k discs, each touching edge i at p and edge j at q (i < j), in the outline's coordinates.

    rows   (8, k)  radius; x, y of the middle, of p and of q; slope: by how much the width changes
                   for a unit of length along the edges, 0 at a saddle
    i, j   (k,)    edges of the Outline
    web    (k,)    True inside the solid, False in the void
    """

    __slots__ = ("i", "j", "rows", "web")

    def __init__(self, rows: Array, i: Index, j: Index, web: Flags) -> None:
        self.rows, self.i, self.j, self.web = rows, i, j, web

    def __len__(self) -> int:
        return len(self.i)

    @property
    def radius(self) -> Array:
        radius: Array = self.rows[0]
        return radius

    @property
    def at(self) -> Array:
        return self.rows[1:3]

    @property
    def p(self) -> Array:
        return self.rows[3:5]

    @property
    def q(self) -> Array:
        return self.rows[5:7]

    @property
    def slope(self) -> Array:
        slope: Array = self.rows[7]
        return slope

    def take(self, which: Flags | Index) -> Discs:
        return Discs(self.rows[:, which], self.i[which], self.j[which], self.web[which])


NONE = Discs(np.zeros((8, 0)), np.zeros(0, np.int64), np.zeros(0, np.int64), np.zeros(0, bool))


def concatenated(some: Sequence[Discs]) -> Discs:
    """All discs of several rows, one row after the other."""
    if len(some) < 2:
        return some[0] if some else NONE
    return Discs(
        np.concatenate([d.rows for d in some], axis=1),
        np.concatenate([d.i for d in some]),
        np.concatenate([d.j for d in some]),
        np.concatenate([d.web for d in some]),
    )
