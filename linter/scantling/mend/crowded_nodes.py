"""crowded-nodes: fewer, longer curves in place of dense nodes, within the chord tolerance."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

import numpy as np

from scantling.measure.lines.crowding import Crowding
from scantling.measure.model import Crowd
from scantling.mend.drawn import Drawn
from scantling.mend.edit import Edit
from scantling.mend.fit import fitted, rounded
from scantling.mend.path import Changes, Op, Unwritable
from scantling.mend.repair import Case, Found, Refusal, Repair
from scantling.mend.splice import Stretch, splice
from scantling.read.flatten import edge_counts, points_at
from scantling.read.transforms import scale_of

rule = "crowded-nodes"

FINE = 0.25
"""Part of the chord tolerance to which the curves between the nodes are flattened; what is left
is for the new ones."""
ROUND = 0.02
"""Part of it to which their numbers are rounded."""


def repairs(case: Case) -> Found:
    """One repair an element, as there is one finding."""
    crowding: Crowding = case.fact("crowding")
    dense = crowding.closer(case.options["spacing"], int(case.options["nodes"]))

    def shape(crowd: Crowd) -> int:
        return int(case.lines.shape[crowd.start.contour])

    for _, group in groupby(sorted(dense, key=shape), key=shape):
        crowds = sorted(group, key=lambda crowd: -crowd.nodes)
        try:
            yield _mended(case, crowds)
        except Unwritable as error:
            yield Refusal(crowds[0].start, str(error))


def _mended(case: Case, crowds: Sequence[Crowd]) -> Repair:
    shape = case.shape(crowds[0].start.contour)
    if not case.drawn_once(shape):
        raise Unwritable("its element is drawn in other places too")
    drawn = case.drawn(shape)
    by_contour: dict[int, list[Crowd]] = {}
    for crowd in crowds:
        by_contour.setdefault(crowd.start.contour, []).append(crowd)
    changes = Changes()
    edits: list[Edit] = []
    before = after = 0
    for contour, mine in by_contour.items():
        curve = case.curve(contour)
        stretches = [_smoothed(case, drawn, curve, crowd) for crowd in mine]
        before += sum(crowd.nodes for crowd in mine)
        after += sum(len(stretch.ops) for stretch in stretches)
        closed = bool(case.lines.closed[contour])
        edits += splice(drawn, drawn.bits(curve), closed, stretches, changes)
    if changes.steps:
        edits += drawn.redrawn(changes)
    return Repair(
        on=(crowds[0].start,),
        message=f"Draw {before} curves as {after}",
        edits=tuple(edits),
        nodes=(shape.node,),
        contours=frozenset(case.curve(contour) for contour in by_contour),
        same_pieces=True,
    )


def _smoothed(case: Case, drawn: Drawn, curve: int, crowd: Crowd) -> Stretch:
    """A crowded stretch, and the curves in its place."""
    assert case.sheet is not None
    curves = case.drawing.curves
    first, last = int(curves.first[curve]), int(curves.first[curve + 1])
    begin, end = crowd.start.segment, crowd.end.segment
    if begin <= end:
        order = np.arange(begin, end + 1)
    else:
        order = np.concatenate((np.arange(begin, last), np.arange(first, end + 1)))
    chord = case.sheet.tolerances.chord / case.plan.scale
    kind, data = curves.kind[order], curves.data[order]
    counts = edge_counts(kind, data, FINE * chord)
    segment = np.repeat(np.arange(len(order)), counts)
    step = np.arange(len(segment)) - (np.cumsum(counts) - counts)[segment]
    xy = points_at(kind, data, segment, step / counts[segment])
    tail = points_at(kind, data, np.array([len(order) - 1]), np.array([1.0]))
    xy = np.concatenate((xy, tail))
    xy = xy[np.append(np.hypot(*np.diff(xy, axis=0).T) > 0.0, True)]
    ops = [_user(drawn, op) for op in fitted(xy, (1.0 - FINE - 2.0 * ROUND) * chord)]
    return Stretch(
        (_bit(drawn, curve, begin - first), 0.0),
        (_bit(drawn, curve, end - first + 1) - 1, 1.0),
        tuple(rounded(ops, ROUND * chord / scale_of(drawn.shape.matrix))),
    )


def _bit(drawn: Drawn, curve: int, number: int) -> int:
    """The bit that a curve of a contour begins with."""
    return sum(len(bits) for bits in drawn.curves(curve)[:number])


def _user(drawn: Drawn, op: Op) -> Op:
    """A command in pixels of the page as one in the element's own coordinates."""
    pairs = zip(op.values[::2], op.values[1::2], strict=True)
    return Op(op.letter, tuple(v for pair in pairs for v in drawn.user(pair)))
