"""The text report: one line a finding in the GNU message form, then a summary of the job.

GNU Coding Standards, section 4.4 ("Formatting Error Messages"): `FILE:LINE:COLUMN: MESSAGE`.
Lines of the summary are worded so that no reader of that form takes them for a message: no
number follows a colon.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Sequence
from typing import IO

from scantling.judge.finding import Finding, Level
from scantling.report.model import FileReport, Manner, Report, SheetSummary, Trouble
from scantling.report.plain import (
    Totals,
    between,
    clean,
    counted,
    file_level,
    folded,
    of_many,
    placed,
    safe_width,
    said_of,
    subject,
    totals,
)

MOST_FILES = 12
"""The summary covers this many files; of a long list, of those with the worst findings."""

Span = tuple[str, str]
"""A run of text and its style: '', or one of STYLES."""
Line = list[Span]

STYLES = {
    "error": "bold red",
    "warning": "bold yellow",
    "note": "cyan",
    "accepted": "green",
    "faint": "dim",
    "strong": "bold",
}


def render(report: Report, manner: Manner) -> str:
    """The report as plain text, without colour and without wrapping."""
    return "".join("".join(text for text, _ in line) + "\n" for line in lines(report, manner))


def show(report: Report, manner: Manner, stream: IO[str]) -> None:
    """Print the report on a terminal: coloured (unless NO_COLOR is set), wrapped at its width."""
    from rich.console import Console
    from rich.text import Text

    if hasattr(stream, "reconfigure"):  # a terminal of few letters must not stop the run
        stream.reconfigure(errors="backslashreplace")
    console = Console(file=stream, width=manner.width, highlight=False, markup=False, emoji=False)
    indent = min(4, console.width // 4)
    for line in lines(report, manner):
        text = Text.assemble(*((words, STYLES.get(style, "")) for words, style in line))
        for number, part in enumerate(text.wrap(console, console.width - indent)):
            console.print(Text(" " * indent) + part if number else part, overflow="fold")
        if not line:
            console.print()


def lines(report: Report, manner: Manner) -> Iterator[Line]:
    """Everything that is said, line by line."""
    for trouble in report.troubles:
        yield trouble_line(trouble)
    failed = [file.failure for file in report.files if file.failure and file.failure.passing]
    failures = _common(((one.file, one.message) for one in failed), manner.fold)
    notices = _common(
        ((file.file, notice) for file in report.files for notice in file.notices), manner.fold
    )
    for level, common in ((Level.ERROR, failures), (Level.NOTE, notices)):
        for said, number in common.items():
            words = f"of {number} files: {clean(said)}"
            yield _message("scantling", 0, 0, level.word, words)
    for file in report.files:
        yield from _file(file, manner, failures, notices)
    if any(file.findings or file.notices or file.failure for file in report.files):
        yield []
    yield from _summary(report)


def _common(said: Iterable[tuple[str, str]], most: int) -> dict[str, int]:
    """What is said of more than so many files, given (file, words) pairs, and of how many: it is
    said once, for all of them. 0: nothing is."""
    return {
        words: len(files) for words, files in said_of(said).items() if most and len(files) > most
    }


def _file(
    file: FileReport, manner: Manner, failures: Container[str], notices: Container[str]
) -> Iterator[Line]:
    """All that is said of a file, but for what is said of many."""
    for notice in file.notices:
        if notice not in notices:
            yield _message(file.file, 0, 0, Level.NOTE.word, clean(notice))
    failed = file.failure
    if failed and not (failed.passing and failed.message in failures):
        yield _message(
            failed.file, failed.line, failed.column, Level.ERROR.word, clean(failed.message)
        )
    for finding, number in folded(list(file.standing()), manner.fold):
        yield finding_line(finding, number)
    for finding in file.accepted() if manner.accepted else ():
        yield finding_line(finding, finding.count)


def finding_line(finding: Finding, number: int) -> Line:
    """One finding that stands for a number of its kind."""
    word = finding.level.word if finding.accepted is None else "accepted"
    line = _message(
        finding.file, finding.place.line, finding.place.column, word, clean(finding.message)
    )
    where = ", ".join(_where(finding, number))
    if where:
        line.append((f"; {where}", ""))
    if finding.accepted is not None:
        line.append((f"; reason: {clean(finding.accepted) or 'none given'}", ""))
    line.append((f" [{finding.rule}]", "faint"))
    return line


def _where(finding: Finding, number: int) -> Iterator[str]:
    """The place on the page and the thing concerned, as far as the message does not say it."""
    if many := of_many(number):
        yield many
    if finding.at is not None:
        yield f"at x {finding.at[0]:.2f} y {finding.at[1]:.2f} mm"
    thing = subject(finding)
    if thing and thing.partition('"')[2] not in f'{clean(finding.message)}"':
        yield thing
    if finding.stock and finding.stock not in finding.message:
        yield f"sheet {clean(finding.stock)}"
    if other := between(finding):
        yield other


def trouble_line(trouble: Trouble) -> Line:
    """Something wrong with the run itself."""
    file, line, column, said = placed(trouble)
    return _message(file or "scantling", line, column, Level.ERROR.word, clean(said))


def _message(file: str, line: int, column: int, word: str, message: str) -> Line:
    place = f":{line}:{column}" if line and column else f":{line}" if line else ""
    return [(f"{clean(file)}{place}: ", ""), (word, word), (f": {message}", "")]


def _summary(report: Report) -> Iterator[Line]:
    files: Sequence[FileReport] = report.files
    if len(files) > MOST_FILES:
        bad = [file for file in files if file_level(report, file)]
        files = sorted(bad, key=lambda file: _badness(report, file), reverse=True)[:MOST_FILES]
    for file in files:
        yield from _of_file(file)
    left = sum(1 for file in report.files if file_level(report, file)) - len(files)
    if len(report.files) > MOST_FILES and left > 0:
        yield [(f"and {counted(left, 'file')} more with findings", "faint")]
    yield _total(report)


def _badness(report: Report, file: FileReport) -> tuple[int, ...]:
    total = totals([file])
    level = file_level(report, file)
    return (level, total.failures, total.errors, total.warnings, total.notes)


def _of_file(file: FileReport) -> Iterator[Line]:
    head: Line = [(clean(file.file), "strong")]
    if file.failure:
        yield [*head, ("  not judged", "error")]
        return
    if file.size is not None:
        head.append((f"  {_size(file.size)} finished", ""))
    if file.job:
        head.append((f", job sheet {clean(file.job)}", "faint"))
    yield head
    wide = max((len(clean(sheet.label)) for sheet in file.sheets), default=0)
    for sheet in file.sheets:
        yield [(f"  {clean(sheet.label):{wide}}  ", ""), (", ".join(_sheet(sheet)), "")]
    total = totals([file])
    yield [("  ", ""), (total.words(), _style(total.standing, file))]
    if safe := safe_width(file):
        yield [(f"  {safe}", "")]
    for sheet in file.sheets:
        if sheet.passing_stocks and total.standing:
            names = ", ".join(map(clean, sheet.passing_stocks))
            yield [(f"  {clean(sheet.label)} passes at this size in {names}", "")]


def _style(standing: int, file: FileReport) -> str:
    return max(f.level for f in file.standing()).word if standing else "accepted"


def _sheet(sheet: SheetSummary) -> Iterator[str]:
    yield counted(sheet.parts, "part")
    if sheet.dropouts:
        yield counted(sheet.dropouts, "drop-out")
    for name, length in (("cut", sheet.cut), ("score", sheet.score), ("engrave", sheet.engrave)):
        if length:
            yield f"{name} {length:.0f} mm"
    if sheet.finished_web is not None:
        at = sheet.least_web_at
        where = f" at x {at[0]:.2f} y {at[1]:.2f}" if at else ""
        yield f"least web {sheet.finished_web:.2f} mm{where}"


def _size(size: tuple[float, float]) -> str:
    return f"{size[0]:.2f} × {size[1]:.2f} mm"


def _total(report: Report) -> Line:
    total = totals(report.files)
    level = max((file_level(report, file) for file in report.files), default=Level.OFF)
    return [(total.words(), level.word if level else "accepted"), (_among(report, total), "")]


def _among(report: Report, total: Totals) -> str:
    """How many files that is said of, and of how many."""
    all_of_them = len(report.files)
    touched = sum(1 for file in report.files if not file.failure and file_level(report, file))
    if 0 < touched < all_of_them:
        return f" in {touched} of {counted(all_of_them, 'file')}"
    if total.failures and not touched and not total.accepted:  # the words are of files already
        return f" of {all_of_them}" if total.failures < all_of_them else ""
    return f" in {counted(all_of_them, 'file')}"
