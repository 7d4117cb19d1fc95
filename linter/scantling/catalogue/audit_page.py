"""The audit as a page: the table, to be sorted and sieved; a verdict opens to what was found."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from scantling.catalogue.audit import Audit, Outcome
from scantling.catalogue.audit_text import STYLE, change_words
from scantling.catalogue.pages import page
from scantling.catalogue.row import PASSES, VERDICTS
from scantling.catalogue.table import columns
from scantling.report.plain import clean, counted, worst_first

MOST_SAID = 8
"""Findings told of each design, the worst first."""


def render(audit: Audit, rows: Sequence[Outcome]) -> Iterator[bytes]:
    fail_at = audit.asked.fail_at
    verdicts = Counter(outcome.row.verdict(fail_at) for outcome in audit.outcomes)
    designs = len({outcome.row.file for outcome in audit.outcomes})
    return page(
        "audit.html",
        "audit.js",
        {
            "title": f"Audit of {counted(designs, 'design')}",
            "sums": [(v, _level(v), verdicts[v]) for v in VERDICTS if verdicts[v]],
            "changes": change_words(audit),
            "troubles": audit.troubles,
            "stocks": sorted({outcome.row.stock for outcome in rows}),
            "columns": columns(audit),
            "rows": (_row(audit, outcome) for outcome in rows),
            "version": audit.version,
        },
    )


def _level(verdict: str) -> str:
    return "passes" if verdict == PASSES else STYLE[verdict]


def _row(audit: Audit, outcome: Outcome) -> dict[str, Any]:
    verdict = outcome.row.verdict(audit.asked.fail_at)
    return {
        "verdict": verdict,
        "rank": VERDICTS.index(verdict),
        "level": _level(verdict),
        "stock": outcome.row.stock,
        "cells": [
            (column, column.value(audit, outcome), column.text(audit, outcome))
            for column in columns(audit)
        ],
        "said": list(_said(audit, outcome)),
    }


def _said(audit: Audit, outcome: Outcome) -> Iterator[str]:
    """Why it was not judged, and the worst findings, in words."""
    if outcome.row.failure:
        yield clean(outcome.row.failure)
    if not outcome.row.findings:
        return
    found = worst_first(audit.report(outcome).standing())
    for finding in found[:MOST_SAID]:
        new = "new: " if finding.baseline == "new" else ""
        at = f"; at x {finding.at[0]:.2f} y {finding.at[1]:.2f} mm" if finding.at else ""
        yield f"{new}{finding.level.word}: {clean(finding.message)}{at} [{finding.rule}]"
    if len(found) > MOST_SAID:
        yield f"and {len(found) - MOST_SAID} more"
