"""Engraved shapes that are there twice: one goes, and what is engraved and seen stays."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from seen import picture
from sketching import drawing, findings, mended, mender, page

from scantling.judge import assigned, stocked
from scantling.mend import guard
from scantling.read import Source
from scantling.read.flatten import flatten

BROWN, DARK = "#995533", "#442211"
JOB = (
    stocked("ply", "plywood")
    + assigned("#000", "ply")
    + assigned(BROWN, "ply", "engrave")
    + assigned(DARK, "ply", "engrave")
)
PLATE = '<rect x="2" y="2" width="96" height="96"/>\n'
DISC = f'<circle cx="20" cy="20" r="7" fill="{BROWN}"/>\n'
DARKER = DISC.replace(BROWN, DARK)
AS_PATH = f'<path d="M27 20A7 7 0 0 0 13 20A7 7 0 0 0 27 20Z" fill="{BROWN}"/>\n'
FRAME = f'<path fill="{BROWN}" fill-rule="evenodd" d="M40 40h30v30h-30zM45 45h20v20h-20z"/>\n'
MARK = '<circle cx="24" cy="20" r="2" fill="none" stroke="#000"/>\n'
LARGE = DISC.replace('"7"', '"12"')
LINED = DISC.replace("/>", ' stroke="#000" stroke-width=".1"/>')
RULE = "double-engraving"


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    sheet = tmp_path_factory.mktemp("shop") / "jobsheet.toml"
    sheet.write_text(JOB, encoding="utf-8")
    return sheet


@pytest.mark.parametrize(
    ("body", "new"),
    [
        (DISC * 2, DISC),
        (DISC * 4, DISC),
        (DISC + AS_PATH, DISC),
        (FRAME * 2, FRAME),
        (DISC + FRAME + DISC, DISC + FRAME),
        # what is hidden goes: below another colour, and below what something lies between
        (DISC + DARKER, DARKER),
        (DARKER + DISC + DARKER, DARKER),
        (DISC + MARK + DISC, MARK + DISC),
        (DISC.replace("/>", ' opacity=".4"/>') + DISC, DISC),
        (DISC + '<text x="18" y="22" font-size="4">A</text>\n' + DISC,
         '<text x="18" y="22" font-size="4">A</text>\n' + DISC),
        # a use goes, and what it draws stays
        (DISC.replace("<circle", '<circle id="d"') + '<use href="#d"/>\n',
         DISC.replace("<circle", '<circle id="d"')),
        # an element that something refers to stays, where either may go
        (DISC + DISC.replace("<circle", '<circle id="d"') + '<clipPath id="c"><use href="#d"/>'
         "</clipPath>\n",
         DISC.replace("<circle", '<circle id="d"') + '<clipPath id="c"><use href="#d"/>'
         "</clipPath>\n"),
        (DISC + LINED, LINED),
        # what lies on others besides
        (DISC * 2 + LARGE, DISC + LARGE),
        (LARGE + DISC * 2, LARGE + DISC),
        (DISC + LARGE + DISC, LARGE + DISC),
        (LINED.replace("#000", BROWN) * 2, LINED.replace("#000", BROWN)),
        (f'<g clip-path="url(#c)">\n{DISC * 2}</g><clipPath id="c"><rect width="60" height="60"/>'
         "</clipPath>\n",
         f'<g clip-path="url(#c)">\n{DISC}</g><clipPath id="c"><rect width="60" height="60"/>'
         "</clipPath>\n"),
    ],
)  # fmt: skip
def test_one_of_the_copies_goes(job: Path, body: str, new: str):
    text, wanted = page(PLATE + body), page(PLATE + new)
    result = mended(text, RULE, job=job)
    assert result.text == wanted, [left.reason for left in result.left]
    told = [finding.message for finding in findings(wanted, job) if finding.rule == RULE]
    assert not any("the same shape" in message for message in told)
    assert bool(told) == (LARGE in body)
    assert not mended(wanted, RULE, job=job).changed
    assert other_pixels(text, wanted) == 0


@pytest.mark.parametrize(
    ("body", "reason"),
    [
        (DISC + DISC.replace('"20"', '"24"', 1), "its shapes are not the same one"),
        (DISC + DISC.replace('"7"', '"6.8"'), "its shapes are not the same one"),
        (DISC + DISC.replace("/>", ' opacity=".4"/>'), "it may be seen through"),
        (DISC * 2 + "<style>circle{fill-opacity:.5}</style>", "it may be seen through"),
        (f'{DISC}<g clip-path="url(#c)">{DISC}</g><clipPath id="c"><rect width="20" height="60"/>'
         "</clipPath>", "a clip-path makes it look other than its copy"),
        (LINED + DISC, "its stroke would go with it"),  # half of it is seen
        (LINED + LINED.replace("#000", BROWN), "its stroke would go with it"),
        (LINED + LINED.replace('".1"', '".3"'), "its stroke would go with it"),
        (DISC + MARK + DISC.replace("<circle", '<circle id="d"')
         + '<clipPath id="c"><use href="#d"/></clipPath>', ""),
        (DISC.replace("<circle", '<circle id="d"') + MARK + DISC
         + '<clipPath id="c"><use href="#d"/></clipPath>', "something else in the drawing refers"),
    ],
)  # fmt: skip
def test_what_would_change_more_stays(job: Path, body: str, reason: str):
    text = page(PLATE + body)
    result = mended(text, RULE, job=job)
    if not reason:  # the other one may go
        assert result.changed
        return
    assert not result.changed
    (left,) = (one for one in result.left if one.finding.rule == RULE)
    assert reason in left.reason


def test_it_is_done_without_being_asked_for_by_name(job: Path):
    result = mended(page(PLATE + DISC * 2), job=job)
    assert result.text == page(PLATE + DISC)
    assert [done.message for done in result.done] == ["Keep one of two engraved shapes"]


def test_the_guard_sees_what_is_engraved(job: Path):
    def look(body: str):
        return mender(job=job).look(Source.from_text(page(PLATE + body), "drawing.svg"), "-")

    one = look(DISC)
    assert guard.engraving_changed(look(DISC + AS_PATH), one, {"ply"}) == ""
    for other in (
        DISC + FRAME,
        "",
        DISC.replace('"7"', '"7.2"'),
        DISC + f'<path d="M50 20h20" fill="none" stroke="{BROWN}" stroke-width="2"/>',
    ):
        assert guard.engraving_changed(look(other), one, {"ply"}) == "what is engraved would change"
        assert guard.engraving_changed(one, look(other), {"ply"}) == "what is engraved would change"
        assert guard.engraving_changed(one, look(other), set()) == ""


def other_pixels(old: str, new: str) -> int:
    """How many pixels resvg draws otherwise, each wholly of one colour."""
    crisp = [text.replace("<svg ", '<svg shape-rendering="crispEdges" ') for text in (old, new)]
    one, other = (picture(text, 1.0) for text in crisp)
    return int((one != other).any(axis=2).sum())


def engraved(text: str):
    """What the fills of engraved colours cover, in mm (shapely)."""
    read = drawing(text)
    flat = flatten(read.curves, 0.01)
    areas = []
    for shape in read.shapes:
        if shape.hidden or shape.fill is None or shape.fill.colour[:3] == (0, 0, 0):
            continue
        rings = [flat.xy[flat.first[k] : flat.first[k + 1]] * 25.4 / 96.0 for k in shape.contours]
        area = shapely.Polygon()
        for ring in rings:  # even-odd: the shapes here have no other
            area = area.symmetric_difference(shapely.Polygon(ring))
        areas.append(area)
    return shapely.union_all(areas)


@st.composite
def shapes(draw: st.DrawFn) -> str:
    """A picture of few places and sizes, so that many shapes are there several times."""
    bodies = []
    for _ in range(draw(st.integers(2, 6))):
        x, y = draw(st.tuples(*[st.sampled_from((20, 26, 60))] * 2))
        fill = draw(st.sampled_from((BROWN, BROWN, DARK)))
        more = draw(st.sampled_from(("", "", "", ' opacity=".5"')))
        kind = draw(st.sampled_from(("circle", "arcs", "ring", "mark")))
        bodies.append(
            {
                "circle": f'<circle cx="{x}" cy="{y}" r="7" fill="{fill}"{more}/>',
                "arcs": f'<path d="M{x + 7} {y}A7 7 0 0 0 {x - 7} {y}A7 7 0 0 0 {x + 7} {y}Z" '
                f'fill="{fill}"{more}/>',
                "ring": f'<path d="M{x} {y}h12v12h-12zM{x + 4} {y + 4}h4v4h-4z" fill="{fill}" '
                f'fill-rule="evenodd"{more}/>',
                "mark": f'<path d="M{x - 9} {y}h18" fill="none" stroke="#000"/>',
            }[kind]
        )
    return page(PLATE + "\n".join(bodies))


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(shapes())
def test_what_is_engraved_and_seen_stays(job: Path, text: str):
    result = mended(text, RULE, job=job)
    assert not mended(result.text, RULE, job=job).changed
    off = engraved(text).symmetric_difference(engraved(result.text))
    assert off.buffer(-0.03).is_empty
    assert other_pixels(text, result.text) == 0
    before, after = (
        Counter((f.rule, f.stock) for f in findings(one, job)) for one in (text, result.text)
    )
    assert after <= before
    assert len(result.done) == before[RULE, "ply"] - after[RULE, "ply"]
