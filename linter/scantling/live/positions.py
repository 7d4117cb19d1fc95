"""Offsets in a text and positions as an editor counts them.

Language Server Protocol 3.17, "Position": lines count from 0 and end in LF, CRLF or CR;
characters count from 0 in units of the encoding that client and server agreed on, UTF-16 where
they did not.
"""

from __future__ import annotations

import re
from bisect import bisect_right

_END = re.compile(r"\r\n|\n|\r")
_UNITS = {"utf-8": ("utf-8", 1), "utf-16": ("utf-16-le", 2), "utf-32": ("utf-32-le", 4)}


class Positions:
    """Positions in one text. `encoding` is 'utf-8', 'utf-16' or 'utf-32'."""

    def __init__(self, text: str, encoding: str = "utf-16") -> None:
        self.text = text
        self._codec, self._size = _UNITS[encoding]
        self._starts = [0, *(end.end() for end in _END.finditer(text))]

    def of(self, offset: int) -> tuple[int, int]:
        """Line and character of an offset."""
        offset = min(max(offset, 0), len(self.text))
        line = bisect_right(self._starts, offset) - 1
        return line, self._units(self.text[self._starts[line] : offset])

    def offset(self, line: int, character: int) -> int:
        """Offset of a position; one beyond the end of its line is the end of that line."""
        if line >= len(self._starts):
            return len(self.text)
        start = self._starts[line]
        end = self._starts[line + 1] if line + 1 < len(self._starts) else len(self.text)
        words = self.text[start:end].rstrip("\r\n")
        if words.isascii():
            return start + min(character, len(words))
        taken = words.encode(self._codec, "surrogatepass")[: character * self._size]
        return start + len(taken.decode(self._codec, "ignore"))

    def _units(self, words: str) -> int:
        if words.isascii():
            return len(words)
        return len(words.encode(self._codec, "surrogatepass")) // self._size
