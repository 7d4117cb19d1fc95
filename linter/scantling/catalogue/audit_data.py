"""The audit for machines: CSV, JSON and SARIF. Reports are read one at a time."""

from __future__ import annotations

import csv
import io
import json
import tempfile
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

from scantling.catalogue.against import run_id
from scantling.catalogue.audit import Audit, Outcome
from scantling.catalogue.row import VERDICTS
from scantling.catalogue.table import all_columns
from scantling.report import sarif
from scantling.report.as_csv import safe_cell
from scantling.report.as_json import as_data
from scantling.report.model import FileReport, Manner

FORM = 1
"""Counts up when a name of the JSON form is taken away or changes its meaning."""


def as_csv(audit: Audit, rows: Sequence[Outcome]) -> Iterator[bytes]:
    """One row a design and stock (RFC 4180)."""
    shown = all_columns(audit)
    yield _csv([column.name for column in shown])
    for outcome in rows:
        yield _csv([column.value(audit, outcome) for column in shown])


def _csv(cells: Iterable[Any]) -> bytes:
    out = io.StringIO()
    csv.writer(out).writerow([safe_cell(c) if isinstance(c, str) else c for c in cells])
    return out.getvalue().encode("utf-8", "backslashreplace")


def as_json(audit: Audit, rows: Sequence[Outcome]) -> Iterator[bytes]:
    """Every design and stock with its figures and its whole report."""
    verdicts = Counter(o.row.verdict(audit.asked.fail_at) for o in audit.outcomes)
    head = {
        "form": FORM,
        "scantling": audit.version,
        "exit_code": audit.exit_code,
        "fail_at": audit.asked.fail_at.word,
        "stocks": [trial for trial in audit.asked.trials if trial],
        "part": list(audit.asked.part) if audit.asked.part else None,
        "against": audit.against.title if audit.against else None,
        "totals": {verdict: verdicts[verdict] for verdict in VERDICTS},
        "troubles": list(map(str, audit.troubles)),
    }
    known = {name: value for name, value in head.items() if value is not None}
    text = _text(known)
    yield (text[:-1] + ', "designs": [\n').encode("utf-8", "backslashreplace")
    yield from _joined(_text(_design(audit, outcome)) for outcome in rows)
    if audit.closing:
        yield b'\n], "closing": [\n'
        yield from _joined(_text(_file(audit, audit.report(o))) for o in audit.closing)
    if audit.against is not None:
        yield b'\n], "gone": [\n'
        yield from _joined(
            _text({"stock": trial, "report": _file(audit, report)})
            for report, trial in audit.gone_reports()
        )
    yield b"\n]}\n"


def _design(audit: Audit, outcome: Outcome) -> dict[str, Any]:
    cells = {column.name: column.value(audit, outcome) for column in all_columns(audit)}
    cells["rules"] = dict(outcome.row.rules)  # type: ignore[assignment]
    data: dict[str, Any] = {name: value for name, value in cells.items() if value is not None}
    data["trial"] = outcome.row.trial
    data["report"] = _file(audit, audit.report(outcome))
    return data


def _file(audit: Audit, report: FileReport) -> Any:
    return as_data(audit.shell([report]))["files"][0]


def as_sarif(audit: Audit, rows: Sequence[Outcome]) -> Iterator[bytes]:
    """One run a stock. The runs of the parts of an audit have ids of one kind, so that they can
    be put together (3.17.3). A SARIF file is whole: `rows` says nothing of what is in it."""
    log = sarif.log(audit.shell(), Manner())
    shell = log.pop("runs")[0]
    yield (_text(log)[:-1] + ', "runs": [\n').encode()
    for k, trial in enumerate(audit.asked.trials):
        yield b",\n" if k else b""
        yield from _run(audit, trial, shell)
    yield b"\n]}\n"


def _run(audit: Audit, trial: str, shell: dict[str, Any]) -> Iterator[bytes]:
    """One run: results go through a file, so that no more than one report is in memory."""
    artifacts, notifications = [], list(shell["invocations"][0]["toolExecutionNotifications"])
    numbers = {rule.id: number for number, rule in enumerate(audit.rules)}
    plain = replace(audit.shell(), rules=(), troubles=())
    with tempfile.TemporaryFile() as results:
        for index, report in enumerate(audit.reports(trial)):
            one = sarif.log(replace(plain, files=(report,)), Manner())["runs"][0]
            artifacts.append(_text(one["artifacts"][0]))
            notifications += [
                _at(note, index) for note in one["invocations"][0]["toolExecutionNotifications"]
            ]
            for result in one["results"]:
                comma = b",\n" if results.tell() else b""
                results.write(comma + _text(_numbered(_at(result, index), numbers)).encode())
        invocation = shell["invocations"][0] | {
            "executionSuccessful": audit.exit_code < 2,
            "exitCode": audit.exit_code,
            "toolExecutionNotifications": notifications,
        }
        run = shell | {
            "automationDetails": {"id": run_id(trial, audit.asked.part)},
            "invocations": [invocation],
        }
        del run["artifacts"], run["results"]
        yield (_text(run)[:-1] + ',\n"artifacts": [\n').encode()
        yield from _joined(artifacts)
        yield b'\n],\n"results": [\n'
        results.seek(0)
        while piece := results.read(1 << 20):
            yield piece
        yield b"\n]}"


def _at(value: Any, index: int) -> Any:
    """With every reference to the one artifact of a report made one to that of its place."""
    if isinstance(value, dict):
        moved = {name: _at(part, index) for name, part in value.items()}
        if "uri" in moved and "index" in moved:
            moved["index"] = index
        return moved
    return [_at(part, index) for part in value] if isinstance(value, list) else value


def _numbered(result: dict[str, Any], numbers: dict[str, int]) -> dict[str, Any]:
    rule = result.pop("ruleId")
    number = {"ruleIndex": numbers[rule]} if rule in numbers else {}
    return {"ruleId": rule, **number, **result}


def _joined(pieces: Iterable[str]) -> Iterator[bytes]:
    for k, piece in enumerate(pieces):
        yield ((",\n" if k else "") + piece).encode("utf-8", "backslashreplace")


def _text(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)
