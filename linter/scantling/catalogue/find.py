"""Finding drawings: files as given, folders searched."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator

ENDINGS = (".svg", ".svgz")


def drawings(paths: Iterable[str | os.PathLike[str]]) -> Iterator[tuple[str, str]]:
    """Yield (path, trouble) for each drawing, in the order given, folders in name order.

    A path that does not exist, and a folder without a drawing, comes with its trouble in words;
    otherwise the trouble is empty. Hidden folders are not entered. A file named outright is a
    drawing whatever its ending. No drawing comes twice.
    """
    seen: set[str] = set()
    for given in paths:
        path = _plain(os.fspath(given))
        if os.path.isdir(path):
            found = list(_below(path))
            if not found:
                yield path, "no SVG drawing in this folder"
        elif os.path.exists(path):
            found = [path]
        else:
            yield path, "no such file or folder"
            continue
        for name in found:
            key = os.path.abspath(name)
            if key not in seen:
                seen.add(key)
                yield name, ""


def _plain(path: str) -> str:
    """A path without what says nothing: dots, doubled and trailing slashes."""
    if os.pardir not in path:
        return os.path.normpath(path)
    from pathlib import Path  # keeps the folder before "..", which may be a link

    return os.fspath(Path(path))


def _below(folder: str) -> Iterator[str]:
    for base, folders, files in os.walk(folder):
        folders[:] = sorted(f for f in folders if not f.startswith("."))
        for name in sorted(files):
            if name.lower().endswith(ENDINGS) and not name.startswith("."):
                yield os.path.join(base, name).removeprefix(os.path.join(os.curdir, ""))
