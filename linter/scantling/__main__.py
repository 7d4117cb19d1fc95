"""The command as a process of its own: what the installed script and `python -m scantling` run."""

from __future__ import annotations

import atexit
import contextlib
import gc
import os
import sys
import threading
from typing import NoReturn


def run() -> NoReturn:
    """Do what the command line says, and end the process."""
    # Nearly all that a run makes, modules above all, it needs until its end: a small drawing is
    # judged without a look for cycles that nobody reaches.
    gc.set_threshold(200_000, 20, 20)
    # A drawing's matrices are small: OpenBLAS would start threads at import that never get work.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from scantling.cli import main

    try:
        main()
    except SystemExit as stop:
        leave(stop.code or 0)
    leave(0)


def leave(code: str | int) -> NoReturn:
    """End the process. Taking apart what a run has made takes a fifth as long as importing numpy:
    that is left to the system, unless somebody has yet to do something."""
    if isinstance(code, int) and not _awaited():
        with contextlib.suppress(OSError, ValueError):  # or else Python says what is wrong
            for stream in filter(None, (sys.stdout, sys.stderr)):  # closed ones are None
                stream.flush()
            os._exit(code)
    gc.freeze()
    sys.exit(code)


def _awaited() -> bool:
    """Whether a thread, a function that is called at the end, or a profiler is still there. Where
    functions cannot be counted there may be some."""
    functions = getattr(atexit, "_ncallbacks", lambda: 1)
    return bool(
        threading.active_count() > 1
        or functions()
        or sys.getprofile()
        or sys.gettrace()
        or _monitored()
        or sys.flags.inspect
    )


def _monitored() -> bool:
    """Whether a profiler, debugger or the like listens by sys.monitoring (Python 3.12 on, PEP 669,
    with room for six)."""
    monitoring = getattr(sys, "monitoring", None)
    return monitoring is not None and any(map(monitoring.get_tool, range(6)))


if __name__ == "__main__":
    run()
