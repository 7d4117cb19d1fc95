"""JUnit XML, as build servers read it: one suite a drawing, one case a rule. There is no official
schema; the shape is the common one (testsuites, testsuite, testcase, failure, error, skipped)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from scantling.judge.finding import Finding
from scantling.report.model import FileReport, Manner, Report
from scantling.report.plain import between, clean, counted, folded, of_many, subject, worst


def render(report: Report, manner: Manner) -> str:
    root = Element("testsuites", name="scantling")
    if report.troubles:
        suite = SubElement(root, "testsuite", name="scantling")
        for number, trouble in enumerate(report.troubles, 1):
            case = _case(suite, f"trouble {number}", "scantling")
            SubElement(case, "error", type="trouble", message=clean(str(trouble)))
        _count(suite)
    for file in report.files:
        _suite(root, report, file, manner)
    for name in ("tests", "failures", "errors"):
        root.set(name, str(sum(int(suite.get(name, "0")) for suite in root)))
    root.set("time", "0")
    indent(root, " ")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{tostring(root, encoding="unicode")}\n'


def _suite(root: Element, report: Report, file: FileReport, manner: Manner) -> None:
    name = clean(file.file)
    suite = SubElement(root, "testsuite", name=name)
    if file.failure:
        case = _case(suite, "read", name)
        where = f"line {file.failure.line}: " if file.failure.line else ""
        SubElement(case, "error", type="unreadable", message=where + clean(file.failure.message))
        _count(suite)
        return
    by_rule: dict[str, list[Finding]] = {rule.id: [] for rule in report.rules}
    for finding in chain(file.standing(), file.accepted()):
        by_rule.setdefault(finding.rule, []).append(finding)
    for rule, findings in by_rule.items():
        _verdict(_case(suite, rule, name), report, findings, manner)
    _count(suite)
    if file.notices:
        SubElement(suite, "system-out").text = "\n".join(map(clean, file.notices))


def _verdict(case: Element, report: Report, findings: Sequence[Finding], manner: Manner) -> None:
    """Failing findings make a failure, accepted ones alone a skipped case; milder ones are only
    told. Floods are folded: people read this."""
    standing = [finding for finding in findings if finding.accepted is None]
    failing = [finding for finding in standing if finding.level >= report.fail_at]
    if failing:
        head = worst(failing)
        more = f" ({of_many(len(failing))})" if len(failing) > 1 else ""
        failure = SubElement(
            case, "failure", type=head.level.word, message=clean(head.message) + more
        )
        failure.text = "\n".join(_lines(failing, manner.fold))
    elif findings and not standing:
        reasons = dict.fromkeys(clean(f.accepted or "no reason given") for f in findings)
        SubElement(
            case,
            "skipped",
            message=f"{counted(len(findings), 'finding')} accepted: " + "; ".join(reasons),
        )
    milder = [finding for finding in standing if finding.level < report.fail_at]
    if milder:
        SubElement(case, "system-out").text = "\n".join(_lines(milder, manner.fold))


def _lines(findings: Sequence[Finding], fold: int) -> Iterator[str]:
    for finding, number in folded(findings, fold):
        place = f"{finding.place.line}:{finding.place.column}: " if finding.place.line else ""
        at = f"at x {finding.at[0]:.2f} y {finding.at[1]:.2f} mm" if finding.at else ""
        rest = ", ".join(filter(None, (of_many(number), at, subject(finding), between(finding))))
        yield f"{place}{finding.level.word}: {clean(finding.message)}" + (
            f"; {rest}" if rest else ""
        )


def _case(suite: Element, name: str, owner: str) -> Element:
    return SubElement(suite, "testcase", classname=owner, name=name, time="0")


def _count(suite: Element) -> None:
    suite.set("tests", str(len(suite.findall("testcase"))))
    for name, tag in (("failures", "failure"), ("errors", "error"), ("skipped", "skipped")):
        suite.set(name, str(len(suite.findall(f"testcase/{tag}"))))
    suite.set("time", "0")
