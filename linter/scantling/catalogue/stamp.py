"""What a result depends on besides the drawing and its job sheet: this program, the packs of
rules, and the libraries that measure. A change of any of them makes another stamp.

Nothing of them is imported for it: their files are read as bytes.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from functools import cache
from importlib.util import find_spec
from typing import Protocol

from scantling import __version__
from scantling.digests import blake2b
from scantling.installed import entry_points, version
from scantling.judge.rule import ENTRY_POINTS

LIBRARIES = ("cssselect2", "numpy", "shapely", "tinycss2")
ENDINGS = (".py", ".pyd", ".so", ".toml", ".json")
MOST_FILES = 5_000
"""Files of one pack that are read; of more, only names and sizes count."""


class Hash(Protocol):
    def update(self, data: bytes, /) -> None: ...


@cache
def stamp() -> str:
    """A short text that stands for the program, the installed packs and the libraries."""
    mark = blake2b(digest_size=16)
    mark.update(f"{__version__}\0{sys.version_info[:2]}\0".encode())
    for name in LIBRARIES:
        mark.update(f"{name} {version(name)}\0".encode())
    _add_package(mark, "scantling")
    for entry in sorted(entry_points(group=ENTRY_POINTS), key=lambda e: (e.name, e.value)):
        mark.update(f"{entry.name}={entry.value} {entry.version}\0".encode())
        _add_package(mark, entry.value.partition(":")[0].partition(".")[0])
    return mark.hexdigest()


def _add_package(mark: Hash, name: str) -> None:
    """The names and contents of a package's files; of a module, its own."""
    try:
        spec = find_spec(name)
    except (ImportError, ValueError):
        spec = None
    if spec is None:
        return
    if spec.submodule_search_locations is None:
        files = [spec.origin] if spec.origin and os.path.isfile(spec.origin) else []
        base = os.path.dirname(files[0]) if files else ""
    else:
        base = next(iter(spec.submodule_search_locations), "")
        files = sorted(_files(base))
    whole = len(files) <= MOST_FILES
    for path in files:
        try:
            data = _read(path) if whole else b"%d" % os.path.getsize(path)
        except OSError:
            data = b"?"
        mark.update(f"{path.removeprefix(base)}\0{len(data)}\0".encode())
        mark.update(data)


def _read(path: str) -> bytes:
    with open(path, "rb", buffering=0) as file:
        return file.read()


def _files(base: str) -> Iterator[str]:
    folders = [base]
    while folders:
        try:
            found = os.scandir(folders.pop())
        except OSError:
            continue
        with found:
            for entry in found:
                if entry.name.endswith(ENDINGS):
                    yield entry.path
                elif entry.name != "__pycache__" and entry.is_dir(follow_symlinks=False):
                    folders.append(entry.path)
