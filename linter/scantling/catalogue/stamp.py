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
from typing import TYPE_CHECKING, Protocol

from scantling import __version__
from scantling.digests import blake2b
from scantling.installed import entry_points, version
from scantling.judge.packs import ENTRY_POINTS
from scantling.records import NamedTuple

if TYPE_CHECKING:
    from scantling.judge.packs import Rulebook

LIBRARIES = ("cssselect2", "numpy", "shapely", "tinycss2")
ENDINGS = (".py", ".pyd", ".so", ".toml", ".json")
MOST_FILES = 5_000
"""Files of one pack that are read; of more, names, sizes and times of change count."""


class Hash(Protocol):
    def update(self, data: bytes, /) -> None: ...


class _Made(NamedTuple):
    stamp: str
    files: frozenset[str]


def stamp() -> str:
    """A short text that stands for the program, the installed packs and the libraries."""
    return _made().stamp


def stands_for(book: Rulebook) -> bool:
    """Whether a change of any of these rules and stock tables makes another stamp. A pack's may
    stand outside of its package."""
    origins = [getattr(sys.modules.get(rule.module), "__file__", None) for rule in book.rules]
    files = _made().files
    return all(path and os.path.abspath(path) in files for path in (*origins, *book.tables))


@cache
def _made() -> _Made:
    mark = blake2b(digest_size=16)
    mark.update(f"{__version__}\0{sys.version_info[:2]}\0".encode())
    for name in LIBRARIES:
        mark.update(f"{name} {version(name)}\0".encode())
    seen = _add_package(mark, "scantling")
    for entry in sorted(entry_points(group=ENTRY_POINTS), key=lambda e: (e.name, e.value)):
        mark.update(f"{entry.name}={entry.value} {entry.version}\0".encode())
        seen |= _add_package(mark, entry.value.partition(":")[0].partition(".")[0])
    return _Made(mark.hexdigest(), frozenset(seen))


def _add_package(mark: Hash, name: str) -> set[str]:
    """The names and contents of a package's files; of a module, its own. Returns their paths."""
    try:
        spec = find_spec(name)
    except (ImportError, ValueError):
        spec = None
    if spec is None:
        return set()
    if spec.submodule_search_locations is None:
        places = [spec.origin or ""]
    else:
        places = list(spec.submodule_search_locations)
    seen: set[str] = set()
    for place in map(os.path.abspath, filter(None, places)):
        files = sorted(_files(place))
        whole = len(files) <= MOST_FILES
        for path in files:
            try:
                data = _read(path) if whole else _about(path)
            except OSError:
                data = b"?"
            mark.update(f"{path.removeprefix(place)}\0{len(data)}\0".encode())
            mark.update(data)
        seen.update(files)
    return seen


def _read(path: str) -> bytes:
    with open(path, "rb", buffering=0) as file:
        return file.read()


def _about(path: str) -> bytes:
    found = os.stat(path)
    return b"%d %d" % (found.st_size, found.st_mtime_ns)


def _files(place: str) -> Iterator[str]:
    """The files below a folder. What is not a folder, or stands in an archive, is its file."""
    if not os.path.isdir(place):
        while not os.path.exists(place):
            place = os.path.dirname(place)
        if os.path.isfile(place):
            yield place
        return
    folders = [place]
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
