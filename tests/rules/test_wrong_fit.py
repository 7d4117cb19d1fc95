"""wrong-fit: clearances by kerf and offset, slots by thickness, one finding for one cause."""

import pytest

from scantling.judge import Level, assigned, page, stocked
from scantling_rules.assembly import wrong_fit as rule

WOOD, CLEAR = "#7a4b2a", "#e9e4d8"
JOB = (
    stocked("wood", "plywood", 'kerf = "0.3 mm"', thickness="{wood}")
    + stocked("clear", "{material}", 'kerf = "0.1 mm"')
    + assigned("#7a4b2a", "wood")
    + assigned("#e9e4d8", "clear")
    + """
[[design]]
files = "*.svg"
{fit}

[rules.wrong-fit]
{options}
"""
)


def job(
    fit: str = "snug", options: str = "", wood: str = "6 mm", material: str = "cast acrylic"
) -> str:
    wanted = f'fit = "{fit}"' if fit else ""
    return JOB.format(fit=wanted, options=options, wood=wood, material=material)


def box(x: float, y: float, width: float, height: float) -> str:
    return f"M{x:g} {y:g}h{width:g}v{height:g}h{-width:g}z"


def path(fill: str, *outlines: str, name: str = "shape") -> str:
    return f'<path id="{name}" fill="{fill}" fill-rule="evenodd" d="{"".join(outlines)}"/>'


def inlay(margin: float, number: int = 1) -> str:
    """A plate with openings of 30 x 20, and parts drawn so much smaller on every side."""
    openings = [box(10 + 40 * k, 10, 30, 20) for k in range(number)]
    parts = [
        path(
            CLEAR,
            box(10 + 40 * k + margin, 60 + margin, 30 - 2 * margin, 20 - 2 * margin),
            name=f"part-{k}",
        )
        for k in range(number)
    ]
    return page("\n".join([path(WOOD, box(0, 0, 200, 50), *openings), *parts]), 300, 200)


# The kerfs add 0.15 + 0.05 mm on each side.
@pytest.mark.parametrize(
    ("fit", "margin", "says"),
    [
        ("drop-in", 0.0, None),
        ("drop-in", -0.09, None),
        ("drop-in", -0.15, "clearance 0.05 mm per side finished, a drop-in fit needs 0.10 to 0.40"),
        ("drop-in", 0.19, None),
        ("drop-in", 0.25, "clearance 0.45 mm per side finished, a drop-in fit needs 0.10 to 0.40"),
        ("snug", 0.0, "clearance 0.20 mm per side finished, a snug fit needs 0.00 to 0.10 mm"),
        ("snug", -0.15, None),
        ("snug", -0.25, "clearance -0.05 mm per side finished, a snug fit needs 0.00 to 0.10 mm"),
        ("press", -0.25, None),
        ("press", -0.35, "clearance -0.15 mm per side finished, a press fit needs -0.10 to 0.00"),
        ("press", -0.05, "clearance 0.15 mm per side finished, a press fit needs -0.10 to 0.00"),
    ],
)
def test_clearance(findings_of, fit: str, margin: float, says: str | None):
    found = findings_of(rule, inlay(margin), job(fit))
    assert len(found) == (says is not None)
    if says:
        assert says in found[0].message


def test_what_it_says(findings_of):
    (finding,) = findings_of(rule, inlay(0.0), job())
    assert finding.message.startswith("part and opening of one outline: ")
    assert finding.message.endswith("; draw the part 0.10 mm larger on every side")
    assert (finding.measured, finding.required) == pytest.approx((0.2, 0.1))
    assert (finding.stock, finding.part, finding.level) == ("clear", "part-0", Level.ERROR)
    (opening,) = finding.related
    assert opening.message == "the opening, in wood"
    assert opening.place.line == 2


def test_as_much_smaller_as_it_says_is_right(findings_of):
    (finding,) = findings_of(rule, inlay(-0.4), job())
    assert finding.message.endswith("; draw the part 0.20 mm smaller on every side")
    assert findings_of(rule, inlay(-0.2), job()) == ()


def test_nothing_is_wrong_where_no_fit_is_wanted(findings_of):
    assert findings_of(rule, inlay(-0.4), job("")) == ()


def test_one_cause_is_one_finding(findings_of):
    (finding,) = findings_of(rule, inlay(0.0, number=4), job())
    assert "4 parts and 4 openings of one outline" in finding.message
    assert len(finding.related) == 4


def test_several_outlines_with_one_clearance(findings_of):
    """Two figures, both drawn without regard to the kerf."""
    other = "M60 15h20v8h-12v12h-8z"
    svg = page(
        path(WOOD, box(0, 0, 200, 50), box(10, 10, 30, 20), other)
        + path(CLEAR, box(10, 10, 30, 20))
        + path(CLEAR, other),
        300,
        200,
    )
    (finding,) = findings_of(rule, svg, job())
    assert "2 parts and 2 openings of 2 outlines" in finding.message
    assert "draw parts 0.10 mm larger" in finding.message


def discs(*radii: float, holes: tuple[float, ...]) -> str:
    def circle(x: float, y: float, r: float) -> str:
        return f"M{x - r} {y}a{r} {r} 0 1 0 {2 * r} 0a{r} {r} 0 1 0 {-2 * r} 0z"

    openings = [circle(20 + 30 * k, 20, r) for k, r in enumerate(holes)]
    parts = [path(CLEAR, circle(20 + 30 * k, 70, r), name=f"d{r}") for k, r in enumerate(radii)]
    return page("\n".join([path(WOOD, box(0, 0, 200, 40), *openings), *parts]), 300, 200)


def test_a_set_of_sizes_each_in_its_own(findings_of):
    """Discs of nearly one size are not held against each other's holes."""
    sizes = 10.0, 10.25, 10.5
    right = discs(*(r + 0.15 for r in sizes), holes=sizes)
    assert findings_of(rule, right, job()) == ()
    (finding,) = findings_of(rule, discs(10.15, 10.4, 10.9, holes=sizes), job())
    assert finding.part == "d10.9"
    assert "clearance -0.20 mm" in finding.message
    # the kerf forgotten in all of them: one cause
    (finding,) = findings_of(rule, discs(*sizes, holes=sizes), job())
    assert "3 parts and 3 openings of 3 outlines: clearance 0.20 mm" in finding.message


def test_a_part_drawn_in_its_opening_is_meant_for_that(findings_of):
    """Another opening that it would go into snugly is not its own."""
    svg = page(
        path(WOOD, box(0, 0, 200, 50), box(10, 10, 30, 20), box(60.15, 10.15, 29.7, 19.7))
        + path(CLEAR, box(10, 10, 30, 20)),
        300,
        200,
    )
    (finding,) = findings_of(rule, svg, job())
    assert "clearance 0.20 mm" in finding.message


def test_a_template_around_a_part_in_its_place(findings_of):
    """A card template laid over the parts that it places: drawn 0.3 mm around them."""
    star = "M40 15L46 34L66 34L50 46L56 65L40 53L24 65L30 46L14 34L34 34Z"
    around = (
        f'<path fill="{WOOD}" fill-rule="evenodd" d="M0 0H80V80H0Z{star}"/>'
        f'<path fill="{CLEAR}" d="{star}"/>'
    )
    assert findings_of(rule, page(around, 80, 80), job("drop-in")) == ()
    assert len(findings_of(rule, page(around, 80, 80), job("press"))) == 1


def slotted(width: float, depth: float = 0.0) -> str:
    """A plate of wood with a slot, or with a notch of some depth, beside a plate of clear."""
    edge = f"M0 0h20v{depth:g}h{width:g}v{-depth:g}H60V50H0Z"
    slot = box(20, 10, width, 25)
    return page(
        path(WOOD, edge if depth else box(0, 0, 60, 50), "" if depth else slot)
        + path(CLEAR, box(70, 0, 60, 40)),
        200,
        100,
    )


@pytest.mark.parametrize("depth", [0.0, 20.0])
@pytest.mark.parametrize(
    ("width", "raised"), [(2.7, False), (2.9, False), (3.0, True), (2.6, True), (9.0, False)]
)
def test_slots(findings_of, width: float, raised: bool, depth: float):
    """Finished 0.3 mm wider, for a sheet of 3 mm: 0 to 0.1 mm a side are snug."""
    found = findings_of(rule, slotted(width, depth), job(material="plywood"))
    assert [finding.level for finding in found] == [Level.WARNING] * raised
    if raised:
        clearance = (width + 0.3 - 3.0) / 2
        assert found[0].message == (
            f"slot {width + 0.3:.2f} mm wide finished, for clear of 3.00 mm: "
            f"clearance {clearance:.2f} mm per side, a snug fit needs 0.00 to 0.10 mm"
        )
        assert found[0].stock == "wood"


def test_sheets_of_one_thickness_are_one_finding(findings_of):
    (finding,) = findings_of(rule, slotted(3.0), job(wood="3 mm", material="plywood"))
    assert "for wood or clear of 3.00 mm" in finding.message


def test_fingers_of_a_comb_fit_side_by_side(findings_of):
    assert findings_of(rule, slotted(3.0, depth=3.0), job(material="plywood")) == ()


def test_thickness_of_cast_acrylic(findings_of):
    # ISO 7823-1, from memory: 3 mm ± (0.4 + 0.3) mm
    (finding,) = findings_of(rule, slotted(2.8), job())
    assert finding.level is Level.NOTE
    assert finding.message == (
        "slot 3.10 mm wide finished, for clear: cast acrylic sold as 3.00 mm is 2.30 to 3.70 mm "
        "thick (ISO 7823-1), so the clearance is -0.30 to 0.40 mm per side, a snug fit needs 0.00 "
        "to 0.10 mm; measure the sheet"
    )
    assert findings_of(rule, slotted(2.8), job(options='measured = ["clear"]')) == ()
    assert findings_of(rule, slotted(2.8), job(material="plywood")) == ()


def test_options(findings_of):
    assert findings_of(rule, inlay(0.0), job("snug", 'snug-most = "0.25 mm"')) == ()
    assert findings_of(rule, inlay(-0.4), job("press", "press-least = -0.25")) == ()
    assert findings_of(rule, inlay(-0.4), job("press", 'press-least = "-0.25 mm"')) == ()
