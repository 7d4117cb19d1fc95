"""The audit as text: the table, then what has changed, then the sum of it all."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import IO

from scantling.catalogue.against import ABSENT, NEW, WORSE
from scantling.catalogue.audit import Audit, Outcome
from scantling.catalogue.row import FAILED, FAILS, PASSES, VERDICTS, WARNS
from scantling.catalogue.table import Column, columns
from scantling.judge.finding import Finding, Level
from scantling.report.model import FileReport
from scantling.report.plain import clean, counted, said_of
from scantling.report.text import STYLES, Line, finding_line, trouble_line

MOST_CHANGES = 200
"""Lines of new and of gone findings; the other forms have all of them."""
MOST_FAILURES = 12
"""Designs that are told one by one why they were not judged, where it is the same of all."""
MOST_ASSUMED = 6
"""Notices of how the designs were judged; each is told once, whatever many it is about."""
MOST_RULES = 6
"""Rules that the sum of it all names."""
LEAST = 12
"""Letters that a column of names keeps on a narrow terminal."""
GIVEN_UP = ("width_mm", "notes", "where", "cut_mm", "warnings", "parts")
"""Columns that a narrow terminal does without, the first first."""
GAP = "  "
STYLE = {FAILED: "error", FAILS: "error", WARNS: "warning", PASSES: "accepted"}


def render(audit: Audit, rows: Sequence[Outcome]) -> Iterator[bytes]:
    """Plain text, without colour and as wide as need be."""
    for line in lines(audit, rows, None):
        text = "".join(words for words, _ in line).rstrip() + "\n"
        yield text.encode("utf-8", "backslashreplace")


def show(audit: Audit, rows: Sequence[Outcome], stream: IO[str]) -> None:
    """On a terminal: coloured (unless NO_COLOR is set), names cut short to fit its width."""
    from rich.console import Console
    from rich.text import Text

    if hasattr(stream, "reconfigure"):
        stream.reconfigure(errors="backslashreplace")
    console = Console(file=stream, highlight=False, markup=False, emoji=False)
    for line in lines(audit, rows, console.width):
        text = Text.assemble(*((words, STYLES.get(style, "")) for words, style in line))
        console.print(text, soft_wrap=True)


def lines(audit: Audit, rows: Sequence[Outcome], width: int | None) -> Iterator[Line]:
    for trouble in audit.troubles:
        yield trouble_line(trouble)
    for notice in assumed(audit):
        said = f": {notice}"
        yield [("scantling: ", ""), (Level.NOTE.word, Level.NOTE.word), (said, "")]
    if rows:
        yield from _table(audit, rows, width)
        yield []
    yield from _failures(rows)
    for outcome in audit.closing:
        for finding in audit.report(outcome).standing():
            yield finding_line(finding, 1)
    if audit.against is not None:
        yield from _changes(audit)
    yield from _sum(audit)


def _failures(rows: Sequence[Outcome]) -> Iterator[Line]:
    """Why designs were not judged: of each, or once for many that share it."""
    failures = [(outcome.row.file, outcome.row.failure) for outcome in rows if outcome.row.failure]
    common = {
        failure: len(names)
        for failure, names in said_of(failures).items()
        if len(names) > MOST_FAILURES
    }
    for failure, number in common.items():
        yield _failure("scantling", f"of {number} designs: {clean(failure)}")
    for file, failure in dict.fromkeys(failures):
        if failure not in common:
            yield _failure(clean(file), clean(failure))


def _failure(of: str, said: str) -> Line:
    return [(f"{of}: ", ""), ("error", "error"), (f": {said}", "")]


def assumed(audit: Audit) -> Iterator[str]:
    """What was assumed of the designs, each once with how many that is said of, the most common
    first: where nothing is right it is often said here why."""
    rows = [outcome.row for outcome in audit.outcomes]
    common = list(said_of((row.file, notice) for row in rows for notice in row.notices).items())
    for notice, names in common[:MOST_ASSUMED]:
        of = f"of {len(names)} designs" if len(names) > 1 else clean(names[0])
        yield f"{of}: {clean(notice)}"
    if len(common) > MOST_ASSUMED:
        yield f"and {counted(len(common) - MOST_ASSUMED, 'note')} more; lint lists them all"


# The table


def _table(audit: Audit, rows: Sequence[Outcome], width: int | None) -> Iterator[Line]:
    shown = columns(audit)
    cells = [[column.text(audit, outcome) for column in shown] for outcome in rows]
    keep = [k for k, column in enumerate(shown) if k < 3 or any(row[k] for row in cells)]
    full = [max(len(c.heading), *(len(row[k]) for row in cells)) for k, c in enumerate(shown)]
    for name in GIVEN_UP:
        least = [min(full[k], LEAST) if k < 2 else full[k] for k in keep]
        if width is None or sum(least) + len(GAP) * (len(keep) - 1) <= width:
            break
        keep = [k for k in keep if shown[k].name != name]
    shown = tuple(shown[k] for k in keep)
    cells = [[row[k] for k in keep] for row in cells]
    wide = [full[k] for k in keep]
    if width is not None:
        _narrow(wide, width)
    yield [(_row([column.heading for column in shown], shown, wide), "faint")]
    for outcome, row in zip(rows, cells, strict=True):
        verdict = outcome.row.verdict(audit.asked.fail_at)
        text = _row(row, shown, wide)
        start = sum(wide[:2]) + 2 * len(GAP)
        end = start + wide[2]
        yield [(text[:start], ""), (text[start:end], STYLE[verdict]), (text[end:], "")]


def _narrow(wide: list[int], width: int) -> None:
    """Take from the two columns of names, the wider one first, what does not fit."""
    over = sum(wide) + len(GAP) * (len(wide) - 1) - width
    while over > 0:
        k = 0 if wide[0] >= wide[1] else 1
        if wide[k] <= LEAST:
            return
        wide[k] -= 1
        over -= 1


def _row(cells: Sequence[str], shown: Sequence[Column], wide: Sequence[int]) -> str:
    parts = []
    for k, (cell, column, room) in enumerate(zip(cells, shown, wide, strict=True)):
        if len(cell) > room:  # of a path the end tells most, of stocks the beginning
            cell = "…" + cell[1 - room :] if k == 0 else cell[: room - 1] + "…"
        parts.append(cell.rjust(room) if column.right else cell.ljust(room))
    return GAP.join(parts)


# What has changed


def _changes(audit: Audit) -> Iterator[Line]:
    assert audit.against is not None
    for state, title in ((NEW, "new"), (ABSENT, "gone")):
        told = 0
        for finding, trial in _changed(audit, state):
            told += 1
            if told == 1:
                yield [(f"{title} since {clean(audit.against.title)}", "strong")]
            if told <= MOST_CHANGES:
                line = finding_line(finding, 1)
                yield [("  ", ""), *line, (f" {clean(trial)}" if trial else "", "faint")]
        if told > MOST_CHANGES:
            yield [(f"  and {told - MOST_CHANGES} more", "faint")]
        if told:
            yield []


def _changed(audit: Audit, state: str) -> Iterator[tuple[Finding, str]]:
    """Standing findings that are new, worse ones among them, or gone, drawing by drawing."""

    def of(report: FileReport) -> Iterator[Finding]:
        states = (NEW, WORSE) if state == NEW else (state,)
        return (f for f in report.findings if f.baseline in states and f.accepted is None)

    for outcome in audit.told:
        change = outcome.change
        if change is not None and (change.new if state == NEW else change.gone):
            for finding in of(audit.report(outcome)):
                yield finding, outcome.row.trial
    if state == ABSENT:
        for report, trial in audit.gone_reports():
            for finding in of(report):
                yield finding, trial


def _sum(audit: Audit) -> Iterator[Line]:
    verdicts = Counter(o.row.verdict(audit.asked.fail_at) for o in audit.outcomes)
    designs = len({outcome.row.file for outcome in audit.outcomes})
    trials = [trial for trial in audit.asked.trials if trial]
    on = f" on {counted(len(trials), 'stock')}" if trials else ""
    line: Line = [(f"{counted(designs, 'design')}{on}: ", "")]
    for k, verdict in enumerate(v for v in reversed(VERDICTS) if verdicts[v]):
        line += [(", " if k else "", ""), (f"{verdicts[verdict]} {WORDS[verdict]}", STYLE[verdict])]
    if not audit.outcomes:
        line.append(("nothing to judge", ""))
    if most := most_rules(audit):
        yield [(most, "")]
    yield line
    if audit.against is not None:
        worst = max((o.change.worst for o in audit.told if o.change), default=Level.OFF)
        yield [(change_words(audit), worst.word if worst else "accepted")]


def most_rules(audit: Audit) -> str:
    """Which rules find errors or warnings in the most designs, in one line; '' where none does."""
    files: dict[str, set[str]] = {}
    for outcome in audit.outcomes:
        for rule in outcome.row.troubled:
            files.setdefault(rule, set()).add(outcome.row.file)
    common = sorted(files.items(), key=lambda item: (-len(item[1]), item[0]))
    told = ", ".join(f"{rule} in {len(names)}" for rule, names in common[:MOST_RULES])
    more = f" and {counted(len(common) - MOST_RULES, 'more rule')}" * (len(common) > MOST_RULES)
    return f"errors and warnings, by designs: {told}{more}" if told else ""


def change_words(audit: Audit) -> str:
    """What has changed, in one line; '' without a baseline."""
    if audit.against is None:
        return ""
    changes = [outcome.change for outcome in audit.told if outcome.change is not None]
    new, unchanged = sum(c.new for c in changes), sum(c.unchanged for c in changes)
    gone = sum(c.gone for c in changes) + sum(
        f.accepted is None for report, _ in audit.gone_reports() for f in report.findings
    )
    title = clean(audit.against.title)
    return f"against {title}: {new} new, {gone} gone, {unchanged} unchanged"


WORDS = {FAILED: "not judged", FAILS: "fail", WARNS: "with warnings", PASSES: "pass"}
