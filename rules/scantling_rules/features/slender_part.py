"""slender-part: a long limb that is too thin for its length."""

from collections.abc import Iterator, Mapping, Sequence
from math import dist, sqrt

import numpy as np

from scantling.judge import Example, Fault, page
from scantling.judge.limits import mm
from scantling.measure.model import Limb
from scantling.plan.model import Minimums, Stock
from scantling_rules.causes import Causes, cause

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
source = (
    "common practice, no source, for the allowance; that a bar's strength at its root goes by the "
    "square of its width over its length is the textbook formula for a cantilever in bending"
)
parameters = {
    "slenderness": {
        "type": "number",
        "default": 15.0,
        "minimum": 8,
        "description": "length that a limb of the least width that the stock allows may have, in "
        "multiples of that width; a limb twice as wide may be four times as long",
    },
    "brittle-slenderness": {
        "type": "number",
        "default": 10.0,
        "minimum": 8,
        "description": "the same in a brittle stock",
    },
}
_BODY = '<path d="M2 5H12V18H{0}V{1}H12V35H2Z"/>'
passes = (
    Example(page(_BODY.format(26, 20))),
    Example(page('<rect x="2" y="2" width="36" height="4"/>'), note="a sturdy bar"),
)
fails = (
    Example(page(_BODY.format(38, 19.9)), note="26 mm long, 1.7 mm wide after the cut"),
    Example(page('<rect x="2" y="2" width="36" height="2"/>'), note="a bar has one finding"),
)
facts = (cause,)


def check(
    limbs: Sequence[Limb],
    names: Mapping[int, str],
    stock: Stock,
    minimum: Minimums,
    options: Mapping[str, float],
    cause: Causes,
) -> Iterator[Fault]:
    """What is below the minimum thin-web tells, or sharp-tip where it tapers."""
    slenderness = options["brittle-slenderness" if stock.brittle else "slenderness"]
    told: dict[int, list[Limb]] = {}
    ends = [cause.of_end(limb.spot) for limb in limbs]
    # Of a bar with two free ends one is told: not the one that another rule tells of already.
    order = sorted(range(len(limbs)), key=lambda k: (not limbs[k].taper, ends[k] != ""))
    for limb, end in ((limbs[k], ends[k]) for k in order):
        width = limb.width - stock.slot
        allowed = slenderness * width * width / minimum.web
        # A curled limb has the lever of its reach, not of its length.
        lever = min(limb.length, float(np.hypot(*(limb.path - limb.path[0]).T).max()))
        if width <= 0.0 or lever <= allowed:
            continue
        of_piece = told.setdefault(limb.piece, [])
        if any(_same_bar(limb, other) for other in of_piece):
            continue
        of_piece.append(limb)
        yield Fault(
            message=f"limb reaches {mm(lever)} at {mm(width)} of width finished, "
            f"{stock.name} allows {mm(allowed)} at this width",
            on=limb.spot,
            measured=lever,
            required=allowed,
            extent=limb.length,
            drawn=limb.width,
            # A taper is as slender at any size, and seen farther the smaller it is: none helps.
            needed=None
            if limb.taper
            else _passing_width(limb.width, lever * minimum.web / slenderness, stock.slot),
            by_stock=True,
            told_by="thin-web" if width < minimum.web else end,
            part=names.get(limb.piece, ""),
            mark=(limb.path,),
        )


def _passing_width(width: float, square: float, slot: float) -> float:
    """How wide a limb must be drawn to pass, its length growing with it: the larger root w of
    (w - slot)² = square · w / width, in mm and mm²."""
    half = slot + square / width / 2.0
    return half + sqrt(half * half - slot * slot)


def _same_bar(limb: Limb, other: Limb) -> bool:
    """A bar with two free ends is a limb from either of them; both limbs are of one piece. (What is
    a taper from one of them is asked first: it is one.)"""
    x, y = other.path[-1]
    return dist(limb.spot.at, (x, y)) <= 2.0 * limb.width
