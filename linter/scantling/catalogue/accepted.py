"""What is accepted for a whole catalogue: known findings, and entries of job sheets.

Whole reports are read only of the drawings that a list or an acceptance names.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from scantling.catalogue.row import Row, row_of
from scantling.catalogue.task import Desk
from scantling.judge.known import Known
from scantling.records import dataclass
from scantling.report.model import Failure, FileReport

if TYPE_CHECKING:
    from scantling.closing import Closing


@dataclass(slots=True)
class Accepted:
    """Sees the rows of an audit one after another.

    known   the list of known findings; None: there is none
    whole   reads the whole report of a row
    """

    desk: Desk
    known: Known | None
    whole: Callable[[Row, bytes], FileReport]
    _closing: Closing | None = None

    def row(self, path: str, row: Row, digest: bytes) -> Row:
        """The row of a drawing with its known findings accepted."""
        job = self.desk.job(path)
        if self.known is None and not (job and self.desk.idling(job, path)):
            return row
        listed = self.known is not None and bool(self.known.of(row.file))
        if listed or row.accepted:
            report = self.closing.see(self.whole(row, digest))
            return row_of(report, row.trial, row.thumb) if listed else row
        failure = Failure(file=row.file, message=row.failure) if row.failure else None
        self.closing.see(FileReport(file=row.file, failure=failure, job=job))
        return row

    def reports(self, ours: Callable[[str], bool]) -> Iterator[FileReport]:
        """What can be said last, see `Closing.reports`."""
        if self._closing is not None or self.known is not None:
            yield from self.closing.reports(ours)

    @property
    def closing(self) -> Closing:
        """Made when something is accepted: it needs the rules."""
        if self._closing is None:
            from scantling.closing import Closing
            from scantling.linter import Linter

            wanted = replace(self.desk.wanted, stock=self.desk.trials[0] or None)
            self._closing = Closing(Linter(wanted), self.known)
        return self._closing
