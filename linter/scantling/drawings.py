"""Finding drawings: files as given, folders searched."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterable, Iterator

ENDINGS = (".svg", ".svgz")
QUICK = 4096
"""Bytes of drawings that are judged about as soon as a store is opened and a result looked up."""


def drawings(paths: Iterable[str | os.PathLike[str]]) -> Iterator[tuple[str, str]]:
    """Yield (path, trouble) for each drawing, in the order given, folders in name order.

    A path that does not exist, and a folder without a drawing, comes with its trouble in words;
    otherwise the trouble is empty. Hidden folders are not entered. A file named outright is a
    drawing whatever its ending. No drawing comes twice.
    """
    seen: set[str] = set()
    for given in paths:
        name = os.fspath(given)
        path = _plain(name) if name else name  # an empty one is not this folder
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


def quick(paths: Iterable[str | os.PathLike[str]]) -> bool:
    """Whether what is given is small files alone, QUICK bytes together: an icon or two. Mostly they
    are new or changed when they are judged, by hand or by a hook."""
    try:
        found = [os.stat(path) for path in paths]
    except (OSError, ValueError):
        return False
    return all(map(_is_file, found)) and sum(about.st_size for about in found) <= QUICK


def _is_file(about: os.stat_result) -> bool:
    return stat.S_ISREG(about.st_mode)


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
