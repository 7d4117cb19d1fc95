"""Where things are kept between runs."""

from __future__ import annotations

import os
from pathlib import Path

VARIABLE = "SCANTLING_CACHE"


def cache_folder() -> Path:
    """The folder for what may be lost: $SCANTLING_CACHE, else this user's cache folder of the
    platform."""
    named = os.environ.get(VARIABLE)
    if named:
        return Path(named).absolute()
    from platformdirs import user_cache_path

    return user_cache_path("scantling", appauthor=False)
