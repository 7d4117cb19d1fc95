"""Small drawings, and mending them, for the tests of this room."""

from __future__ import annotations

from pathlib import Path

from scantling.judge.finding import Finding
from scantling.linter import Linter, Wanted
from scantling.mend.mender import Mended, Mender
from scantling.mend.repair import Wish
from scantling.read import Source, read_drawing
from scantling.read.drawing import Drawing

JOB = """
[[stock]]
name = "walnut"
material = "plywood"
thickness = "3 mm"
process = "laser"

[[assign]]
colour = "#7a4b2a"
stock = "walnut"
operation = "cut"
"""
HAIR = 'fill="none" stroke="#000" stroke-width="0.1"'


def page(body: str, width: float = 100, height: float = 100) -> str:
    """A drawing of so many mm, one user unit a mm; each element of the body on its line."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:g}mm" height="{height:g}mm" '
        f'viewBox="0 0 {width:g} {height:g}">\n{body}\n</svg>\n'
    )


def mender(*rules: str, job: Path | None = None, **wish: float) -> Mender:
    """A mender for 3 mm plywood, or for a job sheet."""
    wanted = Wanted(job=str(job)) if job else Wanted(stock="plywood-3")
    return Mender(Linter(wanted), Wish(rules=rules, **wish))  # type: ignore[arg-type]


def mended(text: str, *rules: str, job: Path | None = None, **wish: float) -> Mended:
    """What becomes of a text."""
    return mender(*rules, job=job, **wish).mended(Source.from_text(text, "drawing.svg"), "-")


def findings(text: str, job: Path | None = None) -> list[Finding]:
    """What is found in a text."""
    report, _ = mender(job=job).linter.judged(Source.from_text(text, "drawing.svg"), "-")
    return list(report.findings)


def drawing(text: str) -> Drawing:
    return read_drawing(Source.from_text(text))
