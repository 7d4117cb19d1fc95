"""Which parts are the same: outlines that a shift and a turn lay on one another.

A mirror image is another part, for a sheet has a face and a back; which part it mirrors is told.

Two outlines are laid centroid on centroid. How far one has to be turned is read off the complex
moments M(n) = ∬ z^n dA about the centroid: a turn by t multiplies M(n) by exp(i n t), so that one
moment leaves n angles to try, however the outline was drawn and wherever it starts. What decides
is the distance between the outlines once turned (Hausdorff, over their points).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from scantling.records import dataclass

if TYPE_CHECKING:
    from numpy.typing import NDArray

FEW, MANY = 12, 72
"""Moments looked at: the first are enough but for figures that turn into themselves many times."""
CLEAR = 1e-3
"""A moment that tells the angle, as a share of the greatest that there can be."""


@dataclass(frozen=True)
class Outline:
    """A polygon with holes about its centroid, in mm."""

    polygon: Any
    area: float = field(init=False)
    length: float = field(init=False)
    holes: int = field(init=False)

    def __post_init__(self) -> None:
        import shapely

        object.__setattr__(self, "area", float(self.polygon.area))
        object.__setattr__(self, "length", float(self.polygon.length))
        object.__setattr__(self, "holes", int(shapely.get_num_interior_rings(self.polygon)))

    @cached_property
    def middle(self) -> complex:
        return complex(self.polygon.centroid.x, self.polygon.centroid.y)

    @cached_property
    def rings(self) -> list[NDArray[np.complex128]]:
        """Closed rings as complex numbers about the centroid; the outer one positive, holes
        negative by their shoelace sum."""
        rings = []
        for k, ring in enumerate([self.polygon.exterior, *self.polygon.interiors]):
            xy = np.asarray(ring.coords)
            z = xy[:, 0] + 1j * xy[:, 1] - self.middle
            positive = float((z[:-1].conj() * z[1:]).imag.sum()) > 0
            rings.append(z if positive == (k == 0) else z[::-1])
        return rings

    @cached_property
    def radius(self) -> float:
        return float(np.abs(self.rings[0]).max(initial=0.0)) or 1.0

    @cached_property
    def few(self) -> NDArray[np.complex128]:
        return self._moments(FEW)

    @cached_property
    def many(self) -> NDArray[np.complex128]:
        return self._moments(MANY)

    def _moments(self, most: int) -> NDArray[np.complex128]:
        """M(n) for n = 0 to `most`, as shares of area × radius^n: by Green's theorem
        M(n) = 1/2i ∮ z^n conj(z) dz, exact on straight edges by Gauss's rule."""
        nodes, weights = np.polynomial.legendre.leggauss(most // 2 + 2)
        t = (nodes + 1) / 2
        total = np.zeros(most + 1, dtype=np.complex128)
        for ring in self.rings:
            step = np.diff(ring)[:, None] / self.radius
            z = ring[:-1, None] / self.radius + step * t
            part = z.conj() * step * (weights / 2)
            for n in range(most + 1):
                total[n] += part.sum() / 2j
                part *= z
        return total * (self.radius**2 / self.area)

    def turns_to(self, other: Outline, mirrored: bool) -> NDArray[np.float64]:
        """The angles worth trying, in radians."""
        mine, theirs = self.few, other.few
        order = np.arange(len(mine))
        if np.abs(mine[2:]).max() < CLEAR:
            mine, theirs = self.many, other.many
            order = np.arange(len(mine))
        n = int(np.argmax(np.where(order >= 2, order * np.abs(mine), 0.0)))
        if n < 2:
            return np.zeros(1)
        moment = mine[n].conjugate() if mirrored else mine[n]
        first = np.angle(theirs[n]) - np.angle(moment)
        return np.asarray((first + 2 * np.pi * np.arange(n)) / n)

    def turned(self, angle: float, mirrored: bool) -> Any:
        """The outline as lines about the origin."""
        import shapely

        lines = []
        for ring in self.rings:
            z = (ring.conj() if mirrored else ring) * np.exp(1j * angle)
            lines.append(np.column_stack([z.real, z.imag]))
        return shapely.multilinestrings([shapely.linestrings(line) for line in lines])

    @cached_property
    def plain(self) -> Any:
        return self.turned(0.0, False)


def same(a: Outline, b: Outline, tolerance: float, mirrored: bool = False) -> bool:
    """Whether a shift and a turn (after a mirroring) lay `a` on `b`, to within `tolerance` mm."""
    if a.holes != b.holes or abs(a.area - b.area) > tolerance * (a.length + b.length) / 2:
        return False
    if abs(a.length - b.length) > 0.02 * a.length + tolerance:
        return False
    import shapely

    return any(
        shapely.hausdorff_distance(a.turned(float(angle), mirrored), b.plain) <= tolerance
        for angle in a.turns_to(b, mirrored)
    )


@dataclass(slots=True)
class Kind:
    """Parts that are the same, by their number in the order given; and of which earlier kind they
    are the mirror image."""

    outline: Outline
    members: list[int]
    mirrors: int | None = None


def kinds(polygons: Sequence[Any], tolerance: float) -> list[Kind]:
    """The parts sorted into kinds, in the order of the first of each."""
    found: list[Kind] = []
    for number, polygon in enumerate(polygons):
        outline = Outline(polygon)
        kind = next((k for k in found if same(outline, k.outline, tolerance)), None)
        if kind is None:
            mirrors = next(
                (
                    n
                    for n, k in enumerate(found)
                    if k.mirrors is None and same(outline, k.outline, tolerance, mirrored=True)
                ),
                None,
            )
            found.append(Kind(outline, [number], mirrors))
        else:
            kind.members.append(number)
    return found
