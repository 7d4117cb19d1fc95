"""stray-fragment: leftovers of a drawing, too short to be meant."""

from collections.abc import Iterator, Mapping, Sequence

from scantling.judge import Example, Fault, page
from scantling.judge.limits import mm
from scantling.measure.model import Fragment
from scantling.plan.model import Lines, Plan

id = "stray-fragment"
level = "warning"
title = "a line of no length, or too short to be meant"
why = """
A click without a drag, the rest of a trim: it is hardly seen on screen. The machine goes there all
the same and burns a pit, or drops the blade and tears. The same becomes of details that are this
small at the finished size, and of a dot that is drawn as a line of no length with a wide round cap.
"""
remedy = """
Delete it. Draw a dot that is meant as a circle, and a detail that is meant as large as the stock's
least hole or part.
"""
source = "common practice, no source"
parameters = {
    "length": {
        "type": "number",
        "default": 0.2,
        "minimum": 0,
        "x-unit": "mm",
        "description": "longest extent of a line that counts as stray",
    }
}
_BODY = '<g fill="none" stroke="#000" stroke-width="0.1"><rect x="5" y="5" width="30" height="30"/>'
passes = (Example(page(_BODY + "</g>")),)
fails = (
    Example(page(_BODY + '<path d="M20 20h0"/></g>'), note="a line of no length"),
    Example(page(_BODY + '<path d="M20 20l0.05 0.05"/></g>')),
    Example(
        page(_BODY + '<path d="M20 20h0.15v0.1h-0.15Z"/></g>'),
        note="its extent is what counts, not the way around it",
    ),
    Example(
        page(
            '<rect x="5" y="5" width="30" height="30"/>'
            '<path d="M20 20h0" fill="none" stroke="#000" stroke-width="4" stroke-linecap="round"/>'
        ),
        note="a dot on screen, a point on the machine",
    ),
)


def check(
    fragments: Sequence[Fragment], options: Mapping[str, float], lines: Lines, plan: Plan
) -> Iterator[Fault]:
    """One finding for all of a sheet, and one for those that are seen as dots."""
    dots: list[tuple[Fragment, float]] = []
    stray: list[Fragment] = []
    for fragment in fragments:
        if fragment.extent > options["length"]:
            continue
        shape = plan.drawing.shapes[int(lines.shape[fragment.spot.contour])]
        across = shape.stroke_width * plan.scale if shape.stroke and shape.linecap != "butt" else 0
        if across > options["length"] and not fragment.closed:
            dots.append((fragment, across))
        else:
            stray.append(fragment)
    if dots:
        (one, across), *others = dots
        some = f"{len(dots)} dots, the first {mm(across)} wide, are lines"
        yield Fault(
            message=f"{some if others else f'dot {mm(across)} wide is a line'} of no length: the "
            f"tool makes a mere point of {'each' if others else 'it'}",
            on=one.spot,
            measured=one.extent,
            required=options["length"],
            others=tuple(("another dot", fragment.spot) for fragment, _ in others),
        )
    if not stray:
        return
    first, *more = stray
    some = f"{len(stray)} stray fragments, the first" if more else "stray fragment"
    yield Fault(
        message=f"{some} {first.extent:.3f} mm long",
        on=first.spot,
        measured=first.extent,
        required=options["length"],
        others=tuple(("another stray fragment", fragment.spot) for fragment in more),
    )
