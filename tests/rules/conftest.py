"""Judging a small drawing by one rule alone; and lets tests import the helpers beside them."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pytest

from scantling.judge.finding import Finding
from scantling.judge.packs import installed
from scantling.judge.rule import rule_from
from scantling.linter import Linter, Wanted

sys.path.insert(0, str(Path(__file__).parent))

Judge = Callable[[ModuleType, str, str], Sequence[Finding]]


@pytest.fixture
def findings_of(tmp_path: Path) -> Judge:
    """A function: rule module, drawing and job sheet in, that rule's findings out."""

    def judge(module: ModuleType, svg: str, job: str) -> Sequence[Finding]:
        book = replace(installed(), rules=(rule_from(module),))
        drawing, sheet = tmp_path / "drawing.svg", tmp_path / "jobsheet.toml"
        drawing.write_text(svg, encoding="utf-8")
        sheet.write_text(job, encoding="utf-8")
        report = Linter(Wanted(job=str(sheet)), book=book).file(str(drawing))
        assert report.failure is None
        return report.findings

    return judge
