"""Workflow commands: lines on standard output that a code host's runner turns into marks on the
lines of a change (`::error file=…,line=…,col=…::message`). The worst first, because hosts show
only the first few."""

from __future__ import annotations

from collections.abc import Iterator

from scantling.judge.finding import Finding, Level, Place
from scantling.report.model import Manner, Report
from scantling.report.places import from_root
from scantling.report.plain import between, clean, folded, of_many, placed, severity, subject

WORDS = {Level.ERROR: "error", Level.WARNING: "warning", Level.NOTE: "notice"}


def render(report: Report, manner: Manner) -> str:
    return "".join(line + "\n" for line in _lines(report, manner))


def _lines(report: Report, manner: Manner) -> Iterator[str]:
    for trouble in report.troubles:
        file, line, column, said = placed(trouble)
        spot = Place(line, column, line, column + 1, 0, 0)
        where = _where(file, spot, "job sheet", manner) if file else {}
        yield _command(Level.ERROR, where, clean(said))
    for failed in report.failures:
        place = Place(failed.line, failed.column, failed.line, failed.column + 1, 0, 0)
        yield _command(
            Level.ERROR, _where(failed.file, place, "not judged", manner), clean(failed.message)
        )
    found = [pair for file in report.files for pair in folded(list(file.standing()), manner.fold)]
    for finding, number in sorted(found, key=lambda pair: severity(pair[0]), reverse=True):
        where = _where(finding.file, finding.place, finding.rule, manner)
        yield _command(finding.level, where, _message(finding, number))


def _where(file: str, place: Place, title: str, manner: Manner) -> dict[str, str]:
    values = {"file": from_root(file, manner.root)}
    if place.line:
        values |= {"line": str(place.line), "endLine": str(place.end_line)}
        if place.column and place.line == place.end_line:
            # Columns are understood only within one line; the end is inclusive here.
            last = max(place.column, place.end_column - 1)
            values |= {"col": str(place.column), "endColumn": str(last)}
    return values | {"title": title}


def _message(finding: Finding, number: int) -> str:
    at = f"x {finding.at[0]:.2f} y {finding.at[1]:.2f} mm" if finding.at else ""
    rest = ", ".join(filter(None, (of_many(number), at, subject(finding), between(finding))))
    return clean(finding.message) + (f" ({rest})" if rest else "")


def _command(level: Level, values: dict[str, str], message: str) -> str:
    given = ",".join(f"{name}={_escaped(clean(text))}" for name, text in values.items())
    return f"::{WORDS[level]}{' ' if given else ''}{given}::{message.replace('%', '%25')}"


def _escaped(text: str) -> str:
    return text.replace("%", "%25").replace(":", "%3A").replace(",", "%2C")
