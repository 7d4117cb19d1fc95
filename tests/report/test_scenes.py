"""Scenes: the lines that were judged, in mm, and nothing of the drawing's source."""

from __future__ import annotations

import json
import re

import pytest

from scantling.api import lint, scenes
from scantling.linter import Linter
from scantling.read import Source, read_drawing
from scantling.scenes import scene_of
from scantling.wanted import Wanted

SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="40mm" viewBox="0 0 50 40">
<path d="M10 10H40V30H10Z" fill="#7a4b2a"/>
<rect x="12" y="12" width="4" height="4" fill="#7a4b2a"/>
<path d="M5 35H45" fill="none" stroke="#112233"/>
<script>alert(1)</script><text x="1" y="9">hostile &lt;b&gt;</text>
</svg>
"""
JOB = """
[[stock]]
name = "ply"
material = "plywood"
thickness = 3
process = "laser"

[[assign]]
colour = "#7a4b2a"
stock = "ply"
operation = "cut"
"""


@pytest.fixture
def drawing(tmp_path):
    path = tmp_path / "moth.svg"
    path.write_text(SVG, "utf-8")
    return path


def planned(path, **wanted):
    linter = Linter(Wanted(**wanted))
    drawing = read_drawing(Source.open(str(path)), linter.wanted.limits)
    return linter.planned(drawing, str(path), linter.setting(str(path)).job, None)


def test_lines_are_drawn_by_sheet_operation_and_colour(drawing, tmp_path):
    (tmp_path / "jobsheet.toml").write_text(JOB, "utf-8")
    scene = scene_of(planned(drawing))
    assert scene.size == pytest.approx((50.0, 40.0))
    cut, beside = scene.strokes
    assert (cut.sheet, cut.operation, cut.colour) == ("ply", "cut", "#7a4b2a")
    # 96 px to the inch and a viewBox in mm: the path's own numbers come out again
    assert cut.path == (
        "M10.0 10.0 40.0 10.0 40.0 30.0 10.0 30.0ZM12.0 12.0 16.0 12.0 16.0 16.0 12.0 16.0Z"
    )
    # what no sheet takes is shown beside it
    assert (beside.sheet, beside.operation) == ("", "guide")
    assert beside.path == "M5.0 35.0 45.0 35.0"


def test_scenes_are_at_the_finished_size(drawing):
    # the artwork is 40 mm wide, from 5 to 45
    plan = planned(drawing, width=80.0)
    scene = scene_of(plan)
    assert scene.size == pytest.approx((100.0, 80.0))
    points = [float(n) for s in scene.strokes for n in re.findall(r"[\d.]+", s.path)]
    assert (min(points[::2]), max(points[::2])) == pytest.approx((10.0, 90.0))


def test_open_lines_are_apart_from_closed_ones(tmp_path):
    path = tmp_path / "a.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9">'
        '<g fill="none" stroke="#123456"><path d="M1 1H8V8Z"/><path d="M2 6H4"/></g></svg>',
        "utf-8",
    )
    one, other = scene_of(planned(path)).strokes
    assert one.path.endswith("Z")
    assert "Z" not in other.path
    assert one.colour == other.colour == "#123456"


def test_every_drawing_of_a_report_has_a_scene(drawing, tmp_path):
    (tmp_path / "bad.svg").write_text("<svg", "utf-8")
    report = lint([str(tmp_path)])
    found = scenes(report)
    assert [file.file for file in report.files if file.file in found] == [
        file.file for file in report.files if file.failure is None
    ]
    assert len(found) == 1


def test_what_is_made_of_nothing_is_drawn_all_the_same(tmp_path):
    """Of a drawing without a finished size: all that it has is guides."""
    (tmp_path / "jobsheet.toml").write_text(
        '[[assign]]\ncolour = "#0f0"\nstock = "card-1.5"\noperation = "guide"\n', "utf-8"
    )
    path = tmp_path / "guides.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="40mm" viewBox="0 0 50 40">'
        '<path fill="#0f0" d="M5 5H9V9Z"/><path fill="#f00" d="M15 5H19V9Z"/></svg>',
        "utf-8",
    )
    report = lint(path)
    assert report.files[0].size is None
    (scene,) = scenes(report).values()
    assert scene.size == pytest.approx((50.0, 40.0))
    (stroke,) = scene.strokes
    assert (stroke.sheet, stroke.operation) == ("", "guide")
    assert stroke.path == "M5.0 5.0 9.0 5.0 9.0 9.0ZM15.0 5.0 19.0 5.0 19.0 9.0Z"


def test_a_drawing_that_is_gone_has_none(drawing):
    report = lint([str(drawing)])
    drawing.unlink()
    assert scenes(report) == {}


def test_the_command_draws(drawing, tmp_path, monkeypatch, capsys):
    from scantling.cli import main

    monkeypatch.setenv("SCANTLING_CACHE", str(tmp_path / "kept"))
    out = tmp_path / "out"
    out.mkdir()
    with pytest.raises(SystemExit) as stop:
        main([
            "lint", str(drawing), "--width", "80",
            *(f"--report={form}={out / name}" for form, name in (
                ("page", "a.html"), ("picture", "a.svg"), ("json", "a.json"),
            )),
        ])  # fmt: skip
    assert stop.value.code == 1  # text that is not converted is an error
    html = (out / "a.html").read_text("utf-8")
    assert "M20.0 20.0 80.0 20.0 80.0 60.0 20.0 60.0Z" in html
    assert "alert(1)" not in html
    assert "M20.0 20.0 80.0 20.0" in (out / "a.svg").read_text("utf-8")
    assert json.loads((out / "a.json").read_text("utf-8"))["files"][0]["size_mm"][0] == 80.0
