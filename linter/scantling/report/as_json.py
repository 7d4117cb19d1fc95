"""The whole report as JSON: every file, sheet and finding, accepted ones among them.

`form` counts up when a name is taken away or changes its meaning; names may be added.
"""

from __future__ import annotations

import json
from typing import Any

from scantling.judge.finding import Finding, Place
from scantling.report.model import Failure, FileReport, Manner, Report
from scantling.report.plain import LEVELS, numbers, pair, sheet_numbers, short, totals

FORM = 1


def render(report: Report, manner: Manner) -> str:
    return json.dumps(as_data(report), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def as_data(report: Report) -> dict[str, Any]:
    """The report as plain lists and dicts. Lengths in mm, places from the page's top left."""
    total = totals(report.files)
    return {
        "form": FORM,
        "scantling": report.version,
        "exit_code": report.exit_code,
        "fail_at": report.fail_at.word,
        "totals": {
            **{level.word: total.of(level) for level in LEVELS},
            "accepted": total.accepted,
            "files": len(report.files),
            "failed_files": total.failures,
        },
        "troubles": list(map(str, report.troubles)),
        "files": [_file(file) for file in report.files],
    }


def _file(file: FileReport) -> dict[str, Any]:
    data: dict[str, Any] = {"file": file.file, "encoding": file.encoding}
    if file.failure:
        data["failure"] = _failure(file.failure)
    data |= {
        "job_sheet": file.job,
        "size_mm": pair(file.size),
        "mm_per_px": short(file.scale, 9) or None,
        "smallest_safe_width_mm": short(file.smallest_safe_width),
        "safe_width_is_bound": file.safe_bound,
        "notices": list(file.notices),
        "sheets": [sheet_numbers(sheet) for sheet in file.sheets],
        "findings": [finding_data(finding) for finding in file.findings],
    }
    return data


def _failure(failure: Failure) -> dict[str, Any]:
    return {"message": failure.message, "line": failure.line, "column": failure.column}


def finding_data(finding: Finding) -> dict[str, Any]:
    """One finding. What is not known is left out."""
    words = {
        name: getattr(finding, name)
        for name in ("stock", "part", "layer", "element", "scope", "fingerprint", "baseline")
    }
    data: dict[str, Any] = {
        "rule": finding.rule,
        "level": finding.level.word,
        "message": finding.message,
        "place": _place(finding.place),
        **{name: value for name, value in words.items() if value},
        **numbers(finding),
    }
    if finding.count > 1:
        data["count"] = finding.count
    if finding.related:
        data["related"] = [
            {"message": other.message, "place": _place(other.place), "at_mm": pair(other.at)}
            for other in finding.related
        ]
    if finding.mark:
        data["mark_mm"] = [[pair(point) for point in line] for line in finding.mark]
    if finding.accepted is not None:
        data["accepted"] = {"reason": finding.accepted, "in": finding.accepted_in}
    return data


def _place(place: Place) -> dict[str, int] | None:
    return place._asdict() if place.line else None
