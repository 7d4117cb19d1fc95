"""What is to be judged, and the key that its result is kept under."""

from __future__ import annotations

import datetime
import json
import os
import re
import stat
from collections.abc import Iterator
from dataclasses import field, fields
from typing import Any

from scantling.catalogue.stamp import stamp
from scantling.digests import blake2b
from scantling.plan.find import find_job
from scantling.plan.patterns import matches_file, relative_to
from scantling.records import NamedTuple, dataclass
from scantling.wanted import Wanted, shown

FORM = 1
"""Counts up when what is kept changes its meaning."""


class Task(NamedTuple):
    """One drawing to be judged: everything that is needed for it, so that it can be done on
    another machine.

    data       the drawing's bytes; None where they could not be had, to be opened where it is
               judged
    job        the job sheet's path; None: there is none
    job_data   its bytes; None where they could not be had
    """

    path: str
    data: bytes | None
    job: str | None
    job_data: bytes | None


class Sheet(NamedTuple):
    """A job sheet as it stands on disk, and what else of it results depend on.

    all_of   the pattern of the drawings of which nothing in it can be idle: those of its design, if
             that is the only entry that might be; '': nobody can tell; None: all
    """

    data: bytes | None
    beside: tuple[str, ...]
    all_of: str | None = None


@dataclass(slots=True)
class Desk:
    """Makes tasks of paths.

    trials   the stocks to judge by; '' is what the job sheet says
    """

    wanted: Wanted
    trials: tuple[str, ...] = ("",)
    _found: dict[str, str | None] = field(default_factory=dict)
    _sheets: dict[str, Sheet] = field(default_factory=dict)
    _common: str = ""
    may_idle: bool = False
    """Whether the job sheet of any task so far may have entries that are idle."""

    def __post_init__(self) -> None:
        asked = {
            field.name: repr(getattr(self.wanted, field.name))
            for field in fields(self.wanted)
            if field.name not in ("stock", "today")  # trials; acceptances that have ended
        }
        self._common = json.dumps([FORM, stamp(), self.trials, asked])

    def task(self, path: str) -> Task:
        """What a worker needs to judge a drawing, with the contents that its result depends on."""
        job = self.job(path)
        if job is not None and not self.may_idle:
            self.may_idle = self.idling(job, path)
        return Task(path, self._bytes(path), job, self._sheet(job).data if job else None)

    def job(self, path: str) -> str | None:
        """The job sheet of a drawing."""
        return self.wanted.job or self._job(path)

    @property
    def sheets(self) -> tuple[str, ...]:
        """The job sheets met so far."""
        return tuple(self._sheets)

    def idling(self, job: str, path: str) -> bool:
        """Whether a drawing may tell of entries of its job sheet that are idle: acceptances, a
        design behind another, or one that is meant for it and misspelt."""
        pattern = self._sheet(job).all_of
        return pattern is not None and not (pattern and matches_file(pattern, path, job))

    def keys(self, task: Task) -> list[bytes] | None:
        """The key of each trial; None where the result depends on what is not known here."""
        if task.data is None or (task.job is not None and task.job_data is None):
            return None
        mark = blake2b(digest_size=20)
        for part in self._parts(task):
            mark.update(b"%d\0" % len(part))
            mark.update(part)
        whole = mark.digest()
        return [
            blake2b(trial.encode(), digest_size=20, key=whole).digest() for trial in self.trials
        ]

    def _parts(self, task: Task) -> Iterator[bytes]:
        yield self._common.encode()
        yield os.fsencode(shown(task.path))
        if task.job is not None and task.job_data is not None:
            within = relative_to(task.path, os.path.dirname(os.path.abspath(task.job)))
            yield os.fsencode(task.job)
            yield os.fsencode(within)
            yield task.job_data
            yield "\0".join(self._sheet(task.job).beside).encode()
        assert task.data is not None
        yield task.data

    def _job(self, path: str) -> str | None:
        folder = os.path.dirname(path)
        if folder not in self._found:
            self._found[folder] = find_job(path)
        return self._found[folder]

    def _sheet(self, path: str) -> Sheet:
        if path not in self._sheets:
            try:
                with open(path, "rb") as file:
                    data = file.read()
            except (OSError, ValueError):
                self._sheets[path] = Sheet(None, ())
            else:
                beside = tuple(_beside(data, path, self.wanted.today))
                self._sheets[path] = Sheet(data, beside, _all_of(data))
        return self._sheets[path]

    def _bytes(self, path: str) -> bytes | None:
        most = self.wanted.limits.bytes
        try:
            about = os.stat(path)
            if not stat.S_ISREG(about.st_mode) or about.st_size > most:
                return None
            with open(path, "rb") as file:
                data = file.read(most + 1)
        except (OSError, ValueError):
            return None
        return data if len(data) <= most else None


def _all_of(data: bytes) -> str | None:
    """See Sheet. Whether a design names a drawing has to be known before anything is judged, so the
    text is not read as TOML for it."""
    if b"accept" not in data and b"design" not in data:
        return None
    named = re.findall(rb"""^\s*files\s*=\s*["']([^"'\\\n]*)["']""", data, re.MULTILINE)
    if b"accept" in data or data.count(b"design") > 1 or len(named) != 1:
        return ""
    return str(named[0], "utf-8", "replace")


def _beside(data: bytes, path: str, today: datetime.date) -> Iterator[str]:
    """Which acceptances have not ended (results change on the day when one ends, and on no
    other), and what is in the shop's own rules. A job sheet that cannot be read has nothing of
    the kind; it is told of elsewhere."""
    if b"until" not in data and b"rules-from" not in data:
        return
    import tomllib

    try:
        sheet: Any = tomllib.loads(data.decode("utf-8-sig"))
        for number, entry in enumerate(sheet.get("accept", ())):
            if "until" in entry:
                ends = datetime.date.fromisoformat(str(entry["until"]))
                yield f"{number}:{today <= ends}"
        for name in sheet.get("rules-from", ()):
            with open(os.path.join(os.path.dirname(path), name), "rb") as file:
                yield blake2b(file.read(), digest_size=20).hexdigest()
    except (OSError, ValueError, TypeError, AttributeError, RecursionError):
        yield today.isoformat()
