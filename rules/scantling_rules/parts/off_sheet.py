"""off-sheet: a part larger than the usable sheet."""

from collections.abc import Iterator, Sequence
from math import sqrt

from scantling.judge import Example, Fault, page
from scantling.measure.model import Piece
from scantling.plan.model import Sheet, Stock

id = "off-sheet"
level = "error"
title = "a part, or the layout as drawn, larger than the usable sheet"
why = """
What does not fit the sheet, or the bed, is cut off at its edge. A part that fits only at another
place or angle must be moved before the job is sent.
"""
remedy = """
Make the design smaller, split the part, or take a larger sheet; a layout larger than the sheet is
cut in several goes.
"""
source = (
    "the stock's sheet; a rectangle in a rectangle by the condition of W. B. Carver (1957), as "
    "given in J. E. Wetzel, Rectangles in rectangles, Mathematics Magazine 73 (2000): from memory"
)
_JOB = """
[[stock]]
name = "ply"
material = "plywood"
thickness = "3 mm"
process = "laser"
sheet = ["30 mm", "20 mm"]

[[assign]]
colour = "#000"
stock = "ply"
operation = "cut"
"""
_BODY = '<rect x="2" y="2" width="{}" height="{}"/>'
passes = (Example(page(_BODY.format(18, 28)), _JOB, "turned by 90 degrees it fits"),)
fails = (Example(page(_BODY.format(35, 15)), _JOB),)


def fits(part: tuple[float, float], sheet: tuple[float, float]) -> bool:
    """Whether a rectangle fits into another at any angle. Sides in any order, any one unit."""
    q, p = sorted(part)
    b, a = sorted(sheet)
    if p <= a and q <= b:
        return True
    if p <= a or q > b:
        return False
    return b >= (2 * p * q * a + (p * p - q * q) * sqrt(p * p + q * q - a * a)) / (p * p + q * q)


def check(pieces: Sequence[Piece], sheet: Sheet, stock: Stock) -> Iterator[Fault]:
    if stock.sheet is None:
        return
    size = f"{stock.sheet[0]:g} x {stock.sheet[1]:g} mm"
    kept = [piece for piece in pieces if piece.kept]
    for piece in kept:
        if not fits(piece.sides, stock.sheet):
            yield Fault(
                message=f"part {piece.sides[0]:.2f} x {piece.sides[1]:.2f} mm does not fit the "
                f"usable sheet of {size} at any angle",
                on=piece.outer,
                at=piece.centre,
                measured=piece.sides[0],
                required=max(stock.sheet),
                part=piece.name,
            )
