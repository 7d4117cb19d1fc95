"""The cut list: its figures against closed forms and against other people's pens."""

import csv
import io
import json
import math
from pathlib import Path

import pytest

from scantling.catalogue import cutlist_forms as forms
from scantling.catalogue.cutlist import CutList, StockList, cut_list
from scantling.wanted import Wanted

JOB = """
[[stock]]
name = "birch-4"
material = "plywood"
thickness = "4 mm"
process = "laser"
kerf = "0.2 mm"
sheet = ["600 mm", "300 mm"]
density = 650
speed = "20 mm"
price = 12.5

[[stock]]
name = "card-1"
material = "card"
thickness = "1 mm"
process = "laser"
kerf = "0 mm"

[[assign]]
colour = "#1f6f78"
stock = "birch-4"
operation = "cut"

[[assign]]
colour = "#b5482f"
stock = "birch-4"
operation = "score"

[[assign]]
colour = "#777777"
stock = "card-1"
operation = "cut"
"""
# Curves of every kind, drawn at one user unit a mm.
LEAF = "M20 10C40 -10 80 0 90 30S60 80 40 70Q10 60 12 40T20 10Z"
HALF = "M110 20A15 15 0 0 1 140 20Z"


@pytest.fixture(autouse=True)
def workshop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "jobsheet.toml").write_text(JOB.replace('"20 mm"', "20"), encoding="utf-8")
    return tmp_path


def drawn(name: str, *body: str) -> str:
    Path(name).write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" '
        f'viewBox="0 0 200 100" fill="#1f6f78">{"".join(body)}</svg>',
        encoding="utf-8",
    )
    return name


def listed(*names: str) -> CutList:
    return cut_list(names, Wanted())


def only(*names: str) -> StockList:
    (stock,) = listed(*names).stocks
    return stock


def text(cuts: CutList, form: str = "text") -> str:
    return b"".join(forms.FORMS[form](cuts)).decode()


@pytest.mark.parametrize("d", [LEAF, HALF, f"{LEAF}{HALF}", "M5 5H55V35H5Z M15 10V30H45V10Z"])
def test_lengths_and_areas_are_those_of_other_pens(d: str):
    """fontTools' pens, which know nothing of this program, walk the same path data. A curve is
    flattened to 0.01 mm, so the area differs by less than that times the length, and the length by
    less than 0.1 % at these radii (an arc of radius r to chord c is too short by c / 3r)."""
    pens = pytest.importorskip("fontTools.pens.perimeterPen")
    from fontTools.pens.areaPen import AreaPen
    from fontTools.svgLib.path import parse_path

    perimeter, area = pens.PerimeterPen(tolerance=1e-4), AreaPen()
    parse_path(d, perimeter)
    parse_path(d, area)
    stock = only(drawn("a.svg", f'<path fill-rule="evenodd" d="{d}"/>'))
    assert stock.cut == pytest.approx(perimeter.value, rel=1e-3)
    assert stock.part_area == pytest.approx(abs(area.value), abs=0.011 * perimeter.value)


def test_a_plate_in_closed_form():
    stock = only(
        drawn(
            "a.svg",
            '<path fill-rule="evenodd" d="M5 5H105V65H5Z M15 15V25H25V15Z"/>',
            '<path fill="none" stroke="#b5482f" stroke-width=".2" d="M30 30H90"/>',
        )
    )
    (plate,) = stock.parts
    assert (stock.cut, stock.score, stock.engrave) == pytest.approx((360, 60, 0))
    assert plate.drawn == pytest.approx((100, 60))
    assert plate.sides == pytest.approx((99.8, 59.8))  # the kerf, 0.2 mm, is gone
    assert plate.drawn_area == pytest.approx(100 * 60 - 100)
    # the tool takes 0.1 mm on each side; round the hole's corners it leaves quarter discs' worth
    hole = 10 * 10 + 4 * 10 * 0.1 + math.pi * 0.1**2
    assert plate.area == pytest.approx(99.8 * 59.8 - hole, abs=1e-3)
    assert (plate.count, plate.holes, stock.drop_outs) == (1, 1, 1)
    assert stock.sizes[0] == pytest.approx((100, 60))
    assert stock.used_area == pytest.approx(6000)
    assert stock.weight == pytest.approx(plate.area * 4 * 1e-9 * 650)
    assert stock.seconds == pytest.approx(360 / 20)
    assert stock.price == pytest.approx(12.5 * 6000 / (600 * 300))


def test_what_is_not_known_is_not_made_up():
    stock = only(drawn("a.svg", '<rect fill="#777777" x="5" y="5" width="40" height="20"/>'))
    assert stock.price is None
    assert stock.seconds is None
    assert stock.sheet_area is None
    data = json.loads(text(listed("a.svg"), "json"))["stocks"][0]
    assert not {"material_price", "cutting_s", "sheet_mm"} & set(data)
    assert stock.parts[0].area == pytest.approx(800)  # no kerf


def test_equal_parts_of_all_drawings_are_counted_together():
    foot = "M5 5H35V13H15V30H5Z"
    drawn("a.svg", f'<path id="foot" d="{foot}"/><path id="brace" d="M50 50H90V60H50Z"/>')
    drawn(
        "b.svg",
        f'<path id="foot" transform="translate(90 70) rotate(130)" d="{foot}"/>'
        f'<path id="back" transform="translate(190 5) scale(-1 1)" d="{foot}"/>',
    )
    stock = only("a.svg", "b.svg")
    by_name = {line.name: line for line in stock.parts}
    assert {name: line.count for name, line in by_name.items()} == {
        "foot": 2, "brace": 1, "back": 1,
    }  # fmt: skip
    assert by_name["foot"].files == ("a.svg", "b.svg")
    assert by_name["back"].mirrors == by_name["foot"].number
    assert [line.number for line in stock.parts] == [1, 2, 3]
    areas = [line.drawn_area for line in stock.parts]
    assert areas == pytest.approx(sorted(areas, reverse=True))
    shown = text(listed("a.svg", "b.svg"))
    assert f"back (mirror image of {by_name['foot'].number})" in shown
    assert "[ ][ ]" in shown


def test_the_least_web_is_told_or_how_far_was_looked():
    drawn("a.svg", '<path fill-rule="evenodd" d="M5 5H105V65H5Z M6 15V25H25V15Z"/>')
    (plate,) = only("a.svg").parts
    assert plate.least_web == pytest.approx(0.8, abs=0.01)
    drawn("b.svg", '<path d="M5 5H105V65H5Z"/>')
    (plate,) = only("b.svg").parts
    assert plate.least_web is None
    assert f"over {plate.measured_to:.2f}" in text(listed("b.svg"))


def test_every_part_has_its_box_and_no_part_is_forgotten():
    drawn("a.svg", *(f'<circle cx="{10 + 20 * n}" cy="20" r="8"/>' for n in range(9)))
    shown = text(listed("a.svg"))
    assert "[ ] × 9" in shown
    assert "[ ] cut" in shown
    page = text(listed("a.svg"), "page")
    assert page.count('<input type="checkbox"') == 9 + 1  # each part, and cutting
    assert "circle, 9 of 9" in page


def test_csv_has_every_part_and_operation():
    drawn(
        "a.svg",
        '<rect id="=door" x="5" y="5" width="40" height="20"/>',
        '<path fill="none" stroke="#b5482f" stroke-width=".2" d="M10 10H40"/>',
    )
    rows = list(csv.DictReader(io.StringIO(text(listed("a.svg"), "csv"), newline="")))
    assert [(row["operation"], row["length_mm"]) for row in rows[:2]] == [
        ("score", "30.0"), ("cut", "120.0"),
    ]  # fmt: skip
    assert rows[2]["name"] == "'=door"  # no formula
    assert float(rows[2]["long_side_mm"]) == pytest.approx(39.8)


def test_a_file_that_cannot_be_read_costs_no_other():
    Path("bad.svg").write_text("<svg", encoding="utf-8")
    drawn("a.svg", '<rect x="5" y="5" width="40" height="20"/>')
    cuts = listed("bad.svg", "missing.svg", "a.svg")
    assert cuts.exit_code == 2
    assert [failure.file for failure in cuts.failures] == ["bad.svg", "missing.svg"]
    assert cuts.stocks[0].count == 1
    assert text(cuts).startswith("bad.svg:1:")


@pytest.mark.parametrize(
    ("body", "why"),
    [
        ('<path d="M10 10H40V40H10V12" fill="none" stroke="#1f6f78"/>', "open-path 1"),
        ('<path d="M10 10H40V40H10Z"/><path d="M30 30H60V60H30Z"/>', "crossing-cuts 1"),
        ('<rect width="9" height="9"/><rect width="40" height="40" fill="#123456"/>',
         "unassigned-colour 1"),
    ],
)  # fmt: skip
def test_a_list_of_an_unsound_drawing_says_so(
    body: str, why: str, capsys: pytest.CaptureFixture[str]
):
    name, sound = drawn("torn.svg", body), drawn("sound.svg", '<rect width="9" height="9"/>')
    cuts = listed(name, sound)
    said = f"its parts, lengths and areas cannot be trusted until it is mended ({why}); "
    ((file, message),) = cuts.unsound
    assert (file, message) == (name, f"{said}scantling lint says where")
    assert text(cuts).splitlines()[0] == f"torn.svg: warning: {message}"
    assert json.loads(text(cuts, "json"))["unsound"] == [{"file": file, "message": message}]
    assert said in text(cuts, "page")
    forms.deliver(cuts, (forms.Wanted("csv"),))
    assert capsys.readouterr().err == f"torn.svg: warning: {message}\n"
    forms.deliver(cuts, (forms.Wanted("csv"), forms.Wanted("json")))
    assert capsys.readouterr().err == ""


def test_what_is_accepted_takes_nothing_from_the_list():
    accepted = 'data-scantling-accept="open-path: a slit"'
    slit = f'<path {accepted} d="M20 20H30" fill="none" stroke="#1f6f78"/>'
    assert listed(drawn("slit.svg", '<rect width="40" height="40"/>', slit)).unsound == ()


def test_names_are_shown_as_text():
    drawn("a.svg", '<rect id="&lt;script&gt;" x="5" y="5" width="40" height="20"/>')
    page = text(listed("a.svg"), "page")
    assert "<script>" in page  # ours
    assert "&lt;script&gt;" in page
    assert page.count("<script") == 1


def test_the_command_writes_every_form(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    from scantling.cli import main

    drawn("a.svg", '<rect id="door" x="5" y="5" width="40" height="20"/>')
    reports = [f"{form}={tmp_path / form}" for form in ("csv", "json", "page")]
    with pytest.raises(SystemExit) as stop:
        main(["parts", "a.svg", *(word for r in ["text", *reports] for word in ("--report", r))])
    assert stop.value.code == 0
    assert "door" in capsys.readouterr().out
    for form in ("csv", "json", "page"):
        assert "door" in (tmp_path / form).read_text(encoding="utf-8")
