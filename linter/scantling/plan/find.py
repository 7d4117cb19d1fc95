"""Where a drawing's job sheet is: the nearest one upward."""

from __future__ import annotations

import os

FILE_NAME = "jobsheet.toml"


def find_job(path: str | os.PathLike[str]) -> str | None:
    """The nearest job sheet upward from a drawing (or a folder); None where there is none.

    It is named the way the drawing is: relative to the working folder, or from the root.
    """
    name = os.fspath(path)
    try:
        folder = os.path.abspath(name)
        if not os.path.isdir(folder):
            folder = os.path.dirname(folder)
        while not os.path.isfile(os.path.join(folder, FILE_NAME)):
            above = os.path.dirname(folder)
            if above == folder:
                return None
            folder = above
        found = os.path.join(folder, FILE_NAME)
        return found if os.path.isabs(name) else _from_here(found)
    except (OSError, ValueError):  # a working folder that is gone, a NUL in the name
        return None


def _from_here(path: str) -> str:
    try:
        return os.path.relpath(path)
    except ValueError:  # on another drive
        return path
