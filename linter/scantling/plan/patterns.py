"""File patterns of a job sheet: relative to its folder, with forward slashes.

`*` and `?` stay within one folder, `**` takes in any number of folders, `[abc]` is one of the
characters. Matching is by case, the same on every system. `./` in front says nothing.
"""

from __future__ import annotations

import os
import re
from functools import lru_cache


def relative_to(file: str, folder: str) -> str:
    """A file's path as seen from a folder, with forward slashes."""
    try:
        path = os.path.relpath(os.path.abspath(file), os.path.abspath(folder))
    except (ValueError, OSError):  # another drive; a working folder that is gone
        path = file
    return path.replace(os.sep, "/")


def matches_file(pattern: str, file: str, job: str | None) -> bool:
    """Whether a pattern of the job sheet at `job` names a file. Without a job sheet the pattern
    is relative to the working folder."""
    if pattern == "**":
        return True
    folder = os.path.dirname(os.path.abspath(job)) if job is not None else os.curdir
    return compiled(pattern).fullmatch(relative_to(file, folder)) is not None


def escaped(name: str) -> str:
    """A pattern that names just this file."""
    return re.sub(r"([*?[])", r"[\1]", name)


@lru_cache(maxsize=512)
def compiled(pattern: str) -> re.Pattern[str]:
    """The pattern as a regular expression for whole paths."""
    while pattern.startswith("./"):
        pattern = pattern[2:]
    parts = pattern.split("/")
    said = []
    for number, part in enumerate(parts):
        last = number == len(parts) - 1
        if part == "**":
            said.append(r".*" if last else r"(?:[^/]+/)*")
        else:
            said.append(_one(part) + ("" if last else "/"))
    return re.compile("".join(said), re.DOTALL)


def _one(part: str) -> str:
    """One step of a path."""
    said, k = [], 0
    while k < len(part):
        letter = part[k]
        negated = part[k : k + 2] == "[!"
        end = part.find("]", k + 2 + negated) if letter == "[" else -1
        if letter == "*":
            said.append(r"[^/]*")
        elif letter == "?":
            said.append(r"[^/]")
        elif end > 0:
            inside = part[k + 1 + negated : end]
            said.append(f"[{'^/' if negated else ''}{_range(inside)}]")
            k = end
        else:
            said.append(re.escape(letter))
        k += 1
    return "".join(said)


def _range(inside: str) -> str:
    """The inside of `[…]`, every sign but a range's own hyphen taken as it stands."""
    said, k = "", 0
    while k < len(inside):
        if inside[k + 1 : k + 2] == "-" and k + 2 < len(inside) and inside[k] <= inside[k + 2]:
            said += f"{re.escape(inside[k])}-{re.escape(inside[k + 2])}"
            k += 3
        else:
            said += re.escape(inside[k])
            k += 1
    return said
