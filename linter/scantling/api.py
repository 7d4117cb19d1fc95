"""The Python interface: what the command does, as functions that return plain values."""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from scantling import __version__
from scantling.drawings import drawings, quick
from scantling.judge.finding import Level
from scantling.plan.lengths import parse_length
from scantling.read.limits import Limits
from scantling.report.model import Failure, FileReport, Report, Scene
from scantling.wanted import Wanted, shown

if TYPE_CHECKING:
    from scantling.catalogue.audit import Audit, Progress
    from scantling.catalogue.cutlist import CutList
    from scantling.judge.known import Known
    from scantling.linter import Linter


def lint(
    paths: Iterable[str | os.PathLike[str]] | str | os.PathLike[str],
    *,
    job: str | None = None,
    stock: str | None = None,
    width: str | float | None = None,
    height: str | float | None = None,
    limits: Sequence[str] = (),
    fail_at: Level | str = Level.ERROR,
    today: datetime.date | None = None,
    known: Known | str | os.PathLike[str] | None = None,
    own_rules: bool = False,
    cache: bool = False,
    tell: Callable[[str], object] | None = None,
) -> Report:
    """Judge drawings: files, and every SVG file below each folder.

    width, height   finished size: a number of mm, or a string with its unit
    limits          'NAME=VALUE' each, see scantling.read.Limits
    fail_at         from which level on findings make Report.exit_code 1; or its word, 'warning'
    today           the day that end dates of acceptances are compared with
    known           a list of known findings, which are accepted (see `write_known`)
    own_rules       True: rules that job sheets bring along are run; they are programs
    cache           True: results are kept in this user's cache folder ($SCANTLING_CACHE names
                    another), and what has not changed is not measured again; but for a few
                    small files, which are judged as soon as that is looked up
    tell            is told in one line each what is wrong with the kept results
    Returns a Report; files that could not be judged are in Report.failures. Raises ValueError
    for a width, height, limit, level or list that cannot be read.
    """
    given = [paths] if isinstance(paths, (str, os.PathLike)) else list(paths)
    wanted = _wanted(
        job, stock, width, height, limits, today=today or datetime.date.today(), own_rules=own_rules
    )
    return lint_wanted(wanted, given, fail_at=fail_at, known=known, cache=cache, tell=tell)


def lint_wanted(
    wanted: Wanted,
    paths: Sequence[str | os.PathLike[str]],
    *,
    fail_at: Level | str = Level.ERROR,
    known: Known | str | os.PathLike[str] | None = None,
    cache: bool = False,
    tell: Callable[[str], object] | None = None,
) -> Report:
    """The same with options that have been read already."""
    if cache and not quick(paths):
        from scantling.catalogue.kept import judge_kept

        return judge_kept(wanted, paths, fail_at=_level(fail_at), known=_list(known), tell=tell)
    from scantling.linter import Linter

    return judge(Linter(wanted), paths, fail_at=_level(fail_at), known=_list(known))


def judge(
    linter: Linter,
    paths: Iterable[str | os.PathLike[str]],
    *,
    fail_at: Level | str = Level.ERROR,
    known: Known | None = None,
) -> Report:
    """The same with a linter that may be used again."""
    files = []
    for path, trouble in drawings(paths):
        if trouble:
            name = shown(path)
            files.append(FileReport(file=name, failure=Failure(file=name, message=trouble)))
        else:
            files.append(linter.file(path))
    if known is not None or any(file.job is not None for file in files):
        from scantling.closing import closed

        files = list(closed(files, linter, known))
    return Report(
        files=tuple(files),
        rules=linter.rule_texts(),
        version=__version__,
        fail_at=_level(fail_at),
        troubles=(*linter.book.troubles, *linter.problems),
    )


def _list(known: Known | str | os.PathLike[str] | None) -> Known | None:
    if isinstance(known, (str, os.PathLike)):
        from scantling.judge.known import Known

        return Known.read(known)
    return known


def _level(given: Level | str) -> Level:
    if isinstance(given, Level):
        return given
    levels = {level.word: level for level in Level if level}
    if given not in levels:
        raise ValueError(f"no level is called {given!r}: {', '.join(levels)}")
    return levels[given]


def _length(value: str | float | None) -> float | None:
    return None if value is None else parse_length(value)


def _wanted(
    job: str | None,
    stock: str | None,
    width: str | float | None,
    height: str | float | None,
    limits: Sequence[str],
    **more: Any,
) -> Wanted:
    """The options that all functions share, read. Raises ValueError."""
    return Wanted(
        job=job,
        stock=stock,
        width=_length(width),
        height=_length(height),
        limits=Limits.parse(limits),
        **more,
    )


def write_known(
    report: Report,
    file: str | os.PathLike[str],
    *,
    tell: Callable[[str], object] | None = None,
) -> Report:
    """Write the findings of a report that stand to a list, from now on known, and return the
    report with them accepted. An older list keeps its reasons, and what it says of drawings that
    this run did not judge. `tell` is told in one line how many findings the list names, and how
    many of them are new, and gone. Raises ValueError where the older list cannot be read, and
    FormError where the list cannot be written."""
    from scantling.listing import write_list

    judged = ((one.file, one.findings) for one in report.files if not one.failure)
    new = write_list(file, judged, tell)
    files = tuple(replace(one, findings=new.mark(one.findings, one.file)) for one in report.files)
    return replace(report, files=files)


def scenes(
    report: Report,
    *,
    job: str | None = None,
    stock: str | None = None,
    width: str | float | None = None,
    height: str | float | None = None,
    limits: Sequence[str] = (),
) -> dict[str, Scene]:
    """The drawings of a report as pages and pictures draw them (`Manner.scenes`). The options are
    those that the report was made with."""
    from scantling.linter import Linter
    from scantling.scenes import scenes as drawn

    wanted = _wanted(job, stock, width, height, limits)
    return drawn(report, Linter(wanted))


def with_fixes(
    report: Report,
    *,
    job: str | None = None,
    stock: str | None = None,
    width: str | float | None = None,
    height: str | float | None = None,
    limits: Sequence[str] = (),
    own_rules: bool = False,
) -> Report:
    """The report with a tried repair beside each finding that has one (`Finding.fixes`), as SARIF
    tells of them. The options are those that the report was made with."""
    from scantling.linter import Linter
    from scantling.mend.offers import offered

    wanted = _wanted(job, stock, width, height, limits, own_rules=own_rules)
    return offered(report, Linter(wanted))


def starting_job(path: str, *, limits: Limits | Sequence[str] = ()) -> str:
    """The text of a starting job sheet for a drawing. Raises Unreadable."""
    from scantling.plan.start import start_job
    from scantling.read import Source, read_drawing

    bounds = limits if isinstance(limits, Limits) else Limits.parse(limits)
    return start_job(read_drawing(Source.open(path, limits=bounds), bounds), path)


def audit(
    paths: Iterable[str | os.PathLike[str]] | str | os.PathLike[str],
    *,
    stocks: Sequence[str] = (),
    job: str | None = None,
    width: str | float | None = None,
    height: str | float | None = None,
    limits: Sequence[str] = (),
    fail_at: Level | str = Level.ERROR,
    own_rules: bool = False,
    how_small: bool = False,
    repairs: bool = False,
    part: tuple[int, int] | None = None,
    workers: int = 0,
    time_limit: float = 120.0,
    scheduler: str = "",
    against: str = "",
    known: Known | str | os.PathLike[str] | None = None,
    cache: bool = True,
    progress: Progress | None = None,
) -> Audit:
    """Judge a catalogue: every drawing by its job sheet, or on each of several stocks.

    how_small    True: measure as far as it takes to say how small each design may be made
    repairs      True: try a repair for each finding that may have one (`Finding.fixes`)
    part         (k, n): only the k-th of n parts of the drawings
    workers      processes; 0: as many as there are cores
    time_limit   seconds that one drawing may take; 0: as long as it likes
    scheduler    address of a Dask scheduler whose workers do the work instead
    against      'LAST', a date or a SARIF file to compare with
    known        a list of known findings, which are accepted (see `Audit.write_known`)
    cache        False: no earlier results are used, and none are kept
    progress     is told how far it has come
    Returns an Audit, to be used in a `with` or closed. Raises ValueError for a width, height,
    limit, level or list that cannot be read and for a baseline that cannot be used, RuntimeError
    where no worker or scheduler can be had, and catalogue.audit.Interrupted on Ctrl-C.
    """
    from scantling.catalogue.audit import Asked, run

    given = [paths] if isinstance(paths, (str, os.PathLike)) else paths
    asked = Asked(
        paths=tuple(os.fspath(path) for path in given),
        wanted=_wanted(
            job,
            None,
            width,
            height,
            limits,
            own_rules=own_rules,
            how_small=how_small,
            repairs=repairs,
        ),
        trials=tuple(dict.fromkeys(stocks)) or ("",),
        fail_at=_level(fail_at),
        part=part,
        workers=workers,
        limit=time_limit,
        scheduler=scheduler,
        against=against,
        known=_list(known),
        keep=cache,
    )
    return run(asked, progress)


def parts(
    paths: Iterable[str | os.PathLike[str]] | str | os.PathLike[str],
    *,
    job: str | None = None,
    stock: str | None = None,
    width: str | float | None = None,
    height: str | float | None = None,
    limits: Sequence[str] = (),
) -> CutList:
    """The cut list of drawings, stock by stock. Files that could not be read are in
    CutList.failures. Raises ValueError for a width, height or limit that cannot be read."""
    from scantling.catalogue.cutlist import cut_list

    given = [paths] if isinstance(paths, (str, os.PathLike)) else paths
    wanted = _wanted(job, stock, width, height, limits)
    return cut_list(given, wanted)
