"""Where each key of a TOML text stands. `tomllib` reads values but tells no places.

The text must be valid TOML (`tomllib` has accepted it); this only walks over it.
"""

from __future__ import annotations

import re
from bisect import bisect_right

from scantling.late import pattern

Path = tuple[str | int, ...]

_SKIP = pattern(r"(?:[ \t\r\n]|#[^\n]*)*")
_BLANK = pattern(r"[ \t]*")
_KEY = pattern(r"""[A-Za-z0-9_-]+|"(?:\\.|[^"\\])*"|'[^']*'""")
_VALUE = pattern(
    r'''"""(?:\\.|[^\\])*?"""(?:"{0,2})|\'\'\'.*?\'\'\'(?:'{0,2})|"(?:\\.|[^"\\])*"|'[^']*'|'''
    r"[^,\]}#\n]+",
    re.DOTALL,
)


def places(text: str) -> dict[Path, int]:
    """Offset of every key and every array element of a valid TOML text, by its path.

    A table stands at its header, an entry of an array of tables at the header of its own, a key
    where it is first written, an array element where its value begins.
    """
    walk = _Walk(text)
    walk.document()
    return walk.found


class Lines:
    """Line and column, both from 1, columns in code points, of offsets into a text."""

    def __init__(self, text: str) -> None:
        self._starts = [0, *(m.end() for m in re.finditer("\n", text))]

    def at(self, offset: int) -> tuple[int, int]:
        line = bisect_right(self._starts, offset)
        return line, offset - self._starts[line - 1] + 1


class _Walk:
    def __init__(self, text: str) -> None:
        self.text = text
        self.pos = 0
        self.found: dict[Path, int] = {}
        self.entries: dict[Path, int] = {}
        """arrays of tables: number of entries so far"""

    def skip(self, pattern: re.Pattern[str] = _SKIP) -> None:
        match = pattern.match(self.text, self.pos)
        self.pos = match.end() if match else self.pos

    def document(self) -> None:
        base: Path = ()
        self.skip()
        while self.pos < len(self.text):
            if self.text.startswith("[[", self.pos):
                base = self.header(2)
            elif self.text[self.pos] == "[":
                base = self.header(1)
            else:
                self.pair(base)
            self.skip()

    def header(self, width: int) -> Path:
        start = self.pos
        self.pos += width
        *parents, last = self.keys()
        self.pos += width
        path = self.resolved((), parents)
        if width == 1:
            return self.resolved(path, [last])
        path = (*path, last[0])
        number = self.entries.get(path, 0)
        self.entries[path] = number + 1
        self.found.setdefault(path, start)
        self.found[(*path, number)] = start
        return (*path, number)

    def resolved(self, path: Path, keys: list[tuple[str, int]]) -> Path:
        """The path that keys lead to from a path: through an array of tables, its last entry."""
        for name, offset in keys:
            path = (*path, name)
            self.found.setdefault(path, offset)
            if path in self.entries:
                path = (*path, self.entries[path] - 1)
        return path

    def keys(self) -> list[tuple[str, int]]:
        """A dotted key: its names, each with its offset."""
        names = []
        while True:
            self.skip(_BLANK)
            match = _KEY.match(self.text, self.pos)
            if match is None:
                raise ValueError(f"no key at {self.pos}")
            names.append((_name(match.group()), self.pos))
            self.pos = match.end()
            self.skip(_BLANK)
            if self.text[self.pos : self.pos + 1] != ".":
                return names
            self.pos += 1

    def pair(self, base: Path) -> None:
        path = self.resolved(base, self.keys())
        self.pos += 1  # the equals sign
        self.skip(_BLANK)
        self.value(path)

    def value(self, path: Path) -> None:
        if self.text[self.pos] == "[":
            self.array(path)
        elif self.text[self.pos] == "{":
            self.inline(path)
        else:
            match = _VALUE.match(self.text, self.pos)
            if match is None:
                raise ValueError(f"no value at {self.pos}")
            self.pos = match.end()

    def array(self, path: Path) -> None:
        self.pos += 1
        number = 0
        self.skip()
        while self.text[self.pos] != "]":
            self.found[(*path, number)] = self.pos
            self.value((*path, number))
            number += 1
            self.comma()
        self.pos += 1

    def inline(self, path: Path) -> None:
        self.pos += 1
        self.skip()
        while self.text[self.pos] != "}":
            self.pair(path)
            self.comma()
        self.pos += 1

    def comma(self) -> None:
        self.skip()
        if self.text[self.pos] == ",":
            self.pos += 1
            self.skip()


def _name(written: str) -> str:
    if written[0] == '"':
        import tomllib

        return str(tomllib.loads(f"key = {written}")["key"])
    return written[1:-1] if written[0] == "'" else written
