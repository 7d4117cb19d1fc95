"""tactile-lettering: each clause just inside and just outside, on letters of known strokes.

Values from memory of the 2010 ADA Standards, 703.2: 1/32 in, 5/8 in, 2 in, 15 %, 1/8 in, four
strokes, 55 % and 110 %, 135 %.
"""

import pytest

from scantling.judge import assigned, page, stocked
from scantling_rules.assembly import tactile_lettering as rule

JOB = (
    stocked("raised", "acrylic", 'kerf = "{kerf}"', thickness="{thickness}")
    + assigned("#000", "raised")
    + """
[rules.tactile-lettering]
level = "warning"
{options}
"""
)


def job(thickness: str = "0.8 mm", kerf: str = "0 mm", options: str = "") -> str:
    return JOB.format(thickness=thickness, kerf=kerf, options=options)


def bar(x: float, y: float, height: float, stroke: float) -> str:
    return f"M{x} {y}h{stroke}v{height}h{-stroke}z"


def tee(x: float, y: float, height: float, stroke: float) -> str:
    """A T, four strokes wide."""
    s = stroke
    return f"M{x} {y}h{4 * s}v{s}h{-1.5 * s}v{height - s}h{-s}v{s - height}h{-1.5 * s}z"


def o(x: float, y: float, width: float, height: float, stroke: float) -> str:
    def oval(inset: float) -> str:
        rx, ry = width / 2 - inset, height / 2 - inset
        left = f"M{x + inset} {y + height / 2}"
        return f"{left}a{rx} {ry} 0 1 0 {2 * rx} 0a{rx} {ry} 0 1 0 {-2 * rx} 0z"

    return oval(0) + oval(stroke)


def sign(*letters: str, layer: str = "lettering") -> str:
    path = f'<path fill-rule="evenodd" d="{"".join(letters)}"/>'
    return page(f'<g id="{layer}">{path}</g>', 200, 150)


def row(height: float, stroke: float, gap: float, number: int = 4) -> str:
    """A sign of T I T I …"""
    letters, x = [], 10.0
    for k in range(number):
        letters.append((bar if k % 2 else tee)(x, 10, height, stroke))
        x += (stroke if k % 2 else 4 * stroke) + gap
    return sign(*letters)


def clauses(findings) -> list[str]:
    return [finding.message.rpartition("ADA ")[2].rstrip(")") for finding in findings]


GOOD = row(20, 2.4, 4)


def test_is_off_unless_asked_for(findings_of):
    bad = row(10, 2.4, 1)
    assert findings_of(rule, bad, job().replace('level = "warning"', "least-raise = 1")) == ()
    assert findings_of(rule, bad, job()) != ()


def test_good_lettering_passes(findings_of):
    assert findings_of(rule, GOOD, job()) == ()


def test_only_the_layers_named_are_judged(findings_of):
    bad = row(10, 2.4, 1)
    assert findings_of(rule, bad, job(options='layers = ["words"]')) == ()
    assert findings_of(rule, bad, job(options='layers = ["LETTERING"]')) != ()
    assert findings_of(rule, bad, job(options='layers = ["raised"]')) != ()


@pytest.mark.parametrize(("thickness", "wanted"), [("0.8 mm", []), ("0.75 mm", ["703.2.1"])])
def test_raise(findings_of, thickness, wanted):
    found = findings_of(rule, GOOD, job(thickness))
    assert clauses(found) == wanted


@pytest.mark.parametrize(
    ("height", "wanted"),
    [(15.8, ["703.2.5"]), (15.9, []), (50.7, []), (50.9, ["703.2.5"])],
)
def test_height(findings_of, height, wanted):
    found = findings_of(rule, row(height, 2.3, 4), job())
    assert clauses(found) == wanted
    if found:
        assert found[0].measured == pytest.approx(height)


def test_height_is_finished(findings_of):
    # 16 mm drawn, 15.8 mm once half the kerf is gone above and below
    (finding,) = findings_of(rule, row(16, 2.3, 4), job(kerf="0.2 mm"))
    assert finding.measured == pytest.approx(15.8)
    # the sign 60 mm wide or so passes at the scale where the letters are 15.875 + 0.2 high
    width = 2 * 4 * 2.3 + 2 * 2.3 + 3 * 4
    assert finding.smallest_safe_width == pytest.approx(width * 16.075 / 16)


def test_smaller_characters_where_visual_ones_repeat_them(findings_of):
    small = row(13, 1.8, 4)
    assert clauses(findings_of(rule, small, job())) == ["703.2.5"]
    assert findings_of(rule, small, job(options='least-height = "0.5 in"')) == ()


@pytest.mark.parametrize(("stroke", "wanted"), [(2.98, []), (3.05, ["703.2.6"])])
def test_stroke(findings_of, stroke, wanted):
    found = findings_of(rule, row(20, stroke, 4), job())
    assert clauses(found) == wanted
    if found:
        assert found[0].measured == pytest.approx(stroke, abs=0.01)
        assert found[0].required == pytest.approx(3.0)


def test_stroke_where_strokes_meet_does_not_count(findings_of):
    # Ts alone: the largest disc in each is 1.25 strokes across, 18 % of the height
    letters = [tee(10 + 20 * k, 10, 20, 2.9) for k in range(3)]
    assert findings_of(rule, sign(*letters), job()) == ()


@pytest.mark.parametrize(
    ("width", "wanted"),
    [(10.9, ["703.2.4"]), (11.1, []), (21.9, []), (22.1, ["703.2.4"])],
)
def test_width_of_an_o(findings_of, width, wanted):
    word = sign(bar(10, 10, 20, 2.4), o(17, 10, width, 20, 2.4), bar(22 + width, 10, 20, 2.4))
    assert clauses(findings_of(rule, word, job())) == wanted


@pytest.mark.parametrize(("gap", "wanted"), [(3.1, ["703.2.7"]), (3.2, [])])
def test_least_spacing(findings_of, gap, wanted):
    found = findings_of(rule, row(20, 2.4, gap), job())
    assert clauses(found) == wanted
    if found:
        assert found[0].measured == pytest.approx(gap)
        assert "and 2 more on this line" in found[0].message
        assert len(found[0].related) == 3


def test_kerf_widens_the_gap_and_thins_the_stroke(findings_of):
    tight = row(20, 3.05, 3.1)
    assert sorted(clauses(findings_of(rule, tight, job()))) == ["703.2.6", "703.2.7"]
    assert findings_of(rule, tight, job(kerf="0.2 mm")) == ()


def test_greatest_spacing_is_that_of_a_whole_line(findings_of):
    # four strokes of 2.4 are 9.6
    assert findings_of(rule, row(20, 2.4, 9.5), job()) == ()
    assert clauses(findings_of(rule, row(20, 2.4, 9.7), job())) == ["703.2.7"]
    # one wide gap is a word space
    words = [bar(x, 10, 20, 2.4) for x in (10, 16.4, 35, 41.4)]
    assert findings_of(rule, sign(*words), job()) == ()


@pytest.mark.parametrize("capitals", [1, 2, 4])
def test_lower_case_among_capitals(findings_of, capitals):
    word, x = [], 10.0
    for k in range(6):
        height = 24 if k < capitals else 17
        word.append(tee(x, 34 - height, height, 2.4))
        x += 4 * 2.4 + 4
    assert clauses(findings_of(rule, sign(*word), job())) == ["703.2.2"]


def test_tails_and_brackets_are_not_taken_for_capitals(findings_of):
    # T T T in brackets 1.3 times as high
    left = "M14.4 7a30 30 0 0 0 0 26h2.4a30 30 0 0 1 0 -26z"
    right = "M63.8 7a30 30 0 0 1 0 26h-2.4a30 30 0 0 0 0 -26z"
    letters = [tee(20.6 + 13.6 * k, 10, 20, 2.4) for k in range(3)]
    assert findings_of(rule, sign(left, *letters, right), job()) == ()
    # a letter whose tail reaches below the others, as that of a Q does
    tail = tee(10, 10, 25.5, 2.4)
    word = [tail, *(tee(24 + 14 * k, 10, 20, 2.4) for k in range(3))]
    assert findings_of(rule, sign(*word), job()) == ()


def test_line_spacing(findings_of):
    def two(distance: float) -> str:
        rows = [bar(10 + 7 * k, y, 20, 2.4) for y in (10, 10 + distance) for k in range(3)]
        return sign(*rows)

    assert findings_of(rule, two(27.1), job()) == ()
    found = findings_of(rule, two(26.9), job())
    assert clauses(found) == ["703.2.8"]
    assert found[0].measured == pytest.approx(26.9)


def test_marks_are_not_held_to_the_height(findings_of):
    # I . I - I with a full stop and a hyphen
    word = sign(
        bar(10, 10, 20, 2.4),
        "M16.4 27.6h2.4v2.4h-2.4z",
        bar(23, 10, 20, 2.4),
        "M29.4 19h5v2.4h-5z",
        bar(38.4, 10, 20, 2.4),
    )
    assert findings_of(rule, word, job()) == ()


def test_dots_and_accents_are_part_of_their_character(findings_of):
    # an I with a dot 1 mm above it: no gap between characters
    word = sign(
        bar(10, 10, 20, 2.4), "M10 6.6h2.4v2.4h-2.4z", bar(17, 10, 20, 2.4), bar(24, 10, 20, 2.4)
    )
    assert findings_of(rule, word, job()) == ()


def test_a_drawing_without_lettering_is_not_judged(findings_of):
    assert findings_of(rule, sign(bar(10, 10, 10, 5), layer="plate"), job()) == ()


def test_letters_that_the_kerf_eats_are_left_out(findings_of):
    thin = sign(*(bar(10 + 6 * k, 10, 20, 0.1) for k in range(3)))
    assert findings_of(rule, thin, job(kerf="0.2 mm")) == ()
