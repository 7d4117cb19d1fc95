"""How far an audit has come, on a terminal: done, rate, time left, findings so far."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from scantling.report.forms import is_terminal

if TYPE_CHECKING:
    from rich.progress import Progress as Bars
    from rich.progress import TaskID


class Bar:
    """A progress bar on stderr."""

    def __init__(self) -> None:
        self.findings = 0
        self.known = 0
        self.bars: Bars | None = None
        self.task: TaskID | None = None

    def begin(self, total: int) -> None:
        from rich.console import Console
        from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn
        from rich.progress import TimeRemainingColumn as TimeLeft

        self.bars = Progress(
            BarColumn(),
            MofNCompleteColumn(),
            TextColumn("{task.fields[rate]}"),
            TimeLeft(compact=True, elapsed_when_finished=True),
            TextColumn("{task.fields[told]}"),
            console=Console(stderr=True),
            transient=True,
            refresh_per_second=8,
        )
        self.task = self.bars.add_task("", total=total, rate="", told="")
        self.bars.start()

    def step(self, findings: int, known: bool) -> None:
        if self.bars is None or self.task is None:
            return
        self.findings += findings
        self.known += known
        speed = self.bars.tasks[0].speed
        told = f"{self.findings} findings" + (f", {self.known} known before" if self.known else "")
        self.bars.update(self.task, advance=1, rate=f"{speed:.0f}/s" if speed else "", told=told)

    def end(self) -> None:
        if self.bars is not None:
            self.bars.stop()


def bar() -> Bar | None:
    """A bar where there is a terminal to draw it on."""
    return Bar() if is_terminal(sys.stderr) else None
