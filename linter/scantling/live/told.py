"""What an editor is told about findings, as types of the Language Server Protocol 3.17."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from lsprotocol import types as lsp

from scantling.judge.finding import Finding, Level
from scantling.live.edits import Edit
from scantling.live.positions import Positions
from scantling.plan.checked import Problem
from scantling.report.model import FileReport, RuleText
from scantling.report.plain import between, clean, counted, worst_first

NAME = "scantling"
MOST = 1_000
"""Findings that are listed; beyond them the worst, and the number of the rest."""
SEVERITY = {
    Level.ERROR: lsp.DiagnosticSeverity.Error,
    Level.WARNING: lsp.DiagnosticSeverity.Warning,
    Level.NOTE: lsp.DiagnosticSeverity.Information,
}


def diagnostics(report: FileReport, positions: Positions, uri: str) -> list[lsp.Diagnostic]:
    """The findings that stand, why the file could not be judged, and what was assumed."""
    found = list(report.standing())
    rest = len(found) - MOST
    if rest > 0:
        found = worst_first(found)[:MOST]
    told = [_diagnostic(finding, positions, uri) for finding in found]
    if report.failure:
        line = max(report.failure.line - 1, 0)
        column = max(report.failure.column - 1, 0)
        start = positions.of(positions.offset(line, 0) + column)
        told.append(_plain(start, SEVERITY[Level.ERROR], clean(report.failure.message)))
    if rest > 0:
        words = f"and {counted(rest, 'finding')} more"
        told.append(_plain((0, 0), SEVERITY[Level.NOTE], words))
    told += [_plain((0, 0), lsp.DiagnosticSeverity.Hint, clean(n)) for n in report.notices]
    return told


def problems(found: Iterable[Problem], positions: Positions) -> list[lsp.Diagnostic]:
    """What is wrong in a job sheet."""
    return [
        _plain(
            positions.of(positions.offset(max(p.line - 1, 0), 0) + max(p.column - 1, 0)),
            SEVERITY[Level.ERROR],
            clean(p.said),
        )
        for p in found
    ]


def hover(finding: Finding, rule: RuleText | None) -> str:
    """A finding in Markdown: what it is, the numbers, why it matters and what to do."""
    parts = [f"**{finding.level.word}** {clean(finding.message)} `[{finding.rule}]`"]
    facts = list(_facts(finding))
    if facts:
        parts.append("\n".join(f"- {fact}" for fact in facts))
    if rule is not None:
        parts += [f"**Why**\n\n{rule.why}", f"**What to do**\n\n{rule.remedy}"]
    return "\n\n".join(parts)


def range_of(start: int, end: int, positions: Positions) -> lsp.Range:
    """A range of offsets as the client counts."""
    return lsp.Range(lsp.Position(*positions.of(start)), lsp.Position(*positions.of(end)))


def changes(edits: Iterable[Edit], positions: Positions, uri: str) -> lsp.WorkspaceEdit:
    """Edits of one document."""
    return lsp.WorkspaceEdit(
        changes={
            uri: [lsp.TextEdit(range_of(e.start, e.end, positions), e.text) for e in edits],
        }
    )


def by_id(rules: Iterable[RuleText]) -> Mapping[str, RuleText]:
    return {rule.id: rule for rule in rules}


def _diagnostic(finding: Finding, positions: Positions, uri: str) -> lsp.Diagnostic:
    place = finding.place
    return lsp.Diagnostic(
        range=range_of(place.offset, place.end_offset, positions),
        message=clean(finding.message),
        severity=SEVERITY[finding.level],
        code=finding.rule,
        source=NAME,
        related_information=[
            lsp.DiagnosticRelatedInformation(
                lsp.Location(uri, range_of(other.place.offset, other.place.end_offset, positions)),
                clean(other.message),
            )
            for other in finding.related
        ]
        or None,
        data=finding.fingerprint,
    )


def _plain(start: tuple[int, int], level: lsp.DiagnosticSeverity, words: str) -> lsp.Diagnostic:
    at = lsp.Position(*start)
    return lsp.Diagnostic(range=lsp.Range(at, at), message=words, severity=level, source=NAME)


def _facts(finding: Finding) -> Iterable[str]:
    if finding.at is not None:
        yield f"at x {finding.at[0]:.2f}, y {finding.at[1]:.2f} mm on the page"
    if other := between(finding):
        yield other
    if finding.measured is not None and finding.required is not None:
        unit = clean(finding.unit)
        yield f"measured {finding.measured:.2f} {unit}, required {finding.required:.2f} {unit}"
    if finding.smallest_safe_width is not None:
        yield f"passes from a finished width of {finding.smallest_safe_width:.2f} mm"
    if finding.largest_safe_width is not None:
        yield f"passes up to a finished width of {finding.largest_safe_width:.2f} mm"
    if finding.passing_stocks:
        yield f"passes at this size in {clean(', '.join(finding.passing_stocks))}"
