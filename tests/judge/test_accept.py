"""Acceptances in the drawing and in the job sheet: what they cover, and when they are idle."""

from __future__ import annotations

import dataclasses
import datetime
from collections.abc import Iterator
from types import ModuleType

import pytest

from scantling.judge import Example, Fault, Finding
from scantling.judge.accept import UNWRITTEN, Acceptances
from scantling.judge.engine import Verdict, judge_plan
from scantling.judge.packs import installed
from scantling.judge.rule import Rule, rule_from
from scantling.plan.jobsheet import load_job, read_job
from scantling.plan.planner import plan_drawing
from scantling.plan.stocks import load_tables
from scantling.read import Source, read_drawing
from scantling.read.drawing import Drawing

TODAY = datetime.date(2031, 5, 20)
BOOK = installed()


def toy(name: str, level: str = "error", crash: bool = False) -> Rule:
    """A rule that finds every circle, so that these tests hang on no measuring."""
    module = ModuleType(f"toys.shapes.{name}")

    def check(drawing: Drawing) -> Iterator[Fault]:
        for shape in drawing.shapes:
            if shape.node.tag == "circle":
                at = float(shape.node.get("cx", "0") or 0), float(shape.node.get("cy", "0") or 0)
                yield Fault(message=f"{name} is round", on=shape, at=at)
        if crash:
            raise ZeroDivisionError("made to fail")

    module.__dict__.update(
        id=name, level=level, title=f"finds {name}", why="why", remedy="what", source="none",
        passes=(Example("<svg/>"),), fails=(Example("<svg/>"),), check=check,
    )  # fmt: skip
    return rule_from(module, "toys")


IDLE = BOOK.by_id()["idle-acceptance"]
RULES = (toy("round"), toy("circular"), IDLE)
IDS: dict[str, dict[str, object]] = {rule.id: {} for rule in RULES}


def page(body: str) -> str:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'width="40mm" height="40mm" viewBox="0 0 40 40">\n{body}\n</svg>'
    )


def judge(
    body: str, job: str = "", rules: tuple[Rule, ...] = RULES, trial: bool = False
) -> Verdict:
    words = {"rules": IDS, "tables": BOOK.tables}
    plan = plan_drawing(
        read_drawing(Source.from_text(page(body), "clock.svg")),
        read_job(job, "jobsheet.toml", **words) if job else load_job(None, **words),
        file="clock.svg",
        tables=load_tables(BOOK.tables),
    )
    return judge_plan(plan, rules, "clock.svg", acceptances=Acceptances(TODAY, trial))


def of(verdict: Verdict, rule: str) -> list[Finding]:
    return [finding for finding in verdict.findings if finding.rule == rule]


def reasons(verdict: Verdict, rule: str = "round") -> list[str | None]:
    return [finding.accepted for finding in of(verdict, rule)]


def idle(verdict: Verdict) -> list[str]:
    return [finding.message for finding in of(verdict, "idle-acceptance")]


CIRCLE = '<circle id="moon" cx="20" cy="20" r="5" {}/>'


def accept(text: str) -> str:
    return f'data-scantling-accept="{text}"'


def test_on_the_element_itself():
    verdict = judge(CIRCLE.format(accept("round: held by tape")))
    (finding,) = of(verdict, "round")
    assert (finding.accepted, finding.accepted_in) == ("held by tape", "inSource")
    assert reasons(verdict, "circular") == [None]
    assert idle(verdict) == []


def test_on_a_group_around_it_and_not_beside_it():
    body = f"<g {accept('round: held by tape')}>{CIRCLE.format('')}<rect/></g>" + CIRCLE.format("")
    verdict = judge(body.replace('"moon"', '"a"', 1))
    assert reasons(verdict) == ["held by tape", None]
    assert idle(verdict) == []


def test_the_innermost_reason_counts_and_the_outer_one_is_not_idle():
    inner = CIRCLE.format(accept("round: inner"))
    verdict = judge(f"<g {accept('round: outer')}>{inner}</g>")
    assert reasons(verdict) == ["inner"]
    assert idle(verdict) == []


def test_several_rules_and_several_reasons():
    verdict = judge(CIRCLE.format(accept("round, circular: both")))
    assert reasons(verdict) == reasons(verdict, "circular") == ["both"]
    verdict = judge(CIRCLE.format(accept("round: one | circular: other")))
    assert reasons(verdict) == ["one"]
    assert reasons(verdict, "circular") == ["other"]
    assert idle(verdict) == []


def test_through_a_use():
    body = (
        f"<defs>{CIRCLE.format('')}</defs>"
        f'<use xlink:href="#moon" {accept("round: only this copy")}/><use xlink:href="#moon"/>'
    )
    verdict = judge(body)
    assert sorted(map(str, reasons(verdict))) == ["None", "only this copy"]
    assert idle(verdict) == []


def test_an_acceptance_beside_a_finding_of_several_places_says_where_that_stands():
    def check(drawing: Drawing) -> Iterator[Fault]:
        first, *more = drawing.shapes
        yield Fault(message="all", on=first, others=tuple(("another", s) for s in more))

    rule = toy("round")
    rules = (dataclasses.replace(rule, check=check), IDLE)
    body = f"{CIRCLE.format('')}\n{CIRCLE.format(accept('round: held'))}"
    verdict = judge(body, rules=rules)
    assert reasons(verdict) == [None]
    assert idle(verdict) == [
        "accepts round, but the finding about this place is reported at line 2, for all its "
        "places: accept it there"
    ]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("round: held", "accepts round, but there is no such finding here"),
        ("rond: held", 'accepts "rond", but no rule is called that; did you mean "round"?'),
        ("round:", "accepts round without a reason"),
        ("round", "RULE RULE: REASON"),
        ("held by tape", "RULE RULE: REASON"),
        (": held", "RULE RULE: REASON"),
        ("", "RULE RULE: REASON"),
        (f"round: {UNWRITTEN}", "without a reason"),
    ],
)
def test_idle_in_the_drawing(text: str, words: str):
    (message,) = idle(judge(f'<rect id="bar" width="9" height="9" {accept(text)}/>'))
    assert words in message


@pytest.mark.parametrize("text", ["round:", "round", f"round: {UNWRITTEN}", "round:   "])
def test_without_a_reason_the_finding_stands(text: str):
    verdict = judge(CIRCLE.format(accept(text)))
    assert reasons(verdict) == [None]
    assert len(idle(verdict)) == 1


def test_an_idle_part_of_an_acceptance_points_at_its_own_text():
    body = CIRCLE.format(accept("round: held &amp; glued | circlar: glued"))
    verdict = judge(body)
    (finding,) = of(verdict, "idle-acceptance")
    assert page(body)[finding.place.offset :].startswith("circlar: glued")
    assert reasons(verdict) == ["held & glued"]


def test_nothing_is_called_idle_that_could_not_be_judged():
    body = f'<rect width="9" height="9" {accept("round: held")}/>'
    crashing = (toy("round", crash=True), toy("circular"), IDLE)
    verdict = judge(body, rules=crashing)
    assert idle(verdict) == []
    assert verdict.troubles == ("rule round of pack toys failed: ZeroDivisionError: made to fail",)
    assert idle(judge(body, rules=(toy("round", "off"), IDLE))) == []
    assert idle(judge(body, trial=True)) == []


JOB = """
[[stock]]
name = "card"
material = "card"
thickness = "1.5 mm"

[[assign]]
colour = "#000"
stock = "card"
operation = "cut"

[[accept]]
rule = "round"
reason = "of the job sheet"
"""


def test_in_the_job_sheet():
    (finding,) = of(judge(CIRCLE.format(""), JOB), "round")
    assert (finding.accepted, finding.accepted_in) == ("of the job sheet", "external")


def test_the_drawing_speaks_before_the_job_sheet():
    assert reasons(judge(CIRCLE.format(accept("round: nearer")), JOB)) == ["nearer"]


@pytest.mark.parametrize(
    ("more", "accepted"),
    [
        ('files = "clock.svg"', True),
        ('files = "cl*.svg"', True),
        ('files = "other/*.svg"', False),
        ('element = "moon"', True),
        ('element = "sun"', False),
        ('at = ["20 mm", "20.5 mm"]', True),
        ('at = ["20 mm", "21.5 mm"]', False),
        ('at = ["20 mm", "21.5 mm"]\nwithin = "2 mm"', True),
        ('until = "2031-05-20"', True),
        ('until = "2031-05-19"', False),
    ],
)
def test_how_far_an_entry_of_the_job_sheet_reaches(more: str, accepted: bool):
    verdict = judge(CIRCLE.format(""), JOB + more)
    assert reasons(verdict) == ["of the job sheet" if accepted else None]


def test_no_finding_is_lost_and_all_stay_in_the_order_of_the_text():
    circles = [
        f'<circle id="c{k}" r="5" cx="9" {accept("round: x") if k % 3 else ""}/>' for k in range(9)
    ]
    verdict = judge("".join(circles) + f"<g {accept('circular: none')}/>")
    assert reasons(verdict) == [None, "x", "x"] * 3
    assert reasons(verdict, "circular") == [None] * 9
    assert len(idle(verdict)) == 1
    offsets = [finding.place.offset for finding in verdict.findings]
    assert offsets == sorted(offsets)
