"""What an audit is compared with: an earlier one from the store, or a SARIF file.

Findings are the same when their fingerprints are: those stay when other things in the drawing
move. A finding that was accepted then and stands now is new, and so is one that has become worse
(`judge.known.is_worse`), which says what it was.
"""

from __future__ import annotations

import datetime
import json
import os
from collections.abc import Callable, Container, Iterator, Mapping, Sequence
from dataclasses import field, replace
from typing import Any, Protocol
from urllib.parse import quote, unquote

from scantling.catalogue.codec import Malformed, load_file
from scantling.catalogue.store import Past, Store
from scantling.judge.finding import Finding, Level, Place
from scantling.judge.known import is_worse
from scantling.records import NamedTuple, dataclass
from scantling.report.model import FileReport
from scantling.report.places import uri
from scantling.report.sarif import FINGERPRINT

LAST = "LAST"
NEW, WORSE, UNCHANGED, ABSENT = "new", "updated", "unchanged", "absent"
MOST_BYTES = 1 << 30


class NoBaseline(ValueError):
    """What is named to be compared with cannot be used; one clause."""


class Mark(NamedTuple):
    """A finding of the baseline, as far as comparing needs it."""

    fingerprint: str
    stands: bool
    whole: Callable[[], Finding]


class Baseline(Protocol):
    """Findings of an earlier time, by drawing and trial."""

    title: str

    def same(self, file: str, trial: str, digest: bytes) -> bool:
        """Whether the drawing had this very report then."""

    def marks(self, file: str, trial: str) -> Sequence[Mark] | None:
        """What was found then; None: the drawing was not judged then."""

    def gone(
        self, seen: Container[tuple[str, str]], trials: Sequence[str]
    ) -> Iterator[tuple[str, str]]:
        """Drawings and trials that were judged then and are not there any more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """How a drawing's standing findings have changed, and the level of the worst new one; what has
    become worse is among the new ones."""

    new: int = 0
    gone: int = 0
    unchanged: int = 0
    worst: Level = Level.OFF


def compared(report: FileReport, marks: Sequence[Mark] | None) -> tuple[FileReport, Change]:
    """A report with the state of each finding, those that are gone among them. A drawing that
    could not be judged says nothing about what is gone."""
    before = {mark.fingerprint: mark for mark in marks or ()}
    findings: list[Finding] = []
    new = unchanged = gone = 0
    worst = Level.OFF
    for finding in report.findings:
        mark = before.pop(finding.fingerprint, None)
        old = mark is not None and (mark.stands or finding.accepted is not None)
        if mark is not None and old and finding.accepted is None:
            finding = _than(finding, mark.whole())
        else:
            finding = replace(finding, baseline=UNCHANGED if old else NEW)
        findings.append(finding)
        old = old and finding.baseline != WORSE
        if finding.accepted is None:
            unchanged += old
            new += not old
            worst = worst if old else max(worst, finding.level)
    if report.failure is None:
        for mark in before.values():
            findings.append(replace(mark.whole(), file=report.file, baseline=ABSENT))
            gone += mark.stands
    change = Change(new=new, gone=gone, unchanged=unchanged, worst=worst)
    return replace(report, findings=tuple(findings)), change


def _than(finding: Finding, before: Finding) -> Finding:
    """A finding that is still there, with what it was where it has become worse."""
    if before.measured is None or not is_worse(finding, before.measured, before.unit):
        return replace(finding, baseline=UNCHANGED)
    if finding.baseline == WORSE:  # than a list of known findings has it, and so it says
        return finding
    was = f"was {before.measured:.2f} {before.unit}"
    return replace(finding, baseline=WORSE, message=f"{finding.message}; {was}")


def baseline(wanted: str, store: Store, scope: str) -> Baseline | None:
    """What `wanted` names: LAST, a date (or date and time), or a SARIF file. None: the store has
    no audit of this scope from then. Raises NoBaseline."""
    if wanted.upper() == LAST and not os.path.exists(wanted):
        past = store.last(scope)
    elif (before := _end_of(wanted)) is not None:
        past = store.last(scope, before)
    else:
        return FromSarif.read(wanted)
    return None if past is None else FromStore(store, past)


def _end_of(text: str) -> float | None:
    """The moment that ends a day, or a time of day; None where the text is neither. Without a
    time zone, that of this machine."""
    try:
        day = datetime.date.fromisoformat(text)
    except ValueError:
        pass
    else:
        moment = datetime.datetime.combine(day + datetime.timedelta(days=1), datetime.time())
        return moment.timestamp()
    try:
        return datetime.datetime.fromisoformat(text).timestamp()
    except (ValueError, OverflowError, OSError):
        return None


class FromStore:
    """An audit of the store."""

    def __init__(self, store: Store, past: Past) -> None:
        began = datetime.datetime.fromtimestamp(past.began)
        self.title = f"the audit of {began:%Y-%m-%d %H:%M}"
        self.store = store
        self.entries = store.entries(past.id)

    def same(self, file: str, trial: str, digest: bytes) -> bool:
        return self.entries.get((file, trial)) == digest

    def marks(self, file: str, trial: str) -> list[Mark] | None:
        digest = self.entries.get((file, trial))
        body = self.store.body(digest) if digest else None
        if body is None:
            return None
        try:
            report = load_file(body)
        except Malformed:
            return None
        if report.failure is not None:
            return None
        return [
            Mark(finding.fingerprint, finding.accepted is None, lambda finding=finding: finding)  # type: ignore[misc]
            for finding in report.findings
        ]

    def gone(
        self, seen: Container[tuple[str, str]], trials: Sequence[str]
    ) -> Iterator[tuple[str, str]]:
        return (entry for entry in self.entries if entry not in seen)


@dataclass(slots=True)
class FromSarif:
    """The findings of a SARIF file that this program wrote. A run whose id names a stock is
    compared with that stock alone, any other with every one."""

    title: str
    found: dict[tuple[str | None, str], list[Mark]] = field(default_factory=dict)
    """by trial (None: any) and URI"""

    @classmethod
    def read(cls, path: str) -> FromSarif:
        """Raises NoBaseline."""
        try:
            if os.path.getsize(path) > MOST_BYTES:
                raise NoBaseline(f"{path} is too large to compare with")
            with open(path, encoding="utf-8-sig") as file:
                log = json.load(file)
        except OSError as error:
            hint = ""
            if not os.path.splitext(path)[1]:
                hint = f"; {LAST}, a date and a SARIF file can be compared with"
            raise NoBaseline(f"{path} cannot be read: {error.strerror or error}{hint}") from None
        except (ValueError, RecursionError) as error:
            raise NoBaseline(f"{path} is not a SARIF file: {error}") from None
        made = cls(os.path.basename(path))
        try:
            for run in log["runs"]:
                made._take(run)
        except (KeyError, TypeError, AttributeError, ValueError, IndexError) as error:
            raise NoBaseline(
                f"{path} is not a SARIF file of this program: {type(error).__name__}: {error}"
            ) from None
        return made

    def _take(self, run: Mapping[str, Any]) -> None:
        trial = trial_of(str(run.get("automationDetails", {}).get("id", "")))
        for artifact in run.get("artifacts", ()):
            self.found.setdefault((trial, artifact["location"]["uri"]), [])
        for result in run.get("results", ()):
            print_ = result.get("partialFingerprints", {}).get(FINGERPRINT)
            if print_ is None or result.get("baselineState") == ABSENT:
                continue
            where = result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
            stands = not result.get("suppressions")
            self.found.setdefault((trial, where), []).append(
                Mark(str(print_), stands, lambda result=result: _finding(result))  # type: ignore[misc]
            )

    def same(self, file: str, trial: str, digest: bytes) -> bool:
        return False

    def marks(self, file: str, trial: str) -> list[Mark] | None:
        where = uri(file, os.curdir)[0]
        exact = self.found.get((trial, where))
        return exact if exact is not None else self.found.get((None, where))

    def gone(
        self, seen: Container[tuple[str, str]], trials: Sequence[str]
    ) -> Iterator[tuple[str, str]]:
        """A file that is there but was not asked for is not gone."""
        for trial, where in self.found:
            file = unquote(where)
            entry = (file, trials[0] if trial is None else trial)
            if entry[1] in trials and entry not in seen and not os.path.exists(file):
                yield entry


def _finding(result: Mapping[str, Any]) -> Finding:
    """A finding of before, as far as a SARIF result tells of it."""
    physical = result["locations"][0]["physicalLocation"]
    region = physical.get("region", {})
    line = int(region.get("startLine", 0))
    column = int(region.get("startColumn", 0))
    offset = int(region.get("charOffset", 0))
    properties = result.get("properties", {})
    at = properties.get("at_mm")
    measured = properties.get("measured_mm", properties.get("measured"))
    return Finding(
        rule=str(result["ruleId"]),
        level=Level[str(result.get("level", "warning")).upper()],
        message=str(result["message"]["text"]).rstrip("."),
        file="",
        place=Place(
            line,
            column,
            int(region.get("endLine", line)),
            int(region.get("endColumn", column)),
            offset,
            offset + int(region.get("charLength", 0)),
        ),
        at=(float(at[0]), float(at[1])) if isinstance(at, list) and len(at) == 2 else None,
        measured=None if measured is None else float(measured),
        unit=str(properties.get("unit", "mm")),
        accepted="" if result.get("suppressions") else None,
        fingerprint=str(result["partialFingerprints"][FINGERPRINT]),
        stock=str(properties.get("stock", "")),
        part=str(properties.get("part", "")),
        layer=str(properties.get("layer", "")),
        element=str(properties.get("element", "")),
    )


RUN = "scantling/audit"
BY_JOB = "job sheet"
"""In place of a stock; no quoted name has a space in it."""


def run_id(trial: str, part: tuple[int, int] | None) -> str:
    """The id of an audit's run (3.17.3): its last step tells runs of one kind apart, all before
    names the kind, so that the parts of one audit are runs of one kind. Stocks are quoted."""
    kind = f"{RUN}/{quote(trial, safe='') if trial else BY_JOB}"
    return f"{kind}/{f'part {part[0]} of {part[1]}' if part else ''}"


def trial_of(run: str) -> str | None:
    """The trial that a run's id names; None: it names none."""
    if not run.startswith(f"{RUN}/"):
        return None
    word = run[len(RUN) + 1 :].split("/")[0]
    return "" if word == BY_JOB else unquote(word)
