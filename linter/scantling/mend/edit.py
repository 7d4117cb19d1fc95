"""Edits of a text: what they make of it, which of them meet, and where places go."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence

from scantling.records import NamedTuple


class Edit(NamedTuple):
    """Replace the characters from `start` up to `end` by `text`."""

    start: int
    end: int
    text: str


def applied(text: str, edits: Iterable[Edit]) -> str:
    """The text after edits that do not meet."""
    parts = []
    at = 0
    for edit in sorted(edits):
        if edit.start < at:
            raise ValueError("edits overlap")
        parts += [text[at : edit.start], edit.text]
        at = edit.end
    return "".join([*parts, text[at:]])


def meet(some: Iterable[Edit], others: Iterable[Edit]) -> bool:
    """Whether any edit of the one touches or overlaps one of the others."""
    ranges = sorted((e.start, e.end) for e in others)
    starts = [start for start, _ in ranges]
    for edit in some:
        k = bisect_right(starts, edit.end) - 1
        # those of one set do not overlap: only the last that begins before can reach here
        if k >= 0 and ranges[k][1] >= edit.start:
            return True
    return False


class Moves:
    """Where places of the old text are in the new one, and the other way round."""

    def __init__(self, edits: Sequence[Edit]) -> None:
        self._edits = sorted(edits)

    def back(self, offset: int) -> int:
        """The old place of a place in the new text; of one in new text, where that was put."""
        grown = 0
        for edit in self._edits:
            start = edit.start + grown
            if offset < start:
                break
            if offset < start + len(edit.text):
                return edit.start
            grown += len(edit.text) - (edit.end - edit.start)
        return offset - grown
