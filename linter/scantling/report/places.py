"""File names as other programs want them: relative to a root, or as URIs (RFC 3986, RFC 8089)."""

from __future__ import annotations

import ntpath
import os
from types import ModuleType
from urllib.parse import quote

_UNCHANGED = "/!$&'()*+,;=:@~"
"""What may stand in the path of a URI as it is, besides letters, digits and -._ (RFC 3986, 3.3)."""


def from_root(file: str, root: str, system: ModuleType = os.path) -> str:
    """A file name relative to `root`, with slashes; as it is where it lies outside."""
    inside = _inside(file, root, system)
    name = file if inside is None else inside
    return name.replace("\\", "/") if system is ntpath else name


def uri(file: str, root: str, system: ModuleType = os.path) -> tuple[str, bool]:
    """A file name as a percent-encoded URI reference, and whether it is relative to `root`;
    outside the root it is absolute (`file:///…`). Bytes that are no UTF-8 are encoded as they
    are. `system` is `ntpath` or `posixpath`: whose rules the names follow."""
    inside = _inside(file, root, system)
    if inside is not None:
        path = _encoded(inside, system)
        first = path.partition("/")[0]
        return (f"./{path}" if ":" in first else path), True
    path = _encoded(system.normpath(system.join(system.abspath(root), file)), system)
    if path.startswith("//") and system is ntpath:  # \\server\share
        return f"file:{path}", False
    return f"file://{'' if path.startswith('/') else '/'}{path}", False


def _inside(file: str, root: str, system: ModuleType) -> str | None:
    """The way from the root to a file below it, else None."""
    base = system.abspath(root)
    whole = system.normpath(system.join(base, file))
    try:
        way: str = system.relpath(whole, base)
    except ValueError:  # another drive
        return None
    outside = way == system.pardir or way.startswith(system.pardir + system.sep)
    return None if outside else way


def _encoded(path: str, system: ModuleType) -> str:
    if system is ntpath:
        path = path.replace("\\", "/")
    return quote(path.encode("utf-8", "surrogateescape"), safe=_UNCHANGED)
