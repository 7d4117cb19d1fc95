"""Figures and pictures: what is drawn, and that nothing else ever is."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scantling.judge.finding import Level
from scantling.report import picture
from scantling.report.figure import PAPER, contrast, figure_of, mark_of, num, visible
from scantling.report.forms import FormError
from scantling.report.model import Manner, Scene, Stroke

SVG = "{http://www.w3.org/2000/svg}"


def drawn(samples, **given):
    manner = Manner(scenes={"clock.svg": samples.scene()}, **given)
    return figure_of(samples.clock(), manner), manner


def test_a_figure_has_sheets_lines_and_marks(samples):
    figure, _ = drawn(samples)
    assert [key.label for key in figure.sheets] == ["walnut-3", "cork-2"]
    assert [layer.sheet for layer in figure.layers] == [0, 0, 1, -1]
    assert [layer.closed for layer in figure.layers] == [True, True, False, False]
    assert [mark.level for mark in figure.marks] == ["error", "warning", "accepted", "note"]
    assert [mark.sheet for mark in figure.marks] == [0, 1, 0, -1]
    # the guide from 0 to 260, the outline down to 238, a mark at y 13; an edge of 3 per cent
    assert figure.home == pytest.approx((-7.8, 5.2, 267.8, 245.8))


def test_thin_places_are_shaded_as_wide_as_they_must_be_and_as_they_are(samples):
    (wanted, found) = mark_of(1, samples.finding(), 0).bands
    assert wanted == ("M110 63L112.4 63.18L115 63.3", 1.2)
    assert found == ("M110 63L112.4 63.18L115 63.3", 0.82)


def test_a_length_that_is_no_width_is_not_drawn_as_one(samples):
    double = samples.finding(measured=12.0, required=None)
    assert mark_of(1, double, 0).bands == (("M110 63L112.4 63.18L115 63.3", None),)


def test_what_is_gone_since_a_baseline_is_not_marked(samples):
    file = replace(samples.clock(), findings=(samples.finding(baseline="absent"),))
    assert figure_of(file, Manner()).marks == ()


def test_what_has_no_place_leaves_nothing_to_draw(samples):
    file = replace(samples.clock(), findings=(samples.finding(at=None, mark=()),))
    figure = figure_of(file, Manner())
    assert figure.empty
    assert [mark.number for mark in figure.marks] == [1]


def test_closed_marks_are_rings(samples):
    ring = (((0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 0.0)),)
    mark = mark_of(1, samples.finding(mark=ring, at=None), 0)
    assert mark.rings == ("M0 0L4 0L4 3Z",)
    assert mark.at == (4.0, 3.0)
    assert mark.box == (-3.0, -3.0, 7.0, 6.0)


def test_numbers_that_are_none_mark_nothing(samples):
    nan = float("nan")
    odd = samples.finding(at=(nan, 1.0), mark=(((nan, 1.0), (math.inf, 2.0)),), measured=nan)
    mark = mark_of(1, odd, 0)
    assert (mark.at, mark.bands, mark.rings, mark.box) == (None, (), (), None)


@pytest.mark.parametrize(
    "path",
    ['M0 0"/><script>alert(1)</script>', "M0 0&#10;", "M0 nanL1 1", "url(x)", "", "M0 0a1 1"],
)
def test_what_is_no_path_data_is_not_drawn(samples, path):
    scene = Scene(size=(10.0, 10.0), strokes=(Stroke(path=path, sheet="walnut-3"),))
    figure = figure_of(samples.clock(), Manner(scenes={"clock.svg": scene}))
    assert figure.layers == ()


def test_a_colour_that_is_none_is_replaced(samples):
    stroke = Stroke(path="M0 0L1 1", sheet="a", colour='red" onload="x')
    figure = figure_of(
        samples.clock(), Manner(scenes={"clock.svg": Scene(size=(9.0, 9.0), strokes=(stroke,))})
    )
    assert re.fullmatch("#[0-9a-f]{6}", figure.layers[0].colour)


def test_black_on_white_is_21_to_1():
    """WCAG 2.2, "contrast ratio": from 1 to 21."""
    assert contrast((0, 0, 0), (255, 255, 255)) == pytest.approx(21.0)
    assert contrast((9, 9, 9), (9, 9, 9)) == 1.0


@given(st.integers(0, 0xFFFFFF))
def test_every_colour_can_be_seen_on_the_paper(colour):
    shown = visible(f"#{colour:06x}")
    rgb = [int(shown[k : k + 2], 16) for k in (1, 3, 5)]
    assert contrast(rgb, [int(PAPER[k : k + 2], 16) for k in (1, 3, 5)]) >= 2.2


@given(st.floats(-1e6, 1e6))
def test_numbers_are_short_and_true(value):
    assert float(num(value)) == pytest.approx(value, abs=5.1e-4)
    assert "e" not in num(value)


def test_a_scale_bar_is_round_and_fits(samples):
    figure, _ = drawn(samples)
    assert figure.bar == 100.0
    assert replace(figure, home=(0.0, 0.0, 20.0, 5.0)).bar == 10.0


def test_a_picture_is_well_formed_and_names_its_findings(samples, report):
    _, manner = drawn(samples)
    root = ElementTree.fromstring(picture.render(report, manner))
    texts = [text.text for text in root.iter(f"{SVG}text")]
    words = " ".join(texts)
    assert "clock.svg" in texts
    assert "error: web 0.82 mm finished, walnut-3 needs 1.20 mm [thin-web]" in words
    assert "Not judged: not well-formed: no element found" in words
    assert "transfer tape" not in words
    assert "3" not in texts  # the number of the accepted one
    assert {node.tag.removeprefix(SVG) for node in root.iter()} <= {
        "svg", "title", "rect", "path", "circle", "text",
    }  # fmt: skip


def test_a_picture_of_hostile_names_holds_no_markup(samples):
    bad = '</text><script>alert(1)</script><a href="//x.example"/>'
    finding = samples.finding(message=bad, file=bad, part=bad)
    drawn = picture.render(samples.report(finding, file=bad), Manner())
    names = {node.tag.removeprefix(SVG) for node in ElementTree.fromstring(drawn).iter()}
    assert not names & {"script", "a", "use", "image", "foreignObject"}


def test_many_drawings_are_cut_to_the_worst(samples):
    files = [replace(samples.clock(), file=f"{k:02}.svg", findings=()) for k in range(20)]
    files[19] = replace(files[19], findings=(samples.finding(level=Level.ERROR),))
    drawn = picture.render(replace(samples.whole(), files=tuple(files)), Manner())
    assert "19.svg" in drawn
    assert "and 8 drawings more: 1 error" in drawn


def test_a_png_has_twice_the_dots(samples, report):
    pytest.importorskip("resvg_py")
    _, manner = drawn(samples, target="a.PNG")
    made = picture.render(report, manner)
    assert made[:8] == b"\x89PNG\r\n\x1a\n"
    assert int.from_bytes(made[16:20], "big") == 2 * picture.WIDTH


def test_without_its_library_a_png_is_one_clear_line(report, monkeypatch):
    import sys

    monkeypatch.setitem(sys.modules, "resvg_py", None)
    with pytest.raises(FormError, match=r"needs resvg"):
        picture.render(report, Manner(target="a.png"))
