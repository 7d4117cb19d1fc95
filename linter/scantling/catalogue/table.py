"""The audit's table: its columns, its order, and which rows are shown."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from scantling.catalogue.against import Change
from scantling.catalogue.audit import Audit, Outcome
from scantling.catalogue.row import VERDICTS, Row
from scantling.records import NamedTuple
from scantling.report.plain import clean, short

Value = str | int | float | None


class Column(NamedTuple):
    """A column: its name for machines, its heading for people, what stands in it.

    value   for machines and for sorting; None where it is not known
    text    for people
    right   True: numbers, set to the right
    """

    name: str
    heading: str
    value: Callable[[Audit, Outcome], Value]
    text: Callable[[Audit, Outcome], str]
    right: bool = True


def _plain(name: str, heading: str, value: Callable[[Row], Value], right: bool = True) -> Column:
    def text(audit: Audit, outcome: Outcome) -> str:
        found = value(outcome.row)
        return "" if found is None else clean(str(found))

    return Column(name, heading, lambda audit, outcome: value(outcome.row), text, right)


def _mm(name: str, heading: str, value: Callable[[Row], float | None], digits: int = 2) -> Column:
    def text(audit: Audit, outcome: Outcome) -> str:
        found = value(outcome.row)
        return "" if found is None else f"{found:.{digits}f}"

    return Column(name, heading, lambda audit, outcome: short(value(outcome.row)), text)


def _changed(name: str, value: Callable[[Change], int]) -> Column:
    def number(audit: Audit, outcome: Outcome) -> Value:
        return None if outcome.change is None else value(outcome.change)

    return Column(name, name, number, lambda a, o: "" if (n := number(a, o)) is None else str(n))


def _verdict(audit: Audit, outcome: Outcome) -> str:
    return outcome.row.verdict(audit.asked.fail_at)


def _where(row: Row) -> str:
    at = row.least_web_at
    return "" if at is None else f"x {at[0]:.2f} y {at[1]:.2f}"


def _safe(row: Row) -> str:
    """With a sign where the design may be made smaller still."""
    if row.safe_width is None:
        return ""
    return f"{'≤ ' if row.safe_bound else ''}{row.safe_width:.2f}"


COLUMNS: tuple[Column, ...] = (
    _plain("design", "design", lambda row: row.file, right=False),
    _plain("stock", "stock", lambda row: row.stock, right=False),
    Column("verdict", "verdict", _verdict, _verdict, right=False),
    _plain("errors", "errors", lambda row: row.errors),
    _plain("warnings", "warnings", lambda row: row.warnings),
    _plain("notes", "notes", lambda row: row.notes),
    _mm("least_web_mm", "least web", lambda row: row.least_web),
    _plain("where", "where", _where, right=False),
    _mm("width_mm", "width", lambda row: row.width),
    Column(
        "smallest_safe_width_mm",
        "safe width",
        lambda audit, outcome: short(outcome.row.safe_width),
        lambda audit, outcome: _safe(outcome.row),
    ),
    _mm("cut_mm", "cut", lambda row: row.cut, 0),
    _plain("parts", "parts", lambda row: row.parts),
)
"""Of the text form and the page. Lengths are in mm."""

MORE: tuple[Column, ...] = (
    _plain("accepted", "accepted", lambda row: row.accepted),
    _mm("least_web_x_mm", "x", lambda row: row.least_web_at[0] if row.least_web_at else None),
    _mm("least_web_y_mm", "y", lambda row: row.least_web_at[1] if row.least_web_at else None),
    _plain("least_web_sheet", "sheet", lambda row: row.least_web_sheet or None, right=False),
    _plain("safe_width_is_bound", "bound", lambda row: int(row.safe_bound)),
    _mm("height_mm", "height", lambda row: row.height),
    _mm("score_mm", "score", lambda row: row.score, 0),
    _mm("engrave_mm", "engrave", lambda row: row.engrave, 0),
    _plain("dropouts", "drop-outs", lambda row: row.dropouts),
    _plain("rules", "rules", lambda row: " ".join(f"{r}:{n}" for r, n in row.rules), right=False),
    _plain("failure", "failure", lambda row: row.failure or None, right=False),
)
"""What machines get besides."""

CHANGES: tuple[Column, ...] = (
    _changed("new", lambda change: change.new),
    _changed("gone", lambda change: change.gone),
    _changed("unchanged", lambda change: change.unchanged),
)
"""Where there is a baseline."""

ORDERS: dict[str, tuple[Callable[[Audit, Outcome], Value], bool]] = {
    "design": (lambda audit, o: o.row.file, False),
    "stock": (lambda audit, o: o.row.stock, False),
    "verdict": (lambda audit, o: VERDICTS.index(_verdict(audit, o)), False),
    "findings": (lambda audit, o: o.row.findings, True),
    "least-web": (lambda audit, o: o.row.least_web, False),
    "safe-width": (lambda audit, o: o.row.safe_width, True),
    "width": (lambda audit, o: o.row.width, True),
    "cut": (lambda audit, o: o.row.cut, True),
    "parts": (lambda audit, o: o.row.parts, True),
    "new": (lambda audit, o: o.change.new if o.change else None, True),
}
"""What rows can be sorted by, and whether the largest comes first: what needs a look is on top."""

SHOWN = {verdict.replace(" ", "-"): verdict for verdict in VERDICTS}
"""Names of the verdicts on the command line."""


def columns(audit: Audit) -> tuple[Column, ...]:
    return COLUMNS + (CHANGES if audit.against is not None else ())


def all_columns(audit: Audit) -> tuple[Column, ...]:
    return COLUMNS + MORE + (CHANGES if audit.against is not None else ())


def chosen(
    audit: Audit, order: str = "", backwards: bool = False, only: Iterable[str] = ()
) -> list[Outcome]:
    """The rows to show: those with one of the verdicts `only` (none: all), in their order: that of
    the files, or by one of ORDERS. Equals keep the order of the files, unknown values come last."""
    wanted = {SHOWN[name] for name in only}
    rows = [o for o in audit.outcomes if not wanted or _verdict(audit, o) in wanted]
    if not order:
        return rows[::-1] if backwards else rows
    value, descending = ORDERS[order]
    known = [o for o in rows if value(audit, o) is not None]
    unknown = [o for o in rows if value(audit, o) is None]

    def key(outcome: Outcome) -> Value:
        return value(audit, outcome)

    known.sort(key=key, reverse=descending != backwards)  # type: ignore[arg-type]
    return known + unknown
