"""Layers of a job sheet that a drawing has not, but nearly: what is drawn on them goes by its
colour, or is not made, and nothing else would say so."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from scantling.near import get_close_matches
from scantling.plan.checked import shown
from scantling.plan.model import Assignment
from scantling.read.drawing import Shape

ALIKE = 0.8
"""Ratio of `difflib` from which one name may have been meant for another."""


def misnamed(shapes: Sequence[Shape], assignments: Iterable[Assignment]) -> Iterator[str]:
    """A notice for each assigned layer that no layer of the drawing is called, but that is an
    element's id, or all but the name of a layer without an assignment. A job sheet counts for many
    drawings, so that a layer which is simply not there says nothing."""
    wanted = dict.fromkeys(a.layer for a in assignments if a.layer is not None)
    if not wanted:
        return
    there = {name for shape in shapes for names in shape.layers for name in names}
    missing = [name for name in wanted if name not in there]
    free = there.difference(wanted)
    elements = {shape.node.id for shape in shapes} if missing else set()
    for name in missing:
        if name in elements:
            yield (
                f"the job sheet assigns layer {shown(name)}, which is an element of the drawing: "
                "only groups are layers, and titles and classes of elements"
            )
            continue
        near = meant(name, free)
        if near:
            yield (
                f"the job sheet assigns layer {shown(name)}, but no layer is called that; "
                f"nearest: {shown(near)}, which has no assignment"
            )


def meant(name: str, free: Iterable[str]) -> str:
    """The one name that is the same but for signs and capitals, or differs by a slip in its
    letters: names that differ in a number are of different layers. Or ''."""
    plain = {other: _plain(other) for other in sorted(free)}
    bare = _plain(name)
    for other, its in plain.items():
        if bare and its == bare:
            return other
    alike = [other for other, its in plain.items() if _digits(its) == _digits(bare)]
    return next(iter(get_close_matches(name, alike, 1, ALIKE)), "")


def _plain(name: str) -> str:
    return "".join(filter(str.isalnum, name.casefold()))


def _digits(name: str) -> str:
    return "".join(filter(str.isdigit, name))
