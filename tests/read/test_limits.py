"""Bounds: each hostile file is refused with the limit's name, at its place, in bounded memory."""

from __future__ import annotations

import tracemalloc

import pytest
from drawings import read, svg

from scantling.read import Limits, Source, Unreadable, read_drawing


def doubling(levels: int) -> str:
    groups = "".join(
        f'<g id="a{k + 1}"><use href="#a{k}"/><use href="#a{k}"/></g>' for k in range(levels)
    )
    return svg(f'<defs><g id="a0"><path d="M0 0h9v9z"/></g>{groups}</defs><use href="#a{levels}"/>')


@pytest.mark.parametrize(
    ("text", "limit", "line", "column"),
    [
        (svg("<g>" * 10_000 + "</g>" * 10_000), Limits(), 1, 88 + 3 * 255),
        (svg("<g>" * 9 + "</g>" * 9), Limits(nesting=5), 1, 88 + 3 * 4),
        (svg("\n" + "<rect/>" * 100), Limits(elements=50), 2, 1 + 7 * 49),
        (doubling(30), Limits(elements=20_000), 1, None),
        (doubling(14), Limits(segments=1_000), 1, None),
        (doubling(300), Limits(), 1, None),
        (svg('\n<path d="M0 0L1e308 5"/>'), Limits(), 2, 14),
        (svg('\n<path d="M0 0L5 5 1e999 5"/>'), Limits(), 2, 19),
        (svg('\n<path d="M0 0c1e200 0 1e200-1e200 5 5A1e300 1 0 0 1 5 9"/>'), Limits(), 2, 14),
        (svg('\n<circle r="1e300"/>'), Limits(), 2, 1),
        (svg('\n<rect width="9" height="9" transform="translate(1e8)"/>'), Limits(), 2, 1),
        (svg("\n" + '<path d="M0 0' + "h1" * 2_000 + '"/>'), Limits(segments=1_000), 2, 1),
    ],
)  # fmt: skip
def test_each_limit_names_itself_and_its_place(
    text: str, limit: Limits, line: int, column: int | None
) -> None:
    with pytest.raises(Unreadable) as caught:
        read(text, limit)
    message = caught.value.message
    assert "\n" not in message
    name = message.partition("--limit ")[2].partition("=")[0]
    assert name in ("nesting", "elements", "segments", "coordinate")
    value = getattr(limit, name)
    shown = f"{value:g}" if isinstance(value, float) else str(value)
    assert message.startswith(f"over the limit of {shown} for {name}")
    assert caught.value.line == line
    if column is not None:
        assert caught.value.column == column


SILENT = "".join(f'<g id="s{k + 1}"><use href="#s{k}"/><use href="#s{k}"/></g>' for k in range(40))


@pytest.mark.parametrize(
    "body",
    [
        f'<defs><g id="s0">{"<title/>" * 50}</g>{SILENT}</defs><use href="#s40"/>',
        f'<defs><text id="s0">{"words " * 50}</text>{SILENT}</defs><use href="#s40"/>',
        f'<defs><path id="s0" d="M0 0L5 5x{" " * 500}"/>{SILENT}</defs><use href="#s40"/>',
        f'<defs><g id="s0" fill="nosuch" clip-path="url(#gone)"/>{SILENT}</defs><use href="#s40"/>',
        '<clipPath id="c"><path d="M0 0h9v9z"/></clipPath><defs><g id="s0" clip-path="url(#c)">'
        f'<path d="M0 0h50v50z"/></g>{SILENT}</defs><use href="#s40"/>',
    ],
    ids=["silent", "text", "error", "remarks", "clips"],
)
def test_explosions_of_what_draws_nothing(body: str) -> None:
    """Whatever is doubled forty times counts, drawn or not."""
    with pytest.raises(Unreadable, match=r"limit of 2000 for elements .following use."):
        read(svg(body), Limits(elements=2_000))


@pytest.mark.parametrize(
    "style",
    [
        "rect{fill:" + "(" * 4_000,
        "rect{fill:rgb(" + "calc(" * 4_000,
        "(" * 4_000 + "{}",
        ":not(" * 5_000 + "rect" + ")" * 5_000 + "{fill:red}",
        "rect" + "[a]" * 5_000 + "{fill:red}",
        "rect" + " > rect" * 300 + "{fill:red}",
        "@media " + "(" * 4_000 + "{rect{fill:red}}",
        "@media screen{" * 5_000,
        "@layer a{" * 2_000,
        "{" * 4_000,
        "rect{--a:" + "var(--a," * 5_000 + ";fill:var(--a)}",
        "rect{font:" + "a " * 4_000 + "}",
        "rect{transform:" + "scale(1) " * 4_000 + "}",
        "rect{width:calc(" + "(" * 4_000 + "1px",
        "rect{width:calc(1px" + " + 1px" * 4_000 + ")}",
        "rect{d:path('" + "M0 0" * 4_000 + "')}",
        "/*" * 5_000,
    ],
    ids=lambda text: text[:18],
)
def test_style_sheets_that_nest_too_deeply(style: str) -> None:
    """They are read, or passed over with a remark."""
    body = '<rect width="9" height="9"/>'
    assert len(read(svg(f"<style>{style.replace('>', '&gt;')}</style>{body}")).shapes) == 1
    own = style.partition("{")[2].replace('"', "'") or style
    assert len(read(svg(f'<rect width="9" height="9" style="{own}"/>')).shapes) == 1
    assert len(read(svg(f'<rect width="9" height="9" fill="{own[5:]}"/>')).shapes) == 1


def test_clips_are_examined_as_long_as_it_is_bearable(monkeypatch: pytest.MonkeyPatch) -> None:
    from scantling.read import clips

    monkeypatch.setattr(clips.Examiner, "MOST", 5_000)
    body = (
        '<clipPath id="c"><circle cx="50" cy="50" r="40"/></clipPath><g clip-path="url(#c)">'
        + '<circle cx="50" cy="14" r="3"/>' * 20
        + "</g>"
    )
    drawing = read(svg(body))
    assert [r.word for r in drawing.remarks if r.kind == "value"] == ["clip-path"]
    assert not any(shape.hidden for shape in drawing.shapes)


def test_the_same_files_are_read_when_the_limit_is_raised() -> None:
    assert len(read(doubling(10)).shapes) == 1024
    assert len(read(svg("<g>" * 300 + "<path d='M0 0h1'/>" + "</g>" * 300),
                    Limits.parse(["nesting=400"])).shapes) == 1  # fmt: skip
    assert read(svg('<path d="M0 0L2e7 5"/>'), Limits.parse(["coordinate=1e8"])).shapes


def test_values_that_are_no_numbers_end_in_remarks() -> None:
    drawing = read(svg('<path d="M0 0L5 5LNaN 5"/><rect width="NaN" height="inf"/>'
                       '<circle r="1e999" cx="nan"/>'))  # fmt: skip
    assert [(r.kind, r.word) for r in drawing.remarks] == [
        ("value", "d"), ("value", "width"), ("value", "height"), ("value", "r"),
    ]  # fmt: skip


def test_a_hundred_megabytes_of_path_data() -> None:
    """Refused by its size before it is read; less of it is read within the memory stated."""
    with pytest.raises(Unreadable, match="limit of 67108864 for bytes"):
        Source.from_bytes(b"x" * (100 * 1024 * 1024))
    segment = "c1.25 3.5 2.75-1.5 4-2"
    for body, segments, elements in (
        ('<path d="M0 0' + segment * 9_000 + '"/>', 9_000, 2),
        ('<path d="M0 0' + "h1" * 9_000 + '"/>', 9_000, 2),
        ('<rect width="1" height="1" fill="red" stroke="blue"/>' * 900, 3_600, 901),
    ):
        text = svg(body)
        source = Source.from_text(text)
        tracemalloc.start()
        drawing = read_drawing(source, Limits(coordinate=1e9))
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        assert len(drawing.curves.kind) == segments
        # the bounds that scantling.read.limits states, and what little is there at any rate
        assert peak < 450 * segments + 2_000 * elements + 300_000


def test_limits_are_parsed_strictly() -> None:
    assert Limits.parse(["elements = 5", "coordinate=2e9"]) == Limits(elements=5, coordinate=2e9)
    assert Limits.parse([]) == Limits()
    for setting, words in {
        "element=5": "did you mean 'elements'",
        "zzz=5": "there are bytes, elements",
        "elements": "not a positive number",
        "elements=x": "not a positive number",
        "elements=-1": "not a positive number",
        "elements=1.5": "not a positive number",
        "elements=nan": "not a positive number",
        "elements=1e400": "not a positive number",
    }.items():
        with pytest.raises(ValueError, match=words):
            Limits.parse([setting])
