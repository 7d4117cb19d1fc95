"""What mending shows: a unified diff, and what stays."""

from __future__ import annotations

import os
from collections.abc import Iterator
from difflib import unified_diff

from scantling.mend.mender import Mended
from scantling.report.plain import clean

NO_END = "\\ No newline at end of file\n"
"""As diff(1) writes it (POSIX.1-2024, diff, and its common extension)."""


def diff(path: str, mended: Mended) -> bytes:
    """The change as a unified diff that can be applied, in the drawing's own encoding where
    that is one of bytes; b'' where there is none."""
    lines = list(_lines(path.replace(os.sep, "/"), mended))
    wide = mended.source.encoding.startswith(("utf-16", "utf-32"))
    return "".join(lines).encode("utf-8" if wide else mended.source.encoding, "replace")


def _lines(path: str, mended: Mended) -> Iterator[str]:
    name = path.lstrip("/")
    old, new = _split(mended.source.text), _split(mended.text)
    for line in unified_diff(old, new, f"a/{name}", f"b/{name}"):
        yield line if line.endswith("\n") else f"{line}\n{NO_END}"


def _split(text: str) -> list[str]:
    """Lines as diff(1) counts them: each ends in LF."""
    lines = text.split("\n")
    return [line + "\n" for line in lines[:-1]] + ([lines[-1]] if lines[-1] else [])


def coloured(diff: str) -> Iterator[str]:
    """The lines of a diff for a terminal."""
    import click

    colours = {"+": "green", "-": "red", "@": "cyan"}
    for line in diff.splitlines(keepends=True):
        heading = line.startswith(("+++", "---"))
        colour = None if heading else colours.get(line[:1])
        yield click.style(clean(line.rstrip("\r\n")), fg=colour, bold=heading) + "\n"


def words(path: str, mended: Mended, *, written: bool) -> Iterator[str]:
    """What is done and what stays, a line each in GNU message form. Places are those of the
    file: of the old text, or, for what stays in a file that is `written`, of the new."""
    name = clean(path.replace(os.sep, "/"))
    done: dict[tuple[str, str, int], int] = {}
    for one in mended.done:
        key = (one.message, one.finding.rule, one.offset)
        done[key] = done.get(key, 0) + 1
    for (message, rule, offset), times in sorted(done.items(), key=lambda item: item[0][2]):
        line, column = mended.source.position(offset)
        often = f" ({times} findings)" if times > 1 else ""
        yield f"{name}:{line}:{column}: {clean(message.lower())}{often} [{rule}]"
    for left in mended.left:
        place = left.finding.place
        line, column = max(place.line, 1), max(place.column, 1)
        if not written and place.line:
            line, column = mended.source.position(mended.back(place.offset))
        yield f"{name}:{line}:{column}: stays: {clean(left.reason)} [{left.finding.rule}]"
