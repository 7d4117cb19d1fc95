"""Drawings of stacked sheets, and the job sheet that stacks them, for the tests of assemblies."""

from __future__ import annotations

from scantling.judge import page

BASE, RING, TOP, FILM = "#7a4b2a", "#c89f6d", "#e9e4d8", "#c9a227"
JOB = """
[[stock]]
name = "base"
material = "plywood"
thickness = "3 mm"
process = "laser"
kerf = 0

[[stock]]
name = "ring"
material = "cork"
thickness = "2 mm"
process = "laser"
kerf = 0

[[stock]]
name = "top"
material = "cast acrylic"
thickness = "3 mm"
process = "laser"
kerf = 0

[[stock]]
name = "film"
material = "adhesive film"
thickness = "0.1 mm"
process = "blade"

[[assign]]
colour = "#7a4b2a"
stock = "base"
operation = "cut"

[[assign]]
colour = "#c89f6d"
stock = "ring"
operation = "cut"

[[assign]]
colour = "#e9e4d8"
stock = "top"
operation = "cut"

[[assign]]
colour = "#c9a227"
stock = "film"
operation = "cut"

[[design]]
files = "*.svg"
stack = [{stack}]
"""
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
