"""Repairs beside the findings that they mend: for SARIF `fixes` and an editor's actions."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from scantling.judge.finding import Finding, Fix
from scantling.judge.places import place_of
from scantling.linter import TROUBLES, Linter
from scantling.mend.kinds import KINDS
from scantling.mend.mender import Mender
from scantling.mend.repair import Wish
from scantling.read import Source
from scantling.report.model import FileReport, Report

RULES: Collection[str] = frozenset(kind.rule for kind in KINDS if kind.safe)
"""The rules whose findings may come with a repair."""


def offered(report: Report, linter: Linter) -> Report:
    """A report with the repairs of each finding that has one; drawings are read again."""
    files = tuple(_offered(file, linter) for file in report.files)
    return replace(report, files=files)


def _offered(file: FileReport, linter: Linter) -> FileReport:
    if not may_be_mended(file):
        return file
    try:
        source = Source.open(file.file, linter.wanted.limits)
        return with_fixes(file, source, file.file, linter)
    except TROUBLES:
        return file


def may_be_mended(file: FileReport) -> bool:
    """Whether any of the findings is of a kind that has repairs."""
    return file.failure is None and any(f.rule in RULES for f in file.standing())


def with_fixes(file: FileReport, source: Source, path: str, linter: Linter) -> FileReport:
    """The report on a drawing with its repairs; each is tried, and can be applied without the
    others. Raises one of TROUBLES where it cannot be judged."""
    mender = Mender(linter, Wish())
    look = mender.look(source, path)
    fixes: dict[str, Fix] = {}
    for offer in mender.fixes(look, path):
        fix = Fix(
            message=offer.repair.message,
            replacements=tuple(
                (place_of(source, edit.start, edit.end), edit.text)
                for edit in sorted(offer.repair.edits)
            ),
        )
        fixes |= {finding.fingerprint: fix for finding in offer.findings}

    def mendable(finding: Finding) -> Finding:
        fix = fixes.get(finding.fingerprint) if finding.accepted is None else None
        return replace(finding, fixes=(fix,)) if fix else finding

    return replace(file, findings=tuple(map(mendable, file.findings)))
