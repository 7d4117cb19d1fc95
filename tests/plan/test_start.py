"""A starting job sheet: it is a job sheet, and it speaks of everything in the drawing."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import scantling_rules
from scantling.plan.jobsheet import read_job
from scantling.plan.model import Job
from scantling.plan.planner import plan_drawing
from scantling.plan.start import start_job
from scantling.plan.stocks import load_tables
from scantling.read import Source, read_drawing
from scantling.read.drawing import Drawing

TABLES = (str(scantling_rules.STOCKS),)
STOCKS = load_tables(TABLES)


def drawn(body: str, page: str = 'viewBox="0 0 100 100" width="100mm"') -> Drawing:
    text = f'<svg xmlns="http://www.w3.org/2000/svg" {page}>{body}</svg>'
    return read_drawing(Source.from_text(text, "moon.svg"))


def started(drawing: Drawing, file: str = "moon.svg") -> tuple[str, Job]:
    text = start_job(drawing, file)
    return text, read_job(text, "jobsheet.toml", rules={}, tables=TABLES)


CLOCK = """
<g><title>base plate</title><rect width="90" height="90" fill="#7a4b2a"/></g>
<g id="moons"><circle cx="20" cy="20" r="9" fill="#e9e4d8" stroke="#222"/>
<circle cx="60" cy="20" r="9" fill="#e9e4d8" stroke="#222"/></g>
<path d="M5 5H80" fill="none" stroke="red" stroke-width="0.1"/>
<rect width="9" height="9" fill="blue" display="none"/>
"""


def test_a_layered_drawing() -> None:
    text, job = started(drawn(CLOCK))
    assert list(job.stocks) == ["base-plate-3", "moons-3", "red-3"]
    assert [(a.colour and a.colour.hex, a.stock, a.operation) for a in job.assignments] == [
        ("#7a4b2a", "base-plate-3", "cut"),
        ("#e9e4d8", "moons-3", "cut"),
        ("#222222", "", "guide"),
        ("#ff0000", "red-3", "cut"),
    ]
    (design,) = job.designs
    assert (design.files, design.width) == ("moon.svg", 90.0)
    assert design.stack == ("base-plate-3", "moons-3", "red-3")
    assert '# 1 fill; in "base plate"\n' in text
    assert '# 2 strokes; in "moons"\n# Only outlines shapes of another colour' in text
    assert "The width is the drawing's own" in text


def test_the_drawing_is_planned_whole_and_at_its_own_size() -> None:
    drawing = drawn(CLOCK)
    _, job = started(drawing)
    planned = plan_drawing(drawing, job, file="moon.svg", tables=STOCKS)
    alone = plan_drawing(drawing, read_job("", "j", tables=TABLES), file="moon.svg", tables=STOCKS)
    assert planned.unassigned == ()
    assert planned.scale == pytest.approx(alone.scale, rel=1e-4)
    assert [sheet.label for sheet in planned.sheets] == ["base-plate-3", "moons-3", "red-3"]


def test_a_drawing_without_a_physical_size_says_so() -> None:
    text, job = started(drawn(CLOCK, page='viewBox="0 0 96 96" width="96"'))
    assert "Set this!" in text
    assert job.designs[0].width == pytest.approx(90 / 96 * 25.4, abs=5e-4)


def test_colours_that_share_a_layer_or_span_several_are_named_by_colour() -> None:
    body = '<g id="a"><path d="M0 0H9V9" fill="red"/><path d="M0 0H9V9" fill="#fe0101"/></g>'
    body += '<g id="b"><path d="M0 0H9V9" fill="#008080"/></g><path d="M0 0H9V9" fill="teal"/>'
    _, job = started(drawn(body))
    assert list(job.stocks) == ["red-3", "red-2-3", "teal-3"]


def test_layers_that_share_a_colour_may_be_assigned_by_layer() -> None:
    path = '<g><path class="st0" d="M0 0H9V9"/></g>'
    body = "".join(f'<g id="{name}">{path}{path}</g>' for name in ("base", "ring", "moons"))
    text, _ = started(drawn(f'<g id="artwork">{body}</g>'))
    assert "# 3 layers share this colour. Where they are sheets of their own, assign" in text
    start = text.index("# [[assign]]")
    entries = text[start : text.index("\n\n", start)]
    layers = entries.replace("# ", "").split("[[assign]]")
    layers[2] = layers[2].replace("black-3", "ply-4")
    stock = '[[stock]]\nname = "ply-4"\nmaterial = "plywood"\nthickness = 4\n'
    sheet = text.replace(entries, "[[assign]]".join(layers)) + stock
    job = read_job(sheet, "jobsheet.toml", rules={}, tables=TABLES)
    assert [(a.layer, a.stock) for a in job.assignments] == [
        (None, "black-3"),
        ("base", "black-3"),
        ("ring", "ply-4"),
        ("moons", "black-3"),
    ]
    planned = plan_drawing(drawn(f'<g id="artwork">{body}</g>'), job, file="m", tables=STOCKS)
    assert [sheet.label for sheet in planned.sheets] == ["black-3", "ply-4"]


LAYERS = """
<g id="Cut"><rect width="60" height="30" fill="none" stroke="red"/></g>
<g id="Engraving (top)"><g id="name"><rect x="5" y="5" width="9" height="9"/></g></g>
<g id="fold lines"><path d="M0 15H60" fill="none" stroke="blue"/></g>
<g id="Guides"><path d="M-5 15H95" fill="none" stroke="cyan"/></g>
"""


def test_layers_that_speak_of_an_operation() -> None:
    text, job = started(drawn(LAYERS))
    assert [(a.colour and a.colour.hex, a.stock, a.operation) for a in job.assignments] == [
        ("#ff0000", "cut-3", "cut"),
        ("#000000", "cut-3", "engrave"),
        ("#0000ff", "cut-3", "score"),
        ("#00ffff", "", "guide"),
    ]
    assert text.count("# guess, by the layer's name") == 3
    assert list(job.stocks) == ["cut-3"]
    assert job.designs[0].width == 60.0  # of what is made


@pytest.mark.parametrize(
    ("body", "operations"),
    [
        ('<g id="cut and engrave"><path d="M0 0H9V9"/></g>', ["cut"]),  # of two
        ('<g id="recut"><path d="M0 0H9V9"/></g>', ["cut"]),  # of none
        ('<g id="engrave"><path d="M0 0H9V9"/></g><path d="M0 0H9V9"/>', ["cut"]),  # not all of it
        ('<g id="guides"><g id="engrave"><path d="M0 0H9V9"/></g></g>', ["engrave"]),
        ('<g id="etched"><path d="M0 0H9V9"/><path d="M0 0H9V9" fill="red"/></g>',
         ["engrave", "engrave"]),
    ],
)  # fmt: skip
def test_a_guess_takes_one_word_for_the_whole_colour(body: str, operations: list[str]) -> None:
    _, job = started(drawn(body))
    assert [a.operation for a in job.assignments] == operations
    assert all(a.stock for a in job.assignments)


def test_layers_that_share_a_colour_are_told_with_their_operations() -> None:
    path = '<path d="M0 0H9V9"/>'
    text, job = started(drawn(f'<g id="Cut">{path}</g><g id="Engrave">{path}</g>'))
    assert [a.operation for a in job.assignments] == ["cut"]
    assert '# layer = "Engrave"\n# stock = "black-3"\n# operation = "engrave"\n' in text
    assert '# layer = "Cut"\n# stock = "black-3"\n# operation = "cut"\n' in text


def test_sheets_side_by_side_make_no_stack() -> None:
    pair = '<rect width="20" height="20"/><rect x="{}" width="20" height="20" fill="red"/>'
    beside, job = started(drawn(pair.format(20)))
    assert job.designs[0].stack == ()
    assert '# stack = ["black-3", "red-3"]\n' in beside
    _, job = started(drawn(pair.format(19)))
    assert job.designs[0].stack == ("black-3", "red-3")


@pytest.mark.parametrize(
    "body",
    [
        '<g id="a"><path d="M0 0H9V9"/><path d="M0 0H9V9"/></g>',
        '<path d="M0 0H9V9" class="a"/><path d="M0 0H9V9" class="b"/>',
        '<g id="a"><path d="M0 0H9V9"/></g><g id="b"><path d="M0 0H9V9" fill="red"/></g>',
        '<g id="a"><path d="M0 0H9V9"/></g><path d="M0 0H9V9"/>',
    ],
)
def test_other_layers_share_no_colour(body: str) -> None:
    assert "share this colour" not in started(drawn(body))[0]


def test_gradients() -> None:
    gradient = '<linearGradient id="sky"><stop stop-color="red"/></linearGradient>'
    body = gradient + '<g id="dome"><path d="M0 0H9V9" fill="url(#sky)"/></g>'
    text, job = started(drawn(body))
    assert [(a.layer, a.operation) for a in job.assignments] == [("dome", "cut")]
    loose = gradient + '<path d="M0 0H9V9" fill="url(#sky)"/><path d="M0 0H9V9" fill="tan"/>'
    text, job = started(drawn(loose))
    assert "gradient or pattern outside every layer" in text
    assert len(job.assignments) == 1


def test_an_empty_drawing() -> None:
    text, job = started(drawn(""))
    assert "shows no plain colour" in text
    assert job.designs[0].width is None


@pytest.mark.parametrize(
    "file", ["a[1].svg", "*.svg", "what?.svg", 'a"b.svg', "a\nb.svg", "x/y/é.svg", "s\udc80.svg"]
)
def test_file_names_that_are_no_plain_pattern(file: str) -> None:
    text, job = started(drawn(CLOCK), file)
    text.encode()
    planned = plan_drawing(drawn(CLOCK), job, file=file.rpartition("/")[2], tables=STOCKS)
    assert planned.design is not None


colour = st.tuples(*[st.sampled_from([0, 1, 128, 255])] * 3).map(lambda c: f"rgb{c}")
paint = colour | st.just("none") | st.just("url(#sky)")
sign = st.characters(exclude_categories=["Cs", "Cc"], exclude_characters='<&"\ufffe\uffff')
name = st.text(sign, max_size=9)


@settings(max_examples=60)
@given(st.lists(st.tuples(name, paint, paint), max_size=6))
def test_any_drawing_gives_a_job_sheet(shapes: list[tuple[str, str, str]]) -> None:
    body = '<linearGradient id="sky"><stop stop-color="red"/></linearGradient>'
    for layer, fill, stroke in shapes:
        body += f'<g id="{layer}"><title>{layer}</title>'
        body += f'<rect width="20" height="10" fill="{fill}" stroke="{stroke}"/></g>'
    drawing = drawn(body)
    text, job = started(drawing)
    assert tomllib.loads(text)
    planned = plan_drawing(drawing, job, file="moon.svg", tables=STOCKS)
    assert all(item.colour is None for item in planned.unassigned)
    if planned.sheets and job.assignments and job.designs[0].width is not None:
        assert planned.sized_by == "job"


def test_white_fills_are_told_of() -> None:
    told = "# White is a colour like any other."
    ring = '<circle r="9" fill="none" stroke="#fff"/>'
    assert told in started(drawn(f'{ring}<circle r="3" fill="#fff"/>'))[0]
    assert told not in started(drawn(ring))[0]
    assert told not in started(drawn('<circle r="3" fill="#fefefe"/>'))[0]
