"""tactile-lettering: raised characters of a sign against the 2010 ADA Standards, 703.2."""

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from itertools import pairwise
from typing import Any

import numpy as np

from scantling.judge import Example, Fault, assigned, page, stocked
from scantling.judge.limits import mm, short
from scantling.measure.assembly.finish import finished
from scantling.measure.assembly.lettering import (
    capital_height,
    is_bar,
    is_round,
    stroke_width,
    text_lines,
)
from scantling.measure.model import Piece
from scantling.plan.model import Lines, Sheet, Stock, Tolerances
from scantling.read.drawing import Drawing
from scantling.records import dataclass

id = "tactile-lettering"
level = "off"
title = "raised sign characters outside the 2010 ADA Standards, section 703.2"
why = """
Raised characters are read with the fingertips. Too low, too small, too fat or too close together,
they run into one shape; too large or too far apart, a fingertip loses them.

The kept parts of the layers or stocks that the option `layers` names are checked as characters of
upright text that runs along x: raise (703.2.1, the stock's thickness), height and stroke by the
uppercase I (703.2.5, 703.2.6; where a line has no plain bar, by the height that its characters
share and the stroke of the thicker ones), the width of a round O or 0 (703.2.4), spacing (703.2.7)
and the least line spacing (703.2.8). Characters of clearly different heights on one line are
reported too, as some may be lower case (703.2.2).

Outlines do not show the rest: whether letters are uppercase (703.2.2) and plain sans serif
(703.2.3), 3/8 in of room to raised borders (703.2.7), the greatest line spacing, braille (703.3),
where the sign is mounted (703.4), finish and contrast (703.5). A gap wider than the others of a
line is taken for a word space.
"""
remedy = """
Take a plain sans serif typeface of medium weight in capitals, set it between 5/8 in and 2 in high
with open spacing, and cut it from stock at least 1/32 in thick. Keep braille, borders and
pictograms out of the lettering layer. Where the same words are on the sign as visual characters
besides, 1/2 in high raised characters are allowed: set `least-height = "0.5 in"`. This is a help
for the drawing board: the local authority decides, on the mounted sign.
"""
source = (
    "2010 ADA Standards for Accessible Design, 703.2.1, 703.2.2 and 703.2.4 to 703.2.8; values "
    "from memory, in inches as the standard gives them"
)
parameters = {
    "layers": {
        "type": "array",
        "items": {"type": "string"},
        "default": ["lettering"],
        "description": "names of the layers or stocks whose kept parts are raised characters; a "
        "drawing without one of them is not judged",
    },
    "least-raise": {
        "type": "number",
        "default": 0.79375,
        "exclusiveMinimum": 0,
        "x-unit": "mm",
        "description": "703.2.1: least raise above the background, 1/32 in",
    },
    "least-height": {
        "type": "number",
        "default": 15.875,
        "exclusiveMinimum": 0,
        "x-unit": "mm",
        "description": "703.2.5: least height of the uppercase I, 5/8 in",
    },
    "greatest-height": {
        "type": "number",
        "default": 50.8,
        "exclusiveMinimum": 0,
        "x-unit": "mm",
        "description": "703.2.5: greatest height of the uppercase I, 2 in",
    },
    "greatest-stroke": {
        "type": "number",
        "default": 0.15,
        "exclusiveMinimum": 0,
        "description": "703.2.6: greatest stroke thickness as a share of the height",
    },
    "least-spacing": {
        "type": "number",
        "default": 3.175,
        "exclusiveMinimum": 0,
        "x-unit": "mm",
        "description": "703.2.7: least distance between characters of rectangular cross section, "
        "1/8 in",
    },
    "greatest-spacing": {
        "type": "number",
        "default": 4.0,
        "exclusiveMinimum": 0,
        "description": "703.2.7: greatest distance between characters, in stroke thicknesses",
    },
}
NARROW_O, WIDE_O = 0.55, 1.10
"""703.2.4: least and greatest width of the uppercase O, as a share of the height of the I."""
LINE_SPACING = 1.35
"""703.2.8: least distance between baselines, as a share of the character height."""
LOWER, HIGHER = 0.85, 1.25
"""Shares of a line's height: characters below and above may be lower case among capitals, and
capitals among lower case. A tail or a bracket is as high as the latter but goes below the line."""

_JOB = (
    stocked("letters", "acrylic", 'kerf = "0.2 mm"', thickness="{}")
    + assigned("#000", "letters")
    + """
[rules.tactile-lettering]
level = "error"
layers = ["letters"]
"""
)


def _hill(height: float, stroke: float, gap: float) -> str:
    """The letters H I L L at the left margin: height, stroke and the gap between letters."""
    h, s = height, stroke
    bar = f"v{h}h{s}v{-h}z"
    cap = f"v{h}h{s}v{-(h - s) / 2:g}h{s}v{(h - s) / 2:g}h{s}v{-h}h{-s}v{(h - s) / 2:g}h{-s}"
    foot = f"v{h}h{4 * s:g}v{-s}h{-3 * s:g}v{s - h:g}z"
    x, letters = 5.0, []
    for letter, width in (
        (f"{cap}v{-(h - s) / 2:g}z", 3 * s),
        (bar, s),
        (foot, 4 * s),
        (foot, 4 * s),
    ):
        letters.append(f"M{x:g} 5{letter}")
        x += width + gap
    return page(f'<path d="{"".join(letters)}"/>', 80, 45)


passes = (
    Example(_hill(20, 2.4, 4), _JOB.format("1.5 mm"), "HILL, 20 mm high"),
    Example(_hill(10, 3, 1), _JOB.format("0.5 mm").replace('["letters"]', '["elsewhere"]')),
)
fails = (
    Example(_hill(15, 2, 4), _JOB.format("1.5 mm"), "15 mm high, 5/8 in is 15.88 mm"),
    Example(_hill(20, 4, 4), _JOB.format("1.5 mm"), "the stroke is 19 % of the height"),
    Example(_hill(20, 2.4, 2), _JOB.format("1.5 mm"), "2.2 mm between letters"),
    Example(_hill(20, 2.4, 4), _JOB.format("0.5 mm"), "raised by only 0.5 mm"),
)


@dataclass(frozen=True, eq=False)
class Letter:
    """One character: its parts, their finished shapes (the largest first), and whether it is
    only a mark (dot, hyphen, quote)."""

    pieces: tuple[Piece, ...]
    bodies: tuple[Any, ...]
    mark: bool

    @property
    def piece(self) -> Piece:
        return self.pieces[0]

    @property
    def body(self) -> Any:
        return self.bodies[0]

    @property
    def height(self) -> float:
        _, y0, _, y1 = self.body.bounds
        return float(y1 - y0)

    @property
    def wide(self) -> bool:
        """Whether it is wider than a bracket."""
        x0, _, x1, _ = self.body.bounds
        return bool(x1 - x0 >= 0.3 * self.height)


@dataclass(frozen=True, eq=False)
class TextLine:
    """One line of text, and what its capitals measure."""

    letters: tuple[Letter, ...]

    @cached_property
    def capitals(self) -> tuple[Letter, ...]:
        """The characters that are no marks: all of them, where there is nothing else."""
        return tuple(x for x in self.letters if not x.mark) or self.letters

    @cached_property
    def bars(self) -> tuple[Letter, ...]:
        """The plain bars as high as the capitals: the letter I."""
        plain = [x for x in self.capitals if is_bar(x.body)]
        shared = _shared_height([x for x in self.capitals if x.wide or x in plain])
        return tuple(x for x in plain if x.height >= 0.94 * shared)

    @cached_property
    def height(self) -> float:
        letters = self.bars or [x for x in self.capitals if x.wide] or self.capitals
        return _shared_height(letters)

    @cached_property
    def model(self) -> Letter:
        """The character that stands for the line."""
        return min(self.bars or self.capitals, key=lambda x: abs(x.height - self.height))

    @cached_property
    def stroke(self) -> tuple[float, tuple[float, float], Letter]:
        """Its thickness, a place where it is so thick, and the character: the I, or else one
        than which a quarter of the others are thicker, as an I is hardly ever thinner than most."""
        found = [(*stroke_width(x.body), x) for x in self.bars or self.capitals]
        found.sort(key=lambda one: one[0])
        return found[len(found) * 3 // 4]

    @cached_property
    def gaps(self) -> tuple[tuple[float, Any, Letter, Letter], ...]:
        """Least distance between neighbours, the shortest line between them, and both."""
        import shapely

        whole = [shapely.GeometryCollection(list(x.bodies)) for x in self.letters]
        return tuple(
            (float(shapely.distance(a, b)), shapely.shortest_line(a, b), x, y)
            for (a, x), (b, y) in pairwise(zip(whole, self.letters, strict=True))
        )

    @cached_property
    def baseline(self) -> float:
        return float(np.median([x.body.bounds[3] for x in self.capitals]))

    @cached_property
    def across(self) -> tuple[float, float]:
        bounds = np.array([x.body.bounds for x in self.letters])
        return float(bounds[:, 0].min()), float(bounds[:, 2].max())


def check(
    pieces: Sequence[Piece],
    lines: Lines,
    drawing: Drawing,
    sheet: Sheet,
    stock: Stock,
    tolerances: Tolerances,
    options: Mapping[str, Any],
) -> Iterator[Fault]:
    """Heights and the room between characters pass at another size, the raise in another stock.
    Of shapes and proportions (703.2.2, 703.2.4, 703.2.6, 703.2.8, and the greatest room between
    characters) neither changes more than what the kerf does to them."""
    named = {word.casefold() for word in options["layers"]}
    whole_sheet = bool(named & {stock.name.casefold(), sheet.label.casefold()})
    raised = [
        piece
        for piece in pieces
        if piece.kept
        and (whole_sheet or named & _layers(drawing.shapes[int(lines.shape[piece.outer.contour])]))
    ]
    text = _read(raised, stock.slot)
    if not text:
        return
    if stock.thickness < options["least-raise"] - 1e-6:
        yield Fault(
            message=f"characters raised by {mm(stock.thickness)}, the thickness of {stock.name}; "
            f"at least {mm(options['least-raise'])} wanted (ADA 703.2.1)",
            **_at(text[0].model),
            measured=stock.thickness,
            required=options["least-raise"],
            by_stock=True,
        )
    for line in text:
        yield from _heights(line, stock, tolerances, options)
        yield from _strokes(line, tolerances, options)
        yield from _proportions(line, tolerances)
        yield from _spacing(line, stock, tolerances, options)
    yield from _line_spacing(text, tolerances)


def _shared_height(letters: Sequence[Letter]) -> float:
    return capital_height(np.array([x.height for x in letters])) if letters else 0.0


def _layers(shape: Any) -> set[str]:
    return {name.casefold() for names in shape.layers for name in names}


def _read(raised: Sequence[Piece], slot: float) -> list[TextLine]:
    """The lines of text that the finished parts make."""
    import shapely

    bodies, owner = shapely.get_parts(
        finished([x.polygon for x in raised], slot), return_index=True
    )
    solid = ~shapely.is_empty(bodies)
    bodies, owner = bodies[solid], owner[solid]
    return [
        TextLine(
            tuple(
                Letter(
                    tuple(raised[int(owner[k])] for k in character.parts),
                    tuple(bodies[k] for k in character.parts),
                    character.mark,
                )
                for character in line
            )
        )
        for line in text_lines(shapely.bounds(bodies))
    ]


def _at(letter: Letter) -> dict[str, Any]:
    return {
        "on": letter.piece.outer,
        "at": letter.piece.centre,
        "part": letter.piece.name,
    }


def _heights(
    line: TextLine, stock: Stock, tolerances: Tolerances, options: Mapping[str, Any]
) -> Iterator[Fault]:
    least, most = options["least-height"], options["greatest-height"]
    count = f"{len(line.capitals)} on this line" if len(line.capitals) > 1 else "alone on its line"
    if short(line.height, least, tolerances):
        yield Fault(
            message=f"raised character {mm(line.height)} high finished ({count}), "
            f"at least {mm(least)} wanted (ADA 703.2.5)",
            **_at(line.model),
            measured=line.height,
            required=least,
            drawn=line.height + stock.slot,
            needed=least + stock.slot,
        )
    elif short(most, line.height, tolerances):
        yield Fault(
            message=f"raised character {mm(line.height)} high finished ({count}), "
            f"at most {mm(most)} wanted (ADA 703.2.5)",
            **_at(line.model),
            measured=line.height,
            required=most,
            drawn=line.height + stock.slot,
            needed=most + stock.slot,
        )
    low = [x for x in line.capitals if x.height < LOWER * line.height]
    odd = low if len(low) >= max(2, len(line.capitals) / 4) else []
    floor = line.baseline + (1.0 - LOWER) * line.height
    odd += [
        x
        for x in line.capitals
        if x.height > HIGHER * line.height and x.wide and x.body.bounds[3] < floor
    ]
    if odd:
        yield Fault(
            message=f"characters {mm(odd[0].height)} and {mm(line.height)} high on one line: some "
            "may be lower case, raised characters are uppercase (ADA 703.2.2)",
            **_at(odd[0]),
            measured=odd[0].height,
            required=line.height,
            others=tuple(("another of another height", x.piece.outer) for x in odd[1:]),
        )


def _strokes(line: TextLine, tolerances: Tolerances, options: Mapping[str, Any]) -> Iterator[Fault]:
    thick, at, letter = line.stroke
    most = options["greatest-stroke"] * line.height
    if short(most, thick, tolerances):
        yield Fault(
            message=f"stroke {mm(thick)} thick finished, at most {mm(most)} wanted: "
            f"{_percent(options['greatest-stroke'])} of the height of {mm(line.height)} "
            f"(ADA 703.2.6)",
            **_at(letter) | {"at": at},
            measured=thick,
            required=most,
        )


def _proportions(line: TextLine, tolerances: Tolerances) -> Iterator[Fault]:
    for letter in line.capitals:
        whole = len(letter.bodies) == 1 and letter.height >= LOWER * line.height
        if not (whole and is_round(letter.body)):
            continue
        x0, _, x1, _ = letter.body.bounds
        width, least, most = x1 - x0, NARROW_O * line.height, WIDE_O * line.height
        narrow = short(width, least, tolerances)
        if narrow or short(most, width, tolerances):
            limit = least if narrow else most
            yield Fault(
                message=f"round character {mm(width)} wide finished, at "
                f"{'least' if narrow else 'most'} {mm(limit)} wanted for an O: "
                f"{_percent(NARROW_O if narrow else WIDE_O)} of the height (ADA 703.2.4)",
                **_at(letter),
                measured=width,
                required=limit,
            )
            return


def _spacing(
    line: TextLine, stock: Stock, tolerances: Tolerances, options: Mapping[str, Any]
) -> Iterator[Fault]:
    if not line.gaps:
        return
    least = options["least-spacing"]
    close = sorted(
        (gap for gap in line.gaps if short(gap[0], least, tolerances)), key=lambda gap: gap[0]
    )
    if close:
        distance, between, letter, other = close[0]
        more = f" (and {len(close) - 1} more on this line)" if len(close) > 1 else ""
        yield Fault(
            message=f"characters {mm(distance)} apart finished{more}, at least {mm(least)} wanted "
            f"(ADA 703.2.7)",
            **_at(letter) | {"at": _middle(between)},
            measured=distance,
            required=least,
            drawn=distance - stock.slot,
            needed=least - stock.slot,
            others=(
                ("the next character", other.piece.outer),
                *(("another too close to the next", gap[2].piece.outer) for gap in close[1:]),
            ),
            mark=(np.asarray(between.coords),),
        )
    most = options["greatest-spacing"] * line.stroke[0]
    distance, between, letter, other = min(line.gaps, key=lambda gap: gap[0])
    if len(line.gaps) > 1 and short(most, distance, tolerances):
        yield Fault(
            message=f"all characters of this line are at least {mm(distance)} apart finished, at "
            f"most {mm(most)} wanted within a word: {options['greatest-spacing']:g} strokes "
            f"(ADA 703.2.7)",
            **_at(letter) | {"at": _middle(between)},
            measured=distance,
            required=most,
            others=(("the next character", other.piece.outer),),
        )


def _percent(share: float) -> str:
    return f"{100.0 * share:g} %"


def _middle(between: Any) -> tuple[float, float]:
    x, y = np.asarray(between.coords).mean(axis=0).tolist()
    return (x, y)


def _line_spacing(text: Sequence[TextLine], tolerances: Tolerances) -> Iterator[Fault]:
    """Each line and the nearest one below that it overlaps."""
    for line in text:
        below = [
            other
            for other in text
            if other.baseline > line.baseline
            and other.across[0] < line.across[1]
            and line.across[0] < other.across[1]
        ]
        if not below:
            continue
        other = min(below, key=lambda x: x.baseline)
        distance, least = other.baseline - line.baseline, LINE_SPACING * other.height
        if short(distance, least, tolerances):
            yield Fault(
                message=f"baselines {mm(distance)} apart, at least {mm(least)} wanted: "
                f"{_percent(LINE_SPACING)} of the character height (ADA 703.2.8)",
                **_at(other.model),
                measured=distance,
                required=least,
                others=(("the line above", line.model.piece.outer),),
            )
