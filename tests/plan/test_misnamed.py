"""Layers of the job sheet that a drawing has not, but nearly."""

from __future__ import annotations

from pathlib import Path

import pytest

from scantling.linter import Linter, Wanted

JOB = """
[[assign]]
colour = "#000"
stock = "acrylic-3"
operation = "cut"
[[assign]]
layer = "{}"
stock = "acrylic-3"
operation = "engrave"
"""
DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">
<g id="{}"><path id="rim" d="M5 5H55V55H5Z"/></g></svg>
"""


def notices(assigned: str, layer: str, folder: Path) -> list[str]:
    (folder / "jobsheet.toml").write_text(JOB.format(assigned), "utf-8")
    (folder / "a.svg").write_text(DRAWING.format(layer), "utf-8")
    report = Linter(Wanted()).file(str(folder / "a.svg"))
    assert report.failure is None
    return [notice for notice in report.notices if "assigns layer" in notice]


@pytest.mark.parametrize(
    ("assigned", "layer"),
    [("Badge", "badge"), ("bagde", "badge"), ("top layer", "top_layer"), ("moon 1", "moon-1")],
)
def test_a_slip_in_a_name_is_told(assigned: str, layer: str, tmp_path: Path):
    assert notices(assigned, layer, tmp_path) == [
        f'the job sheet assigns layer "{assigned}", but no layer is called that; '
        f'nearest: "{layer}", which has no assignment'
    ]


@pytest.mark.parametrize(
    ("assigned", "layer"), [("badge", "badge"), ("moon-1", "moon-2"), ("stars", "badge")]
)
def test_a_layer_that_is_there_or_just_not_there_says_nothing(
    assigned: str, layer: str, tmp_path: Path
):
    assert notices(assigned, layer, tmp_path) == []


def test_an_element_is_no_layer(tmp_path: Path):
    assert notices("rim", "badge", tmp_path) == [
        'the job sheet assigns layer "rim", which is an element of the drawing: '
        "only groups are layers, and titles and classes of elements"
    ]
