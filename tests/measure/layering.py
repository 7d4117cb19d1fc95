"""Lays sheets of shapely polygons on one another for the tests of stacks and fits."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import shapely
from making import Sketch

from scantling.measure.facts import Facts

Layer = tuple[Any, Facts]


def layer(
    name: str,
    *figures: shapely.Geometry,
    thickness: float = 3.0,
    kerf: float = 0.0,
    material: str = "plywood",
) -> Layer:
    """A sheet cut from a stock of that name, with each polygon as a part, and its facts."""
    stock = SimpleNamespace(name=name, material=material, thickness=thickness, slot=kerf)
    sketch = Sketch().polygons(p for f in figures for p in shapely.get_parts(f))
    return SimpleNamespace(assigned=name, label=name, stock=stock), sketch.facts()


def design(*stack: str, fit: str | None = None) -> Any:
    return SimpleNamespace(stack=stack, fit=fit)
