"""duplicate-line: keep one of the lines on top of each other.

The later line goes where it runs on the earlier one: whole, or cut where the double begins and
ends. Where that would cut an open line in two, the double goes from the earlier line if that is
whole or ends in it. Of two filled shapes the one that is not seen goes. A filled outline is opened
only where its fill stays as it is, because the fill closes it along the very line.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise
from math import hypot

import numpy as np

from scantling.measure.lines.overlaps import Runs
from scantling.measure.model import Overlap
from scantling.measure.segments import length
from scantling.mend.course import Course
from scantling.mend.cover import opaque, parted
from scantling.mend.curves import part
from scantling.mend.drawn import Drawn
from scantling.mend.edit import Edit
from scantling.mend.path import Changes, Op, Point, Unwritable
from scantling.mend.repair import Case, Found, Refusal, Repair
from scantling.mend.splice import spot_at
from scantling.mend.taking import free, taken
from scantling.read.drawing import Shape
from scantling.read.tree import Node

rule = "duplicate-line"

SNAP = 2.0
"""tolerances; a double that ends this near to the end of a curve ends with it"""

REST = 4.0
"""tolerances; what is left of a line between two doubles, and no longer than this, goes too"""

OPEN = "open-path"
SEVERED = "its line is open, and cut here it would be two open lines: close it or take it out first"

Span = tuple[float, float]


def repairs(case: Case) -> Found:
    runs: Runs = case.fact("runs")
    for overlap in case.fact("overlaps"):
        try:
            yield _mended(case, runs, overlap)
        except Unwritable as error:
            yield Refusal(overlap.second, str(error))


def _mended(case: Case, runs: Runs, overlap: Overlap) -> Repair:
    spans: dict[int, list[Span]] = {}
    for k in overlap.stretches:
        spans.setdefault(int(runs.contour[k]), []).append((float(runs.low[k]), float(runs.high[k])))
    left = {contour: _left(case, contour, found) for contour, found in spans.items()}
    first, second = overlap.first.contour, overlap.second.contour
    if len(left) == 1 and not left[second] and _other_way(case, first, second):
        left = {first: []}
    severed = _severed(case, left)
    if severed:
        below = _left_below(case, runs, overlap)
        if below is not None:
            left, severed = below, False
    by_shape: dict[int, dict[int, list[Span]]] = {}
    for contour, kept in left.items():
        by_shape.setdefault(case.shape(contour).index, {})[contour] = kept
    edits: list[Edit] = []
    nodes: list[Node] = []
    whole = True
    for index, contours in by_shape.items():
        shape = case.drawing.shapes[index]
        free(case, shape)
        whole = whole and not any(contours.values())
        node, new = _without(case, shape, contours)
        nodes.append(node)
        edits += new
    return Repair(
        on=(overlap.second,),
        message="Keep one of two lines" if whole else "Take the doubled stretch out",
        edits=tuple(edits),
        nodes=tuple(nodes),
        contours=frozenset(case.curve(contour) for contour in left),
        same_pieces=True,
        causes={OPEN: SEVERED} if severed else {},
    )


# What is left of a contour


def _course(case: Case, contour: int) -> Course:
    return Course(case.lines, contour, case.drawing.curves, case.curve(contour))


def _left(case: Case, contour: int, doubled: Sequence[Span]) -> list[Span]:
    """The stretches of a contour that are not doubled, mm along it; snapped to its nodes."""
    assert case.sheet is not None
    t = case.sheet.tolerances.coincidence
    course = _course(case, contour)
    total = course.total
    gone: list[Span] = []
    for low, high in doubled:
        for begin, end in _laps(low, high, total):
            gone.append((course.snapped(begin, SNAP * t), course.snapped(end, SNAP * t)))
    kept: list[Span] = []
    at = 0.0
    for begin, end in sorted(gone):
        if begin > at:
            kept.append((at, begin))
        at = max(at, end)
    if at < total:
        kept.append((at, total))
    if course.closed and len(kept) > 1 and kept[0][0] == 0.0 and kept[-1][1] == total:
        around = kept[-1][1] - kept[-1][0] + kept[0][1]  # one piece through the first point
        if around <= REST * t:
            kept = kept[1:-1]
        inner = [span for span in kept[1:-1] if span[1] - span[0] > REST * t]
        return [kept[0], *inner, kept[-1]] if around > REST * t else inner
    return [span for span in kept if span[1] - span[0] > REST * t]


def _severed(case: Case, left: Mapping[int, Sequence[Span]]) -> bool:
    """Whether an open line would be two."""
    return any(len(kept) > 1 and not case.lines.closed[contour] for contour, kept in left.items())


def _left_below(case: Case, runs: Runs, overlap: Overlap) -> dict[int, list[Span]] | None:
    """What is left if the double goes from the earlier line instead; None where that is closed or
    filled, would be two lines itself, or is not the only one beneath."""
    assert case.sheet is not None
    first, second = overlap.first.contour, overlap.second.contour
    stretches = list(overlap.stretches)
    if first == second or (runs.under[stretches] != first).any():
        return None
    if case.lines.closed[first] or case.lines.filled[first]:
        return None
    course = _course(case, first)
    slack = REST * case.sheet.tolerances.coincidence
    doubled: list[Span] = []
    for run in overlap.runs:
        low, high = sorted(course.foot(tuple(point)) for point in run[[0, -1]].tolist())
        if abs(high - low - float(length(np.diff(run, axis=0)).sum())) > slack:
            return None  # the line passes its own double again
        doubled.append((low, high))
    kept = _left(case, first, doubled)
    return None if len(kept) > 1 else {first: kept}


def _laps(low: float, high: float, total: float) -> list[Span]:
    return [(low, high)] if high <= total else [(low, total), (0.0, high - total)]


# Which of the two


def _other_way(case: Case, first: int, second: int) -> bool:
    """Whether the earlier of two equal lines must go instead of the later: where the later is
    painted and the earlier is not, or where the later hides what lies between them. Raises
    Unwritable where neither can go."""
    one, other = case.shape(first), case.shape(second)
    if one is other or not case.lines.filled[second]:
        return False
    if case.lines.filled[first] and not _covers(case, one, other):
        return False
    a, b = _course(case, first).total, _course(case, second).total
    assert case.sheet is not None
    if abs(a - b) > 2.0 * REST * case.sheet.tolerances.coincidence:
        raise Unwritable("its fill would go with the line")
    return True


def _covers(case: Case, one: Shape, other: Shape) -> bool:
    """Whether the later of two filled shapes hides something: another colour, or a shape between
    the two."""
    return opaque(other) and (one.fill != other.fill or parted(case, one, other))


# In the text


def _without(case: Case, shape: Shape, contours: dict[int, list[Span]]) -> tuple[Node, list[Edit]]:
    """The element that changes, and the edits that leave of each contour what is kept."""
    if not any(contours.values()):
        return taken(case, shape, contours)
    if not case.drawn_once(shape):
        raise Unwritable("its element is drawn in other places too")
    drawn = case.drawn(shape)
    filled = any(case.lines.filled[contour] and kept for contour, kept in contours.items())
    if drawn.is_path:
        changes = Changes()
        for contour, kept in contours.items():
            _path(case, drawn, contour, kept, changes)
        return shape.node, drawn.redrawn(changes)
    ((contour, kept),) = contours.items()
    pieces = _pieces(case, drawn, _course(case, contour), case.curve(contour), kept)
    if filled:
        _unseen(case, contour, kept)
    if shape.node.tag == "line" and len(kept) == 1:
        ((begin, (op,)),) = pieces
        return shape.node, [
            *drawn.end_moved(begin, last=False),
            *drawn.end_moved(op.to, last=True),
        ]
    ops = [op for begin, piece in pieces for op in (Op("M", begin), *piece)]
    return shape.node, drawn.drawn_as(ops)


Piece = tuple[Point, list[Op]]
"""Where a piece of line begins, and its commands."""


def _pieces(
    case: Case, drawn: Drawn, course: Course, curve: int, kept: Sequence[Span]
) -> list[Piece]:
    """What is kept of a contour; where it goes on through the first point, as one piece."""
    curves = drawn.curves(curve)
    pieces: list[Piece] = []
    for low, high in kept:
        begin: Point | None = None
        ops: list[Op] = []
        for k, t0, t1 in _parts(case, drawn, course, curve, low, high):
            many = len(curves[k])
            for n, bit in enumerate(curves[k]):
                a, b = max(t0 * many - n, 0.0), min(t1 * many - n, 1.0)
                if a < b:
                    start, op = part(bit.pen, bit.op, a, b)
                    begin = start if begin is None else begin
                    ops.append(op)
        if begin is not None:
            pieces.append((begin, ops))
    if course.closed and len(kept) > 1 and kept[0][0] == 0.0 and kept[-1][1] == course.total:
        begin, ops = pieces.pop()
        pieces[0] = (begin, [*ops, *pieces[0][1]])
    return pieces


def _parts(
    case: Case, drawn: Drawn, course: Course, curve: int, low: float, high: float
) -> list[tuple[int, float, float]]:
    """The curves from one place to another, with the part of each, 0 to 1."""
    curves = drawn.curves(curve)
    bits = [bit for each in curves for bit in each]

    def share(k: int, along: float) -> float:
        bit, t = spot_at(case, drawn, bits, course, k, course.point(along))
        many = len(curves[k])
        return (bit % many + t) / many

    parts = []
    for k, (begin, end) in enumerate(pairwise(course.ends.tolist())):
        if begin < high and low < end:
            a = 0.0 if low <= begin else share(k, low)
            b = 1.0 if high >= end else share(k, high)
            parts.append((k, a, b))
    return parts


def _path(case: Case, drawn: Drawn, contour: int, kept: Sequence[Span], changes: Changes) -> None:
    """Change one contour of path data to what is kept of it."""
    curve = case.curve(contour)
    course = _course(case, contour)
    bits = drawn.bits(curve)
    steps = drawn.steps
    subpath = steps[bits[0].step].subpath
    own = [k for k, step in enumerate(steps) if step.subpath == subpath]
    instead: dict[int, Sequence[Op]] = {}
    if not kept:
        instead = dict.fromkeys(own, ())
    elif case.lines.filled[contour]:
        _unseen(case, contour, kept)
        ((begin, ops),) = _pieces(case, drawn, course, curve, kept)
        instead = dict.fromkeys(own, ())
        instead[own[0]] = (Op("M", begin), *ops)
    else:
        drawing = {bit.step for bit in bits}
        for k in own:
            if k not in drawing and not (steps[k].first and steps[k].op.letter == "M"):
                instead[k] = ()
        ended = True  # the piece before goes on
        parts = [_parts(case, drawn, course, curve, low, high) for low, high in kept]
        for k, bit in enumerate(bits):
            mine = [(a, b) for piece in parts for n, a, b in piece if n == k]
            if mine == [(0.0, 1.0)] and ended and steps[bit.step].op.letter != "Z":
                continue
            ops = []
            for a, b in mine:
                begin, op = part(bit.pen, bit.op, a, b)
                if a > 0.0 or not ended:
                    ops.append(Op("M", begin))
                ops.append(op)
                ended = b >= 1.0
            ended = bool(mine) and mine[-1][1] >= 1.0
            instead[bit.step] = ops
    changes.instead.update(instead)


def _unseen(case: Case, contour: int, kept: Sequence[Span]) -> None:
    """Raise Unwritable where a fill would not close what is kept of its outline along the line
    that is taken out."""
    course = _course(case, contour)
    total = course.total
    gone: list[Span] = []
    at = 0.0
    for low, high in kept:
        if low > at:
            gone.append((at, low))
        at = high
    if at < total:
        gone.append((at, total))
    if course.closed and len(gone) == 2 and gone[0][0] == 0.0 and gone[1][1] == total:
        gone = [(gone[1][0], total + gone[0][1])]
    assert case.sheet is not None
    if not course.closed or len(gone) != 1 or not _straight(case, contour, *gone[0]):
        raise Unwritable("taking the line out would change its fill")


def _straight(case: Case, contour: int, low: float, high: float) -> bool:
    """Whether a stretch of a contour is a straight line, as near as curves are flattened."""
    lines = case.lines
    xy = lines.xy[lines.first[contour] : lines.first[contour + 1]]
    ring = np.concatenate((xy, xy, xy[:1]))
    along = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))))
    inner = ring[(along > low) & (along < high)]
    a, b = (
        np.array([np.interp(at, along, ring[:, 0]), np.interp(at, along, ring[:, 1])])
        for at in (low, high)
    )
    size = hypot(*(b - a))
    if not size:
        return False
    off = np.abs((inner[:, 0] - a[0]) * (b - a)[1] - (inner[:, 1] - a[1]) * (b - a)[0]) / size
    assert case.sheet is not None
    return bool(len(off) == 0 or off.max() <= case.sheet.tolerances.chord)
