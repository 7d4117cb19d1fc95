"""The planner: assignments, sheets, and the finished size."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
import svgelements
from hypothesis import given, settings
from hypothesis import strategies as st

import scantling_rules
from scantling.plan.jobsheet import BadJob, load_job, read_job
from scantling.plan.model import CUT, ENGRAVE, OPERATIONS, SCORE, Job, Plan, Sheet
from scantling.plan.planner import plan_drawing, reach
from scantling.plan.stocks import UnknownStock, load_tables
from scantling.read import Source, read_drawing
from scantling.read.drawing import MM_PER_PX

TABLES = (str(scantling_rules.STOCKS),)
STOCKS = load_tables(TABLES)
NO_JOB = load_job(None, tables=TABLES)

RED_AND_BLUE = """
[[stock]]
name = "red-3"
material = "acrylic"
thickness = 3

[[stock]]
name = "blue-2"
material = "cork"
thickness = 2

[[assign]]
colour = "#f00"
stock = "red-3"
operation = "cut"

[[assign]]
colour = "#00f"
stock = "blue-2"
operation = "cut"

[[assign]]
colour = "#0f0"
operation = "guide"
"""


def job(text: str) -> Job:
    return read_job(text, "jobsheet.toml", tables=TABLES)


def plan(body: str, sheet: Job | str = NO_JOB, *, page: str = "", file: str = "a.svg", **also):  # type: ignore[no-untyped-def]
    """A plan of shapes drawn on a page of 100 by 100 pixels, if nothing else is said."""
    page = page or 'viewBox="0 0 100 100" width="100" height="100"'
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" {page}>{body}</svg>'
    given = job(sheet) if isinstance(sheet, str) else sheet
    drawing = read_drawing(Source.from_text(svg, file))
    return plan_drawing(drawing, given, file=file, tables=STOCKS, **also)


def rect(paint: str, x: float = 10, y: float = 10, size: float = 20, also: str = "") -> str:
    return f'<rect x="{x}" y="{y}" width="{size}" height="{size}" style="{paint}" {also}/>'


def uses(sheet: Sheet) -> list[tuple[int, str, bool]]:
    """(shape, operation, filled) of each of a sheet's contours."""
    lines = sheet.lines
    return [
        (int(s), OPERATIONS[o], bool(f))
        for s, o, f in zip(lines.shape, lines.operation, lines.filled, strict=True)
    ]


def labels(planned: Plan) -> list[str]:
    return [sheet.label for sheet in planned.sheets]


class TestAssignments:
    def test_each_colour_goes_to_its_stock(self) -> None:
        planned = plan(rect("fill:#f00") + rect("fill:blue", 40), RED_AND_BLUE)
        assert labels(planned) == ["red-3", "blue-2"]
        assert [uses(sheet) for sheet in planned.sheets] == [
            [(0, CUT, True)],
            [(1, CUT, True)],
        ]
        assert [sheet.colours for sheet in planned.sheets] == [("#ff0000",), ("#0000ff",)]
        assert planned.unassigned == ()

    def test_fill_and_stroke_are_both_looked_up(self) -> None:
        planned = plan(rect("fill:red; stroke:blue; stroke-width:4"), RED_AND_BLUE)
        red, blue = planned.sheets
        assert uses(red) == [(0, CUT, True)]
        assert uses(blue) == [(0, CUT, False)]
        assert red.lines.width.tolist() == [0.0]
        assert blue.lines.width.tolist() == pytest.approx([4 * MM_PER_PX])

    def test_fill_and_stroke_cut_from_one_stock_are_one_line(self) -> None:
        (sheet,) = plan(rect("fill:red; stroke:#f00"), RED_AND_BLUE).sheets
        assert uses(sheet) == [(0, CUT, True)]

    def test_two_operations_on_one_stock_are_two_lines(self) -> None:
        scored = RED_AND_BLUE.replace('"blue-2"\noperation = "cut"', '"red-3"\noperation = "score"')
        (sheet,) = plan(rect("fill:red; stroke:blue"), scored).sheets
        assert uses(sheet) == [(0, CUT, True), (0, SCORE, False)]

    def test_an_engraved_area_and_its_engraved_edge_are_two(self) -> None:
        engraved = RED_AND_BLUE.replace(
            '"red-3"\noperation = "cut"', '"red-3"\noperation = "engrave"'
        )
        (sheet,) = plan(rect("fill:red; stroke:red"), engraved).sheets
        assert uses(sheet) == [(0, ENGRAVE, True), (0, ENGRAVE, False)]

    def test_guides_are_not_made(self) -> None:
        planned = plan(rect("fill:red") + rect("fill:none; stroke:#0f0", 0, 0, 90), RED_AND_BLUE)
        assert labels(planned) == ["red-3"]
        assert [shape.index for shape in planned.guides] == [1]
        assert planned.unassigned == ()

    def test_a_cut_shape_with_a_guide_stroke_is_made(self) -> None:
        planned = plan(rect("fill:red; stroke:#0f0"), RED_AND_BLUE)
        assert uses(planned.sheets[0]) == [(0, CUT, True)]
        assert planned.guides == ()

    LAYERS = (
        RED_AND_BLUE
        + """
[[assign]]
layer = "inner"
stock = "blue-2"
operation = "score"

[[assign]]
layer = "outer"
stock = "blue-2"
operation = "engrave"

[[assign]]
layer = "outer"
colour = "red"
stock = "red-3"
operation = "score"
"""
    )

    def test_a_layer_wins_over_a_colour_and_the_innermost_over_the_rest(self) -> None:
        svg = (
            rect("fill:red")
            + f'<g id="outer">{rect("fill:blue")}<g><title>inner</title>{rect("fill:red")}</g></g>'
            + f'<g class="inner">{rect("fill:#123456")}</g>'
        )
        planned = plan(svg, self.LAYERS)
        red, blue = planned.sheets
        assert uses(red) == [(0, CUT, True)]
        assert uses(blue) == [(1, ENGRAVE, True), (2, SCORE, True), (3, SCORE, True)]

    def test_a_layer_with_a_colour_wins_over_the_layer_alone(self) -> None:
        planned = plan(f'<g id="outer">{rect("fill:red")}{rect("fill:tan")}</g>', self.LAYERS)
        assert {sheet.label: uses(sheet) for sheet in planned.sheets} == {
            "red-3": [(0, SCORE, True)],
            "blue-2": [(1, ENGRAVE, True)],
        }

    def test_a_layer_speaks_for_gradients(self) -> None:
        gradient = '<linearGradient id="sky"><stop stop-color="red"/></linearGradient>'
        body = gradient + f'<g id="inner">{rect("fill:url(#sky)")}</g>' + rect("fill:url(#sky)")
        planned = plan(body, self.LAYERS)
        assert [uses(sheet) for sheet in planned.sheets] == [[(0, SCORE, True)]]
        (missing,) = planned.unassigned
        assert (missing.shape.index, missing.paint) == (1, "fill url(#sky)")
        assert missing.colour is missing.nearest is None

    def test_alpha_is_not_looked_at_but_nought_is_no_paint(self) -> None:
        planned = plan(
            rect("fill:rgb(255 0 0 / 30%)")
            + rect("fill:rgb(0 0 0 / 0); stroke:blue", 40)
            + rect("fill:black; fill-opacity:0; stroke:none", 60),
            RED_AND_BLUE,
        )
        assert labels(planned) == ["red-3", "blue-2"]
        assert uses(planned.sheets[1]) == [(1, CUT, False)]
        assert planned.unassigned == ()

    def test_a_gradient_is_seen_though_what_it_falls_back_on_is_not(self) -> None:
        gradient = '<linearGradient id="sky"/>'
        planned = plan(gradient + rect("fill:url(#sky) transparent"))
        assert labels(planned) == ["acrylic-3 url(#sky)"]
        assert plan(rect("fill:url(#gone) transparent")).sheets == ()

    def test_what_is_hidden_is_not_planned(self) -> None:
        planned = plan(
            rect("fill:red; display:none")
            + rect("fill:red; visibility:hidden")
            + rect("fill:teal; opacity:0")
            + rect("fill:none"),
            RED_AND_BLUE,
        )
        assert planned.sheets == planned.unassigned == ()
        assert planned.extents is None

    def test_unassigned_paints_name_the_nearest_assigned_colour(self) -> None:
        planned = plan(rect("fill:#fe0000; stroke:#0000fd") + rect("fill:#fe0000; stroke:#fe0000"),
                       RED_AND_BLUE)  # fmt: skip
        assert planned.sheets == ()
        assert [(u.shape.index, u.paint, u.nearest) for u in planned.unassigned] == [
            (0, "fill #fe0000", "#ff0000"),
            (0, "stroke #0000fd", "#0000ff"),
            (1, "fill and stroke #fe0000", "#ff0000"),
        ]
        for item in planned.unassigned:
            assert item.difference is not None
            assert 0 < item.difference < 1

    def test_built_in_stocks_need_no_entry(self) -> None:
        text = '[[assign]]\ncolour = "red"\nstock = "cork-2"\noperation = "cut"'
        (sheet,) = plan(rect("fill:red"), text).sheets
        assert sheet.stock == STOCKS["cork-2"]


class TestOrder:
    def test_sheets_go_by_the_stack_then_by_the_job_sheet(self) -> None:
        more = (
            RED_AND_BLUE
            + """
[[assign]]
colour = "tan"
stock = "card-1.5"
operation = "cut"

[[design]]
files = "stacked.svg"
stack = ["card-1.5", "blue-2"]
"""
        )
        body = rect("fill:tan") + rect("fill:blue") + rect("fill:red")
        assert labels(plan(body, more)) == ["red-3", "blue-2", "card-1.5"]
        stacked = plan(body, more, file="stacked.svg")
        assert labels(stacked) == ["card-1.5", "blue-2", "red-3"]
        assert [uses(sheet)[0][0] for sheet in stacked.sheets] == [0, 1, 2]

    def test_the_first_design_that_matches_counts(self) -> None:
        designs = """
[[design]]
files = "a.svg"
width = 10
[[design]]
files = "**"
width = 20
"""
        for file, wide in (("a.svg", 10), ("b.svg", 20), ("x/a.svg", 20)):
            planned = plan(rect("fill:red"), RED_AND_BLUE + designs, file=file)
            assert planned.extents is not None
            assert planned.extents[2] - planned.extents[0] == pytest.approx(wide)
            assert planned.design is not None


class TestWithoutAssignments:
    def test_each_colour_is_a_sheet_and_the_fill_decides(self) -> None:
        planned = plan(
            rect("fill:teal; stroke:red")
            + rect("fill:none; stroke:red; stroke-width:2")
            + rect("fill:#008080"),
        )
        assert labels(planned) == ["acrylic-3 #008080", "acrylic-3 #ff0000"]
        assert [uses(sheet) for sheet in planned.sheets] == [
            [(0, CUT, True), (2, CUT, True)],
            [(1, CUT, False)],
        ]
        assert planned.unassigned == planned.guides == ()
        assert planned.notices[0].startswith("no job sheet: every colour is judged as a sheet of")

    def test_strokes_that_a_fill_passes_over_are_said_once(self) -> None:
        def told(*shapes: str) -> list[str]:
            notices = plan("".join(shapes)).notices
            return [said for said in notices if "fill decides" in said]

        line = "fill:teal;stroke:red;stroke-width:0.4px"
        said = "around {} ignored: where no job sheet assigns colours, the fill decides"
        assert told(rect(line)) == [
            "a stroke of another colour (#ff0000) " + said.format("a filled shape is")
        ]
        shapes = [rect(line.replace("red", colour)) for colour in ("red", "red", "tan", "navy")]
        assert told(*shapes, rect(line.replace("red", "gold"))) == [
            "strokes of another colour (#ff0000, #d2b48c, #000080 and 1 more) "
            + said.format("5 filled shapes are")
        ]
        assert told(*shapes)[0].startswith("strokes of another colour (#ff0000, #d2b48c, #000080) ")
        same = line.replace("red", "teal")
        unseen = line.replace("red", "rgb(255 0 0 / 0)")
        wide = line.replace("0.4px", "2px")  # ambiguous-outline tells of it
        assert told(rect(same), rect(unseen), rect(wide), rect("stroke:red;fill:none")) == []

    def test_a_gradient_is_a_sheet_of_its_own(self) -> None:
        gradient = '<linearGradient id="sky"><stop stop-color="red"/></linearGradient>'
        planned = plan(gradient + rect("fill:url(#sky)") + rect("fill:url(#sky) tan"))
        assert labels(planned)[0] == "acrylic-3 url(#sky)"

    def test_a_named_stock(self) -> None:
        planned = plan(rect("fill:teal"), stock="cork-2", width=50.0)
        assert labels(planned) == ["cork-2 #008080"]
        assert planned.sheets[0].stock == STOCKS["cork-2"]
        assert planned.notices == (
            "every colour is judged as a sheet of its own, cut from cork-2 (cork, 2 mm, laser)",
        )

    def test_a_job_sheet_that_assigns_nothing(self) -> None:
        own = '[[stock]]\nname = "our-ply"\nmaterial = "ply"\nthickness = 3\n'
        planned = plan(rect("fill:teal"), own)
        assert labels(planned) == ["our-ply #008080"]
        assert "its first stock" in planned.notices[0]
        assert labels(plan(rect("fill:teal"), "")) == ["acrylic-3 #008080"]


class TestStocks:
    def test_another_stock_instead_of_the_assigned_ones(self) -> None:
        planned = plan(rect("fill:red") + rect("fill:blue"), RED_AND_BLUE, stock="red-3")
        assert labels(planned) == ["red-3", "red-3 instead of blue-2"]
        assert {sheet.stock.name for sheet in planned.sheets} == {"red-3"}

    def test_an_unknown_stock_is_told_with_the_nearest(self) -> None:
        with pytest.raises(UnknownStock, match=re.escape('"acrilic-3"')) as caught:
            plan(rect("fill:red"), stock="acrilic-3")
        assert str(caught.value).endswith('nearest: "acrylic-3"')
        assert isinstance(caught.value, BadJob)

    def test_what_to_do_for_another_thickness(self) -> None:
        hint = "; a sheet of another thickness is a [[stock]] of a job sheet"
        for name, hinted in (("acrylic-4", True), ("acrylic", False), ("moss-4", False)):
            with pytest.raises(UnknownStock) as caught:
                plan(rect("fill:red"), stock=name)
            assert str(caught.value).endswith(hint) is hinted

    def test_the_reach_is_beyond_every_minimum_that_is_asked(self) -> None:
        every = list(STOCKS.values())
        for stock in every:
            for asked in ([], every):
                far = reach(stock, asked)
                for other in [stock, *(s for s in asked if s.process == stock.process)]:
                    least = other.minimum
                    most = max(least.web, least.gap, least.hole, least.stroke)
                    assert far >= 1.4 * (most + other.kerf)


class TestSize:
    def test_pixels_are_96_to_the_inch(self) -> None:
        planned = plan(rect("fill:red", 0, 0, 96))
        assert planned.extents == pytest.approx((0, 0, 25.4, 25.4))
        assert (planned.sized_by, planned.scale) == ("screen", MM_PER_PX)
        assert "96 pixels taken as an inch" in planned.notices[-1]

    def test_the_drawings_own_size(self) -> None:
        page = 'viewBox="0 0 100 100" width="50mm" height="50mm"'
        planned = plan(rect("fill:red"), page=page)
        assert planned.extents == pytest.approx((5, 5, 15, 15))
        assert planned.sized_by == "drawing"

    def test_the_finished_size_is_that_of_the_artwork(self) -> None:
        planned = plan(rect("fill:red"), width=60.0)
        assert planned.scale == pytest.approx(3.0)
        assert planned.extents == pytest.approx((30, 30, 90, 90))
        assert planned.sheets[0].lines.xy.min(axis=0) == pytest.approx([30, 30])
        assert (planned.sized_by, planned.asked) == ("job", (60.0, None))

    def test_guides_and_unassigned_shapes_do_not_count(self) -> None:
        body = rect("fill:red") + rect("fill:#0f0", 0, 0, 100) + rect("fill:tan", 0, 0, 90)
        planned = plan(body, RED_AND_BLUE, width=60.0)
        assert planned.extents == pytest.approx((30, 30, 90, 90))

    def test_strokes_count_by_their_centre_lines(self) -> None:
        planned = plan(rect("fill:none; stroke:red; stroke-width:10"), width=60.0)
        assert planned.scale == pytest.approx(3.0)
        assert planned.sheets[0].lines.width.tolist() == pytest.approx([30.0])

    def test_curves_count_by_their_exact_extents(self) -> None:
        """Closed form: a cubic from (0, 0) to (0, 3) with both controls at x = 40 bulges to
        x = 3/4 · 40 = 30; a circle of radius r is 2 r wide."""
        planned = plan('<path d="M0 0C40 0 40 3 0 3Z"/>', width=90.0)
        assert planned.scale == pytest.approx(3.0, rel=1e-12)
        planned = plan('<circle cx="50" cy="50" r="7"/>', height=7.0)
        assert planned.scale == pytest.approx(0.5, rel=1e-12)
        assert planned.extents == pytest.approx((21.5, 21.5, 28.5, 28.5))

    def test_width_and_height_that_disagree_hold_the_artwork_between_them(self) -> None:
        body = '<rect x="0" y="0" width="40" height="20"/>'
        for width, height, wide, high in [
            (80.0, 40.0, 80.0, 40.0),
            (80.0, 20.0, 40.0, 20.0),
            (40.0, 99.0, 40.0, 20.0),
        ]:
            planned = plan(body, width=width, height=height)
            assert planned.extents == pytest.approx((0, 0, wide, high))
            assert planned.asked == (width, height)

    def test_a_size_given_outright_replaces_the_designs(self) -> None:
        design = RED_AND_BLUE + '[[design]]\nfiles = "*"\nwidth = 40\nheight = 90'
        assert plan(rect("fill:red"), design).asked == (40.0, 90.0)
        assert plan(rect("fill:red"), design, height=50.0).asked == (None, 50.0)
        assert plan(rect("fill:red"), design, width=50.0).asked == (50.0, None)

    def test_artwork_without_width_keeps_its_own_size(self) -> None:
        line = '<path d="M5 5V50" stroke="red"/>'
        planned = plan(line, width=60.0)
        assert planned.sized_by == "screen"
        assert planned.scale == MM_PER_PX
        assert any("no extent in that direction" in notice for notice in planned.notices)
        assert not any("no finished size given" in notice for notice in planned.notices)
        assert plan(line, height=90.0).scale == pytest.approx(2.0)
        assert plan(line, width=60.0, height=90.0).scale == pytest.approx(2.0)

    def test_a_size_of_nothing_is_not_called_missing(self) -> None:
        planned = plan(rect("fill:lime"), RED_AND_BLUE + '[[design]]\nfiles = "*"\nwidth = 40')
        assert planned.notices == ("no finished size can be given: there is nothing to make",)

    def test_nothing_to_make(self) -> None:
        planned = plan("", width=60.0)
        assert planned.sheets == ()
        assert planned.extents is None
        assert planned.scale == MM_PER_PX

    def test_the_chord_tolerance_holds_at_finished_size(self) -> None:
        """Closed form: no vertex or middle of an edge of a flattened circle is further from it
        than the tolerance."""
        for width in (1.0, 60.0, 5000.0):
            (sheet,) = plan('<circle cx="50" cy="50" r="7" fill="red"/>', width=width).sheets
            xy = sheet.lines.xy - sheet.lines.xy.mean(axis=0)
            middle = (xy + np.roll(xy, -1, axis=0)) / 2
            for points in (xy, middle):
                off = np.abs(np.hypot(points[:, 0], points[:, 1]) - width / 2)
                assert off.max() <= sheet.tolerances.chord * 1.001
            assert len(xy) < 4 * math.pi * math.sqrt(width / sheet.tolerances.chord) + 20


number = st.integers(-200, 200).map(lambda n: n / 4)
point = st.tuples(number, number).map(lambda p: f"{p[0]} {p[1]}")
command = st.one_of(
    st.builds("L{}".format, point),
    st.builds("C{} {} {}".format, point, point, point),
    st.builds("Q{} {}".format, point, point),
    st.builds(
        "A{} {} {} {} {} {}".format,
        st.integers(1, 60), st.integers(1, 60), st.integers(0, 90),
        st.sampled_from([0, 1]), st.sampled_from([0, 1]), point,
    ),
    st.builds("Z M{}".format, point),
)  # fmt: skip
outline = st.builds("M{}{}".format, point, st.lists(command, min_size=1, max_size=5).map("".join))


@settings(max_examples=60)
@given(outline, st.integers(1, 500))
def test_finished_width_of_any_outline(d: str, width: int) -> None:
    """The artwork comes out at the width asked for, and as high as its proportions say; exact
    extents from svgelements, an independent reading of the same path."""
    box = svgelements.Path(d).bbox()
    planned = plan(f'<path d="{d}"/>', width=float(width))
    if box is None or box[2] - box[0] < 1e-6:
        return
    assert planned.extents is not None
    x0, y0, x1, y1 = planned.extents
    scale = width / (box[2] - box[0])
    assert planned.scale == pytest.approx(scale, rel=1e-6)
    assert x1 - x0 == pytest.approx(width, rel=1e-9)
    assert y1 - y0 == pytest.approx(scale * (box[3] - box[1]), rel=1e-6, abs=1e-6)
    xy = planned.sheets[0].lines.xy
    flat = np.concatenate((xy.min(axis=0), xy.max(axis=0)))
    assert flat == pytest.approx(np.array(planned.extents), abs=planned.job.chord * 1.001)


paints = st.sampled_from(
    [
        *("fill:red", "fill:blue", "fill:none;stroke:red", "fill:red;stroke:blue", "fill:#0f0"),
        *("fill:tan", "fill:blue;stroke:blue", "display:none"),
    ]
)


@settings(max_examples=60)
@given(st.lists(st.tuples(paints, outline), max_size=6), st.booleans())
def test_lines_say_truly_where_they_come_from(
    shapes: list[tuple[str, str]], assigned: bool
) -> None:
    body = "".join(f'<path style="{paint}" d="{d}"/>' for paint, d in shapes)
    planned = plan(body, RED_AND_BLUE if assigned else NO_JOB, width=50.0)
    drawing = planned.drawing
    for sheet in planned.sheets:
        lines = sheet.lines
        count = len(lines.closed)
        assert count == len(lines.first) - 1 == len(lines.shape) == len(lines.operation)
        assert count == len(lines.filled) == len(lines.width) > 0
        assert lines.first[0] == 0
        assert lines.first[-1] == len(lines.xy) == len(lines.segment)
        assert (np.diff(lines.first) >= 1).all()
        assert (np.diff(lines.shape) >= 0).all()  # in drawing order
        assert np.isfinite(lines.xy).all()
        # every point's segment is one of a contour of that shape
        contour = np.searchsorted(drawing.curves.first, lines.segment, side="right") - 1
        owner = drawing.curves.shape[contour]
        assert (owner == np.repeat(lines.shape, np.diff(lines.first))).all()
        # every point lies where its segment starts, or further on within the drawing's extents
        x0, y0, x1, y1 = planned.extents or (0, 0, 0, 0)
        assert (lines.xy >= np.array([x0, y0]) - 1e-6).all()
        assert (lines.xy <= np.array([x1, y1]) + 1e-6).all()
    made = {int(s) for sheet in planned.sheets for s in sheet.lines.shape}
    spoken_for = (
        made | {s.index for s in planned.guides} | {u.shape.index for u in planned.unassigned}
    )
    assert spoken_for == {s.index for s in drawing.shapes if not s.hidden and s.contours}


def test_the_same_plan_every_time() -> None:
    body = "".join(rect(f"fill:#{k:02x}{k:02x}00", k) for k in range(0, 90, 7))
    first, second = plan(body, width=60.0), plan(body, width=60.0)
    assert labels(first) == labels(second)
    for one, other in zip(first.sheets, second.sheets, strict=True):
        assert one.lines.xy.tobytes() == other.lines.xy.tobytes()
