"""Where things are kept between runs."""

from __future__ import annotations

import os
import sys

VARIABLE = "SCANTLING_CACHE"


def cache_folder() -> str:
    """The folder for what may be lost: $SCANTLING_CACHE, else this user's cache folder of the
    platform."""
    named = os.environ.get(VARIABLE)
    if named:
        return os.path.abspath(named)
    if sys.platform == "linux" and "ANDROID_DATA" not in os.environ:
        # XDG Base Directory Specification 0.8, as platformdirs has it, but read at once
        base = os.environ.get("XDG_CACHE_HOME", "").strip() or os.path.expanduser("~/.cache")
        return os.path.join(base, "scantling")
    from platformdirs import user_cache_dir

    return user_cache_dir("scantling", appauthor=False)
