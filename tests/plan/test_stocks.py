"""The stock table: the built-in one, its loader, and third parties' tables."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

import scantling_rules
from scantling.plan.checked import BadJob, shipped_schema
from scantling.plan.stocks import DEFAULT, SCHEMA, Formula, load_tables, read_tables

BUILTIN = str(scantling_rules.STOCKS)


def test_the_built_in_table_follows_its_schema() -> None:
    schema = shipped_schema(SCHEMA)
    Draft202012Validator.check_schema(schema)
    with open(BUILTIN, "rb") as stream:
        data = tomllib.load(stream)
    assert not list(Draft202012Validator(schema).iter_errors(json.loads(json.dumps(data))))


def test_the_usual_stocks_are_there() -> None:
    names = set(load_tables([BUILTIN]))
    assert names >= {
        *("acrylic-2", "acrylic-3", "acrylic-5", "plywood-3", "plywood-4", "plywood-6"),
        *("mdf-3", "cork-2", "felt-3", "leather-2", "card-1.5", "film-0.1", DEFAULT),
    }


@pytest.mark.parametrize(
    ("name", "web", "gap", "hole", "part"),
    [  # common practice, no source (from memory); t: thickness
        ("acrylic-2", 1.0, 0.5, 1.0, 6.0),  # the larger of 1.0 and 0.5 t; of 1.0 and 0.4 t
        ("acrylic-3", 1.5, 0.5, 1.2, 6.0),
        ("acrylic-5", 2.5, 0.5, 2.0, 6.0),
        ("plywood-3", 1.2, 0.5, 1.0, 6.0),  # the larger of 1.0 and 0.4 t
        ("plywood-6", 2.4, 0.5, 1.0, 6.0),
        ("mdf-3", 1.5, 0.5, 1.0, 6.0),  # the larger of 1.2 and 0.5 t
        ("cork-2", 2.5, 1.0, 2.0, 10.0),
        ("felt-3", 2.5, 1.0, 2.0, 10.0),
        ("leather-2", 1.5, 0.8, 1.0, 8.0),
        ("card-1.5", 1.0, 0.5, 1.0, 6.0),
        ("film-0.1", 0.8, 0.4, 1.0, 3.0),
    ],
)
def test_minimums(name: str, web: float, gap: float, hole: float, part: float) -> None:
    minimum = load_tables([BUILTIN])[name].minimum
    assert (minimum.web, minimum.gap, minimum.hole, minimum.part) == (web, gap, hole, part)


def test_every_stock_tells_its_source_and_defers() -> None:
    for stock in load_tables([BUILTIN]).values():
        assert "common practice, no source" in stock.source
        assert stock.density is None or stock.density_source
        assert any("safety data sheet" in caution for caution in stock.cautions)
        if stock.process == "laser":
            assert any("fumes" in caution for caution in stock.cautions)
            assert any("fire" in caution for caution in stock.cautions)
            assert any("blinds" in caution for caution in stock.cautions)
        assert 0 <= stock.kerf <= 0.3
        assert stock.brittle is (stock.name.partition("-")[0] in ("acrylic", "mdf"))


def test_film_is_for_blades_only() -> None:
    material = read_tables((BUILTIN,)).material("PVC film")
    assert material is not None
    assert set(material.kerf) == {"blade"}
    assert material.opening("blade") is None


@pytest.mark.parametrize(
    ("word", "name"),
    [
        ("ply", "plywood"),
        ("Birch  Plywood", "plywood"),
        ("MDF", "mdf"),
        ("cast acrylic", "acrylic"),
        ("Cast-Acrylic", "acrylic"),
        ("pmma", "acrylic"),
        ("veg-tanned leather", "leather"),
        ("vegetable tanned leather", "leather"),
        ("adhesive film", "film"),
    ],
)
def test_trade_words(word: str, name: str) -> None:
    material = read_tables((BUILTIN,)).material(word)
    assert material is not None
    assert material.name == name


def test_formula_is_the_larger_one() -> None:
    assert Formula(1.0, 0.5).at(1.5) == 1.0
    assert Formula(1.0, 0.4).at(3.0) == 1.2
    assert Formula(2.0).at(100.0) == 2.0


TABLE = """
[[material]]
name = "slate"
title = "slate tile"
thicknesses = ["5 mm", 8]
kerf = { router = "3 mm" }
minimum = { web = "8 mm", gap = "4 mm", hole = 4, stroke = 0.5, part = "3 cm", part-area = 900 }
"""


def test_a_further_table_adds_to_the_built_in_one(tmp_path: Path) -> None:
    path = tmp_path / "slate.toml"
    path.write_text(TABLE)
    stocks = load_tables([BUILTIN, str(path)])
    assert list(stocks)[-2:] == ["slate-5", "slate-8"]
    assert DEFAULT in stocks
    slate = stocks["slate-8"]
    assert (slate.process, slate.kerf, slate.minimum.part_area) == ("router", 3.0, 900)
    assert slate.source == "common practice, no source"
    assert any("Router" in caution for caution in slate.cautions)  # the built-in process's


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("title =", "titel =", 'slate.toml:4:1: material.titel: unknown key; .*nearest: "title"'),
        ('web = "8 mm"', 'web = "8 furlong"', 'slate.toml:7:13: .*unknown unit "furlong"'),
        ("web = ", "wep = ", "missing key"),
        ("router", "rooter", 'kerf.rooter: unknown key; .*nearest: "router"'),
        ('"slate"', '"plywood"', '"plywood" is already in another stock table'),
        ('"slate"', '"Slate Tile"', "small letters"),
        ("[[material]]", "[material]", "each begin with \\[\\[material\\]\\]"),
        ("900", "nan", "a finite number"),
        ("900", "true", "above 0"),
        ("[[material]]", "[[material", "not TOML"),
        ('["5 mm", 8]', "8", "an array of lengths"),
    ],
)
def test_a_bad_table_says_where(tmp_path: Path, old: str, new: str, said: str) -> None:
    path = tmp_path / "slate.toml"
    path.write_text(TABLE.replace(old, new, 1))
    with pytest.raises(BadJob) as caught:
        load_tables([BUILTIN, str(path)])
    found = [str(problem) for problem in caught.value.problems]
    assert any(re.search(said, line) for line in found), found


def test_a_missing_table_is_one_clear_line(tmp_path: Path) -> None:
    with pytest.raises(BadJob, match="cannot be read: No such file"):
        load_tables([str(tmp_path / "none.toml")])
