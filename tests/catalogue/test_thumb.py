"""The small picture of a design."""

from __future__ import annotations

import math
import random
import re

import numpy as np
import pytest
import shapely

from scantling.catalogue.codec import dump, load_as
from scantling.catalogue.row import Thumb
from scantling.catalogue.thumb import MOST, SIDE, thumb_of
from scantling.judge import assigned, stocked
from scantling.linter import Linter
from scantling.plan.jobsheet import read_job
from scantling.read import Source, read_drawing
from scantling.wanted import Wanted

LINTER = Linter(Wanted(width=60.0))
NONE = LINTER.setting("a.svg").job


def thumb(body: str, job: str = "") -> Thumb | None:
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">'
        f"{body}</svg>"
    )
    drawing = read_drawing(Source.from_text(text), LINTER.wanted.limits)
    meant = read_job(job, "jobsheet.toml", tables=LINTER.book.tables) if job else NONE
    linter = Linter() if job else LINTER
    return thumb_of(linter.planned(drawing, "a.svg", meant, None))


def lines(made: Thumb) -> list[np.ndarray]:
    """The runs of points that are drawn, in mm on the page, closed ones closed."""
    runs = []
    for _, _, d in made.layers:
        for start, steps, closed in re.findall(r"M([\d -]+)(?:l([\d -]+))?(Z?)", d):
            numbers = [int(n) for n in re.findall(r"-?\d+", f"{start} {steps}")]
            at = np.cumsum(np.array(numbers).reshape(-1, 2), axis=0)
            at = np.concatenate((at, at[:1])) if closed else at
            runs.append(at * made.unit + made.origin)
    return runs


def test_outlines_are_where_they_are_in_the_drawing():
    made = thumb(
        '<circle cx="30" cy="30" r="30" fill="#1f6f78"/>'
        '<path d="M10 20L50 20" fill="none" stroke="#b5482f"/>'
    )
    assert [(operation, colour) for operation, colour, _ in made.layers] == [
        ("cut", "#1f6f78"), ("cut", "#b5482f"),
    ]  # fmt: skip
    assert made.size == (SIDE, SIDE)
    ring, line = lines(made)
    within = 1.5 * made.unit  # half a unit each for corners, and what is left out between them
    circle = shapely.Point(30, 30).buffer(30, quad_segs=64).exterior
    assert shapely.hausdorff_distance(circle, shapely.LineString(ring)) < within
    assert line == pytest.approx(np.array([[10, 20], [50, 20]]), abs=within)


def test_colours_that_are_none_are_left_out():
    made = thumb('<path d="M0 0H60V60Z" fill="url(#g)" stroke="none"/>')
    assert made is None or all(re.fullmatch("(#[0-9a-f]{6})?", c) for _, c, _ in made.layers)


JOB = stocked("ply", "plywood") + assigned("#00f", "ply") + assigned("#0f0", "ply", "guide")


def box(d: str, fill: str) -> str:
    return f'<path d="{d}" fill="{fill}"/>'


@pytest.mark.parametrize("fill", ["#f00", "#0f0"], ids=["unassigned", "guide"])
def test_what_no_sheet_takes_is_drawn_as_guides(fill: str):
    made = thumb(box("M10 10H40V20H10Z", fill), JOB)
    assert made is not None
    ((operation, colour, _),) = made.layers
    assert (operation, colour) == ("guide", "")
    (ring,) = lines(made)
    within = 1.5 * made.unit
    assert ring == pytest.approx(
        np.array([[10, 10], [40, 10], [40, 20], [10, 20], [10, 10]]), abs=within
    )


def test_it_lies_beside_what_is_made_and_behind_it():
    made = thumb(box("M10 10H40V20H10Z", "#f00") + box("M20 30H50V40H20Z", "#00f"), JOB)
    assert made is not None
    assert [(operation, colour) for operation, colour, _ in made.layers] == [
        ("cut", "#0000ff"), ("guide", ""),
    ]  # fmt: skip
    assert np.array(made.size) * made.unit == pytest.approx([40.0, 30.0], abs=made.unit)


@pytest.mark.parametrize("kind", ["scribble", "dots", "fringe", "point"])
def test_it_is_small_whatever_the_drawing_is(kind: str):
    rolls = random.Random(3)
    if kind == "scribble":
        points = " ".join(f"{rolls.uniform(0, 60):.2f} {rolls.uniform(0, 60):.2f}"
                          for _ in range(2000))  # fmt: skip
        body = f'<path d="M{points}Z"/>'
    elif kind == "dots":
        body = "".join(f'<circle cx="{k % 50}" cy="{k // 50}" r=".4"/>' for k in range(2500))
    elif kind == "fringe":
        turns = [math.tau * k / 1500 for k in range(1500)]
        points = " ".join(
            f"{30 + (29 - 4 * (k % 2)) * math.cos(t):.3f} {30 + 29 * math.sin(t):.3f}"
            for k, t in enumerate(turns)
        )
        body = f'<path d="M{points}Z"/>'
    else:
        body = '<path d="M30 30L30 30" stroke="#000"/>'
    made = thumb(body)
    if made is not None:
        data = dump(made)
        assert len(data) < 4 * MOST * 4
        assert sum(map(len, lines(made))) <= MOST
        assert load_as(Thumb, data) == made
    assert (made is not None) == (kind != "point") or made.layers == ()


def test_what_has_no_lines_has_no_picture():
    assert thumb('<text x="1" y="9">only words</text>') is None
