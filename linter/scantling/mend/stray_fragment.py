"""stray-fragment: take out what is too short to be meant."""

from __future__ import annotations

from collections.abc import Sequence

from scantling.measure.model import Fragment
from scantling.mend.edit import Edit
from scantling.mend.path import Unwritable
from scantling.mend.repair import Case, Found, Refusal, Repair
from scantling.mend.taking import free, taken
from scantling.read.tree import Node

rule = "stray-fragment"


def repairs(case: Case) -> Found:
    """One repair a sheet, as there is one finding."""
    found: Sequence[Fragment] = case.fact("fragments")
    stray = [one for one in found if one.extent <= case.options["length"]]
    if not stray:
        return
    try:
        yield _mended(case, stray)
    except Unwritable as error:
        yield Refusal(stray[0].spot, str(error))


def _mended(case: Case, stray: Sequence[Fragment]) -> Repair:
    by_shape: dict[int, set[int]] = {}
    for contour in (contour for one in stray for contour in one.contours):
        by_shape.setdefault(case.shape(contour).index, set()).add(contour)
    edits: list[Edit] = []
    nodes: list[Node] = []
    for index, contours in by_shape.items():
        shape = case.drawing.shapes[index]
        free(case, shape)
        node, new = taken(case, shape, sorted(contours))
        nodes.append(node)
        edits += new
    return Repair(
        on=(stray[0].spot,),
        message="Take stray fragments out" if len(stray) > 1 else "Take the stray fragment out",
        edits=tuple(edits),
        nodes=tuple(nodes),
        contours=frozenset(case.curve(c) for contours in by_shape.values() for c in contours),
    )
