"""Noticing that files have changed, by looking at them again and again.

Looking costs microseconds a file and works everywhere: on network drives, and with programs that
save by writing a new file and renaming it.
"""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable, Iterable, Iterator

EVERY = 0.1
"""Seconds between two looks; more where one look takes long."""
SHARE = 10
"""Looking takes at most one part in so many of the time."""

Mark = tuple[int, int, int] | None
"""None: there is no such file."""


def changes(
    files: Callable[[], Iterable[str]], stop: threading.Event, every: float = EVERY
) -> Iterator[None]:
    """Yield each time when files have changed, come or gone, and are at rest again: a file that
    is still being written is not looked at. Ends when `stop` is set.

    `files` is asked at every look, so that files which come later are noticed too. What changes
    after this call and while the caller is at work is noticed afterwards.
    """
    return _changes(files, stop, every, marks(files()))


def _changes(
    files: Callable[[], Iterable[str]], stop: threading.Event, every: float, before: dict[str, Mark]
) -> Iterator[None]:
    pause = every
    while not stop.wait(pause):
        started = time.monotonic()
        now = marks(files())
        pause = max(every, SHARE * (time.monotonic() - started))
        if now == before:
            continue
        while not stop.wait(pause / 2) and (later := marks(files())) != now:
            now = later
        before = now
        if not stop.is_set():
            yield


def marks(files: Iterable[str]) -> dict[str, Mark]:
    """What tells a file from what it was: when it was written, its size and its number."""
    return {file: _mark(file) for file in files}


def _mark(file: str) -> Mark:
    try:
        about = os.stat(file)
    except (OSError, ValueError):
        return None
    return about.st_mtime_ns, about.st_size, about.st_ino
