"""Writing the list of known findings: what stands is known from then on."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable

from scantling.judge.finding import Finding
from scantling.judge.known import Known
from scantling.report.forms import write
from scantling.report.plain import clean, counted
from scantling.wanted import shown


def write_list(
    file: str | os.PathLike[str],
    judged: Iterable[tuple[str, Iterable[Finding]]],
    tell: Callable[[str], object] | None = None,
) -> Known:
    """Write the findings that stand in the drawings of a run to a list, and return it. An older
    one there keeps its reasons, and what it says of other drawings. `tell` is told in one line
    what the list names now, and what has changed. Raises BadKnown where the older list cannot be
    read, and FormError where the list cannot be written."""
    older = Known.at(file)
    new = older.renewed(judged)
    write(new.path, new.text().encode())
    if tell is not None:
        tell(_said(new, older))
    return new


def _said(new: Known, older: Known) -> str:
    now, before = set(new.entries), set(older.entries)
    said = f"{clean(shown(new.path))} lists {counted(len(now), 'known finding')}"
    if not before:
        return said
    if now == before:
        return f"{said}, the same as before"
    return f"{said}; {len(before)} before: {len(before - now)} gone, {len(now - before)} new"
