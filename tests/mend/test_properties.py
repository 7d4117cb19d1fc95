"""Random defects in random clean drawings: mended, they are the drawings that they were."""

from __future__ import annotations

import math
import random
from collections import Counter
from dataclasses import dataclass, field
from itertools import pairwise

import pytest
import shapely
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from seen import changed, contours
from sketching import HAIR, drawing, findings, mended, page

from scantling.read.flatten import flatten

CELL = 40.0
SIDE = 3
RULES = ("open-path", "duplicate-line", "self-crossing", "stray-fragment")
EASY = settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@dataclass
class Sheet:
    """A clean drawing: one element in each cell of a grid, in ways that vary."""

    chance: random.Random
    filled: bool
    bodies: list[str] = field(default_factory=list)

    def number(self, value: float) -> str:
        text = f"{value:.{self.chance.choice((1, 2, 3))}f}"
        return text.lstrip("0") if text.startswith("0.") and self.chance.random() < 0.5 else text

    def path(self, points: list[tuple[float, float]]) -> str:
        """Path data through points, absolute or relative, some of its sides hardly bent."""
        relative = self.chance.random() < 0.5
        # as they will be read, so that relative numbers add up
        kept = [(round(x, 2), round(y, 2)) for x, y in points]
        d = f"{'m' if relative else 'M'}{kept[0][0]:g} {kept[0][1]:g}"
        for (x, y), (nx, ny) in pairwise(kept):
            ox, oy = (x, y) if relative else (0.0, 0.0)
            end = f"{round(nx - ox, 2):g} {round(ny - oy, 2):g}"
            if self.chance.random() < 0.3:
                bend = self.chance.uniform(-0.5, 0.5)
                handle = f"{(x + nx) / 2 - bend - ox:.2f} {(y + ny) / 2 + bend - oy:.2f}"
                d += f"{'q' if relative else 'Q'}{handle},{end}"
            else:
                d += f"{'l' if relative else 'L'}{end}"
        return d + "Z"

    def points(self, x: float, y: float) -> list[tuple[float, float]]:
        many = self.chance.randint(3, 7)
        radius = self.chance.uniform(9.0, 15.0)
        turn = self.chance.uniform(0.0, math.tau)
        return [
            (x + radius * math.cos(turn + k * math.tau / many),
             y + radius * math.sin(turn + k * math.tau / many))
            for k in range(many)
        ]  # fmt: skip

    def element(self, x: float, y: float) -> str:
        kind = self.chance.choice(("path", "path", "rect", "circle", "polygon", "ellipse"))
        n = self.number
        if kind == "rect":
            rx = self.chance.choice(("", ' rx="2"'))
            return f'<rect x="{n(x - 12)}" y="{n(y - 10)}" width="{n(24)}" height="{n(20)}"{rx}/>'
        if kind == "circle":
            return f'<circle cx="{n(x)}" cy="{n(y)}" r="{n(self.chance.uniform(8, 14))}"/>'
        if kind == "ellipse":
            return f'<ellipse cx="{n(x)}" cy="{n(y)}" rx="{n(13)}" ry="{n(9)}"/>'
        if kind == "polygon":
            points = " ".join(f"{px:.2f},{py:.2f}" for px, py in self.points(x, y))
            return f'<polygon points="{points}"/>'
        return f'<path d="{self.path(self.points(x, y))}"/>'

    def text(self) -> str:
        return whole(self.bodies, self.filled)


def whole(bodies: list[str], filled: bool) -> str:
    paint = 'fill="#000"' if filled else HAIR
    lines = "\n".join(f"  {body} <!-- 🌙 {k} -->" for k, body in enumerate(bodies))
    return page(f"<g {paint}>\n{lines}\n</g>", SIDE * CELL, SIDE * CELL)


def sheet_of(seed: int, filled: bool) -> Sheet:
    chance = random.Random(seed)
    made = Sheet(chance, filled)
    for row in range(SIDE):
        for column in range(SIDE):
            made.bodies.append(made.element((column + 0.5) * CELL, (row + 0.5) * CELL))
    return made


def clean(text: str) -> bool:
    return not [f for f in findings(text) if f.rule in RULES]


seeds = st.integers(0, 10**9)


@EASY
@given(seeds, st.booleans(), st.data())
def test_doubles_go_and_leave_every_byte(seed: int, filled: bool, data: st.DataObject):
    """Copies of elements, each on a line of its own."""
    made = sheet_of(seed, filled)
    clean_text = made.text()
    assume(clean(clean_text))
    chosen = data.draw(st.sets(st.integers(0, SIDE * SIDE - 1), min_size=1, max_size=3))
    copies = "".join(f"\n  {made.bodies[k]}" for k in sorted(chosen))
    spoilt = clean_text.replace("\n</g>", f"{copies}\n</g>")
    assert not clean(spoilt)
    result = mended(spoilt, *RULES)
    assert result.text == clean_text, [left.reason for left in result.left]


@EASY
@given(seeds, st.data())
def test_open_fills_are_closed(seed: int, data: st.DataObject):
    made = sheet_of(seed, True)
    text = made.text()
    paths = [body for body in made.bodies if body.startswith("<path")]
    assume(paths and clean(text))
    chosen = data.draw(st.sets(st.sampled_from(paths), min_size=1))
    spoilt = text
    for body in chosen:
        spoilt = spoilt.replace(body, body.replace('Z"/>', '"/>'))
    assert not clean(spoilt)
    assert mended(spoilt, *RULES).text == text


@EASY
@given(seeds, st.data())
def test_stretches_on_straight_edges_go(seed: int, data: st.DataObject):
    """Lines over a part of an edge, or beyond it: only what lies on the edge goes."""
    made = sheet_of(seed, False)
    text = made.text()
    assume(clean(text))
    read = drawing(text)
    curves = read.curves
    straight = [  # a round corner is within the coincidence tolerance of the line for a while
        k
        for shape in read.shapes
        for k in range(curves.first[shape.contours.start], curves.first[shape.contours.stop])
        if "rx" not in shape.node.attrib
        and curves.kind[k] == 0
        and math.dist(curves.data[k, :2], curves.data[k, 2:4]) > 20.0
    ]
    assume(straight)
    k = data.draw(st.sampled_from(straight))
    scale = 25.4 / 96.0
    (x0, y0), (x1, y1) = curves.data[k, :2] * scale, curves.data[k, 2:4] * scale
    a, b = sorted(data.draw(st.tuples(st.floats(0.1, 0.45), st.floats(0.55, 0.9))))
    beyond = data.draw(st.booleans())
    low, high = (a, b) if not beyond else (a, 1.2)
    at = [(x0 + (x1 - x0) * t, y0 + (y1 - y0) * t) for t in (low, high)]
    if data.draw(st.booleans()):
        at.reverse()
    line = f'<path d="M{at[0][0]:.9f} {at[0][1]:.9f}L{at[1][0]:.9f} {at[1][1]:.9f}"/>'
    spoilt = text.replace("\n</g>", f"\n{line}\n</g>")
    result = mended(spoilt, "duplicate-line")
    if not beyond:
        assert result.text == text
        return
    gone, come = changed(drawing(text), drawing(result.text))
    assert not gone
    assert len(come) == 1
    rest = contours(drawing(result.text))[come[0]][2][0, :4] * scale
    ends = sorted([tuple(rest[:2]), tuple(rest[2:])], key=lambda p: math.dist(p, (x1, y1)))
    assert math.dist(ends[0], (x1, y1)) < 1e-6
    far = (x0 + (x1 - x0) * 1.2, y0 + (y1 - y0) * 1.2)
    assert math.dist(ends[1], far) < 1e-6


@EASY
@given(seeds, st.integers(1, 4), st.data())
def test_stray_fragments_go_and_leave_every_byte(seed: int, many: int, data: st.DataObject):
    made = sheet_of(seed, False)
    text = made.text()
    assume(clean(text))
    strays = []
    for _ in range(many):
        x, y = data.draw(st.tuples(st.floats(1, 119), st.floats(1, 119)))
        dx, dy = data.draw(st.tuples(st.floats(-0.1, 0.1), st.floats(-0.1, 0.1)))
        strays.append(f'<path d="M{x:.3f} {y:.3f}l{dx:.3f} {dy:.3f}"/>')
    spoilt = text.replace("\n</g>", "\n" + "\n".join(strays) + "\n</g>")
    result = mended(spoilt, *RULES)
    assume(not result.left)  # on a line, a stray piece may be a part of it
    assert result.text == text


@EASY
@given(seeds, st.floats(0.12, 0.4), st.booleans(), st.data())
def test_loops_go(seed: int, size: float, relative: bool, data: st.DataObject):
    """A corner that overshoots: both edges run past it, round a loop."""
    chance = random.Random(seed)
    made = Sheet(chance, True)
    points = made.points(60, 60)
    k = data.draw(st.integers(0, len(points) - 1))
    before, corner, after = points[k - 1], points[k], points[(k + 1) % len(points)]

    def past(p: tuple[float, float], q: tuple[float, float]) -> tuple[float, float]:
        """As far again beyond q, coming from p."""
        long = math.dist(p, q)
        return q[0] + (q[0] - p[0]) / long * size, q[1] + (q[1] - p[1]) / long * size

    looped = [*points[:k], past(before, corner), past(after, corner), *points[k + 1 :]]
    if k == len(points) - 1 and data.draw(st.booleans()):  # the loop goes through the start
        looped = [looped[-1], *looped[:-1]]

    def path(ring: list[tuple[float, float]]) -> str:
        if not relative:
            return "M" + "L".join(f"{x:.9f} {y:.9f}" for x, y in ring) + "Z"
        steps = [f"m{ring[0][0]:.9f} {ring[0][1]:.9f}"]
        steps += [f"l{b[0] - a[0]:.9f} {b[1] - a[1]:.9f}" for a, b in pairwise(ring)]
        return "".join(steps) + "z"

    spoilt = page(f'<path d="{path(looped)}"/>', 120, 120)
    crossing = [f for f in findings(spoilt) if f.rule == "self-crossing"]
    assume(crossing)
    result = mended(spoilt, "self-crossing", loop=1.0)
    assert not [f for f in findings(result.text) if f.rule == "self-crossing"], result.left
    scale = 25.4 / 96.0
    ring = shapely.Polygon(flatten(drawing(result.text).curves, 0.01).xy * scale)
    wanted = shapely.Polygon(points)
    assert ring.symmetric_difference(wanted).area == pytest.approx(0.0, abs=1e-5)
    assert not mended(result.text, "self-crossing", loop=1.0).changed


@EASY
@given(seeds, st.booleans())
def test_a_second_run_changes_nothing(seed: int, filled: bool):
    """With everything at once, and nothing else moved."""
    made = sheet_of(seed, filled)
    bodies = [
        body.replace('Z"/>', '"/>') if body.startswith("<path") and k % 2 else body
        for k, body in enumerate(made.bodies)
    ]
    spoilt = whole([*bodies, bodies[0], '<path d="M3 3l.05 0"/>'], filled)
    first = mended(spoilt)
    assert first.changed
    second = mended(first.text)
    assert not second.changed
    assert [one.reason for one in second.left] == [one.reason for one in first.left]
    gone, _ = changed(drawing(spoilt), drawing(first.text))
    assert len(gone) <= len(first.done) + 1


@EASY
@given(st.data())
def test_no_rule_finds_more_than_before(data: st.DataObject):
    """Of lines and plates that lie on one another in all ways, open ones and closed ones."""
    steps = st.integers(1, 9).map(lambda k: 10 * k)
    bodies = []
    for _ in range(data.draw(st.integers(2, 5))):
        x, y, far, end = data.draw(st.tuples(steps, steps, steps, steps))
        turn = data.draw(st.sampled_from(("", "Z")))
        bodies.append(f'<path d="M{x} {y}H{far}V{end}{turn}"/>')
    text = page(f"<g {HAIR}>\n" + "\n".join(bodies) + "\n</g>")
    rules = data.draw(st.sampled_from(((), ("duplicate-line",), ("open-path", "duplicate-line"))))
    result = mended(text, *rules)
    before, after = (
        Counter((finding.rule, finding.stock) for finding in findings(one))
        for one in (text, result.text)
    )
    assert after <= before
    assert not mended(result.text, *rules).changed
