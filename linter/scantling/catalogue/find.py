"""Finding drawings: files as given, folders searched."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from pathlib import Path

ENDINGS = (".svg", ".svgz")


def drawings(paths: Iterable[str | os.PathLike[str]]) -> Iterator[tuple[str, str]]:
    """Yield (path, trouble) for each drawing, in the order given, folders in name order.

    A path that does not exist, and a folder without a drawing, comes with its trouble in words;
    otherwise the trouble is empty. Hidden folders are not entered. A file named outright is a
    drawing whatever its ending. No drawing comes twice.
    """
    seen: set[str] = set()
    for given in paths:
        path = Path(given)
        if path.is_dir():
            found = list(_below(path))
            if not found:
                yield os.fspath(path), "no SVG drawing in this folder"
        elif path.exists():
            found = [os.fspath(path)]
        else:
            yield os.fspath(path), "no such file or folder"
            continue
        for name in found:
            key = os.path.abspath(name)
            if key not in seen:
                seen.add(key)
                yield name, ""


def _below(folder: Path) -> Iterator[str]:
    for base, folders, files in os.walk(folder):
        folders[:] = sorted(f for f in folders if not f.startswith("."))
        for name in sorted(files):
            if name.lower().endswith(ENDINGS) and not name.startswith("."):
                yield os.path.join(base, name).removeprefix(os.path.join(os.curdir, ""))
