"""Whether a flat part fits entirely into a cylinder whose floor is slanted.

The part is a plate: an outline of some thickness. The cylinder is convex, so the outline's
convex hull decides. Where the part lies is five numbers: three turns and two shifts, since it
may as well hang from the mouth. The two shifts are a convex problem that is settled for each
turn; the turns are searched by halving cells of them, none of which is dropped before every turn
in it is ruled out.

Axes of the cylinder: z up, the mouth at z = 0; the floor falls towards +x. A turn is
Rz(yaw) Ry(tilt) Rz(spin), applied to the part in its own plane z = 0: it spins in its plane, is
tilted, and the whole is yawed towards the deep side or away from it.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from scantling.records import NamedTuple, dataclass

if TYPE_CHECKING:
    from scantling.arrays import Array, Flags


CELLS = 400_000
"""How many cells are looked at before a part counts as one that may fit."""
BATCH = 2048
"""Cells looked at in one go."""
GRAIN = 1e-5
"""mm by which rounding may have moved anything."""
FINEST = 0.002
"""mm, a fifth of the tolerance that curves are flattened to by default."""
NEIGHBOURS = np.stack(np.meshgrid(*[(-1.0, 0.0, 1.0)] * 3, indexing="ij"), axis=-1).reshape(-1, 3)


@dataclass(frozen=True, slots=True)
class Cylinder:
    """A cylinder open at the top with a slanted floor. Lengths in mm.

    diameter        inner diameter
    shallow, deep   depth below the mouth at the floor's highest and lowest place
    """

    diameter: float
    shallow: float
    deep: float

    @property
    def slope(self) -> float:
        """Fall of the floor across the cylinder, over its diameter."""
        return (self.deep - self.shallow) / self.diameter

    @property
    def longest(self) -> float:
        """The longest segment inside: from the mouth's edge across to the deepest place."""
        return float(np.hypot(self.diameter, self.deep))


class Fit(NamedTuple):
    """What is known of a part and a cylinder.

    fits    True: a place was found where all of it is inside
    may     True: it fits, or a place was found where nothing stands out by more than the
            tolerance, or the search was given up; False: it does not fit, whichever way
    turn    yaw, tilt and spin in that place, in radians; None where there is none
    """

    fits: bool
    may: bool
    turn: tuple[float, float, float] | None = None

    @property
    def tilt(self) -> float | None:
        """Degrees from lying flat (0) to standing on edge (90)."""
        if self.turn is None:
            return None
        return float(np.degrees(np.arccos(min(abs(np.cos(self.turn[1])), 1.0))))


def fit(outline: Array, thickness: float, cylinder: Cylinder, tolerance: float = 0.05) -> Fit:
    """Whether a plate fits entirely into a cylinder, in any orientation and without pressing.

    outline     (n, 2) points in mm whose convex hull is the plate's; n at least 1
    tolerance   mm; parts that would fit if no more than this stood out anywhere are found to
                `may` fit. The smaller it is, the longer it takes for parts near the limit.
    """
    hull = _hull(np.asarray(outline, float))
    return _fit(hull.tobytes(), float(thickness), cylinder, float(tolerance))


@lru_cache(maxsize=4096)
def _fit(hull: bytes, thickness: float, cylinder: Cylinder, tolerance: float) -> Fit:
    return _Plate(np.frombuffer(hull).reshape(-1, 2), thickness).into(cylinder, tolerance)


def _hull(points: Array) -> Array:
    """(n, 2) the corners of the convex hull, moved so that their least enclosing circle is
    round the origin; copies of one part become the same numbers (to a nanometre). Corners that
    add less than FINEST are left out, so that n stays small: what does not fit without them
    does not fit with them."""
    import shapely

    hull = shapely.convex_hull(shapely.multipoints(points))
    ring = shapely.get_coordinates(hull)
    if len(ring) > 2:
        ring = _simplified(ring[:-1], FINEST)
    circle = shapely.get_coordinates(shapely.minimum_bounding_circle(hull))
    moved: Array = ring - (circle.min(axis=0) + circle.max(axis=0)) / 2.0
    return np.round(moved, 6) + 0.0


class _Plate:
    """A convex plate, centred on the origin, and how far its faces are from its middle plane."""

    def __init__(self, hull: Array, thickness: float) -> None:
        self.hull = hull
        self.half = thickness / 2.0

    def into(self, cylinder: Cylinder, tolerance: float) -> Fit:
        radius = float(np.hypot(*self.hull.T).max())
        if 2.0 * radius <= cylinder.diameter and 2.0 * self.half <= cylinder.shallow:
            return Fit(True, True, (0.0, 0.0, 0.0))
        if self._too_big(cylinder):
            return Fit(False, False)
        return self._search(cylinder, tolerance)

    def _too_big(self, cylinder: Cylinder) -> bool:
        """Rules out most parts at once: every plane holds a level direction, so the part must be
        narrower than the cylinder in some direction; and it must not be longer than the longest
        segment inside."""
        # by Jung's theorem a plane figure is at least √3 times as long as its circle's radius
        if np.sqrt(3.0) * np.hypot(*self.hull.T).max() > cylinder.longest + GRAIN:
            return True
        apart = self.hull[:, None] - self.hull
        far = np.hypot(np.hypot(*np.moveaxis(apart, 2, 0)).max(), 2.0 * self.half)
        along = _along(self.hull)
        level = self.hull @ np.stack((-along[:, 1], along[:, 0]))
        narrow = np.ptp(level, axis=0).min()
        return bool(far > cylinder.longest + GRAIN or narrow > cylinder.diameter + GRAIN)

    def _search(self, cylinder: Cylinder, tolerance: float) -> Fit:
        """Halve cells of turns until one fits or all are ruled out."""
        coarse = _simplified(self.hull, 0.2 * tolerance)
        blur = 0.0 if len(coarse) == len(self.hull) else 0.2 * tolerance
        levers = _Levers(coarse, self.half, cylinder)
        pile = [_first_cells()]
        seen = 0
        while pile:
            cells = pile.pop()
            if len(cells) > BATCH:
                pile.append(cells[BATCH:])
                cells = cells[:BATCH]
            if seen == 0:
                found = self._placed(cells, cylinder, tolerance)
                if found is not None and found[1] == 0.0:
                    return _fit_at(found[0], 0.0)
            seen += len(cells)
            if seen > CELLS:
                return Fit(False, True)
            wall, floor, moves = levers.rooms(cells)
            corners = _turned(coarse, self.half, cells)
            possible, _ = _shiftable(corners, cylinder, wall + blur, floor + blur)
            cells, moves = cells[possible], moves[possible]
            if not len(cells):
                continue
            found = self._placed(cells, cylinder, tolerance)
            if found is not None:
                return _fit_at(*self._settled(*found, cylinder))
            pile.append(_halved(cells, moves))
        return Fit(False, False)

    def _placed(
        self, cells: Array, cylinder: Cylinder, tolerance: float
    ) -> tuple[Array, float] | None:
        """The flattest cell in whose middle the part fits, or else one where no more than the
        tolerance stands out; and how much that is."""
        corners = _turned(self.hull, self.half, cells)
        for slack in (0.0, tolerance):
            room = np.full(len(cells), slack)
            _, inside = _shiftable(corners, cylinder, room, room)
            if inside.any():
                those = cells[inside]
                return those[np.abs(those[:, 1]).argmin()], slack
        return None

    def _settled(self, cell: Array, out: float, cylinder: Cylinder) -> tuple[Array, float]:
        """Turn the part a little to and fro for as long as less of it stands out."""
        cell = cell.copy()
        step = cell[3:].copy()
        for _ in range(24):
            if out == 0.0:
                break
            near = np.tile(cell, (len(NEIGHBOURS), 1))
            near[:, :3] += NEIGHBOURS * step
            stands_out = self._stands_out(near, cylinder, out)
            best = int(stands_out.argmin())
            if stands_out[best] < out:
                cell, out = near[best], float(stands_out[best])
            else:
                step /= 2.0
        return cell, out

    def _stands_out(self, cells: Array, cylinder: Cylinder, most: float) -> Array:
        """(m,) how much of the part stands out in the middle of each cell, to a 64th of `most`;
        infinite where it is more than that."""
        corners = _turned(self.hull, self.half, cells)
        _, inside = _shiftable(corners, cylinder, zero := np.zeros(len(cells)), zero)
        least = np.where(inside, 0.0, np.inf)
        low, high = zero, np.full(len(cells), most)
        room = high
        for _ in range(7):
            _, inside = _shiftable(corners, cylinder, room, room)
            least = np.where(inside, np.minimum(least, room), least)
            low, high = np.where(inside, low, room), np.where(inside, room, high)
            room = (low + high) / 2.0
        return least


def _fit_at(cell: Array, out: float) -> Fit:
    """The fit in the middle of a cell where so much stands out."""
    yaw, tilt, spin = cell[:3].tolist()
    return Fit(out == 0.0, True, (yaw, tilt, spin))


class _Levers:
    """How far turning can make the part get in the way.

    What decides is the part's support function h(u), whose change under a turn w is
    w · (u × v) for the corner v that u touches. For a spin that is at most the distance from
    the centre's foot on an edge's line to the edge's ends (nearly nothing for a disc), for a tilt
    the distance of v from the tilt's axis. A yaw is either both of them, as far as the part
    leans; or a yaw of the cylinder, in which only the floor moves.
    """

    def __init__(self, hull: Array, half: float, cylinder: Cylinder) -> None:
        along = _along(hull)
        ends = np.stack((hull, np.roll(hull, -1, axis=0)))
        self.hull = hull
        self.half = half
        self.spin = float(np.abs((ends * along).sum(axis=2)).max())
        self.radius = cylinder.diameter / 2.0
        self.fall = cylinder.slope / float(np.hypot(1.0, cylinder.slope))

    def rooms(self, cells: Array) -> tuple[Array, Array, Array]:
        """The room, in mm, to give a part in the middle of each cell so that it fits if it
        fits anywhere in the cell: from the wall and mouth (m,), and from the floor (m,). And
        (m, 3) how much of it is for the yaw, the tilt and the spin."""
        cos, sin = np.cos(cells[:, 2]), np.sin(cells[:, 2])
        across = np.abs(np.outer(cos, self.hull[:, 0]) - np.outer(sin, self.hull[:, 1]))
        along = np.abs(np.outer(sin, self.hull[:, 0]) + np.outer(cos, self.hull[:, 1]))
        tilt = np.hypot(across.max(axis=1), self.half) * cells[:, 4]
        spin = self.spin * cells[:, 5]
        level = tilt + spin
        lean, upright = np.abs(np.sin(cells[:, 1])), np.abs(np.cos(cells[:, 1]))
        part = lean * np.hypot(along.max(axis=1), self.half) + upright * self.spin
        floor = (self.radius + level) * self.fall
        # what the floor gives way alone is let in more easily
        by_part = 2.0 * part < floor
        yaw = np.where(by_part, part, floor) * cells[:, 3]
        return level + np.where(by_part, yaw, 0.0), level + yaw, np.stack((yaw, tilt, spin), 1)


def _first_cells() -> Array:
    """(m, 6) yaw, tilt, spin and half the widths of the cell in each, in radians, covering all
    turns. Turned over, a plate is the same plate; and the cylinder is the same in a mirror in
    y. So tilts from flat to on edge are all there are."""
    yaw, tilt, spin = 8, 6, 24
    # the middles of the cells are the upright, flat and straight places where parts fit best
    a = np.arange(yaw) * (2.0 * np.pi / yaw)
    b = np.arange(tilt + 1) * (np.pi / 2.0 / tilt)
    c = np.arange(spin) * (2.0 * np.pi / spin)
    grid = np.stack([g.ravel() for g in np.meshgrid(a, b, c, indexing="ij")], axis=1)
    halves = np.array([np.pi / yaw, np.pi / 4.0 / tilt, np.pi / spin])
    return np.hstack((grid, np.broadcast_to(halves, grid.shape)))


def _halved(cells: Array, moves: Array) -> Array:
    """Each cell as two, cut across the turn that moves most."""
    axis = moves.argmax(axis=1)
    row = np.arange(len(cells))
    cells = cells.copy()
    cells[row, 3 + axis] /= 2.0
    low, high = cells.copy(), cells
    low[row, axis] -= cells[row, 3 + axis]
    high[row, axis] += cells[row, 3 + axis]
    return np.concatenate((low, high))


def _along(hull: Array) -> Array:
    """(n, 2) unit vectors along the hull's edges."""
    edges = np.roll(hull, -1, axis=0) - hull
    return np.asarray(edges / np.maximum(np.hypot(*edges.T), 1e-12)[:, None])


def _simplified(hull: Array, tolerance: float) -> Array:
    """The hull with fewer corners, none of it farther than the tolerance from what is left."""
    import shapely

    if len(hull) <= 8:
        return hull
    ring = shapely.Polygon(hull).simplify(tolerance, preserve_topology=True).exterior
    return np.asarray(ring.coords)[:-1]


def _turned(hull: Array, half: float, cells: Array) -> tuple[Array, Array, Array]:
    """(m, 2n) x, y and z of the corners of both faces, turned by the middle of each cell."""
    yaw, tilt, spin = (cells[:, k, None] for k in range(3))
    u = hull[:, 0] * np.cos(spin) - hull[:, 1] * np.sin(spin)
    v = hull[:, 0] * np.sin(spin) + hull[:, 1] * np.cos(spin)
    out = half * np.sin(tilt)
    up = half * np.cos(tilt)
    x = np.hstack((u * np.cos(tilt) + out, u * np.cos(tilt) - out))
    z = np.hstack((up - u * np.sin(tilt), -up - u * np.sin(tilt)))
    y = np.hstack((v, v))
    return x * np.cos(yaw) - y * np.sin(yaw), x * np.sin(yaw) + y * np.cos(yaw), z


def _shiftable(
    corners: tuple[Array, Array, Array], cylinder: Cylinder, room: Array, floor_room: Array
) -> tuple[Flags, Flags]:
    """Whether a shift brings all corners inside, for each of m turns.

    room         (m,) mm by which wall and mouth are moved out
    floor_room   (m,) mm by which the floor is

    Returns two flags each: whether it is possible (not ruled out), and whether a shift was found.

    Hung from the mouth, the part must be shifted towards the deep side by so much that it clears
    the floor, at least `low`. Within the wall, a shift a in x leaves corner i the half chord
    s_i(a) = √(ρ² − (x_i + a)²) in y; a shift in y exists when
    G(a) = max(−y_i − s_i) + max(y_i − s_i) ≤ 0. G is convex: halving the range of a by its slope
    either finds such a shift, or a tangent shows that there is none.
    """
    x, y, z = corners
    rho = cylinder.diameter / 2.0 + room
    slope = cylinder.slope
    lack = z.max(axis=1) - (z + slope * x).min(axis=1)
    lack -= (cylinder.shallow + cylinder.deep) / 2.0 + room + floor_room * np.hypot(1.0, slope)
    with np.errstate(divide="ignore", invalid="ignore"):
        deep = np.where(lack > 0.0, lack / slope, -np.inf) if slope == 0.0 else lack / slope
    low = np.maximum(deep, -x.min(axis=1) - rho)
    high = rho - x.max(axis=1)
    possible = (low <= high) & (np.ptp(y, axis=1) <= 2.0 * rho)
    found = np.zeros(len(rho), bool)
    open_ = np.flatnonzero(possible)
    low, high, x, y, rho = low[open_], high[open_], x[open_], y[open_], rho[open_]
    for _ in range(24):
        if not len(open_):
            break
        shift = (low + high) / 2.0
        off = x + shift[:, None]
        half = np.sqrt(np.maximum(rho[:, None] ** 2 - off**2, 1e-18))
        below, above = -y - half, y - half
        i, j = below.argmax(axis=1), above.argmax(axis=1)
        row = np.arange(len(open_))
        gap = below[row, i] + above[row, j]
        rise = off[row, i] / half[row, i] + off[row, j] / half[row, j]
        inside = gap <= 0.0
        ruled_out = ~inside & (gap - np.abs(rise) * (high - low) / 2.0 > 0.0)
        found[open_[inside]] = True
        possible[open_[ruled_out]] = False
        low = np.where(rise > 0.0, low, shift)
        high = np.where(rise > 0.0, shift, high)
        go = ~inside & ~ruled_out
        open_, low, high = open_[go], low[go], high[go]
        x, y, rho = x[go], y[go], rho[go]
    return possible, found
