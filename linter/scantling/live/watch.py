"""Judging on every save: the report on the terminal, the page in a browser."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable, Iterator, Sequence

from scantling.api import judge
from scantling.drawings import drawings
from scantling.judge.known import Known
from scantling.linter import Linter
from scantling.live.changes import changes
from scantling.plan.find import find_job
from scantling.report.model import Report


def watch(
    linter: Linter,
    paths: Sequence[str],
    told: Callable[[Report, float], None],
    stop: threading.Event,
    known: Known | None = None,
) -> None:
    """Judge the drawings now and whenever one of them or its job sheet has changed, until `stop`
    is set. Each report is handed to `told` with the seconds that it took."""
    look = changes(lambda: watched(linter, paths), stop)
    while not stop.is_set():
        started = time.perf_counter()
        linter.refresh()
        report = judge(linter, paths, known=known)
        told(report, time.perf_counter() - started)
        if next(look, stop) is stop:
            return


def watched(linter: Linter, paths: Sequence[str]) -> Iterator[str]:
    """The files that a report on these paths depends on: drawings, job sheets, and the rules
    that those bring along."""
    folders = set()
    for path, _ in drawings(paths):
        yield path
        folders.add(os.path.dirname(path))
    jobs = {linter.wanted.job} if linter.wanted.job else {find_job(f or ".") for f in folders}
    for job in sorted(filter(None, jobs)):
        yield job
        yield from linter.brought(job)
