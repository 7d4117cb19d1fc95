"""How joining, doubles, crossings and pieces grow with the drawing. Run by hand:

    python tests/benchmarks/topology.py

For each kind of sheet it prints the processor time per point at three sizes, and the ratio of the
largest to the smallest: 1 is linear. Beside it stands what GEOS takes to node and polygonise the
same lines whole, which is the plain way to find the faces.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import shapely

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "measure"))

from making import Sketch, box, circle, square

FACTS = ("joined", "open_ends", "overlaps", "crossings", "arrangement", "pieces")
SIZES = (1, 4, 16)


def holes(n: int) -> Sketch:
    """A board with 1000 n holes."""
    sketch = Sketch().ring(box(5.0 * 40 * n + 5.0, 130.0, (2.5 * 40 * n, 60.0)))
    for k in range(1000 * n):
        sketch.outline(circle(2.0, (k % (40 * n) * 5.0 + 2.5, k // (40 * n) * 5.0)))
    return sketch


def crossing(n: int) -> Sketch:
    """40 n circles in places of equal density, which cross."""
    rng = np.random.default_rng(1)
    sketch = Sketch()
    for _ in range(40 * n):
        sketch.outline(circle(20.0, tuple(rng.uniform(0.0, 100.0 * n**0.5, 2))))
    return sketch


def neighbours(n: int) -> Sketch:
    """1000 n squares that share their sides."""
    sketch = Sketch()
    for k in range(1000 * n):
        sketch.ring(square(5.0, (k % (40 * n) * 5.0, k // (40 * n) * 5.0)))
    return sketch


def doubled(n: int) -> Sketch:
    """1000 n discs, drawn twice."""
    sketch = Sketch()
    for turn in (0.0, 0.2):
        for k in range(1000 * n):
            sketch.ring(circle(2.0, (k % (40 * n) * 5.0, k // (40 * n) * 5.0), turn=turn))
    return sketch


def lines(n: int) -> Sketch:
    """A grid of 1000 n lines that meet at their ends."""
    sketch = Sketch()
    for k in range(500 * n):
        x, y = k % (20 * n), k // (20 * n)
        sketch.line([(x, y), (x + 1, y)]).line([(x, y), (x, y + 1)])
    return sketch


def dense(n: int) -> Sketch:
    """An outline of 20 000 n points, 0.01 mm apart."""
    angle = np.linspace(0.0, 2.0 * np.pi, 20_000 * n, endpoint=False)
    radius = 20_000 * n * 0.01 / 2.0 / np.pi * (1.0 + 0.1 * np.sin(40.0 * angle))
    return Sketch().ring(np.column_stack([np.cos(angle), np.sin(angle)]) * radius[:, None])


def plain(sketch: Sketch) -> None:
    """Node and polygonise everything."""
    drawn = sketch.lines
    rings = []
    for k, points in enumerate(np.split(drawn.xy, drawn.first[1:-1])):
        rings.append(np.vstack([points, points[:1]]) if drawn.closed[k] else points)
    sizes = [len(ring) for ring in rings]
    paths = shapely.linestrings(
        np.concatenate(rings), indices=np.repeat(np.arange(len(sizes)), sizes)
    )
    shapely.polygonize(shapely.get_parts(shapely.union_all(paths)))


def seconds(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def main() -> None:
    print(f"{'':12}{'points':>10}{'µs/point':>10}{'ratio':>8}{'GEOS':>8}")
    for scene in (holes, crossing, neighbours, doubled, lines, dense):
        least = None
        for n in SIZES:
            sketch = scene(n)
            facts, points = sketch.facts(reach=3.0), len(sketch.lines.xy)
            each = seconds(lambda f=facts: [f[name] for name in FACTS]) / points * 1e6
            whole = seconds(lambda s=sketch: plain(s)) / points * 1e6
            least = least or each
            name = scene.__name__ if n == SIZES[0] else ""
            print(f"{name:12}{points:10}{each:10.1f}{each / least:8.2f}{whole:8.1f}")


if __name__ == "__main__":
    main()
