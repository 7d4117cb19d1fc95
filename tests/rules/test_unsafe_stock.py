"""unsafe-stock: which words of a material are known, as whole words in any case."""

from pathlib import Path

import pytest

from scantling.judge import page
from scantling.linter import Linter, Wanted
from scantling_rules.safety.unsafe_stock import hazard_of, usual


@pytest.mark.parametrize(
    ("material", "why"),
    [
        ("PVC", "chlorine"),
        ("white pvc, matt", "chlorine"),
        ("Polyvinyl-chloride sheet", "chlorine"),
        ("polyvinylidene film", "chlorine"),
        ("ABS/PC blend", "smoke"),
        ("glass-fibre laminate", "resin"),
        ("Glass  fiber", "resin"),
        ("FR-4", "resin"),
        ("galvanised steel", "zinc"),
        ("sign film", "PVC"),
        ("Pressure-treated pine", "rotting"),
        ("treated plywood", "rotting"),
    ],
)
def test_a_hazard_is_known_by_its_words(material: str, why: str):
    found = hazard_of(material, "laser")
    assert found is not None
    assert why in found.why


@pytest.mark.parametrize(
    "material",
    [
        "cast acrylic",
        "PVC-free film",
        "vinyl free wallpaper",
        "non-pvc",
        "absorbent felt",
        "spc",
        "heat treated wood",
    ],
)
def test_other_words_are_no_hazard(material: str):
    assert hazard_of(material, "laser") is None


@pytest.mark.parametrize(
    ("material", "known"),
    [
        ("plywood", True),
        ("Birch ply", True),
        ("laser poplar plywood", True),
        ("marine plywood", False),  # what glues it, or is painted on it, is not known
        ("painted ply", False),
    ],
)
def test_a_word_before_a_usual_material_makes_another_of_it(material: str, known: bool):
    assert hazard_of(material, "laser") is None
    assert usual(material, "laser") is known


def test_a_blade_may_cut_what_a_laser_may_not():
    assert hazard_of("PVC", "laser")
    assert hazard_of("PVC", "blade") is None


@pytest.mark.parametrize("material", ["PVC foam board", "sign vinyl", "polycarbonate"])
def test_whoever_has_yet_to_give_its_minimums_is_told_too(material: str, tmp_path: Path):
    job = tmp_path / "jobsheet.toml"
    stock = f'name = "sheet"\nmaterial = "{material}"\nthickness = "3 mm"\n'
    job.write_text(f'[[stock]]\n{stock}process = "laser"\n', encoding="utf-8")
    file = tmp_path / "drawing.svg"
    file.write_text(page('<rect x="5" y="5" width="30" height="30"/>'), encoding="utf-8")
    linter = Linter(Wanted())
    assert linter.file(str(file)).failure is not None
    [problem] = map(str, linter.problems)
    assert f'"{material}" must not go into a laser: ' in problem
    assert " Also, " in problem
    job.write_text(f'[[stock]]\n{stock}process = "router"\n', encoding="utf-8")
    linter = Linter(Wanted())
    assert linter.file(str(file)).failure is not None
    assert "must not" not in "".join(map(str, linter.problems))


@pytest.mark.parametrize("name", ["PVC", "pvc-3", "PVC3", "foam_board-5", "fr4-1.6", "fr-4-1.6"])
def test_a_stock_that_nobody_knows_may_be_called_like_a_hazard(name: str, tmp_path: Path):
    file = tmp_path / "drawing.svg"
    file.write_text(page('<rect x="5" y="5" width="30" height="30"/>'), encoding="utf-8")
    failure = Linter(Wanted(stock=name)).file(str(file)).failure
    assert failure is not None
    assert failure.message.startswith(f'"{name}" must not go into a laser: ')
    assert f' Also, no stock is called "{name}"; allowed: ' in failure.message
    assign = f'[[assign]]\ncolour = "#000"\nstock = "{name}"\noperation = "cut"\n'
    (tmp_path / "jobsheet.toml").write_text(assign, encoding="utf-8")
    linter = Linter(Wanted())
    assert linter.file(str(file)).failure is not None
    [problem] = map(str, linter.problems)
    assert f':3:1: assign.stock: "{name}" must not go into a laser: ' in problem


def test_a_stock_that_nobody_knows_need_not_be_a_hazard(tmp_path: Path):
    file = tmp_path / "drawing.svg"
    file.write_text(page('<rect x="5" y="5" width="30" height="30"/>'), encoding="utf-8")
    failure = Linter(Wanted(stock="cork-7")).file(str(file)).failure
    assert failure is not None
    assert failure.message.startswith('no stock is called "cork-7"; allowed: ')


def test_nobody_accepts_it_away(tmp_path: Path):
    job = tmp_path / "jobsheet.toml"
    job.write_text(
        """
[[stock]]
name = "sheet"
material = "PVC"
thickness = "3 mm"
process = "laser"
kerf = 0
minimum = { web = 1, gap = 1, hole = 1, stroke = 0.2, part = 5 }

[[assign]]
colour = "#000"
stock = "sheet"
operation = "cut"

[[accept]]
rule = "unsafe-stock"
reason = "we have always done so"
""",
        encoding="utf-8",
    )
    file = tmp_path / "drawing.svg"
    rect = '<rect x="5" y="5" width="30" height="30"/>'
    body = f'<g data-scantling-accept="unsafe-stock: it is thin">{rect}</g>'
    file.write_text(page(body), encoding="utf-8")
    report = Linter(Wanted()).file(str(file))
    assert [(f.rule, f.accepted) for f in report.findings] == [
        ("unsafe-stock", None),
        ("idle-acceptance", None),
    ]
