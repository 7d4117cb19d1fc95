"""Complex moments of outlines, and what of them stays when an outline is shifted and turned.

c(p, q) = ∬ z^p conj(z)^q dA about the centroid, by Green's theorem an integral along the outline
that Gauss's rule gives exactly on straight edges. A turn by t multiplies it by exp(i (p - q) t), so
its size stays, and so do products in which the angles cancel (J. Flusser, On the independence of
rotation moment invariants, Pattern Recognition 33 (2000): from memory). A mirror image has the
conjugate products.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from scantling.measure.groups import onward
from scantling.records import dataclass

if TYPE_CHECKING:
    from scantling.arrays import Array, Complex, Index


PAIRS = ((1, 1), (2, 0), (2, 1), (3, 0), (2, 2), (3, 1), (4, 0))
SAME = 0.01
"""mm: outlines whose invariants differ by no more are of one kind."""
NODES = 3
"""Gauss's rule is exact for powers up to 2 · 3 - 1 = p + q + 1."""


@dataclass(frozen=True, slots=True)
class Figures:
    """Rings without what lies in them, r of them; mm and mm².

    area, length  (r,)
    centre        (r,)    centroids as complex numbers
    moment        (r, 7)  c(p, q) for PAIRS, as shares of area · radius^(p + q)
    """

    area: Array
    length: Array
    centre: Complex
    moment: Complex

    @property
    def radius(self) -> Array:
        """Of the disc of the same area."""
        return np.sqrt(self.area / np.pi)

    @property
    def spread(self) -> Array:
        """(r, 2) radii of gyration about the principal axes, the longer first."""
        polar, across = self.moment[:, 0].real, np.abs(self.moment[:, 1])
        halves = np.stack([polar + across, np.maximum(polar - across, 0.0)], axis=1) / 2.0
        return self.radius[:, None] * np.sqrt(halves)

    def invariants(self) -> Array:
        """(r, 17) lengths in mm that a shift and a turn leave alone, and that an outline's
        displacement changes by about as much as it is displaced. A mirror image has others,
        unless it is the figure itself."""
        _, m20, m21, m30, m22, m31, m40 = self.moment.T
        m12 = np.conj(m21)
        products = (m20 * m12**2, m30 * m12**3, m20**3 * np.conj(m30) ** 2, m20**2 * np.conj(m40))
        shares = (self.moment[:, 0].real, *map(np.abs, (m20, m21, m30, m31, m40)), m22.real)
        columns = [
            *(share * self.radius for share in shares),
            *(part * self.radius for product in products for part in (product.real, product.imag)),
        ]
        return np.column_stack([self.radius, self.length / (2.0 * np.pi), *columns])


def figures(xy: Array, first: Index) -> Figures:
    """The moments of rings, turning either way: ring k is points first[k]:first[k+1] of xy, closed
    by an edge from its last point to its first."""
    z = xy[:, 0] + 1j * xy[:, 1]
    begin = first[:-1]
    size = np.diff(first)
    ring = np.repeat(np.arange(len(size)), size)
    # sums from each ring's own first point, where the numbers are small
    origin = z[begin]
    z = z - origin[ring]
    step = z[onward(first)] - z
    twice = (np.conj(z) * step).imag
    signed = np.add.reduceat(twice, begin) / 2.0
    middle = np.add.reduceat(twice * (2.0 * z + step) / 6.0, begin)
    area = np.where(signed == 0.0, 1.0, signed)
    centre = np.asarray(middle / area, np.complex128)
    radius = np.sqrt(np.abs(area) / np.pi)
    z = (z - centre[ring]) / radius[ring]
    step = step / radius[ring]
    nodes, weights = _rule(NODES)
    at = z[:, None] + step[:, None] * (nodes + 1.0) / 2.0
    moments = []
    for p, q in PAIRS:
        along = (at**p * np.conj(at) ** (q + 1)) @ (weights / 2.0) * step
        moments.append(np.add.reduceat(along, begin) / (2j * (q + 1)))
    share = np.pi * np.sign(area)  # area over radius²
    return Figures(
        area=np.abs(signed),
        length=np.add.reduceat(np.hypot(step.real, step.imag), begin) * radius,
        centre=centre + origin,
        moment=np.stack(moments, axis=1) / share[:, None],
    )


def turns(ring: Complex, other: Complex) -> Array:
    """The angles, in radians, by which one outline may have to be turned to lie on another of the
    same shape, however each is drawn and wherever it starts. Both are rings of complex points
    about their centroids, turning the same way.

    A turn by t multiplies M(n) = ∬ z^n dA by exp(i n t), so that one moment leaves n angles. The
    moment taken is one that is large, so that the angle is sharp. A figure whose moments are all
    small is a disc, or near enough to one for any angle to do.
    """
    for most in (FEW, MANY):
        mine, theirs = _powers(ring, most), _powers(other, most)
        n = int(np.argmax(np.arange(most + 1) * np.abs(mine)))
        if np.abs(mine[n]) >= CLEAR:
            first = np.angle(theirs[n]) - np.angle(mine[n])
            return np.asarray((first + 2.0 * np.pi * np.arange(n)) / n)
    return np.zeros(1)


FEW, MANY = 12, 72
"""Moments looked at: the first are enough but for figures that turn into themselves many times."""
CLEAR = 1e-3
"""A moment that tells the angle, as a share of the greatest that there can be."""


def _powers(ring: Complex, most: int) -> Complex:
    """M(0) to M(most) as shares of area · radius^n, the radius being that of the furthest point;
    M(0) and M(1) are put to zero: they tell nothing."""
    z = ring / np.abs(ring).max()
    step = np.roll(z, -1) - z
    area = np.abs((np.conj(z) * step).imag.sum()) / 2.0
    nodes, weights = _rule(most // 2 + 2)
    at = z[:, None] + step[:, None] * (nodes + 1.0) / 2.0
    part = np.conj(at) * step[:, None] * (weights / 4j)
    total = np.zeros(most + 1, np.complex128)
    for n in range(2, most + 1):
        part *= at if n > 2 else at**2
        total[n] = part.sum()
    return np.asarray(total / area)


@cache
def _rule(number: int) -> tuple[Array, Array]:
    """Nodes and weights of Gauss's rule on -1 to 1."""
    nodes, weights = np.polynomial.legendre.leggauss(number)
    return nodes, weights


def alike(values: Array, within: float) -> Index:
    """(n,) labels: rows of (n, k) values that agree to about `within` in every column share one.

    Column by column every group is sorted and cut where the next value is further off: n log n.
    A group in which the values run on from one to the next is cut into stretches of twice that.
    """
    n = len(values)
    label = np.zeros(n, np.int64)
    for column in values.T:
        order = np.lexsort((column, label))
        group, value = label[order], column[order]
        new = np.append(True, (group[1:] != group[:-1]) | (np.diff(value) > within))[:n]
        run = np.cumsum(new) - 1
        stretch = np.floor((value - value[new][run]) / (2.0 * within) + 1e-9)
        new[1:] |= stretch[1:] != stretch[:-1]
        label[order] = np.cumsum(new) - 1
    return label
