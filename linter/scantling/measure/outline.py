"""An arrangement's edges as flat arrays: what the width engine computes with."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scantling.measure.model import Arrangement

Array = NDArray[np.float64]
Index = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Outline:
    """n edges in r closed rings, solid on the left of each (in the sense of a positive shoelace
    sum).

    ax ay bx by  ends of each edge; tx ty its unit direction; length
    prev, next   the edges before and after it on its ring
    ring         its ring; `first` (r+1,) as in Arrangement
    along        distance from the ring's first point to the edge's start
    round        (r,) length of each ring
    cross, dot   sine and cosine of the turn at the edge's START, from `prev` to the edge:
                 positive sine where the solid's corner is convex
    """

    ax: Array
    ay: Array
    bx: Array
    by: Array
    tx: Array
    ty: Array
    length: Array
    prev: Index
    next: Index
    ring: Index
    first: Index
    along: Array
    round: Array
    cross: Array
    dot: Array


def outline(arrangement: Arrangement, origin: Array) -> Outline:
    """The flat arrays of an arrangement (at least one ring, no edge of zero length), with
    `origin` (2,) as the origin of coordinates."""
    xy, first = arrangement.xy - origin, arrangement.first
    n = len(xy)
    sizes = np.diff(first)
    following = np.arange(1, n + 1)
    following[first[1:] - 1] = first[:-1]
    before = np.arange(-1, n - 1)
    before[first[:-1]] = first[1:] - 1
    ax, ay = np.ascontiguousarray(xy[:, 0]), np.ascontiguousarray(xy[:, 1])
    bx, by = ax[following], ay[following]
    tx, ty = bx - ax, by - ay
    length = np.sqrt(tx * tx + ty * ty)
    tx /= length
    ty /= length
    px, py = tx[before], ty[before]
    total = np.zeros(n + 1)
    np.cumsum(length, out=total[1:])
    starts = total[first]
    return Outline(
        ax,
        ay,
        bx,
        by,
        tx,
        ty,
        length,
        before,
        following,
        np.repeat(np.arange(len(sizes)), sizes),
        first,
        total[:-1] - np.repeat(starts[:-1], sizes),
        np.diff(starts),
        px * ty - py * tx,
        px * tx + py * ty,
    )
