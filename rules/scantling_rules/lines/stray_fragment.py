"""stray-fragment: leftovers of a drawing, too short to be meant."""

from collections.abc import Iterator, Mapping, Sequence

from scantling.judge import Example, Fault, page
from scantling.measure.model import Fragment

id = "stray-fragment"
level = "warning"
title = "a line of no length, or too short to be meant"
why = """
A click without a drag, the rest of a trim: nobody sees it on screen. The machine goes there all the
same and burns a pit, or drops the blade and tears.
"""
remedy = """
Delete it.
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
)


def check(fragments: Sequence[Fragment], options: Mapping[str, float]) -> Iterator[Fault]:
    stray = [fragment for fragment in fragments if fragment.extent <= options["length"]]
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
