"""File patterns of a job sheet that name no drawing, but nearly: what would have named one."""

from __future__ import annotations

import os
import re
from collections.abc import Container, Sequence

from scantling.plan.misnamed import meant
from scantling.plan.patterns import compiled, escaped

ANY = "**"


def steps(pattern: str) -> list[str]:
    """The names of folders and file in a pattern, whichever way its slashes lean."""
    return [step for step in re.split(r"[/\\]", pattern) if step not in ("", ".")]


def near_pattern(pattern: str, name: str, folder: str = "", taken: Container[str] = ()) -> str:
    """The pattern as it would name a drawing, or '' where it is not meant so.

    It is meant so where names differ in signs, in capitals or by a slip of letters, where its
    slashes are those of another system, where it begins at a folder above the job sheet, and where
    it names a file that is in another folder.

    name    of the drawing, relative to the job sheet's folder, with forward slashes
    folder  the job sheet's, from the root
    taken   names of folders and files that are not meant, since others ask for them
    """
    wanted, parts = steps(pattern), name.split("/")
    above = [part for part in folder.replace(os.sep, "/").split("/") if part]
    for k in range(len(wanted)):
        if k and wanted[:k] != above[-k:]:
            continue
        found = _mended(wanted[k:], parts, taken)
        if found is not None and (near := "/".join(found)) != pattern:
            return near
    if wanted and _matches(wanted[-1], parts[-1]) and _is_name(wanted[-1]):
        return "" if parts[-1] in taken else escaped(name)
    return ""


def _mended(wanted: Sequence[str], parts: Sequence[str], taken: Container[str]) -> list[str] | None:
    """The steps of a pattern, each one that does not match its part of a name put right. None:
    they cannot be."""
    if not wanted:
        return None if parts else []
    first, rest = wanted[0], wanted[1:]
    if first == ANY:
        if not rest:
            return [ANY]
        tails = (_mended(rest, parts[k:], taken) for k in range(len(parts)))
        tail = next((tail for tail in tails if tail is not None), None)
        return None if tail is None else [ANY, *tail]
    if not parts:
        return None
    step = _step(first, parts[0], taken, last=len(parts) == 1)
    tail = None if step is None else _mended(rest, parts[1:], taken)
    return None if step is None or tail is None else [step, *tail]


def _step(step: str, part: str, taken: Container[str], last: bool) -> str | None:
    if _matches(step, part):
        return step
    if not _is_name(step):
        return next((o for o in (step.lower(), step.upper()) if _matches(o, part)), None)
    if part in taken:
        return None
    # Endings are alike anyway, so that they would make short names of files alike.
    one, other = (os.path.splitext(word)[0] if last else word for word in (step, part))
    return escaped(part) if meant(one, [other]) else None


def _is_name(step: str) -> bool:
    return not any(sign in step for sign in "*?[")


def _matches(step: str, part: str) -> bool:
    return compiled(step).fullmatch(part) is not None
