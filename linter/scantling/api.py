"""The Python interface: what the command does, as functions that return plain values."""

from __future__ import annotations

import datetime
import os
from collections.abc import Iterable, Sequence

from scantling import __version__
from scantling.catalogue.find import drawings
from scantling.judge.finding import Level
from scantling.linter import Linter
from scantling.plan.lengths import parse_length
from scantling.read.limits import Limits
from scantling.report.model import Failure, FileReport, Report
from scantling.wanted import Wanted, shown


def lint(
    paths: Iterable[str | os.PathLike[str]] | str | os.PathLike[str],
    *,
    job: str | None = None,
    stock: str | None = None,
    width: str | float | None = None,
    height: str | float | None = None,
    limits: Sequence[str] = (),
    fail_at: Level = Level.ERROR,
    today: datetime.date | None = None,
) -> Report:
    """Judge drawings: files, and every SVG file below each folder.

    width, height   finished size: a number of mm, or a string with its unit
    limits          'NAME=VALUE' each, see scantling.read.Limits
    today           the day that end dates of acceptances are compared with
    Returns a Report; files that could not be judged are in Report.failures. Raises ValueError
    for a width, height or limit that cannot be read.
    """
    given = [paths] if isinstance(paths, (str, os.PathLike)) else paths
    linter = Linter(
        Wanted(
            job=job,
            stock=stock,
            width=_length(width),
            height=_length(height),
            limits=Limits.parse(limits),
            today=today or datetime.date.today(),
        )
    )
    files = []
    for path, trouble in drawings(given):
        if trouble:
            name = shown(path)
            files.append(FileReport(file=name, failure=Failure(file=name, message=trouble)))
        else:
            files.append(linter.file(path))
    return Report(
        files=tuple(files),
        rules=linter.rule_texts(),
        version=__version__,
        fail_at=fail_at,
        troubles=(*linter.book.troubles, *linter.problems),
    )


def _length(value: str | float | None) -> float | None:
    return None if value is None else parse_length(value)


def starting_job(path: str, *, limits: Sequence[str] = ()) -> str:
    """The text of a starting job sheet for a drawing. Raises Unreadable."""
    from scantling.plan.start import start_job
    from scantling.read import Source, read_drawing

    bounds = Limits.parse(limits)
    return start_job(read_drawing(Source.open(path, limits=bounds), bounds), path)
