"""One session of `scantling watch`: what is printed, what is served, and how it ends."""

from __future__ import annotations

import _thread
import os
import signal
import sys
import threading
from collections.abc import Sequence
from contextlib import ExitStack

import click

from scantling.drawings import drawings
from scantling.judge.known import Known
from scantling.linter import Linter
from scantling.live.board import Board
from scantling.live.watch import watch
from scantling.report.forms import Delivery, deliver, rendered
from scantling.report.model import Manner, Report
from scantling.report.plain import clean, totals
from scantling.scenes import scenes
from scantling.wanted import Wanted, shown


def run(
    wanted: Wanted,
    paths: Sequence[str],
    known: Known | None = None,
    *,
    port: int | None = 0,
    browse: bool = False,
) -> None:
    """Watch until interrupted. Findings go to stdout, everything else to stderr.

    known   findings that are accepted
    port    of the page on this machine, 0: any that is free; None: no page
    browse  open the page in the user's browser
    Raises ClickException where the port cannot be had.
    """
    stop = threading.Event()
    with ExitStack() as stack:
        board = None
        if port is not None:
            board = _board(paths, port)
            stack.callback(board.close)

        for path, trouble in drawings(paths):
            if trouble:
                missing = f"{clean(shown(path))}: {trouble} yet"
                click.echo(f"scantling: {missing}; waiting until there is one", err=True)
        linter = Linter(wanted)

        def told(report: Report, seconds: float) -> None:
            words = totals(report.files).words()
            deliver(report, (Delivery("text"),))
            sys.stdout.flush()
            click.echo(f"scantling: judged in {seconds:.2f} s: {words}", err=True)
            if board is not None:
                first = not board.number
                board.show(page(report, linter), f"{words[0].upper()}{words[1:]}")
                if first:
                    click.echo(f"scantling: the page is at {board.url}", err=True)
                    if browse:
                        click.launch(board.url)

        def ends(*_: object) -> None:
            # not here: the wait that a signal interrupts may hold the lock that `set` takes
            _thread.start_new_thread(stop.set, ())

        for name in ("SIGINT", "SIGTERM"):
            if threading.current_thread() is threading.main_thread():
                before = signal.signal(getattr(signal, name), ends)
                stack.callback(signal.signal, getattr(signal, name), before)
        watch(linter, paths, told, stop, known)


def page(report: Report, linter: Linter) -> bytes:
    """The page form of a report, with its drawings."""
    return rendered(Delivery("page"), report, Manner(scenes=scenes(report, linter)))


def _board(paths: Sequence[str], port: int) -> Board:
    names = [os.path.basename(os.path.abspath(path)) for path in paths]
    title = names[0] if len(names) == 1 else f"{names[0]} and {len(names) - 1} more"
    try:
        return Board(clean(shown(title)), port)
    except OSError as error:
        why = error.strerror or error
        raise click.ClickException(f"port {port} cannot be used: {why}") from error
