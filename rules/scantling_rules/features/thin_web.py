"""thin-web: solid material too thin between two outlines."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import partial

import numpy as np

from scantling.judge import Example, Fault, page
from scantling.judge.limits import below, mm, passing, short
from scantling.measure.model import Hole, Narrow, Piece, Touch
from scantling.plan.model import Minimums, Stock, Tolerances
from scantling_rules.causes import Causes, cause

id = "thin-web"
level = "error"
title = "a web thinner than the stock's minimum"
why = """
A thin web snaps when the part is lifted, chars through under the laser, or lifts off with the
blade. What counts is its finished width: the drawn width less the kerf. A slit has webs beside it
as any outline has; and where outlines touch at a point nothing is left to hold.
"""
remedy = """
Widen the place to the minimum plus the kerf, make the whole design larger, or take a stock that
allows thinner webs.
"""
source = "the stock's minimum.web, with the source that the stock table or the job sheet gives"
_BODY = '<path fill-rule="evenodd" d="{}"/>'
_RING = "M50 20A20 20 0 1 1 10 20A20 20 0 1 1 50 20ZM{1} 20A15 15 0 1 1 {0} 20A15 15 0 1 1 {1} 20Z"
passes = (
    Example(page(_BODY.format(_RING.format(16, 46)), 60), note="a ring, 4 mm at its thinnest"),
    Example(
        page(_BODY.format("M30 2L35 15L49 15L38 23L42 37L30 29L18 37L22 23L11 15L25 15Z"), 60),
        note="sharp tips are not webs",
    ),
)
fails = (
    Example(page(_BODY.format(_RING.format(19, 49)), 60), note="the same ring off centre: 1 mm"),
    Example(
        page(_BODY.format("M5 5H25V19.6H45V5H55V35H45V20.4H25V35H5Z"), 60), note="a 0.8 mm bridge"
    ),
    Example(
        page(
            '<g fill="none" stroke="#000" stroke-width="0.1"><rect x="5" y="5" width="50" '
            'height="30"/><path d="M28 5V25M29.2 15V35M30.4 5V25"/></g>',
            60,
        ),
        note="slits too near each other",
    ),
    Example(
        page(_BODY.format("M5 5H55V35H5ZM15 10H30V20H15ZM30 20H45V30H30Z"), 60),
        note="two openings that meet at a corner",
    ),
)
facts = (cause,)

SAME_PLACE = 1.0
"""mm: a touch this near to a thin place that is told is the end of it, as between two discs."""


def check(
    webs: Sequence[Narrow],
    gaps: Sequence[Narrow],
    touches: Sequence[Touch],
    pieces: Sequence[Piece],
    names: Mapping[int, str],
    stock: Stock,
    minimum: Minimums,
    tolerances: Tolerances,
    cause: Causes,
    holes: Sequence[Hole],
) -> Iterator[Fault]:
    """One finding for each connected place that is too thin, at its least width, and for each
    point where outlines touch: there the solid has no width at all."""
    limit = minimum.web + stock.slot
    crumbs = [
        piece
        for piece in pieces
        if piece.sides[1] < limit and short(piece.sides[0] - stock.slot, minimum.part, tolerances)
    ]
    of_crumbs = {piece.number for piece in crumbs}
    shorter = {piece.number: piece.sides[1] for piece in pieces}
    for web in below(webs, limit):
        if not short(web.width - stock.slot, minimum.web, tolerances):
            continue
        if cause.at_graze(web, tolerances):
            continue
        if _is_hair(web, stock.slot) and shorter.get(web.piece, 0.0) > limit:
            continue
        # A crumb that is thin all over is a small part, and small-part says so.
        told_by = "small-part" if web.piece in of_crumbs else cause.of_narrow(web, limit)
        yield _thin(
            web,
            stock,
            tolerances,
            told_by or cause.of_sliver(web, holes, tolerances),
            names.get(web.piece, ""),
        )
    if not touches:
        return
    # Where they close in slowly the gap beside the point is too narrow, and narrow-gap says so.
    slot = minimum.gap - stock.slot
    narrow = (gap for gap in below(gaps, slot) if not cause.at_graze(gap, tolerances))
    around_crumbs = {contour for piece in crumbs for contour in piece.contours}
    for touch in _apart(touches, below(webs, limit), narrow):
        crumb = {touch.first.contour, touch.second.contour} <= around_crumbs
        told_by = "small-part" if crumb else cause.of_touch(touch)
        yield _touching(touch, stock, told_by, names.get(touch.piece, ""))


def _is_hair(web: Narrow, slot: float) -> bool:
    """Whether a web only sticks out, and is so thin that the cut takes it away: nothing hangs on
    it."""
    return web.kind == "limb" and float(web.widths.max()) <= slot


def _thin(web: Narrow, stock: Stock, tolerances: Tolerances, told_by: str, part: str) -> Fault:
    required = stock.minimum.web
    limit = required + stock.slot
    finished = max(web.width - stock.slot, 0.0)
    return Fault(
        message=f"web {mm(finished)} finished, {stock.name} needs {mm(required)}",
        on=web.p,
        at=web.at,
        measured=finished,
        required=required,
        extent=partial(web.length_below, limit),
        drawn=web.width,
        needed=passing(web.width, limit, tolerances),
        by_stock=True,
        told_by=told_by,
        part=part,
        others=(("the other side of the web", web.q),),
        mark=web.lines,
    )


def _touching(touch: Touch, stock: Stock, told_by: str, part: str) -> Fault:
    required = stock.minimum.web
    return Fault(
        message=f"nothing holds where outlines touch at a point, "
        f"{stock.name} needs a web of {mm(required)}",
        on=touch.first,
        measured=0.0,
        required=required,
        by_stock=True,
        told_by=told_by,
        part=part,
        others=(("the other side of the point", touch.second),),
    )


def _apart(touches: Sequence[Touch], *told: Iterable[Narrow]) -> Iterator[Touch]:
    """The touches, one at a point, but for those at the end of a thin place that is told."""
    near = np.concatenate([np.zeros((0, 2)), *(place.path for some in told for place in some)])
    seen = set()
    for touch in touches:
        at = touch.first.at
        if at not in seen and not (np.hypot(*(near - at).T) <= SAME_PLACE).any():
            yield touch
        seen.add(at)
