"""blade-engraving: a blade takes nothing away, wherever the engraving comes from."""

from pathlib import Path

import pytest

from scantling.judge import page
from scantling.linter import Linter, Wanted

JOB = """
[[assign]]
colour = "#000"
stock = "plywood-3"
operation = "cut"

[[assign]]
colour = "#06c"
stock = "plywood-3"
operation = "engrave"
"""
PLATE = '<rect x="5" y="5" width="30" height="30"/>'
AREA = '<rect x="{}" y="10" width="8" height="8" fill="#06c"/>'
STROKE = '<path d="M8 25H30" fill="none" stroke="#06c"/>'


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (AREA.format(8), "rect is engraved on film-0.1, but a blade only cuts along lines"),
        (STROKE, "path is engraved on film-0.1, but a blade only cuts along lines"),
        (
            AREA.format(8) + AREA.format(20) + STROKE,
            "3 shapes are engraved on film-0.1, but a blade only cuts along lines",
        ),
    ],
)
def test_a_design_tried_on_a_stock_for_blades(body: str, said: str, tmp_path: Path):
    drawing = tmp_path / "drawing.svg"
    drawing.write_text(page(PLATE + body), encoding="utf-8")
    (tmp_path / "jobsheet.toml").write_text(JOB, encoding="utf-8")
    as_meant = Linter(Wanted()).file(str(drawing))
    assert not [f for f in as_meant.findings if f.rule == "blade-engraving"]
    tried = Linter(Wanted(stock="film-0.1")).file(str(drawing))
    (found,) = [f for f in tried.findings if f.rule == "blade-engraving"]
    assert found.message == said
    assert found.place.line == 2
    assert len(found.related) == body.count("/>") - 1
