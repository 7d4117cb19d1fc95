"""TOML of packs, which is read at every start: what it says is kept beside it, as Python keeps
compiled modules, in `__pycache__` and unless it is told not to write there. Reading it again takes
a fraction of the time that loading `tomllib` takes alone.
"""

from __future__ import annotations

import marshal
import os
import sys
from contextlib import suppress
from importlib.util import cache_from_source
from typing import Any

from scantling.digests import blake2b

SUM = 16
"""bytes"""


def loads(text: str, path: str) -> dict[str, Any]:
    """What the text of a file says, as `tomllib.loads`, with what it raises."""
    place = _place(path)
    try:
        with open(place, "rb") as stream:
            kept = stream.read()
        if kept[:SUM] == _sum(text, kept[SUM:]):
            known: dict[str, Any] = marshal.loads(kept[SUM:])
            return known
    except OSError:
        pass
    import tomllib

    data = tomllib.loads(text)
    if not sys.dont_write_bytecode:
        with suppress(OSError, ValueError):  # nowhere to write; a date, which has no such form
            _keep(place, text, marshal.dumps(data))
    return data


def _place(path: str) -> str:
    """Where Python would keep a module of this name, with another ending; '' where nowhere."""
    try:
        return cache_from_source(path + ".py").removesuffix(".pyc")
    except NotImplementedError:
        return ""


def _sum(text: str, data: bytes) -> bytes:
    return blake2b(
        data, key=blake2b(text.encode(), digest_size=32).digest(), digest_size=SUM
    ).digest()


def _keep(place: str, text: str, data: bytes) -> None:
    """Write the file whole or not at all."""
    os.makedirs(os.path.dirname(place), exist_ok=True)
    beside = f"{place}.{os.getpid()}"
    try:
        with open(beside, "xb") as stream:
            stream.write(_sum(text, data) + data)
        os.replace(beside, place)
    except OSError:
        with suppress(OSError):
            os.unlink(beside)
        raise
