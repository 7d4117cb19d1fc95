"""Drawings whose every finding is known beforehand: plates with one feature of random size each,
laid out through transforms, views and `use`. Each feature that is too small is told once, as large
as it is and where it is; nothing else is told."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest
from numpy.typing import NDArray

from scantling.judge import Level
from scantling.judge.finding import Finding
from scantling.linter import Linter, Wanted

KERF = 0.2
NEEDS = {"thin-web": 1.2, "narrow-gap": 0.5, "small-hole": 1.0, "small-part": 6.0}
"""mm, of plywood-3"""
ERROR = 0.02
"""mm: twice the chord tolerance. A rule lets as much pass again."""
CELL = 60.0

Matrix = NDArray[np.float64]


class Feature(NamedTuple):
    """rule that tells of it; finished size; where, None along which it is as thin all over."""

    rule: str
    size: float
    at: tuple[float | None, float | None]


Drawn = tuple[str, Feature]


def box(x: float, y: float, right: float, low: float) -> str:
    return f"M{x!r} {y!r}H{right!r}V{low!r}H{x!r}Z"


def disc(x: float, y: float, r: float) -> str:
    return f"M{x - r!r} {y!r}a{r!r} {r!r} 0 1 0 {2 * r!r} 0a{r!r} {r!r} 0 1 0 {-2 * r!r} 0Z"


PLATE = box(-15.0, -15.0, 15.0, 15.0)


def web(rng: random.Random) -> Drawn:
    w, h = rng.uniform(0.3, 2.4), rng.uniform(1.0, 6.0)
    openings = box(-8.0, -h, -w / 2, h) + box(w / 2, -h, 8.0, h)
    return PLATE + openings, Feature("thin-web", w - KERF, (0.0, None))


def rim(rng: random.Random) -> Drawn:
    w, r = rng.uniform(0.3, 2.4), rng.uniform(2.0, 5.0)
    opening = disc(0.0, 15.0 - w - r, r)
    return PLATE + opening, Feature("thin-web", w - KERF, (0.0, 15.0 - w / 2))


def ring(rng: random.Random) -> Drawn:
    w, r = rng.uniform(0.3, 2.4), rng.uniform(8.0, 14.0)
    return disc(0, 0, r) + disc(0, 0, r - w), Feature("thin-web", w - KERF, (None, None))


def slit(rng: random.Random) -> Drawn:
    g = rng.uniform(0.05, 0.8)
    return PLATE + box(-8.0, -g / 2, 8.0, g / 2), Feature("narrow-gap", g + KERF, (None, 0.0))


def hole(rng: random.Random) -> Drawn:
    r, x, y = rng.uniform(0.15, 1.0), rng.uniform(-8.0, 8.0), rng.uniform(-8.0, 8.0)
    return PLATE + disc(x, y, r), Feature("small-hole", 2 * r + KERF, (x, y))


def token(rng: random.Random) -> Drawn:
    r = rng.uniform(1.5, 4.5)
    return disc(0.0, 0.0, r), Feature("small-part", 2 * r - KERF, (0.0, 0.0))


FEATURES: Sequence[Callable[[random.Random], Drawn]] = (web, rim, ring, slit, hole, token)


def matrix(a: float, b: float, c: float, d: float, e: float, f: float) -> Matrix:
    return np.array([[a, c, e], [b, d, f], [0.0, 0.0, 1.0]])


def written(m: Matrix) -> str:
    return f"matrix({' '.join(repr(v) for v in m[:2].T.ravel().tolist())})"


def turned(degrees: float, mirror: int = 1) -> Matrix:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return matrix(mirror * c, mirror * s, -s, c, 0.0, 0.0)


def placed(rng: random.Random, number: int, data: str, to: Matrix) -> str:
    """A path moved to its place: at once; in steps that shear it and straighten it again; through a
    `use`; or through a view of another scale."""
    path = f'<path fill-rule="evenodd" d="{data}"'
    skew = turned(rng.uniform(0, 360)) @ matrix(1, 0, rng.uniform(-0.6, 0.6), 1.5, 20, -9)
    rest = np.linalg.inv(skew) @ to
    how = rng.choice(("plain", "steps", "use", "view"))
    if how == "plain":
        return f'{path} transform="{written(to)}"/>'
    if how == "steps":
        return f'<g transform="{written(skew)}"><g transform="{written(rest)}">{path}/></g></g>'
    if how == "use":
        inner = f'<defs>{path} id="part-{number}"/></defs><g transform="{written(skew)}">'
        return f'{inner}<use href="#part-{number}" transform="{written(rest)}"/></g>'
    z = rng.uniform(0.2, 5.0)
    view = f'<svg overflow="visible" x="{-20 * z}" y="{-20 * z}" width="{40 * z}" height="{40 * z}"'
    smaller = to @ np.diag([1 / z, 1 / z, 1.0])
    return f'<g transform="{written(smaller)}">{view} viewBox="-20 -20 40 40">{path}/></svg></g>'


def layout(rng: random.Random) -> tuple[str, list[tuple[Feature, Matrix]]]:
    """A drawing; and of each feature what it is and the matrix from its plate to mm on the page."""
    many, unit = rng.randint(2, 6), 10.0 ** rng.uniform(-2.0, 2.5)  # user units in a mm
    off = rng.choice((0.0, rng.uniform(-1e4, 1e4)))
    stretch = rng.choice((1.0, rng.uniform(0.8, 2.0)))
    page = matrix(stretch / unit, 0, 0, 1 / unit, -off * stretch / unit, -off / unit)
    body, known = "", []
    for k in range(many):
        data, feature = rng.choice(FEATURES)(rng)
        middle = matrix(1, 0, 0, 1, (k + 0.5) * CELL * stretch, CELL / 2)
        to = middle @ turned(rng.uniform(0, 360), rng.choice((1, -1)))
        body += placed(rng, k, data, np.linalg.inv(page) @ to)
        known.append((feature, to))
    head = f'width="{many * CELL * stretch}mm" height="{CELL}mm" preserveAspectRatio="none"'
    view = f'viewBox="{off} {off} {many * CELL * unit} {CELL * unit}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {head} {view}>{body}</svg>', known


def here(finding: Finding, feature: Feature, to: Matrix) -> bool:
    assert finding.at is not None
    x, y = (np.linalg.inv(to) @ [*finding.at, 1.0])[:2].tolist()
    return all(
        abs(got) < 20.0 if wanted is None else abs(got - wanted) < 0.05
        for wanted, got in zip(feature.at, (x, y), strict=True)
    )


@pytest.mark.parametrize("seed", range(40))
def test_every_feature_that_is_too_small_is_told_once(seed: int, tmp_path: Path):
    drawing, known = layout(random.Random(seed))
    file = tmp_path / "layout.svg"
    file.write_text(drawing, encoding="utf-8")
    report = Linter(Wanted(stock="plywood-3")).file(str(file))
    assert report.failure is None
    left = [f for f in report.findings if f.rule in NEEDS or f.level > Level.WARNING]
    for feature, to in known:
        lacks = NEEDS[feature.rule] - feature.size
        mine = [f for f in left if f.rule == feature.rule and here(f, feature, to)]
        assert len(mine) <= (lacks > 0.0)
        assert mine or lacks < 2.0 * ERROR
        for finding in mine:
            left.remove(finding)
            assert finding.measured == pytest.approx(feature.size, abs=ERROR + 1e-6)
    assert left == []
