"""What is installed: entry points of a group, and versions, read from the folders of metadata.

`importlib.metadata` answers the same, but imports a mail parser and an archive reader to do so,
which takes a quarter as long as importing numpy. Here the folders on the import path are looked
through for entry points of one group, by the forms of the core metadata and entry points
specifications (packaging.python.org). What is not a folder on the path is left to the standard
library.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import suppress
from functools import lru_cache
from importlib import import_module
from typing import Any

from scantling.records import NamedTuple

Path = tuple[tuple[str, int], ...]
"""Folders of the import path, each with when it last changed."""


class Entry(NamedTuple):
    """One entry point. `value` is 'module' or 'module:attribute'; `version` that of its
    distribution, '' where it is not known."""

    name: str
    value: str
    version: str

    def load(self) -> Any:
        """The module or attribute that it names. Raises whatever importing it raises."""
        module, _, attributes = self.value.partition("[")[0].partition(":")
        found: Any = import_module(module.strip())
        for attribute in filter(None, attributes.strip().split(".")):
            found = getattr(found, attribute)
        return found


def entry_points(group: str) -> tuple[Entry, ...]:
    """The entry points of a group in every installed distribution, in the order of the path."""
    if not _folders_alone():
        from importlib.metadata import entry_points as standard

        return tuple(
            Entry(e.name, e.value, e.dist.version if e.dist else "") for e in standard(group=group)
        )
    return _entries(group, _path())


@lru_cache(maxsize=8)
def _entries(group: str, path: Path) -> tuple[Entry, ...]:
    return tuple(
        Entry(name, value, version)
        for folder, version in _distributions(path).values()
        for name, value in _of_group(folder, group)
    )


def version(name: str) -> str:
    """The version of a distribution; '' where it is not installed."""
    if not _folders_alone():
        from importlib.metadata import PackageNotFoundError
        from importlib.metadata import version as standard

        try:
            return standard(name)
        except PackageNotFoundError:
            return ""
    return _distributions(_path()).get(_folded(name), ("", ""))[1]


def _folders_alone() -> bool:
    """Whether everything on the import path is a folder, so that nobody else can know of
    distributions."""
    others = (f for f in sys.meta_path if getattr(f, "__name__", "") != "PathFinder")
    return not (
        any(hasattr(finder, "find_distributions") for finder in others)
        or any(os.path.isfile(path) for path in sys.path)
    )


def _path() -> Path:
    """The import path as it stands. An installer changes the time of the folder that it adds to or
    takes from, so what has been found on a path holds while the path is the same."""
    found = []
    for name in sys.path:
        folder = os.path.abspath(name)
        with suppress(OSError):
            found.append((folder, os.stat(folder).st_mtime_ns))
    return tuple(found)


@lru_cache(maxsize=8)
def _distributions(path: Path) -> dict[str, tuple[str, str]]:
    """The folder of metadata and the version of each distribution, by its folded name. Of
    several, the first on the path counts, as for imports."""
    found: dict[str, tuple[str, str]] = {}
    for base, _ in path:
        try:
            names = os.listdir(base)
        except OSError:
            continue
        for name in names:
            if name.endswith((".dist-info", ".egg-info")):
                called, _, rest = os.path.splitext(name)[0].partition("-")
                folder = os.path.join(base, name)
                found.setdefault(_folded(called), (folder, rest.partition("-")[0]))
    return found


def _folded(name: str) -> str:
    """A distribution's name for comparing: any case; hyphens, dots and underscores alike."""
    words = name.lower().replace("-", "_").replace(".", "_").split("_")
    return "_".join(filter(None, words))


def _of_group(folder: str, group: str) -> Iterator[tuple[str, str]]:
    try:
        with open(os.path.join(folder, "entry_points.txt"), encoding="utf-8") as stream:
            text = stream.read()
    except (OSError, UnicodeDecodeError):
        return
    if group not in text:
        return
    section = ""
    for line in map(str.strip, text.splitlines()):
        if line.startswith("["):
            section = line.strip("[]").strip()
        elif section == group and "=" in line and not line.startswith("#"):
            name, _, value = line.partition("=")
            yield name.strip(), value.strip()
