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
colour = "#3b3f6b"
stock = "birch-4"
operation = "engrave"

[[assign]]
colour = "#777777"
stock = "card-1"
operation = "cut"
"""
# Curves of every kind, drawn at one user unit a mm.
LEAF = "M20 10C40 -10 80 0 90 30S60 80 40 70Q10 60 12 40T20 10Z"
RECT = '<rect x="5" y="5" width="40" height="20" fill="#1f6f78"/>'
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


PLATE = '<rect id="plate" x="{}" y="5" width="50" height="40"/>'
ENGRAVED = 'fill="#3b3f6b"'
TRACED = 'fill="none" stroke="#3b3f6b" stroke-width="2" stroke-linecap="{}"'
SCORED = 'fill="none" stroke="#b5482f" stroke-width=".2"'


@pytest.mark.parametrize(
    ("mark", "engraved", "scored"),
    [
        (f'<circle {ENGRAVED} cx="30" cy="25" r="10"/>', 100 * math.pi, 0.0),
        (f'<circle {ENGRAVED} cx="5" cy="25" r="10"/>', 50 * math.pi, 0.0),  # half on the part
        (f'<path {ENGRAVED} d="M10 10H30V30H10ZM20 10H40V30H20Z"/>', 600.0, 0.0),
        (2 * f'<path {ENGRAVED} d="M10 10H30V30H10Z"/>', 400.0, 0.0),  # the face, not the passes
        (f'<path {TRACED.format("butt")} d="M10 20H40"/>', 60.0, 0.0),
        (f'<path {TRACED.format("round")} d="M10 20H40"/>', 60.0 + math.pi, 0.0),
        (f'<path {TRACED.format("square")} d="M10 20H40"/>', 64.0, 0.0),
        (f'<circle {TRACED.format("butt")} cx="30" cy="25" r="10"/>', 40 * math.pi, 0.0),
        (f'<rect {TRACED.format("butt")} x="20" y="20" width="8" height="8"/>', 64.0, 0.0),
        (f'<path {SCORED} d="M40 25H80"/>', 0.0, 15.0),  # 15 mm of it on the part
        (f'<path {SCORED} d="M10 10H20V20H10Z"/>', 0.0, 40.0),
    ],
)
def test_what_is_engraved_and_scored_in_closed_form(mark: str, engraved: float, scored: float):
    stock = only(drawn("a.svg", PLATE.format(5), mark))
    (plate,) = stock.parts
    assert plate.engraved == pytest.approx(engraved, rel=2e-3)
    assert plate.scored == pytest.approx(scored, rel=1e-3)
    whole = {50 * math.pi: 100 * math.pi}.get(engraved, engraved)
    assert stock.engraved == pytest.approx(whole, rel=2e-3)


def test_equal_parts_with_other_pictures_are_other_parts():
    body = [PLATE.format(5), PLATE.format(65), PLATE.format(125)]
    body += [f'<circle {ENGRAVED} cx="{x}" cy="25" r="{r}"/>' for x, r in ((30, 5), (150, 5))]
    drawn("a.svg", *body, f'<circle {ENGRAVED} cx="90" cy="25" r="8"/>')
    drawn("b.svg", '<path id="left" d="M5 5H35V13H15V30H5Z"/>',
          '<path id="right" d="M95 5H65V13H85V30H95Z"/>')  # fmt: skip
    stock = only("a.svg", "b.svg")
    assert [(line.count, round(line.engraved / math.pi)) for line in stock.parts] == [
        (2, 25), (1, 64), (1, 0), (1, 0),
    ]  # fmt: skip
    assert [line.mirrors for line in stock.parts] == [None, None, None, 3]


def test_every_form_says_what_is_engraved_and_scored():
    square = f'<path {ENGRAVED} d="M10 10H30V30H10Z"/>'
    drawn("a.svg", PLATE.format(5), square, f'<path {SCORED} d="M10 35H40"/>')
    cuts = listed("a.svg")
    shown = text(cuts)
    assert "[ ] engrave 80 mm, 400 mm²" in shown
    head, row = (line for line in shown.splitlines() if "area mm²" in line or "plate" in line)
    assert head.endswith("engraved mm²  scored mm")
    assert row.split()[-2:] == ["400", "30"]

    (stock,) = json.loads(text(cuts, "json"))["stocks"]
    assert stock["engraved_mm2"] == 400.0
    assert (stock["parts"][0]["engraved_mm2"], stock["parts"][0]["scored_mm"]) == (400.0, 30.0)

    rows = list(csv.DictReader(io.StringIO(text(cuts, "csv"), newline="")))
    said = [(row["operation"], row["engraved_mm2"], row["scored_mm"]) for row in rows]
    assert said == [
        ("engrave", "400.0", ""),
        ("score", "", ""),
        ("cut", "", ""),
        ("", "400.0", "30.0"),
    ]
    assert [row["length_mm"] for row in rows] == ["80.0", "30.0", "180.0", ""]
    assert {row["files"] for row in rows} == {"a.svg"}

    page = text(cuts, "page")
    assert '<th scope="col" class="number">Engraved, mm²</th>' in page
    assert '<td class="number">400</td><td class="number">30</td>' in page


def test_where_nothing_is_engraved_or_scored_nothing_is_said_of_it():
    cuts = listed(drawn("a.svg", PLATE.format(5)))
    assert "engrav" not in text(cuts)
    assert "Engraved, mm²" not in text(cuts, "page")


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
        ('<rect width="40" height="40"/><text x="5" y="20">Fern</text>', "live-text 1"),
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
    forms.deliver(cuts, (forms.Delivery("csv"),))
    assert capsys.readouterr().err == f"torn.svg: warning: {message}\n"
    forms.deliver(cuts, (forms.Delivery("csv"), forms.Delivery("json")))
    assert capsys.readouterr().err == ""


def test_what_is_accepted_takes_nothing_from_the_list():
    accepted = 'data-scantling-accept="open-path: a slit"'
    slit = f'<path {accepted} d="M20 20H30" fill="none" stroke="#1f6f78"/>'
    assert listed(drawn("slit.svg", '<rect width="40" height="40"/>', slit)).unsound == ()


def test_the_list_says_what_to_beware_of_and_of_which_stock():
    drawn("a.svg", RECT, '<rect x="60" y="5" width="40" height="20" fill="#777777"/>')
    cuts = listed("a.svg")
    laser = "Laser: run the extraction and its filter; the fumes harm lungs and machine."
    said = dict(forms.cautions(cuts))
    assert said[laser] == ""
    assert said["Card: catches fire at once where the beam lingers."] == "card-1"
    lines = text(cuts).splitlines()
    assert f"Caution: {laser}" in lines
    assert "Caution (card-1): Card: catches fire at once where the beam lingers." in lines
    assert laser in text(cuts, "page")
    assert [laser in stock["cautions"] for stock in json.loads(text(cuts, "json"))["stocks"]] == [
        True,
        True,
    ]


def test_a_list_keeps_no_quiet_about_a_stock_that_must_not_be_cut_so(
    workshop: Path, capsys: pytest.CaptureFixture[str]
):
    sheet = workshop / "jobsheet.toml"
    sheet.write_text(sheet.read_text("utf-8").replace('"card"', '"film"'), "utf-8")
    drawn("a.svg", '<rect width="40" height="20" fill="#777777"/>')
    drawn("b.svg", '<rect width="40" height="20" fill="#777777"/>')
    cuts = listed("a.svg", "b.svg")
    (hazard,) = cuts.hazards
    assert hazard.startswith("card-1: film must not go into a laser: ")
    assert cuts.unsound == ()
    assert text(cuts).splitlines()[0] == f"scantling: warning: {hazard}"
    assert hazard in text(cuts, "page")
    assert json.loads(text(cuts, "json"))["hazards"] == [hazard]
    forms.deliver(cuts, (forms.Delivery("csv"),))
    assert capsys.readouterr().err == f"scantling: warning: {hazard}\n"
    assert listed(drawn("c.svg", RECT)).hazards == ()


def test_a_list_of_several_drawings_says_which_a_part_is_of_and_shares_what_is_said_of_all(
    workshop: Path,
):
    for k, width in enumerate([20, 20, 30, 40, 50]):
        drawn(f"{k}.svg", f'<rect width="{width}" height="10" fill="#1f6f78"/>')
    cuts = listed(*(f"{k}.svg" for k in range(5)))
    said = "no finished size given: judged at the drawing's own physical size"
    assert list(forms.notices(cuts)) == [("", f"of 5 drawings: {said}")]
    lines = text(cuts).splitlines()
    assert lines[0] == f"scantling: note: of 5 drawings: {said}"
    head = next(line for line in lines if "least web" in line)
    assert head.endswith("drawing")
    column = [line[head.index("drawing") :] for line in lines if line.startswith("  [ ]  ")]
    assert column == ["4.svg", "3.svg", "2.svg"]
    assert next(line for line in lines if line.startswith("  [ ][ ]")).endswith("0.svg, 1.svg")
    assert "; takes 2 of 20 × 10 + 30 × 10 + 40 × 10 + 50 × 10 mm" in text(cuts)
    page = text(cuts, "page")
    assert '<th scope="col">Drawing</th>' in page
    assert "<td>0.svg, 1.svg</td>" in page
    alone = listed("3.svg")
    assert "drawing's own" in text(alone)
    assert '<th scope="col">Drawing</th>' not in text(alone, "page")
    assert list(forms.notices(alone)) == [("3.svg", said)]


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
