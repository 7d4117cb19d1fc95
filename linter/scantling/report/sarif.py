"""SARIF 2.1.0 (OASIS standard, with errata 01). Section numbers below are the standard's.

File names are relative to the folder the run started in, which has a name here (`ROOT`) and no
path: the same findings are the same bytes on every machine (3.14.14 leaves the path to the
reader). Only files outside that folder are absolute.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from typing import Any

from scantling.judge.finding import Finding, Fix, Level, Place
from scantling.records import dataclass
from scantling.report.model import Failure, FileReport, Manner, Report, RuleText
from scantling.report.places import uri
from scantling.report.plain import clean, numbers, pair, placed, sheet_numbers, short, subject

SCHEMA = (
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
)
ROOT = "ROOT"
FINGERPRINT = "scantlingFinding/v1"
"""Counts up when the way of reckoning changes (3.27.17)."""

OTHERS = {"toml": "application/toml", "json": "application/json"}
"""Media types of files that are not drawings: job sheets, lists of known findings."""

Json = dict[str, Any]

NOTIFICATIONS = {
    "unreadable": "A drawing or its job sheet could not be read; it was not judged.",
    "assumption": "Something that the job did not say was assumed.",
    "trouble": "Something of the run itself went wrong.",
}


def render(report: Report, manner: Manner) -> str:
    return json.dumps(log(report, manner), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def log(report: Report, manner: Manner) -> Json:
    """The whole log as plain lists and dicts."""
    return {"$schema": SCHEMA, "version": "2.1.0", "runs": [_Run(report, manner).whole()]}


@dataclass(frozen=True, slots=True)
class _Run:
    report: Report
    manner: Manner

    def whole(self) -> Json:
        rules = {rule.id: number for number, rule in enumerate(self.report.rules)}
        compared = any(finding.baseline for finding in self.report.findings)
        return {
            "tool": {"driver": self._driver()},
            "automationDetails": {"id": "scantling/"},
            "invocations": [self._invocation()],
            "originalUriBaseIds": {
                ROOT: {"description": {"text": "The folder that the run started in."}}
            },
            "artifacts": [self._artifact(file) for file in self.report.files],
            "columnKind": "unicodeCodePoints",
            "defaultEncoding": "utf-8",
            "language": "en",
            "results": [
                self._result(finding, index, rules, compared)
                for index, file in enumerate(self.report.files)
                for finding in file.findings
            ],
        }

    def _driver(self) -> Json:
        return {
            "name": "scantling",
            "version": self.report.version,
            "semanticVersion": self.report.version,
            "shortDescription": {
                "text": "Design-rule checker for vector artwork that is cut from sheet goods."
            },
            "rules": [_rule(rule) for rule in self.report.rules],
            "notifications": [
                {
                    "id": name,
                    "shortDescription": {"text": text},
                    "fullDescription": {"text": text},
                    "help": {"text": text},
                }
                for name, text in NOTIFICATIONS.items()
            ],
        }

    def _invocation(self) -> Json:
        """3.20. `exitCode` is the command's; a run that could not do all of its work was not
        successful."""
        told = [
            self._notification("assumption", Level.NOTE, notice, index)
            for index, file in enumerate(self.report.files)
            for notice in file.notices
        ]
        told += [
            self._notification("unreadable", Level.ERROR, file.failure.message, index, file.failure)
            for index, file in enumerate(self.report.files)
            if file.failure
        ]
        told += [self._trouble(*placed(trouble)) for trouble in self.report.troubles]
        return {
            "executionSuccessful": self.report.exit_code < 2,
            "exitCode": self.report.exit_code,
            "toolExecutionNotifications": told,
        }

    def _notification(
        self,
        kind: str,
        level: Level,
        text: str,
        index: int | None = None,
        failure: Failure | None = None,
    ) -> Json:
        note: Json = {
            "descriptor": {"id": kind, "index": list(NOTIFICATIONS).index(kind)},
            "level": level.word,
            "message": {"text": _sentence(text)},
        }
        if index is not None:
            at = (failure.line, failure.column) if failure else (0, 0)
            note["locations"] = [_spot(self._location(index), *at)]
        return note

    def _trouble(self, file: str, line: int, column: int, said: str) -> Json:
        """What is wrong with the run itself, at its place in a job sheet if it has one."""
        text = f"job sheet: {said}" if file else said
        note = self._notification("trouble", Level.ERROR, text)
        if file:
            note["locations"] = [_spot(self._location(None, file), line, column)]
        return note

    def _location(self, index: int | None, file: str = "") -> Json:
        name, relative = uri(
            file if index is None else self.report.files[index].file, self.manner.root
        )
        location: Json = {"uri": name}
        if relative:
            location["uriBaseId"] = ROOT
        if index is not None:
            location["index"] = index
        return location

    def _artifact(self, file: FileReport) -> Json:
        figures: Json = {
            "size_mm": pair(file.size),
            "mm_per_px": short(file.scale, 9) or None,
            "smallest_safe_width_mm": short(file.smallest_safe_width),
            "safe_width_is_bound": file.safe_bound or None,
            "job_sheet": file.job,
            "sheets": [sheet_numbers(sheet) for sheet in file.sheets] or None,
        }
        artifact: Json = {
            "location": self._location(None, file.file),
            "roles": ["analysisTarget"],
            "mimeType": OTHERS.get(file.file.rpartition(".")[2], "image/svg+xml"),
        }
        if not file.failure:  # what could not be read has no known encoding
            artifact["encoding"] = charset(file.encoding)
        known = {name: value for name, value in figures.items() if value is not None}
        return artifact | ({"properties": known} if known else {})

    def _result(self, finding: Finding, index: int, rules: dict[str, int], compared: bool) -> Json:
        result: Json = {"ruleId": finding.rule}
        if finding.rule in rules:
            result["ruleIndex"] = rules[finding.rule]
        result |= {
            "level": finding.level.word,
            "message": {"text": _message(finding)},
            "locations": [
                {
                    "physicalLocation": self._place(index, finding.place, finding.snippet),
                    **_named(finding),
                }
            ],
        }
        if finding.related:
            result["relatedLocations"] = [
                {
                    "id": number,
                    "message": {"text": _sentence(other.message)},
                    "physicalLocation": self._place(index, other.place),
                    **({"properties": {"at_mm": pair(other.at)}} if other.at else {}),
                }
                for number, other in enumerate(finding.related, 1)
            ]
        if finding.fingerprint:
            result["partialFingerprints"] = {FINGERPRINT: finding.fingerprint}
        if finding.count > 1:
            result["occurrenceCount"] = finding.count
        # On every result or on none (3.27.23, 3.27.24): an empty list says "not suppressed".
        result["suppressions"] = _suppressions(finding)
        if compared:
            result["baselineState"] = finding.baseline or "new"
        if finding.fixes:
            result["fixes"] = [self._fix(index, fix) for fix in finding.fixes]
        properties = numbers(finding) | {
            name: value
            for name in ("stock", "part", "layer", "element", "scope")
            if (value := getattr(finding, name))
        }
        return result | ({"properties": properties} if properties else {})

    def _place(self, index: int, place: Place, snippet: str = "") -> Json:
        return {
            "artifactLocation": self._location(index),
            "region": _region(place, snippet),
        }

    def _fix(self, index: int, fix: Fix) -> Json:
        return {
            "description": {"text": _sentence(fix.message)},
            "artifactChanges": [
                {
                    "artifactLocation": self._location(index),
                    "replacements": [
                        {"deletedRegion": _region(place), "insertedContent": {"text": text}}
                        for place, text in fix.replacements
                    ],
                }
            ],
        }


def charset(codec: str) -> str:
    """Python's name of a codec as a name of the IANA character set registry (3.24.9), by the
    registry's ways of writing them; names that follow none of these are the same in both."""
    for pattern, name in _CHARSETS:
        if re.fullmatch(pattern, codec):
            return re.sub(pattern, name, codec).upper()
    return codec


_CHARSETS = (
    (r"(utf-(?:16|32))-([bl]e)", r"\1\2"),
    (r"iso8859-(\d+)", r"iso-8859-\1"),
    (r"cp(874|125\d)", r"windows-\1"),
    (r"ascii", r"us-ascii"),
)


def _region(place: Place, snippet: str = "") -> Json:
    """3.30. What concerns the whole file points at its first line, for readers that must show
    every result at a line."""
    if not place.line:
        return {"startLine": 1}
    region: Json = {
        "startLine": place.line,
        "startColumn": place.column,
        "endLine": place.end_line,
        "endColumn": place.end_column,
        "charOffset": place.offset,
        "charLength": place.end_offset - place.offset,
    }
    if snippet:
        region["snippet"] = {"text": snippet}
    return region


def _named(finding: Finding) -> Json:
    """3.28.4: the things a person knows the place by."""
    names: Sequence[tuple[str, str]] = (
        ("layer", finding.layer),
        ("part", finding.part),
        ("element", finding.element),
    )
    found = [
        {"name": name, "fullyQualifiedName": f"{kind}:{name}", "kind": kind}
        for kind, name in names
        if name
    ]
    return {"logicalLocations": found} if found else {}


def _suppressions(finding: Finding) -> list[Json]:
    """3.35."""
    if finding.accepted is None:
        return []
    entry = {"kind": finding.accepted_in or "external", "status": "accepted"}
    return [entry | ({"justification": finding.accepted} if finding.accepted else {})]


def _message(finding: Finding) -> str:
    return _sentence("; ".join((finding.message, *_where(finding))))


def _where(finding: Finding) -> Iterator[str]:
    at = f"at x {finding.at[0]:.2f} y {finding.at[1]:.2f} mm" if finding.at else ""
    both = ", ".join(filter(None, (at, subject(finding))))
    if both:
        yield both


def _spot(artifact: Json, line: int, column: int) -> Json:
    """A location (3.28) in a file; line and column count from 1, 0: not known."""
    spot: Json = {"artifactLocation": artifact}
    if line:
        spot["region"] = {"startLine": line} | ({"startColumn": column} if column else {})
    return {"physicalLocation": spot}


def _sentence(text: str) -> str:
    """A clause as a sentence: readers show messages one under the other."""
    text = clean(text.strip())
    if not text:
        return ""
    return text[0].upper() + text[1:] + ("" if text[-1] in ".!?" else ".")


def _rule(rule: RuleText) -> Json:
    """3.49."""
    parts = (
        ("Why", rule.why),
        ("What to do", rule.remedy),
        ("Where the requirement comes from", _sentence(rule.source)),
    )
    on = rule.level is not Level.OFF
    properties: Json = {"tags": [rule.family], "source": rule.source}
    if rule.parameters:
        properties["parameters"] = dict(rule.parameters)
    return {
        "id": rule.id,
        # 3.49.7: a name must differ from the id, which a single word does not
        **({"name": _pascal(rule.id)} if "-" in rule.id else {}),
        "shortDescription": {"text": _sentence(rule.title)},
        "fullDescription": {"text": " ".join(rule.why.split()) or _sentence(rule.title)},
        "help": {
            "text": "\n\n".join(f"{head}: {' '.join(text.split())}" for head, text in parts),
            "markdown": "\n\n".join(f"**{head}**\n\n{text}" for head, text in parts) + "\n",
        },
        "defaultConfiguration": {"enabled": on, "level": rule.level.word if on else "warning"},
        "properties": properties,
    }


def _pascal(id: str) -> str:
    return "".join(word.capitalize() for word in id.split("-"))
