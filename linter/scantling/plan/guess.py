"""What a layer is likely meant for, by the words of its name: a guess, for a person to correct."""

from __future__ import annotations

import re
from collections.abc import Iterable

from scantling.plan.model import CUT, ENGRAVE, GUIDE, SCORE

_WORDS = {
    CUT: ("cut", "cuts", "cutting", "cutline", "cutlines"),
    SCORE: ("score", "scores", "scored", "scoring", "fold", "folds", "crease", "creases"),
    ENGRAVE: ("engrave", "engraved", "engraving", "engravings", "etch", "etched", "etching"),
    GUIDE: ("guide", "guides", "guideline", "guidelines", "dimension", "dimensions", "notes"),
}
_OPERATIONS = {word: operation for operation, words in _WORDS.items() for word in words}


def operation_of(names: Iterable[str]) -> str:
    """The operation that a layer's names speak of; '' where they speak of none, or of several."""
    words = re.findall(r"[a-z]+", " ".join(names).lower())
    found = {_OPERATIONS[word] for word in words if word in _OPERATIONS}
    return found.pop() if len(found) == 1 else ""
