"""Draw an SVG file coloured by local width, as an SVG.

    python tests/benchmarks/width_picture.py FILE.svg PICTURE.svg [WIDTH_MM [UP_TO_MM]]

Every disc that touches two opposite sides of the solid with nothing else inside it is drawn in
the colour of its diameter, the wide ones first; what is wider than UP_TO_MM stays grey.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from scantling.measure.facts import facts_of
from scantling.measure.model import Arrangement, Narrow
from scantling.measure.widths.telling import told
from scantling.measure.widths.thin import thin
from scantling.plan.model import Job, Minimums, Stock, Tolerances
from scantling.plan.planner import plan_drawing
from scantling.read import Source, read_drawing

RAMP = np.array([(0xC6, 0x28, 0x28), (0xEF, 0x8A, 0x2B), (0xF2, 0xD0, 0x4B), (0x5F, 0xB3, 0x8A),
                 (0x2B, 0x6C, 0xA8)])  # fmt: skip
"""Thin to wide."""
STEP = 0.25
"""A disc for every so many of its radii along a path."""


def colour(share: float) -> str:
    at = min(max(share, 0.0), 1.0) * (len(RAMP) - 1)
    k = min(int(at), len(RAMP) - 2)
    red, green, blue = np.round(RAMP[k] + (at - k) * (RAMP[k + 1] - RAMP[k])).astype(int)
    return f"#{red:02x}{green:02x}{blue:02x}"


def outline(arrangement: Arrangement) -> str:
    rings = np.split(arrangement.xy, arrangement.first[1:-1])
    return "".join("M" + " ".join(f"{x:.3f},{y:.3f}" for x, y in ring) + "Z" for ring in rings)


def discs(web: Narrow) -> np.ndarray:
    """(k, 3) middles and widths along a web, near enough to each other to look like one."""
    rows = [np.column_stack((web.path, web.widths))]
    for a, b in web.links.tolist():
        start, end = rows[0][a], rows[0][b]
        radius = max(min(start[2], end[2]) / 2.0, 0.05)
        many = int(np.hypot(*(end - start)[:2]) / (STEP * radius))
        rows.append(start + np.linspace(0, 1, many + 2)[1:-1, None] * (end - start))
    return np.concatenate(rows)


def legend(width: float, y: float, up_to: float) -> list[str]:
    size, steps = width / 3.0, 60
    bars = [
        f'<rect x="{k * size / steps:.2f}" y="{y:.2f}" width="{size / steps + 0.05:.2f}" '
        f'height="4" fill="{colour((k + 0.5) / steps)}"/>'
        for k in range(steps)
    ]
    words = [
        f'<text x="{share * size:.2f}" y="{y + 9:.2f}" text-anchor="{anchor}">{text}</text>'
        for share, anchor, text in ((0, "start", "0"), (1, "end", f"{up_to:g} mm"))
    ]
    return [*bars, *words]


def main(file: str, picture: str, width: float = 120.0, up_to: float = 6.0) -> None:
    stock = Stock("any", "plywood", 3.0, "laser", 0.0, Minimums(1.0, 1.0, 1.0, 0.2, 6.0))
    drawing = read_drawing(Source.open(file))
    plan = plan_drawing(drawing, Job(None, {}), file=file, width=width, stock=stock)
    if plan.extents is None:
        sys.exit(f"{file}: nothing is drawn")
    x0, y0, x1, y1 = plan.extents
    shapes: list[str] = []
    found: list[np.ndarray] = []
    for sheet in plan.sheets:
        arrangement = facts_of(sheet)["arrangement"]
        if len(arrangement.xy):
            shapes.append(f'<path d="{outline(arrangement)}" fill="#d9d9d6" fill-rule="evenodd"/>')
            webs, _ = told(thin(arrangement, up_to, Tolerances()))
            found += [discs(web) for web in webs]
    rows = np.concatenate(found) if found else np.zeros((0, 3))
    rows = rows[np.lexsort((rows[:, 1], rows[:, 0], -rows[:, 2]))]
    shapes += [
        f'<circle cx="{x:.3f}" cy="{y:.3f}" r="{w / 2:.3f}" fill="{colour(w / up_to)}"/>'
        for x, y, w in rows.tolist()
    ]
    shapes += [
        f'<g transform="translate({x0:.2f})" font-family="sans-serif" font-size="4">',
        *legend(x1 - x0, y1 + 4, up_to),
        "</g>",
    ]
    box = f"{x0 - 2:.2f} {y0 - 2:.2f} {x1 - x0 + 4:.2f} {y1 - y0 + 18:.2f}"
    size = f'width="{x1 - x0 + 4:.2f}" height="{y1 - y0 + 18:.2f}"'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="{box}">'
    Path(picture).write_text("\n".join([head, *shapes, "</svg>", ""]), encoding="utf-8")


if __name__ == "__main__":
    if len(sys.argv) > 2:
        main(*sys.argv[1:3], *map(float, sys.argv[3:5]))
    else:
        print(__doc__)
