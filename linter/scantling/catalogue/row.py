"""One line of the audit's table: what a design on a stock comes to, in figures."""

from __future__ import annotations

from collections import Counter

from scantling.judge.finding import Level
from scantling.records import NamedTuple, dataclass
from scantling.report.model import FileReport

PASSES, WARNS, FAILS, FAILED = "passes", "warnings", "fails", "not judged"
VERDICTS = (FAILED, FAILS, WARNS, PASSES)
"""The worst first."""


class Thumb(NamedTuple):
    """A small picture: path data in whole units of a grid.

    origin   mm on the page that the grid starts at
    unit     mm that one of its units is
    size     of the picture, units
    layers   operation, colour ('#rrggbb' or '') and path data, in drawing order
    """

    origin: tuple[float, float]
    unit: float
    size: tuple[int, int]
    layers: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A design on a stock, in figures.

    file, trial    the design, and the stock that was asked for ('': as its job sheet says)
    stocks         the stocks that its sheets are cut from, in their order
    errors, warnings, notes   standing findings; `accepted` the others
    rules          standing findings by rule, in alphabetical order
    troubled       rules of those that are more than notes, likewise
    width, height  finished, mm; None where there is no geometry
    least_web      the least finished web of all sheets in mm, where on the page, on which sheet;
                   None where every web is wider than it was measured for
    safe_width     the least finished width in mm at which nothing that scales is too small
    safe_bound     True: the design was measured no further; it may be made smaller still
    cut, score, engrave   length of line, mm
    parts, dropouts       pieces kept and not kept
    failure        why it was not judged, '' if it was
    notices        what was assumed of it
    thumb          what it looks like
    """

    file: str
    trial: str = ""
    stocks: tuple[str, ...] = ()
    errors: int = 0
    warnings: int = 0
    notes: int = 0
    accepted: int = 0
    rules: tuple[tuple[str, int], ...] = ()
    troubled: tuple[str, ...] = ()
    width: float | None = None
    height: float | None = None
    least_web: float | None = None
    least_web_at: tuple[float, float] | None = None
    least_web_sheet: str = ""
    safe_width: float | None = None
    safe_bound: bool = False
    cut: float = 0.0
    score: float = 0.0
    engrave: float = 0.0
    parts: int = 0
    dropouts: int = 0
    failure: str = ""
    notices: tuple[str, ...] = ()
    thumb: Thumb | None = None

    @property
    def stock(self) -> str:
        """What the table calls the stock: the one asked for, or those of the job sheet."""
        return self.trial or " + ".join(self.stocks)

    @property
    def findings(self) -> int:
        return self.errors + self.warnings + self.notes

    def at_or_above(self, level: Level) -> int:
        """Standing findings at a level or worse."""
        counts = {Level.ERROR: self.errors, Level.WARNING: self.warnings, Level.NOTE: self.notes}
        return sum(number for each, number in counts.items() if each >= level)

    def verdict(self, fail_at: Level) -> str:
        if self.failure:
            return FAILED
        if self.at_or_above(fail_at):
            return FAILS
        return WARNS if self.errors + self.warnings else PASSES


def row_of(report: FileReport, trial: str = "", thumb: Thumb | None = None) -> Row:
    """The figures of a report."""
    standing = list(report.standing())
    levels = Counter(finding.level for finding in standing)
    webs = [(web, k) for k, s in enumerate(report.sheets) if (web := s.finished_web) is not None]
    web, k = min(webs, default=(None, 0))
    least = report.sheets[k] if web is not None else None
    return Row(
        file=report.file,
        trial=trial,
        stocks=tuple(dict.fromkeys(sheet.stock for sheet in report.sheets)),
        errors=levels[Level.ERROR],
        warnings=levels[Level.WARNING],
        notes=levels[Level.NOTE],
        accepted=len(report.findings) - len(standing),
        rules=tuple(sorted(Counter(finding.rule for finding in standing).items())),
        troubled=tuple(sorted({f.rule for f in standing if f.level > Level.NOTE})),
        width=report.size[0] if report.size else None,
        height=report.size[1] if report.size else None,
        least_web=web,
        least_web_at=least.least_web_at if least else None,
        least_web_sheet=least.label if least else "",
        safe_width=report.smallest_safe_width,
        safe_bound=report.safe_bound,
        cut=sum(sheet.cut for sheet in report.sheets),
        score=sum(sheet.score for sheet in report.sheets),
        engrave=sum(sheet.engrave for sheet in report.sheets),
        parts=sum(sheet.parts for sheet in report.sheets),
        dropouts=sum(sheet.dropouts for sheet in report.sheets),
        failure=report.failure.message if report.failure else "",
        notices=report.notices,
        thumb=thumb,
    )
