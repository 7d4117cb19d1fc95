"""The job sheet: found, read, and every problem told with its place."""

from __future__ import annotations

import contextlib
import os
import pickle
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

import scantling_rules
from scantling.plan.checked import LARGEST, shipped_schema
from scantling.plan.jobsheet import (
    SCHEMA,
    BadJob,
    find_job,
    load_job,
    read_job,
    schema_for,
)
from scantling.plan.model import Acceptance, Assignment, Design, Job
from scantling.read.drawing import Colour

TABLES = (str(scantling_rules.STOCKS),)
RULES: dict[str, dict[str, Any]] = {
    "thin-web": {},
    "small-part": {},
    "close-parts": {
        "least": {"type": "number", "x-unit": "mm", "default": 2, "minimum": 0, "maximum": 100},
        "share": {"type": "number", "default": 0.5, "minimum": 0, "maximum": 1},
        "which": {"enum": ["all", "kept"], "default": "all"},
    },
}


def read(text: str) -> Job:
    return read_job(text, "shop/jobsheet.toml", rules=RULES, tables=TABLES)


def problems(text: str) -> list[str]:
    with pytest.raises(BadJob) as caught:
        read(text)
    return [str(problem) for problem in caught.value.problems]


WALNUT = """
[[stock]]
name = "walnut-3"
material = "plywood"
thickness = "3 mm"
"""

WHOLE = """
[[stock]]
name = "walnut-3"
material = "plywood"
thickness = "3 mm"
process = "laser"
kerf = "0.18 mm"
sheet = ["600 mm", "400 mm"]
minimum = { web = "1.2 mm", gap = "0.5 mm", hole = "1.0 mm", stroke = "0.2 mm", part = "6 mm" }

[[stock]]
name = "pearl-4"
material = "cast acrylic"
thickness = "4 mm"
compensated = true
brittle = false
bed-opening = "1/4 in"
density = 1200
speed = 12
price = 31.5
cautions = ["Peel the film after cutting."]
source = "the workshop's own trials"
minimum = { web = { least = "1 mm", thickness = 0.75 }, part-area = 40 }

[[assign]]
colour = "#7a4b2a"
stock = "walnut-3"
operation = "cut"

[[assign]]
layer = "moon"
colour = "teal"
stock = "pearl-4"
operation = "engrave"

[[assign]]
layer = "moon"
stock = "cork-2"
operation = "score"

[[assign]]
colour = "red"
operation = "guide"

[[design]]
files = "clock/*.svg"
width = "260 mm"
stack = ["walnut-3", "acrylic-5"]
fit = "snug"

[[design]]
files = "**"
height = 120

[rules.small-part]
level = "warning"

[rules.close-parts]
least = "1/8 in"
share = 0.25

[[accept]]
rule = "thin-web"
reason = \"\"\"held by
the tape\"\"\"
files = "clock/*.svg"
element = "star"
at = ["-12 mm", 30]
within = "2 mm"
until = 2031-12-31

[[accept]]
rule = "small-part"
reason = "wanted"
until = "2031-01-02"

[tolerance]
join = "0.1 mm"
chord = 0.02
"""


def line_of(words: str) -> int:
    return WHOLE[: WHOLE.index(words)].count("\n") + 1


def test_a_whole_job_sheet() -> None:
    job = read(WHOLE)
    assert job.path == "shop/jobsheet.toml"
    assert list(job.stocks) == ["walnut-3", "pearl-4", "cork-2", "acrylic-5"]
    assert job.assignments == (
        Assignment(Colour(0x7A, 0x4B, 0x2A), None, "walnut-3", "cut"),
        Assignment(Colour(0, 128, 128), "moon", "pearl-4", "engrave"),
        Assignment(None, "moon", "cork-2", "score"),
        Assignment(Colour(255, 0, 0), None, "", "guide"),
    )
    assert job.designs == (
        Design(
            "clock/*.svg",
            260.0,
            None,
            ("walnut-3", "acrylic-5"),
            "snug",
            line=line_of("[[design]]"),
        ),
        Design("**", None, 120.0, (), None, line=line_of('[[design]]\nfiles = "**"')),
    )
    assert job.rules == {
        "small-part": {"level": "warning"},
        "close-parts": {"least": 3.175, "share": 0.25},
    }
    assert job.accepted == (
        Acceptance(
            "thin-web",
            "held by the tape",
            "clock/*.svg",
            "star",
            (-12.0, 30.0),
            2.0,
            "2031-12-31",
            line=line_of("[[accept]]"),
        ),
        Acceptance(
            "small-part", "wanted", until="2031-01-02", line=line_of('[[accept]]\nrule = "small')
        ),
    )
    assert (job.join_tolerance, job.coincidence, job.chord) == (0.1, 0.05, 0.02)
    assert job.default_stock is None


def test_a_stock_inherits_from_its_material_and_overrides() -> None:
    stocks = read(WHOLE).stocks
    walnut, pearl = stocks["walnut-3"], stocks["pearl-4"]
    assert (walnut.material, walnut.process, walnut.kerf) == ("plywood", "laser", 0.18)
    assert walnut.sheet == (600.0, 400.0)
    assert walnut.brittle is False
    assert walnut.source.startswith("the job sheet")
    assert pearl.kerf == 0.2  # cast acrylic by laser, from the built-in table
    assert pearl.slot == 0.0  # its outlines are kerf-compensated
    assert pearl.brittle is False  # its material's is True
    assert pearl.bed_opening == 6.35  # 1/4 in
    minimum = pearl.minimum  # web: the larger of 1 and 0.75 · 4; hole: of 1 and 0.4 · 4
    assert (minimum.web, minimum.gap, minimum.hole) == (3.0, 0.5, 1.6)
    assert minimum.part_area == 40
    assert (pearl.density, pearl.density_source) == (1200, "the job sheet")
    assert pearl.cautions[0] == "Peel the film after cutting."
    assert any("Acrylic burns" in caution for caution in pearl.cautions)
    assert pearl.source == "the workshop's own trials"


def test_no_opening_is_narrower_than_a_tool_that_goes_into_it() -> None:
    routed = """
[[stock]]
name = "ply-12"
material = "plywood"
thickness = "12 mm"
process = "router"
kerf = "3.2 mm"
"""
    alone = read(routed).stocks["ply-12"].minimum
    assert (alone.gap, alone.hole) == (0.5, 1.0)  # the kerf widens what is drawn
    offset = read(routed + "compensated = true").stocks["ply-12"].minimum
    assert (offset.gap, offset.hole) == (3.2, 3.2)
    assert offset.web == alone.web
    thin = read(routed.replace("3.2", "0.7") + "compensated = true").stocks["ply-12"].minimum
    assert (thin.gap, thin.hole) == (0.7, 1.0)


def test_an_unknown_material_brings_all_its_own() -> None:
    own = (
        '[[stock]]\nname = "m"\nmaterial = "moon cheese"\nthickness = 4\nprocess = "laser"\n'
        "kerf = 0.2\nminimum = { web = 1, gap = 1, hole = 1, stroke = 1, part = 5 }\n"
    )
    stock = read(own).stocks["m"]
    assert (stock.material, stock.source) == ("moon cheese", "the job sheet")
    assert any("never leave it running alone" in caution for caution in stock.cautions)
    (said,) = problems(own.replace("gap = 1, ", "").replace('process = "laser"\nkerf = 0.2\n', ""))
    assert said.startswith("shop/jobsheet.toml:3:1: stock.material: the stock table does not know")
    assert "must give process, kerf, minimum.gap itself" in said


def test_no_job_sheet_and_one_without_assignments() -> None:
    job = load_job(None, tables=TABLES)
    assert (job.path, job.default_stock, list(job.stocks)) == (None, "acrylic-3", ["acrylic-3"])
    assert read(WALNUT).default_stock == "walnut-3"
    assert read("").default_stock == "acrylic-3"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        # line, column, key, what was found, what is allowed, the nearest valid word
        ("widht = 3", '1:1: widht: unknown key; allowed: stock, assign, design, rules, '),
        ("stocks = 3", '1:1: stocks: unknown key; .*; nearest: "stock"'),
        ("[stock]", r"1:2: stock: found a table; allowed: entries that each begin with \[\[stock"),
        (WALNUT + "kref = 1", '6:1: stock.kref: unknown key; .*nearest: "kerf"'),
        (WALNUT + 'process = "lazer"', '6:1: stock.process: found "lazer"; allowed: laser, blade, '
         'router; nearest: "laser"'),
        (WALNUT + 'kerf = "0.2 mn"', '6:1: stock.kerf: .*unknown unit "mn"; allowed: mm, .*nearest'
         ': "mm"'),
        (WALNUT + "kerf = -1", "6:1: stock.kerf: -1 is negative; allowed: a length such as"),
        (WALNUT + "kerf = true", "6:1: stock.kerf: found true; allowed: a length such as"),
        (WALNUT + "kerf = nan", "6:1: stock.kerf: found nan; allowed: a finite number"),
        (WALNUT + "kerf = 1e9", "6:1: stock.kerf: .* is too long"),
        (WALNUT + 'kerf = "3"', '6:1: stock.kerf: "3" has no unit'),
        (WALNUT + "brittle = 1", "6:1: stock.brittle: found 1; allowed: true or false"),
        (WALNUT + "sheet = [1]", r"6:1: stock.sheet: found \[1\]; allowed: two lengths"),
        (WALNUT + "sheet = [1, 2, 3]", "6:1: stock.sheet: .*two lengths"),
        (WALNUT + 'sheet = [1, "x"]', '6:13: stock.sheet: "x" is not a length'),
        (WALNUT + "density = 0", "6:1: stock.density: found 0; allowed: a number of kg/m³"),
        (WALNUT + "minimum = { web = 0 }", "6:13: stock.minimum.web: 0 is not above 0"),
        (WALNUT + "minimum = { wep = 1 }", '6:13: stock.minimum.wep: unknown key.*nearest: "web"'),
        (WALNUT + "minimum = { web = { least = 1 } }", '6:13: .*web: missing key "thickness"'),
        (WALNUT + "minimum = { web = { least = 0, thickness = 0 } }", "6:13: .*a minimum of 0"),
        (WALNUT + "minimum.web = [1]", r"6:9: stock.minimum.web: found \[1\]; allowed: a length"),
        (WALNUT + 'process = "router"', '2:1: stock: missing key "kerf": the stock table has none '
         'for "plywood" by router, only by laser'),
        (WALNUT + WALNUT, '8:1: stock.name: the name "walnut-3" is taken by the stock in line 2'),
        ('[[stock]]\nname = ""', '2:1: stock.name: found ""; allowed: text on one line'),
        ('[[stock]]\nname = "a\\n"', "2:1: stock.name: .*allowed: text on one line"),
        ("[[stock]]", '1:1: stock: missing key "material"'),
        (WALNUT.replace("plywood", "plywoud"), '4:1: .*not know the material "plywoud".*nearest: "p'
         'lywood"'),
        ('[[assign]]\ncolour = "#12"', '2:1: assign.colour: "#12" is not a colour; allowed: "#rr'),
        ('[[assign]]\ncolour = "redd"', '2:1: assign.colour: .*nearest: "red"'),
        ('[[assign]]\ncolour = "#f008"', '2:1: assign.colour: .*not opaque'),
        ("[[assign]]\ncolour = 3", "2:1: assign.colour: found 3; allowed: text"),
        ('[[assign]]\nlayer = ""', "2:1: assign.layer: .*allowed: text"),
        ('[[assign]]\noperation = "cutt"', '2:1: assign.operation: found "cutt"; allowed: cut, '
         'score, engrave, guide; nearest: "cut"'),
        ('[[assign]]\noperation = "cut"', "1:1: assign: missing key: give a colour, a layer, or b"),
        ('[[assign]]\ncolour = "red"\noperation = "cut"', '1:1: assign: missing key "stock"'),
        (WALNUT + '[[assign]]\nstock = "walnut"', '7:1: assign.stock: no stock is called "walnut"; '
         'allowed: walnut-3, acrylic-2, .*; nearest: "walnut-3"'),
        ('[[assign]]\ncolour = "red"\noperation = "guide"\n[[assign]]\ncolour = "#f00"\n'
         'operation = "guide"', "4:1: assign: #f00 is assigned in line 1 already"),
        ('[[design]]\nfiles = "*"\nwidth = "10 px"', "3:1: design.width: .*a pixel is not a l"),
        ('[[design]]\nfiles = "*"\nwidth = 0', "3:1: design.width: 0 is not above 0"),
        ('[[design]]\nfiles = "a\\\\b"', "2:1: design.files: .*with forward slashes"),
        ('[[design]]\nfiles = "/a"', "2:1: design.files: .*relative to the job sheet"),
        ('[[design]]\nfiles = "*"\n[[design]]\nfiles = "*"', '4:1: .*"\\*" has a design in line 1'),
        ('[[design]]\nfiles = "*"\nstack = ["cork-2", "crok-2"]', '3:20: design.stack: no stock is '
         'called "crok-2"; .*nearest: "cork-2"'),
        ('[[design]]\nfiles = "*"\nstack = ["cork-2", "cork-2"]', '3:20: .*is in the stack twice'),
        ('[[design]]\nfiles = "*"\nfit = "tight"', '3:1: design.fit: .*allowed: drop-in, snug'),
        ("[rules.thin-wob]", '1:8: rules.thin-wob: unknown key; .*nearest: "thin-web"'),
        ('[rules.thin-web]\nlevel = "of"', '2:1: rules.thin-web.level: found "of"; allowed: error, '
         'warning, note, off; nearest: "off"'),
        ("[rules.close-parts]\nleest = 1", '2:1: rules.close-parts.leest: unknown key; allowed: '
         'level, least, share, which; nearest: "least"'),
        ("[rules.close-parts]\nleast = 101", "2:1: .*found 101; allowed: .*at least 0 and at most"),
        ('[rules.close-parts]\nleast = "11 cm"', '2:1: .*found "11 cm"; allowed: .*at most 100'),
        ('[rules.close-parts]\nleast = "11 cc"', '2:1: .*unknown unit "cc"'),
        ('[rules.close-parts]\nshare = "1 mm"', '2:1: .*found "1 mm"; allowed: a number at least'),
        ('[rules.close-parts]\nwhich = "al"', '2:1: .*found "al"; allowed: all, kept; nearest: "'),
        ("rules = 3", "1:1: rules: found 3; allowed: tables such as"),
        ('[[accept]]\nrule = "thin-web"', '1:1: accept: missing key "reason"'),
        ('[[accept]]\nreason = " "', '2:1: accept.reason: .*allowed: the reason in words'),
        ('[[accept]]\nrule = "thin-wib"', '2:1: accept.rule: no rule is called "thin-wib"; allowed:'
         ' thin-web, small-part, close-parts; nearest: "thin-web"'),
        ("[[accept]]\nuntil = 2031-13-01", "2:13: not TOML"),
        ('[[accept]]\nuntil = "2031-13-01"', '2:1: accept.until: .*allowed: a date such as'),
        ("[[accept]]\nuntil = 2031-12-01T10:00:00", "2:1: accept.until: .*allowed: a date such as"),
        ("[[accept]]\nuntil = 10:00:00", "2:1: accept.until: .*allowed: a date such as"),
        ("[[accept]]\nat = [1]", "2:1: accept.at: .*allowed: two lengths"),
        ("[[accept]]\nwithin = 1", '2:1: accept.within: means nothing without "at"'),
        ("[tolerance]\njoin = 0", "2:1: tolerance.join: 0 is not above 0"),
        ("tolerance = 1", "1:1: tolerance: found 1; allowed: a table"),
        ("a =", "1:.*not TOML: Invalid value"),
        ("a = 1\na = 2", "2:.*not TOML: Cannot overwrite"),
        ("a = " + "[" * 5000, "nested too deeply|not TOML"),
    ],
)  # fmt: skip
def test_a_problem_names_place_key_found_allowed_nearest(text: str, said: str) -> None:
    import re

    found = problems(text)
    assert any(re.match(f"shop/jobsheet.toml(:|: ){said}", line) for line in found), found
    assert all("\n" not in line for line in found)


def test_all_problems_come_at_once_in_text_order() -> None:
    found = problems(
        WALNUT.replace("plywood", "plywoud")
        + 'kerf = -1\ncolour = 1\n[[assign]]\ncolour = "redd"\nstock = "x"\noperation = "cut"\n'
        '[[design]]\nfiles = "*"\nwidth = "1 px"\nstack = ["y"]\n[rules.x]\n'
    )
    lines = [int(line.split(":")[1]) for line in found]
    assert lines == sorted(lines) == [4, 6, 7, 9, 10, 14, 15, 16]


def test_a_stock_that_is_bad_is_still_a_stock_for_assignments() -> None:
    found = problems(
        WALNUT + 'kerf = -1\n[[assign]]\ncolour = "red"\nstock = "walnut-3"\noperation = "cut"'
    )
    assert len(found) == 1


def test_without_rules_their_names_are_not_checked() -> None:
    job = read_job('[rules.anything]\nlevel = "off"\nx = 1', "j", tables=TABLES)
    assert job.rules == {"anything": {"level": "off", "x": 1}}


def test_a_kerf_of_nought_is_one() -> None:
    assert read(WALNUT + "kerf = 0").stocks["walnut-3"].kerf == 0.0


def test_rules_of_its_own() -> None:
    job = read('rules-from = ["rules/ours.py"]\n[rules.ours]\nlevel = "off"')
    assert job.rules_from == (os.path.join("shop", "rules/ours.py"),)
    assert job.rules["ours"] == {"level": "off"}
    (said,) = problems("rules-from = 3")
    assert said.endswith('found 3; allowed: an array of paths such as ["rules/our_rules.py"]')


def test_a_job_sheet_may_replace_a_built_in_stock() -> None:
    job = read(WALNUT.replace("walnut-3", "plywood-3") + 'kerf = "0.3 mm"')
    assert job.stocks["plywood-3"].kerf == 0.3


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"\xff", "1:1: byte 0xff is not UTF-8"),
        (b"a = 1\nb = '\xc3'", "2:6: byte 0xc3 is not UTF-8"),
        (b"\x00", "1:1: not TOML"),
        (b"#" * (LARGEST + 1), f"larger than the limit of {LARGEST} bytes"),
    ],
)
def test_bytes_that_are_no_job_sheet(tmp_path: Path, data: bytes, said: str) -> None:
    path = tmp_path / "jobsheet.toml"
    path.write_bytes(data)
    with pytest.raises(BadJob) as caught:
        load_job(path, tables=TABLES)
    assert said in str(caught.value)


def test_a_byte_order_mark_and_crlf_are_fine(tmp_path: Path) -> None:
    path = tmp_path / "jobsheet.toml"
    path.write_bytes(b"\xef\xbb\xbf" + WHOLE.replace("\n", "\r\n").encode())
    job = load_job(path, rules=RULES, tables=TABLES)
    assert job.designs == read(WHOLE).designs
    assert job.accepted == read(WHOLE).accepted


def test_a_missing_or_unreadable_file(tmp_path: Path) -> None:
    for path in (tmp_path / "none.toml", tmp_path, "a\0b"):
        with pytest.raises(BadJob, match="cannot be read"):
            load_job(path, tables=TABLES)


def test_problems_survive_pickling() -> None:
    with pytest.raises(BadJob) as caught:
        read("a = 1\nb = 2")
    again = pickle.loads(pickle.dumps(caught.value))
    assert again.problems == caught.value.problems
    assert str(again) == str(caught.value)
    assert str(again).endswith("(and 1 more)")


def test_the_nearest_job_sheet_upward(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    below = tmp_path / "clock" / "old"
    below.mkdir(parents=True)
    (tmp_path / "jobsheet.toml").touch()
    drawing = below / "moon.svg"
    assert find_job(drawing) == str(tmp_path / "jobsheet.toml")
    (tmp_path / "clock" / "jobsheet.toml").mkdir()  # a folder is no job sheet
    assert find_job(drawing) == str(tmp_path / "jobsheet.toml")
    (below / "jobsheet.toml").touch()
    assert find_job(drawing) == find_job(below) == str(below / "jobsheet.toml")
    monkeypatch.chdir(tmp_path / "clock")
    assert find_job("moon.svg") == os.path.join("..", "jobsheet.toml")
    assert find_job(os.path.join("old", "moon.svg")) == os.path.join("old", "jobsheet.toml")
    assert find_job("<text>") == os.path.join("..", "jobsheet.toml")
    assert find_job("a\0b") == find_job("a")


def test_the_schema_is_a_schema_and_tells_everything() -> None:
    for schema in (shipped_schema(SCHEMA), schema_for(RULES)):
        Draft202012Validator.check_schema(schema)
    schema = shipped_schema(SCHEMA)

    def undescribed(part: Any, path: str) -> list[str]:
        if not isinstance(part, dict):
            return []
        own = [] if {"description", "$ref"} & set(part) else [path]
        for key, below in part.get("properties", {}).items():
            own += undescribed(below, f"{path}.{key}")
        return own

    assert undescribed(schema, "") == []
    for name, part in schema["$defs"].items():
        assert "title" in part
        assert undescribed(part, name) == []


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=6),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner),
    max_leaves=5,
)
words = st.sampled_from(
    [
        *("stock", "assign", "design", "rules", "accept", "tolerance", "name", "material"),
        *("thickness", "minimum", "web", "sheet", "colour", "layer", "operation", "files"),
        *("stack", "at", "within", "thin-web", "close-parts", "least", "level", "process"),
        *("kerf", "until", "reason", "x"),
    ]
)
scalars = st.sampled_from(
    [
        *('"cut"', '"3 mm"', '"plywood"', '"red"', '"walnut-3"', "3", "-1", "nan", "inf", "true"),
        *('""', "2031-01-01", "10:00:00", "[]", "{}", '["1 mm", 2]', '"guide"', '"thin-web"'),
        '"*"',
    ]
)
lines = st.one_of(
    st.builds("[[{}]]".format, words),
    st.builds("[{}.{}]".format, words, words),
    st.builds("{} = {}".format, words, scalars),
    st.builds("{}.{} = {}".format, words, words, scalars),
    st.builds("{} = {{ {} = {} }}".format, words, words, scalars),
    st.builds("{} = [{}, {}]".format, words, scalars, scalars),
)


@given(st.lists(lines, max_size=12).map("\n".join))
def test_whatever_is_written_there_is_a_job_or_problems(text: str) -> None:
    try:
        job = read(text)
    except BadJob as error:
        job, found = None, error.problems
    if job is None:
        places = [(p.line, p.column) for p in found]
        assert places == sorted(places)
        assert places
        assert all("\n" not in str(p) for p in found)
    else:
        assert all(a.stock in job.stocks or a.operation == "guide" for a in job.assignments)
        assert all(name in job.stocks for design in job.designs for name in design.stack)


@given(st.text(max_size=40))
def test_any_text_at_all(text: str) -> None:
    with contextlib.suppress(BadJob):
        assert read(text).path == "shop/jobsheet.toml"
