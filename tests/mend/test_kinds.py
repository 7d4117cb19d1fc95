"""Each kind of repair on small drawings: the very text that it makes, and what it leaves."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from seen import changed, stray_pixels
from sketching import HAIR, JOB, drawing, findings, mended, page

from scantling.mend.kinds import KINDS, chosen
from scantling.read.drawing import MM_PER_PX
from scantling.read.flatten import flatten

SQUARE = '<rect x="5" y="5" width="20" height="20"/>'
NEXT = '<rect x="25" y="5" width="20" height="20"/>'


def becomes(body: str, new: str, *rules: str, **wish: float) -> None:
    """The body is mended to the new one; nothing of the rules is found in that, and nothing more
    is done to it."""
    text, wanted = page(body), page(new)
    result = mended(text, *rules, **wish)
    assert result.text == wanted
    assert result.changed
    mine = {kind.rule for kind in chosen(rules)}
    left = [finding for finding in findings(wanted) if finding.rule in mine]
    assert left == []
    assert not mended(wanted, *rules, **wish).changed


def stays(body: str, reason: str, *rules: str, **wish: float) -> None:
    """Nothing is done, for this reason."""
    text = page(body)
    result = mended(text, *rules, **wish)
    assert not result.changed
    assert any(reason in left.reason for left in result.left), [one.reason for one in result.left]


def only(*others: str) -> str:
    return f"<g {HAIR}>\n" + "\n".join(others) + "\n</g>"


# open-path


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('<path d="M5 5H35V35"/>', '<path d="M5 5H35V35Z"/>'),
        ('<path d="M5 5H35V35z m40 0l9 0 0 9"/>', '<path d="M5 5H35V35z m40 0l9 0 0 9Z"/>'),
        # what follows is relative to where the pen was, not to where Z puts it
        ('<path d="M5 5h30v30m-5 25h9v9z"/>', '<path d="M5 5h30v30ZM30 60h9v9z"/>'),
        ('<polyline points="5,5 35,5 35,35"/>', '<polyline points="5,5 35,5 35,35 5,5"/>'),
        ("<path d='M5 5&#10;H35\n V35'/>", "<path d='M5 5&#10;H35\n V35Z'/>"),
    ],
)
def test_an_outline_is_closed_as_its_fill_does(old: str, new: str):
    becomes(old, new, "open-path")
    assert stray_pixels(page(old), page(new)) == 0


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (
            '<path d="M10 10L40 10L25 36M25 36L10 62L40 62"/>',
            '<path d="M10 10L40 10L25 36ZM25 36L10 62L40 62Z"/>',
        ),
        (
            '<path d="m10 10l30 0l-15 26m0 0l-15 26l30 0m10 -10h10v10h-10z"/>',
            '<path d="m10 10l30 0l-15 26ZM25 36l-15 26l30 0ZM50 52h10v10h-10z"/>',
        ),
        (
            '<polyline points="10 10 40 10 25 36"/>\n<path d="M25 36L10 62L40 62"/>',
            '<polyline points="10 10 40 10 25 36 10 10"/>\n<path d="M25 36L10 62L40 62Z"/>',
        ),
    ],
)
def test_filled_lines_that_meet_are_closed_each_by_itself(old: str, new: str):
    becomes(old, new, "open-path")
    assert stray_pixels(page(old), page(new)) == 0


def test_an_element_drawn_twice_is_closed_once():
    old = '<defs><path id="a" d="M5 5H25V25"/></defs>\n<use href="#a"/>\n<use href="#a" x="40"/>'
    becomes(old, old.replace("V25", "V25Z"), "open-path")


def test_ends_are_joined_as_far_as_is_asked_for():
    ring = only('<path d="M5 5H25V25H5V5.3"/>')
    stays(ring, "ends are joined up to 0.05 mm", "open-path")
    becomes(ring, only('<path d="M5 5H25V25H5V5.3Z"/>'), "open-path", join=0.5)


def test_lines_are_joined_end_to_end():
    first, last = '<line x1="5" y1="5" x2="25" y2="5"/>', '<line x1="5" y1="24.8" x2="5" y2="5"/>'
    gap = (first, '<path d="M25.3 5V25"/>', '<polyline points="25,25.2 5,25"/>', last)
    bridge = '<path d="M25 5L25.3 5V25L25 25.2"/>'
    shut = (first, bridge, '<polyline points="25,25.2 5,25 5,24.8"/>', last)
    stays(only(*gap), "ends are joined up to", "open-path")
    becomes(only(*gap), only(*shut), "open-path", join=0.5)


def test_a_line_that_stays_open_is_left():
    stays(only('<path d="M5 5H25V25"/>'), "its ends are 28.28 mm apart", "open-path", join=1.0)


# duplicate-line


@pytest.mark.parametrize(
    ("body", "new"),
    [
        (SQUARE + "\n" + SQUARE + "\n", SQUARE + "\n"),
        (f"{SQUARE}{SQUARE}", SQUARE),
        (f"{SQUARE}\n<path d='M25 25H5V5H25Z'/> <!-- twice -->", f"{SQUARE}\n <!-- twice -->"),
        ('<path d="M5 5h20v20h-20zM5 5h20v20h-20zm40 0h9v9z"/>',
         '<path d="M5 5h20v20h-20zm40 0h9v9z"/>'),
        ('<circle cx="20" cy="20" r="9"/>\n<path d="M29 20A9 9 0 0 0 11 20A9 9 0 0 0 29 20Z"/>\n',
         '<circle cx="20" cy="20" r="9"/>\n'),
    ],
)  # fmt: skip
def test_one_of_two_lines_goes(body: str, new: str):
    becomes(only(body), only(new), "duplicate-line")


def test_a_filled_shape_is_opened_along_its_neighbour():
    opened = '<path d="M25 5L45 5L45 25L25 25"/>'
    becomes(f"{SQUARE}\n{NEXT}", f"{SQUARE}\n{opened}", "duplicate-line")
    assert stray_pixels(page(f"{SQUARE}\n{NEXT}"), page(f"{SQUARE}\n{opened}")) == 0


def test_a_filled_shape_is_not_opened_along_a_curve():
    body = '<path d="M5 5H25C35 15 35 25 25 35H5Z"/>\n<path d="M25 5C35 15 35 25 25 35H60V5Z"/>'
    stays(body, "would change its fill", "duplicate-line")


@pytest.mark.parametrize(
    ("other", "new"),
    [
        ('<path d="M25 10V40"/>', '<path d="M25 25L25 40"/>'),
        ('<path d="M25 10v30h9v-30z"/>', '<path d="M25 25L25 40h9v-30L25 10"/>'),
        ('<line x1="25" y1="0" x2="25" y2="15"/>', '<line x1="25" y1="0" x2="25" y2="5"/>'),
        ('<g transform="rotate(90)"><path d="M10-25H40"/></g>',
         '<g transform="rotate(90)"><path d="M25 -25L40 -25"/></g>'),
    ],
)  # fmt: skip
def test_a_double_is_cut_where_it_begins_and_ends(other: str, new: str):
    """Open ends are another matter: they are there before and after."""
    text = page(only(SQUARE, other))
    result = mended(text, "duplicate-line")
    assert result.text == page(only(SQUARE, new))
    assert result.changed
    assert not [f for f in findings(result.text) if f.rule == "duplicate-line"]
    assert not mended(result.text, "duplicate-line").changed


@pytest.mark.parametrize("data", ["M25 10V40", "M25 10V20C25 30 40 30 40 50"])
@pytest.mark.parametrize(
    "path",
    [
        "<style>.a{{d:path('{}')}}</style><path class='a'/>",
        "<path d='M1 1H2' style=\"d:path('{}')\"/>",
    ],
)
def test_path_data_in_a_style_stays(path: str, data: str):
    stays(only(SQUARE, path.format(data)), "its path data is written elsewhere", "duplicate-line")


@pytest.mark.parametrize(("arc", "share"), [("0 1 20 30", 0.75), ("1 1 20 10", 0.25)])
@pytest.mark.parametrize(
    "circle",
    [
        '<circle cx="20" cy="20" r="10"/>',
        '<circle cx="-20" cy="20" r="10" transform="scale(-1 1)"/>',
        '<ellipse cx="20" cy="40" rx="10" ry="20" transform="scale(1 .5)"/>',
        '<ellipse cx="40" cy="-20" rx="20" ry="10" transform="matrix(0 .5 -1 0 0 0)"/>',
        '<rect x="10" y="10" width="20" height="20" rx="10"/>',
    ],
)
def test_what_is_left_of_a_circle_is_an_arc_of_it(circle: str, arc: str, share: float):
    text = page(only(f'<path d="M30 20A10 10 0 {arc}"/>', circle))
    result = mended(text, "duplicate-line")
    assert not [f for f in findings(result.text) if f.rule == "duplicate-line"]
    flat = flatten(drawing(result.text).curves, 0.001)
    xy = flat.xy[flat.first[-2] :] * MM_PER_PX
    assert np.hypot(*(xy - 20.0).T) == pytest.approx(10.0, abs=1e-3)
    around = np.hypot(*np.diff(xy, axis=0).T).sum()
    assert around == pytest.approx(share * 20.0 * np.pi, abs=0.01)


@pytest.mark.parametrize(
    "line",
    ['<line x1="25" y1="0" x2="25" y2="40"/>', '<path d="M25 0C25 15 25 15 25 40"/>'],
)
@pytest.mark.parametrize("rules", [(), ("duplicate-line",)])
def test_an_open_line_is_not_cut_in_two(line: str, rules: tuple[str, ...]):
    """It would be two open lines, and open-path would tell of both."""
    reason = "its line is open, and cut here it would be two open lines: close it or take it out"
    stays(only(SQUARE, line), reason, *rules)
    both = only('<path d="M40 20H25V10H40"/>', line)
    stays(both, reason, *rules)  # so would be the other


@pytest.mark.parametrize(
    ("short", "rest"),
    [
        ('<path d="M25 10V20"/>\n', ""),
        ('<line x1="25" y1="10" x2="25" y2="20"/>\n', ""),
        ('<path d="M40 20H25V10"/>\n', '<path d="M40 20H25"/>\n'),
        ('<path d="M25 20V10L5 5"/>\n', '<path d="M25 10L5 5"/>\n'),
        ('<polyline points="25,15 25,20 40,30"/>\n', '<path d="M25,20L40,30"/>\n'),
        ('<path d="M25 5V9"/>\n<path d="M25 12V16"/>\n', ""),
    ],
)
def test_rather_than_cut_an_open_line_the_other_gives_way(short: str, rest: str):
    long = '<path d="M25 0V40"/>'
    text = page(only(f"{short}{long}"))
    result = mended(text, "duplicate-line")
    assert result.text == page(only(f"{rest}{long}"))
    assert not [f for f in findings(result.text) if f.rule == "duplicate-line"]
    assert not mended(result.text, "duplicate-line").changed


def test_a_line_between_two_plates_may_be_cut_in_two():
    """It divides the plate, and its pieces do: their ends are on other lines."""
    plates = (
        '<rect x="5" y="5" width="50" height="50"/>\n<rect x="25" y="20" width="9" height="9"/>'
    )
    becomes(
        only(plates, '<path d="M25 5V55"/>'),
        only(plates, '<path d="M25 5L25 20M25 29L25 55"/>'),
        "duplicate-line",
    )


def test_of_two_fills_the_one_that_is_hidden_goes():
    between = '<circle cx="15" cy="15" r="3" fill="#f00"/>'
    becomes(f"{SQUARE}\n{between}\n{SQUARE}\n", f"{between}\n{SQUARE}\n", "duplicate-line")


@pytest.mark.parametrize(
    "between",
    [
        '<text x="8" y="20" font-size="9" fill="#fff">Moon</text>',
        '<image x="8" y="8" width="9" height="9" href="moon.png"/>',
        '<path d="M27 5V25" fill="none" stroke="#f00" stroke-width="6"/>',  # by its stroke alone
    ],
)
def test_of_two_fills_what_is_painted_between_them_stays_hidden(between: str):
    text = page(f"{SQUARE}\n{between}\n{SQUARE}\n")
    assert mended(text, "duplicate-line").text == page(f"{between}\n{SQUARE}\n")


def test_what_something_refers_to_stays():
    named = SQUARE.replace("<rect", '<rect id="frame"')
    body = f'{SQUARE}\n{named}\n<clipPath id="c"><use href="#frame"/></clipPath>'
    stays(only(body), "something else in the drawing refers to it", "duplicate-line")


def test_a_use_goes_and_what_it_draws_stays():
    named = SQUARE.replace("<rect", '<rect id="frame"')
    becomes(only(named, '<use href="#frame"/>'), only(named), "duplicate-line")


# stray-fragment, crowded-nodes, inside-last, self-crossing


def test_stray_fragments_go():
    body = only(
        '<path d="M60 20l.05 .05"/>', SQUARE, '<path d="M30 5h20v20h-20zM60 50h0m5 5h9v9z"/>'
    )
    new = only(SQUARE, '<path d="M30 5h20v20h-20zM65 55h9v9z"/>')
    becomes(body, new, "stray-fragment")


def test_dense_nodes_become_few():
    steps = "".join(f"l.05 .00{k % 3}" for k in range(400))
    text = page(f'<path d="M5 5{steps}V40H5Z"/>')
    result = mended(text, "crowded-nodes")
    assert not [f for f in findings(result.text) if f.rule == "crowded-nodes"]
    assert len(result.text) < len(text) / 10
    before, after = (
        [f for f in findings(t) if f.rule != "crowded-nodes"] for t in (text, result.text)
    )
    assert before == after == []
    assert result.text.endswith('V40H5Z"/>\n</svg>\n')
    assert not mended(result.text, "crowded-nodes").changed
    assert stray_pixels(text, result.text) == 0


def test_inner_cuts_come_first():
    becomes(
        '<path fill-rule="evenodd" d="m5 5 30 0 0 30-30 0z m10 10 0 10 10 0 0-10z"/>',
        '<path fill-rule="evenodd" d="M15 15l0 10 10 0 0-10z M5 5l30 0 0 30-30 0z"/>',
        "inside-last",
    )
    ring, hole = '<rect x="5" y="5" width="30" height="30"/>', '<circle cx="20" cy="20" r="5"/>'
    becomes(only(ring, hole), only(hole, ring), "inside-last")
    covered = f"{ring}\n{hole}".replace("/>", ' stroke="#000"/>')
    stays(covered, "it would cover on screen what is cut within it", "inside-last")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        # the corner overshoots by 0.3
        ('<path d="M5 5h20.3v.2h-.3v-.4v20.2h-20z"/>', None),
        (
            '<path d="M25 5h10.3v.2h-.2v-.4h-.2v15h-10z"/>',
            '<path d="M25 5L34.9 5L34.9 19.8h-10z"/>',
        ),
        ('<polygon points="5,5 25.3,5 25.3,5.3 25,5.3 25,4.7 26,25 5,25"/>', None),
        # through the first point
        ('<path d="M45.1 5.3v-.4h10v15h-10.2v-14.8h.4v.2z"/>', None),
        # one curve that crosses itself
        ('<path d="M5 30h10c1 .6 -.4 .6 .4 0v15h-10.4z"/>', None),
    ],
)
def test_small_loops_go(old: str, new: str | None):
    text = page(old)
    if not any(f.rule == "self-crossing" for f in findings(text)):
        pytest.fail("the example does not cross itself")
    result = mended(text, "self-crossing")
    if new is not None:
        assert result.text == page(new)
    assert not [f for f in findings(result.text) if f.rule == "self-crossing"]
    assert not mended(result.text, "self-crossing").changed


def test_large_loops_stay():
    stays('<path d="M5 5L35 35V5L5 35Z"/>', "loops are taken out up to 0.50 mm", "self-crossing")


# by name only


def test_what_changes_the_design_is_done_only_by_name():
    body = '<circle cx="30" cy="30" r="20" fill="none" stroke="#000" stroke-width="4"/>'
    assert not mended(page(body)).changed
    result = mended(page(body), "ambiguous-outline")
    assert not [f for f in findings(result.text) if f.rule == "ambiguous-outline"]
    assert [kind.rule for kind in KINDS if not kind.safe] == ["ambiguous-outline", "thin-web"]


@pytest.mark.parametrize("join", ["miter", "round", "bevel"])
@pytest.mark.parametrize("cap", ["butt", "round", "square"])
def test_the_outline_of_a_stroke_is_what_is_seen(join: str, cap: str):
    body = (
        f'<path d="M20 70L40 20L60 65C80 90 90 60 80 40" fill="none" stroke="#000" '
        f'stroke-width="6" stroke-linejoin="{join}" stroke-linecap="{cap}"/>'
    )
    result = mended(page(body), "ambiguous-outline")
    assert result.changed, [left.reason for left in result.left]
    from seen import picture

    apart = abs(picture(page(body), 4.0) - picture(result.text, 4.0)).max(axis=2)
    assert apart.max() <= 96  # of 255 for a pixel of 0.066 mm: 0.025 mm, resvg's own chords too
    assert not [f for f in findings(result.text) if f.rule == "ambiguous-outline"]


def test_a_web_grows_to_the_minimum():
    """3 mm plywood: webs of 1.2 mm finished, 1.38 mm drawn (common practice, no source)."""
    body = '<path d="M5 5H25V19.6H45V5H55V35H45V20.4H25V35H5Z"/>'
    thin = [f for f in findings(page(body)) if f.rule == "thin-web"]
    assert len(thin) == 1
    result = mended(page(body), "thin-web")
    assert result.done[0].message.startswith("Grow the web from 0.6")
    assert not [f for f in findings(result.text) if f.rule in ("thin-web", "narrow-gap")]
    gone, come = changed(drawing(page(body)), drawing(result.text))
    assert len(gone) == len(come) == 1


# unassigned-colour


@pytest.fixture
def job(tmp_path: Path) -> Path:
    sheet = tmp_path / "jobsheet.toml"
    sheet.write_text(JOB, encoding="utf-8")
    return sheet


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('<rect fill="#7b4b2a" {}/>', '<rect fill="#7a4b2a" {}/>'),
        ("<rect style='stroke:none; fill : #7B4B2A ' {}/>",
         "<rect style='stroke:none; fill : #7A4B2A ' {}/>"),
        ('<g fill="rgb(123,75,42)"><rect {}/></g>', '<g fill="#7a4b2a"><rect {}/></g>'),
        ("<style>/* fill:#7b4b2a */ rect{{fill:#7b4b2a}}</style><rect {}/>",
         "<style>/* fill:#7b4b2a */ rect{{fill:#7a4b2a}}</style><rect {}/>"),
        ('<rect fill="#7b4b2a" stroke="#7b4b2a" stroke-width=".1" {}/>',
         '<rect fill="#7a4b2a" stroke="#7a4b2a" stroke-width=".1" {}/>'),
        ('<rect fill="#7b4b2a80" {}/>', '<rect fill="#7a4b2a80" {}/>'),
        ('<g fill="#7b4b2a"><symbol id="s"><rect {}/></symbol><use href="#s"/></g>',
         '<g fill="#7a4b2a"><symbol id="s"><rect {}/></symbol><use href="#s"/></g>'),
    ],
)  # fmt: skip
def test_the_assigned_colour_is_put(job: Path, old: str, new: str):
    place = 'x="5" y="5" width="30" height="30"'
    result = mended(page(old.format(place)), job=job)
    assert result.text == page(new.format(place))
    assert findings(result.text, job) == findings(page(new.format(place)), job)
    assert not mended(result.text, job=job).changed


def test_other_colours_stay(job: Path):
    text = page('<rect x="5" y="5" width="30" height="30" fill="#8a4b2a"/>')
    result = mended(text, job=job)
    assert not result.changed
    assert "further than 1" in result.left[0].reason
    assert mended(text, job=job, colour=10.0).text == text.replace("#8a4b2a", "#7a4b2a")
