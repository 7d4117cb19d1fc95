"""One row a finding, for spreadsheets (RFC 4180: commas, CRLF). Failed files have a row too."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

from scantling.judge.finding import Finding
from scantling.report.model import Manner, Report
from scantling.report.plain import clean, counterpart, short

COLUMNS = (
    "file", "line", "column", "level", "rule", "message", "x_mm", "y_mm", "measured", "required",
    "unit", "extent_mm", "sheet", "part", "layer", "element", "smallest_safe_width_mm",
    "largest_safe_width_mm", "passing_stocks", "accepted", "baseline", "fingerprint", "other",
    "other_line", "other_column",
)  # fmt: skip

Cell = str | int | float | None


def render(report: Report, manner: Manner) -> str:
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    for row in _rows(report):
        writer.writerow([safe_cell(cell) if isinstance(cell, str) else cell for cell in row])
    return out.getvalue()


def _rows(report: Report) -> Iterator[list[Cell]]:
    for file in report.files:
        if file.failure:
            failed = file.failure
            row: list[Cell] = [
                failed.file, failed.line or None, failed.column or None, "error", None,
                failed.message,
            ]  # fmt: skip
            yield row + [None] * (len(COLUMNS) - len(row))
        for finding in file.findings:
            yield _row(finding)


def _row(finding: Finding) -> list[Cell]:
    x, y = finding.at or (None, None)
    other = counterpart(finding)
    return [
        finding.file,
        finding.place.line or None,
        finding.place.column or None,
        finding.level.word,
        finding.rule,
        finding.message,
        short(x),
        short(y),
        short(finding.measured),
        short(finding.required),
        finding.unit if finding.measured is not None else None,
        short(finding.extent),
        finding.stock,
        finding.part,
        finding.layer,
        finding.element,
        short(finding.smallest_safe_width),
        short(finding.largest_safe_width),
        " ".join(finding.passing_stocks),
        finding.accepted,
        finding.baseline,
        finding.fingerprint,
        other.message if other else None,
        (other and other.place.line) or None,
        (other and other.place.column) or None,
    ]


def safe_cell(text: str) -> str:
    """A cell that no spreadsheet takes for a formula: names come from the drawing."""
    text = clean(text)
    return f"'{text}" if text[:1] in {"=", "+", "-", "@"} else text
