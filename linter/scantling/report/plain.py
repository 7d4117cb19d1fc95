"""What several forms of report share: safe words, short numbers, counts and the worst of many."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

from scantling.judge.finding import UNDRAWN, WHOLE, Finding, Level, Related
from scantling.plan.checked import Problem
from scantling.records import dataclass
from scantling.report.model import FileReport, Report, SheetSummary, Trouble

if TYPE_CHECKING:
    from scantling.plan.model import Stock

LEVELS = (Level.ERROR, Level.WARNING, Level.NOTE)
"""The worst first."""

# Control characters, and those that turn the reading direction round: a name in a drawing must
# not move the cursor of a terminal or hide what follows it (UAX #9, section 2; ECMA-48).
_TURNING = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def clean(text: str) -> str:
    """One line that is safe to show: control characters, line ends, turning marks and halves of
    surrogate pairs (undecodable bytes of file names) are written as escapes."""
    if text.isascii() and text.isprintable():
        return text
    return "".join(map(_shown, text))


def _shown(char: str) -> str:
    import unicodedata

    code = ord(char)
    if (
        char in _TURNING
        or unicodedata.category(char) in {"Cc", "Cs", "Zl", "Zp"}
        or code in (0xFFFE, 0xFFFF)  # no characters, and XML 1.0 forbids them
    ):
        return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"
    return char


def placed(trouble: Trouble) -> tuple[str, int, int, str]:
    """File ('': none), line and column (0: none) of something wrong with a run, and the words."""
    if isinstance(trouble, Problem):
        return trouble.file, trouble.line, trouble.column, trouble.said
    return "", 0, 0, trouble


def error_line(trouble: Trouble) -> str:
    """The same as one line in the GNU message form."""
    file, line, column, said = placed(trouble)
    place = f":{line}:{column}" if line else ""
    return f"{clean(file) or 'scantling'}{place}: error: {clean(said)}"


def short(value: float | None, digits: int = 4) -> float | None:
    """A number for a file that machines read: rounded, never -0, NaN or infinite (None)."""
    if value is None or not math.isfinite(value):
        return None
    return round(value, digits) + 0.0


def pair(at: Sequence[float] | None) -> list[float | None] | None:
    return None if at is None else [short(at[0]), short(at[1])]


def grouped(
    stocks: Iterable[Stock], of: Callable[[Stock], Iterable[str]]
) -> list[tuple[str, list[str]]]:
    """Texts with the names of the stocks that share them, in their order."""
    texts: dict[str, dict[str, None]] = {}
    for stock in stocks:
        for text in of(stock):
            texts.setdefault(text, {}).setdefault(stock.name)
    return [(text, list(names)) for text, names in texts.items()]


def said_of(notices: Iterable[tuple[str, str]]) -> dict[str, list[str]]:
    """(file, notice) pairs by notice: the files that each is said of, in their order, the most
    common first."""
    files: dict[str, dict[str, None]] = {}
    for file, notice in notices:
        files.setdefault(notice, {}).setdefault(file)
    return {
        notice: list(names)
        for notice, names in sorted(files.items(), key=lambda item: -len(item[1]))
    }


def counted(number: int, one: str, many: str = "") -> str:
    """`1 error`, `2 errors`."""
    return f"{number} {one if number == 1 else many or one + 's'}"


@dataclass(frozen=True, slots=True)
class Totals:
    """Findings by level, without the accepted ones; `accepted` and failed files beside them."""

    errors: int = 0
    warnings: int = 0
    notes: int = 0
    accepted: int = 0
    failures: int = 0

    def of(self, level: Level) -> int:
        return {Level.ERROR: self.errors, Level.WARNING: self.warnings}.get(level, self.notes)

    @property
    def standing(self) -> int:
        """Findings that are not accepted."""
        return self.errors + self.warnings + self.notes

    def words(self) -> str:
        """The worst first; 'nothing found' where there is nothing at all."""
        parts = [counted(self.of(lv), lv.word) for lv in LEVELS if self.of(lv)]
        if self.failures:
            parts.insert(0, f"{counted(self.failures, 'file')} not judged")
        if self.accepted:
            parts.append(f"{self.accepted} accepted")
        return ", ".join(parts) or "nothing found"


def totals(files: Iterable[FileReport]) -> Totals:
    """Findings and failures of all files, counted."""
    levels = dict.fromkeys(LEVELS, 0)
    accepted = failures = 0
    for file in files:
        failures += file.failure is not None
        accepted += sum(1 for _ in file.accepted())
        for finding in file.standing():
            levels[finding.level] += 1
    return Totals(
        errors=levels[Level.ERROR],
        warnings=levels[Level.WARNING],
        notes=levels[Level.NOTE],
        accepted=accepted,
        failures=failures,
    )


FAR = 10.0
"""Nobody makes a design so many times larger because of one place that is too small."""


def safe_width(file: FileReport) -> str:
    """At which width a drawing with findings passes, as far as that depends on the width; empty
    where nothing does, or where it was not measured far enough."""
    safe, wide = file.smallest_safe_width, file.size[0] if file.size else 0.0
    levels = [finding.level for finding in file.standing()]
    if safe is None or file.safe_bound or not levels:
        return ""
    if wide and safe > FAR * wide:
        return f"smallest safe width {safe:.0f} mm, {safe / wide:.0f} times this: redraw instead"
    if safe <= wide and max(levels) > Level.NOTE:
        return f"what depends on the size passes down to a width of {safe:.2f} mm"
    if any(
        f.by_stock and f.smallest_safe_width is None
        for f in file.standing()
        if f.level > Level.NOTE
    ):
        return f"what a larger size cures passes from a width of {safe:.2f} mm"
    return f"smallest safe width {safe:.2f} mm"


def severity(finding: Finding) -> tuple[int, float, float]:
    """A key that rises with how bad a finding is: its level, then how far the measured number is
    from the required one, then how much of the drawing it concerns."""
    off = 0.0
    if finding.measured is not None and finding.required:
        off = abs(finding.required - finding.measured) / abs(finding.required)
    return int(finding.level), off, finding.extent or 0.0


def worst(findings: Iterable[Finding]) -> Finding:
    """The worst of some findings; of equals, the first."""
    return max(findings, key=severity)


def worst_first(findings: Iterable[Finding]) -> list[Finding]:
    """By severity; equals stay in their order."""
    return sorted(findings, key=severity, reverse=True)


def spokesmen(findings: Sequence[Finding], limit: int) -> list[int]:
    """For each finding the index of the one that speaks for it where a person reads: where more
    than `limit` share rule, level and sheet, the worst of them, and of those that copies of one
    element raise at one place of the text, the worst; else itself. 0: no limit."""
    groups: dict[tuple[str, Level, str], list[int]] = {}
    copies: dict[tuple[object, ...], list[int]] = {}
    for k, finding in enumerate(findings):
        kind = finding.rule, finding.level, finding.stock
        groups.setdefault(kind, []).append(k)
        if finding.uses:
            copies.setdefault((*kind, finding.place), []).append(k)
    speaks = list(range(len(findings)))
    floods = [group for group in groups.values() if len(group) > limit]
    for group in (*copies.values(), *floods) if limit else ():
        head = max(group, key=lambda k: severity(findings[k]))
        for k in group:
            speaks[k] = head
    return speaks


def folded(findings: Sequence[Finding], limit: int) -> Iterator[tuple[Finding, int]]:
    """Findings in their own order with a count each, only those that speak for themselves and for
    others."""
    speaks = spokesmen(findings, limit)
    count = [0] * len(findings)
    for k, head in enumerate(speaks):
        count[head] += findings[k].count
    for k, finding in enumerate(findings):
        if speaks[k] == k:
            yield finding, count[k]


def of_many(number: int) -> str:
    """How a finding that speaks for a number of them says so; empty for one."""
    return f"the worst of {number}" if number > 1 else ""


def subject(finding: Finding) -> str:
    """What a person calls the thing concerned: `part "crescent"`, or an empty string."""
    for kind, name in (
        ("part", finding.part),
        ("element", finding.element),
        ("layer", finding.layer),
    ):
        if name:
            return f'{kind} "{clean(name)}"'
    return ""


def counterpart(finding: Finding) -> Related | None:
    """What else a finding is between: the first of its further places, but for more of its kind."""
    first = next(iter(finding.related), None)
    return None if first is None or first.message.startswith("another ") else first


def between(finding: Finding) -> str:
    """The counterpart in words, with its place in the text: `the outline it crosses: line 4, column
    17`. Empty where there is none, and for the other side of one and the same line of text, which
    whoever looks there sees."""
    other = counterpart(finding)
    if other is None or not other.place.line:
        return ""
    place = other.place
    if place.line == finding.place.line and other.message.startswith("the other "):
        return ""
    return f"{clean(other.message)}: line {place.line}, column {place.column}"


def no_place(finding: Finding) -> str:
    """Why a finding has no place on the page; empty where it has one."""
    if finding.scope == WHOLE:
        return f"no one place: it is about the whole {'sheet' if finding.stock else 'drawing'}"
    return "nowhere: nothing of it is drawn" if finding.scope == UNDRAWN else ""


def numbers(finding: Finding) -> dict[str, Any]:
    """The numbers of a finding by name, for machines; what is not known is left out."""
    of_a_length = finding.unit == "mm"
    values: dict[str, Any] = {
        "at_mm": pair(finding.at),
        "extent_mm": short(finding.extent),
        "measured_mm" if of_a_length else "measured": short(finding.measured),
        "required_mm" if of_a_length else "required": short(finding.required),
        "unit": None if of_a_length or finding.measured is None else finding.unit,
        "smallest_safe_width_mm": short(finding.smallest_safe_width),
        "largest_safe_width_mm": short(finding.largest_safe_width),
        "passing_stocks": list(finding.passing_stocks) or None,
    }
    return {name: value for name, value in values.items() if value is not None}


def sheet_numbers(sheet: SheetSummary) -> dict[str, Any]:
    """One sheet in figures, for machines."""
    values: dict[str, Any] = {
        "sheet": sheet.label,
        "stock": sheet.stock,
        "colours": list(sheet.colours) or None,
        "size_mm": pair(sheet.size),
        "parts": sheet.parts,
        "dropouts": sheet.dropouts,
        "cut_mm": short(sheet.cut),
        "score_mm": short(sheet.score),
        "engrave_mm": short(sheet.engrave),
        "least_web_mm": short(sheet.finished_web),
        "least_web_at_mm": pair(sheet.least_web_at),
        "passing_stocks": list(sheet.passing_stocks) or None,
    }
    return {name: value for name, value in values.items() if value is not None}


def file_level(report: Report, file: FileReport) -> Level:
    """The worst level of a file: ERROR where it could not be judged, OFF where all is well."""
    if file.failure:
        return Level.ERROR
    return max((finding.level for finding in file.standing()), default=Level.OFF)
