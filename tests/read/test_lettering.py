"""Where live text stands, and how much room it takes. All on a page of 100 × 100 px; letters take
0.55 em along their line, 0.8 em above it and 0.2 em below (read.lettering's own estimates)."""

from __future__ import annotations

import numpy as np
import pytest

from scantling.read import Source, read_drawing

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100" height="100" {}>{}</svg>'


def text(body: str, more: str = "") -> tuple[tuple[float, float] | None, list[list[list[float]]]]:
    """Start and frames of the one remark about text."""
    drawing = read_drawing(Source.from_text(HEAD.format(more, body), "text.svg"))
    [remark] = [remark for remark in drawing.remarks if remark.kind == "text"]
    return remark.spot, np.round(remark.frames, 6).tolist()


def box(x0: float, y0: float, x1: float, y1: float) -> list[list[float]]:
    return [[x0, y0], [x1, y0], [x1, y1], [x0, y1]]


def test_a_line_of_text_starts_where_it_is_written() -> None:
    spot, frames = text('<text x="10" y="50" font-size="10">abcd</text>')
    assert spot == (10, 50)
    assert frames == [box(10, 42, 32, 52)]


def test_matrix_and_view_box_are_put_on() -> None:
    body = (
        '<g transform="translate(5 0) rotate(90)"><text x="10" y="0" font-size="10">abcd</text></g>'
    )
    spot, frames = text(body, 'viewBox="0 0 50 50"')
    assert spot == pytest.approx((10, 20))
    assert frames == [[[26, 20], [26, 64], [6, 64], [6, 20]]]


def test_of_a_list_the_first_counts_and_units_and_shares_are_read() -> None:
    assert text('<text x="1in 2in" y="50%">ab</text>')[0] == (96, 50)
    assert text('<text x="2em,3" dx="1" y="30" dy="-5" font-size="10">ab</text>')[0] == (21, 25)


@pytest.mark.parametrize(("anchor", "left"), [("start", 50), ("middle", 39), ("end", 28)])
def test_letters_stand_beside_their_anchor(anchor: str, left: float) -> None:
    spot, frames = text(f'<text x="50" y="50" font-size="10" text-anchor="{anchor}">abcd</text>')
    assert spot == (50, 50)
    assert frames == [box(left, 42, left + 22, 52)]


def test_each_line_of_a_text_has_a_frame() -> None:
    """Places and sizes are handed down through tspan, by attribute and by style sheet."""
    spot, frames = text(
        "<style>.big { font-size: 20px }</style>"
        '<text y="30" font-size="10">\n<tspan x="10">ab</tspan>\n'
        '<tspan x="10" dy="2em" class="big">c</tspan></text>'
    )
    assert spot == (10, 30)
    assert frames == [box(10, 22, 21, 32), box(10, 54, 21, 74)]


def test_what_is_only_shifted_goes_on_behind_the_letters() -> None:
    spot, frames = text('<text x="10" y="50" font-size="10">ab<tspan dy="-4">c</tspan></text>')
    assert spot == (10, 50)
    assert frames == [box(10, 42, 21, 52), box(21, 38, 26.5, 48)]


def test_written_length_is_taken() -> None:
    assert text('<text x="1" y="9" font-size="10" textLength="60">abcd</text>')[1] == [
        box(1, 1, 61, 11)
    ]


def test_text_on_a_path_stands_on_the_path() -> None:
    spot, frames = text(
        '<defs><path id="way" d="M20 60H80" transform="translate(0 10)"/></defs>'
        '<text font-size="10"><textPath href="#way">along</textPath></text>'
    )
    assert spot == (20, 70)
    assert frames == [box(12, 62, 88, 78)]


def test_text_on_a_path_that_is_missing_has_no_place() -> None:
    assert text('<text><textPath href="#gone">along</textPath></text>') == (None, [])


def test_text_of_another_language_has_its_own_box() -> None:
    inner = '<p xmlns="urn:h">in</p>'
    spot, frames = text(
        f'<foreignObject x="10" y="20" width="30" height="40">{inner}</foreignObject>'
    )
    assert (spot, frames) == ((10, 20), [box(10, 20, 40, 60)])
    flowing = (
        '<flowRoot><flowRegion><rect x="1" y="2" width="3" height="4"/></flowRegion>{}</flowRoot>'
    )
    assert text(flowing.format("<flowPara>in</flowPara>")) == ((1, 2), [box(1, 2, 4, 6)])
