"""Patterns that are compiled when they are first used: of all that may stand in a drawing or a job
sheet a run meets little, and compiling a pattern takes longer than reading a small drawing with
it."""

from __future__ import annotations

import re
from typing import Any


class _Late:
    def __init__(self, text: str, flags: int | re.RegexFlag) -> None:
        self._made_of = text, flags

    def __getattr__(self, name: str) -> Any:
        """Of the pattern; what has been asked for once stands here for the next time."""
        found = getattr(re.compile(*self._made_of), name)
        setattr(self, name, found)
        return found


def pattern(text: str, flags: int | re.RegexFlag = 0) -> re.Pattern[str]:
    """As `re.compile`, of a text."""
    late: Any = _Late(text, flags)
    return late  # type: ignore[no-any-return]
