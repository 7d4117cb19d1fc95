"""Drawings of stacked sheets, and the job sheet that stacks them, for the tests of assemblies."""

from __future__ import annotations

from scantling.judge import assigned, page, stocked

BASE, RING, TOP, FILM = "#7a4b2a", "#c89f6d", "#e9e4d8", "#c9a227"
JOB = (
    stocked("base", "plywood", "kerf = 0")
    + stocked("ring", "cork", "kerf = 0", thickness="2 mm")
    + stocked("top", "cast acrylic", "kerf = 0")
    + stocked("film", "adhesive film", thickness="0.1 mm", process="blade")
    + assigned("#7a4b2a", "base")
    + assigned("#c89f6d", "ring")
    + assigned("#e9e4d8", "top")
    + assigned("#c9a227", "film")
    + """
[[design]]
files = "*.svg"
stack = [{stack}]
"""
)
ALL = '"base", "ring", "top", "film"'
PLATE = f'<path id="plate" fill="{BASE}" d="M0 0H100V100H0Z"/>'


def job(rule: str, options: str = "", stack: str = ALL) -> str:
    return JOB.format(stack=stack) + f"\n[rules.{rule}]\n{options}"


def rect(
    x: float, y: float, width: float, height: float, fill: str = TOP, name: str = "bar"
) -> str:
    return f'<rect id="{name}" x="{x}" y="{y}" width="{width}" height="{height}" fill="{fill}"/>'


def drawing(*shapes: str) -> str:
    return page("\n  ".join(shapes), 200, 200)
