"""The audit as a page: a picture of each design and the table, to be sorted and sieved; a verdict
opens to what was found."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from scantling.catalogue.against import NEW, WORSE
from scantling.catalogue.audit import Audit, Outcome
from scantling.catalogue.audit_text import STYLE, WORDS, assumed, change_words, most_rules
from scantling.catalogue.pages import page
from scantling.catalogue.row import PASSES, VERDICTS, Row, Thumb
from scantling.catalogue.table import Column, columns
from scantling.judge.finding import Finding
from scantling.records import dataclass
from scantling.report.figure import Layer, line_colour
from scantling.report.plain import clean, counted, worst_first

MOST_SAID = 8
"""Findings told of each design, the worst first."""
MOST_PINS = 24
"""Findings marked on the picture of each design, the worst first."""
MOST_PICTURES = 3_000
"""Rows with a picture, those with the worst verdicts: each takes about a kilobyte."""

_PATH = re.compile(r"[MlZ0-9 -]*")


@dataclass(frozen=True, slots=True)
class Picture:
    """A thumb, ready to be drawn: everything in its own grid units."""

    size: tuple[int, int]
    layers: tuple[Layer, ...]
    pins: tuple[tuple[str, tuple[float, float]], ...]
    """level and place"""


def render(audit: Audit, rows: Sequence[Outcome]) -> Iterator[bytes]:
    fail_at = audit.asked.fail_at
    verdicts = Counter(outcome.row.verdict(fail_at) for outcome in audit.outcomes)
    designs = len({outcome.row.file for outcome in audit.outcomes})
    ranked = sorted(range(len(rows)), key=lambda k: _rank(audit, rows[k].row))
    drawn = {k for k in ranked[:MOST_PICTURES] if rows[k].row.thumb is not None}
    return page(
        "audit.html",
        "audit.js",
        {
            "title": f"Audit of {counted(designs, 'design')}",
            "sums": [(v, _level(v), f"{verdicts[v]} {WORDS[v]}") for v in VERDICTS if verdicts[v]],
            "most": most_rules(audit),
            "changes": change_words(audit),
            "troubles": audit.troubles,
            "assumed": list(assumed(audit)),
            "closing": list(_closing(audit)),
            "stocks": sorted({outcome.row.stock for outcome in rows}),
            "columns": _columns(audit),
            "drawn": bool(drawn),
            "undrawn": max(len(rows) - MOST_PICTURES, 0),
            "rows": (_row(audit, outcome, k in drawn) for k, outcome in enumerate(rows)),
            "version": audit.version,
        },
    )


def _columns(audit: Audit) -> tuple[Column, ...]:
    """What tells most comes first, for screens that are too narrow for all of it."""
    first = ("design", "verdict")
    return tuple(sorted(columns(audit), key=lambda column: column.name not in first))


def _rank(audit: Audit, row: Row) -> int:
    return VERDICTS.index(row.verdict(audit.asked.fail_at))


def _level(verdict: str) -> str:
    return "passes" if verdict == PASSES else STYLE[verdict]


def _row(audit: Audit, outcome: Outcome, drawn: bool) -> dict[str, Any]:
    row = outcome.row
    verdict = row.verdict(audit.asked.fail_at)
    found = worst_first(audit.report(outcome).standing()) if row.findings else []
    return {
        "verdict": verdict,
        "rank": _rank(audit, row),
        "level": _level(verdict),
        "stock": row.stock,
        "picture": picture(row.thumb, found) if drawn and row.thumb else None,
        "cells": [
            (column, column.value(audit, outcome), column.text(audit, outcome))
            for column in _columns(audit)
        ],
        "said": list(_said(row, found)),
    }


def _closing(audit: Audit) -> Iterator[tuple[str, str]]:
    """What is found only when all are judged, idle acceptances for one: level and words."""
    for outcome in audit.closing:
        for finding in audit.report(outcome).standing():
            place = f"{clean(finding.file)}:{finding.place.line}:{finding.place.column}"
            yield finding.level.word, f"{place}: {clean(finding.message)} [{finding.rule}]"


def _said(row: Row, found: Sequence[Finding]) -> Iterator[str]:
    """Why it was not judged, and the worst findings, in words."""
    if row.failure:
        yield clean(row.failure)
    for finding in found[:MOST_SAID]:
        new = {NEW: "new: ", WORSE: "worse: "}.get(finding.baseline, "")
        at = f"; at x {finding.at[0]:.2f} y {finding.at[1]:.2f} mm" if finding.at else ""
        yield f"{new}{finding.level.word}: {clean(finding.message)}{at} [{finding.rule}]"
    if len(found) > MOST_SAID:
        yield f"and {len(found) - MOST_SAID} more"


def picture(thumb: Thumb, found: Sequence[Finding]) -> Picture:
    """A thumb with the worst findings marked, in the order given, the worst on top."""
    layers = tuple(
        Layer(d, -1, operation, line_colour(colour), "Z" in d)
        for operation, colour, d in thumb.layers
        if _PATH.fullmatch(d)  # nothing but path data is ever drawn
    )
    (left, top), unit = thumb.origin, thumb.unit
    pins = [
        (finding.level.word, ((finding.at[0] - left) / unit, (finding.at[1] - top) / unit))
        for finding in found[:MOST_PINS]
        if finding.at is not None
    ]
    return Picture(thumb.size, layers, tuple(reversed(pins)))
