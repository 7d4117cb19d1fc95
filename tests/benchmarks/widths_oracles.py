"""Webs and gaps of real drawings against independent ways of finding them.

    python tests/benchmarks/widths_oracles.py FOLDER [MOST_FILES] [WIDTH_MM]

Drawings are planned 254 mm wide by their own colours. Every disagreement is printed:

opening   a residue of GEOS' opening that joins two stretches of the outline, and no web or tip
          comes near it (the other way round proves nothing: a waist between two points leaves
          no residue)
saddle    a saddle of the medial radius in Boost's Voronoi diagram with no disc near it
web, gap  a neck, bridge or wall that is no saddle of the diagram, or not as wide as it
picture   a place whose width in a picture of 0.02 mm a pixel differs by more than the
          diagonals of a pixel on either side
"""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path

import numpy as np
import shapely

sys.path.insert(0, str(Path(__file__).parent.parent / "measure"))
sys.path.insert(0, str(Path(__file__).parent))
from oracles import raster_width, residues, saddles
from widths import drawings, polygons

from scantling.measure.model import Arrangement, Narrow
from scantling.measure.widths.telling import told
from scantling.measure.widths.thin import thin, tips
from scantling.plan.model import Tolerances

CHORD = 0.01
PIXEL = 0.02


def disagreements(arrangement: Arrangement, width: float, seen: Counter[str]) -> list[str]:
    found = thin(arrangement, width, Tolerances(chord=CHORD))
    webs, gaps = told(found)
    solid = polygons(arrangement)
    unlike = []

    paths = [np.zeros((0, 2)), *(n.path for n in webs), *(t.path for t in tips(found))]
    reached = shapely.multipoints(np.concatenate(paths))
    shapely.prepare(reached)
    for part in solid.geoms:
        for residue in residues(part, width, CHORD):
            seen["openings"] += 1
            if not residue.dwithin(reached, 0.05):
                unlike.append(f"opening {residue.centroid} area {residue.area:.4f}")

    discs = np.zeros((0, 2))
    if found is not None:
        discs = found.discs.at.T + found.outline.origin
    reached = shapely.multipoints(discs)
    for within, places in ((True, webs), (False, gaps)):
        known = saddles(arrangement, width + CHORD, within)
        at = np.array([s.at for s in known]).reshape(-1, 2)
        for saddle in known:
            if 0.01 < saddle.width < width - CHORD:
                seen["saddles"] += 1
                if not reached.dwithin(shapely.Point(saddle.at), saddle.width / 2 + 0.01):
                    unlike.append(f"saddle {'web' if within else 'gap'} {saddle}")
        for place in places:
            seen["places"] += 1
            name = f"{'web' if within else 'gap'} {place.kind} {place.width:.4f} {place.at}"
            if place.kind != "limb":
                near = np.hypot(*(at - place.at).T) <= max(place.width, 0.1)
                widths = [s.width for s, n in zip(known, near, strict=True) if n]
                least = min(widths, key=lambda w: abs(w - place.width), default=None)
                if least is None and closes(arrangement, place):
                    seen[
                        "places that close to a point where outlines meet, and have no saddle"
                    ] += 1
                elif least is None or abs(least - place.width) > 2 * CHORD:
                    unlike.append(f"{name}: saddle {least}")
            around = solid.geoms[place.piece - 1] if within else solid
            drawn = raster_width(around, place.at, PIXEL)
            if place.width < 100 * PIXEL and abs(drawn - place.width) > 3 * PIXEL:
                unlike.append(f"picture {name}: {drawn:.4f}")
    return unlike


def closes(arrangement: Arrangement, place: Narrow) -> bool:
    """Whether the outlines on both sides of a place meet in a point near its narrowest."""
    near = arrangement.xy[np.hypot(*(arrangement.xy - place.at).T) < max(100 * place.width, 1.0)]
    return len(np.unique(np.round(near, 6), axis=0)) < len(near)


def main(folder: str, most: int, width: float) -> None:
    seen: Counter[str] = Counter()
    count = 0
    for name, arrangement in drawings(folder, most):
        seen["drawings"] += 1
        for line in disagreements(arrangement, width, seen):
            count += 1
            print(f"{name}: {line}")
    print(", ".join(f"{number} {what}" for what, number in seen.items()), f"; {count} disagree")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        more = sys.argv[2:]
        main(sys.argv[1], int(more[0]) if more else 100, float(more[1]) if len(more) > 1 else 1.2)
    else:
        print(__doc__)
