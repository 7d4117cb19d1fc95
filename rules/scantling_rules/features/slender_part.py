"""slender-part: a long limb that is too thin for its length."""

from collections.abc import Iterator, Mapping, Sequence

from scantling.judge import Example, Fault, page
from scantling.judge.limits import mm
from scantling.measure.model import Limb, Piece
from scantling.plan.model import Stock

id = "slender-part"
level = "warning"
title = "a limb that is long for its width"
why = """
A limb can be wide enough to be cut and still break: the longer it is, the smaller the knock that
snaps it at its root. Thin stock also warps along it.
"""
remedy = """
Widen the limb or its root, shorten it, tie its end to the part, or back it with another layer.
"""
source = "common practice, no source"
parameters = {
    "slenderness": {
        "type": "number",
        "default": 15.0,
        "minimum": 2,
        "description": "longest a limb may be, in multiples of its mean finished width",
    },
    "brittle-slenderness": {
        "type": "number",
        "default": 10.0,
        "minimum": 2,
        "description": "the same in a brittle stock",
    },
}
_BODY = '<path d="M2 5H12V18H{0}V{1}H12V35H2Z"/>'
passes = (Example(page(_BODY.format(36, 22))),)
fails = (Example(page(_BODY.format(38, 19.8)), note="26 mm long, 1.6 mm wide after the cut"),)


def check(
    limbs: Sequence[Limb], pieces: Sequence[Piece], stock: Stock, options: Mapping[str, float]
) -> Iterator[Fault]:
    names = {piece.number: piece.name for piece in pieces}
    allowed = options["brittle-slenderness" if stock.brittle else "slenderness"]
    for limb in limbs:
        width = limb.width - stock.slot
        if width <= 0 or limb.length <= allowed * width:
            continue
        yield Fault(
            message=f"limb {mm(limb.length)} long and {mm(width)} wide finished: "
            f"{limb.length / width:.1f} times its width, {stock.name} allows {allowed:.1f}",
            on=limb.spot,
            measured=width,
            required=limb.length / allowed,
            extent=limb.length,
            part=names.get(limb.piece, ""),
            mark=(limb.path,),
        )
