"""What each form of report costs: time against that of JSON, bytes for a finding.

Run by hand: `python tests/benchmarks/reports.py [FINDINGS]`.
"""

from __future__ import annotations

import sys
import time
from importlib import import_module

from scantling.judge.finding import Finding, Level, Place
from scantling.report.forms import FORMS
from scantling.report.model import FileReport, Manner, Report, Scene, Stroke


def flood(number: int) -> Report:
    """One drawing with many thin webs on a grid."""
    findings = tuple(
        Finding(
            rule="thin-web",
            level=Level.ERROR,
            message="web 0.82 mm finished, ply-3 needs 1.20 mm",
            file="flood.svg",
            place=Place(k + 1, 3, k + 1, 40, 50 * k, 50 * k + 37),
            at=(k % 50 * 5.0, k // 50 * 2.5),
            measured=0.82,
            required=1.2,
            extent=3.0,
            stock="ply-3",
            part=f"slat {k}",
            mark=(((k % 50 * 5.0, k // 50 * 2.5), (k % 50 * 5.0 + 2, k // 50 * 2.5)),),
            fingerprint=f"{k:024x}",
        )
        for k in range(number)
    )
    file = FileReport(file="flood.svg", findings=findings, size=(250.0, number / 20))
    return Report(files=(file,), rules=(), version="0")


def main(number: int) -> None:
    report = flood(number)
    scene = Scene(size=(250.0, number / 20), strokes=(Stroke(path="M0 0 250 0 250 9Z", sheet="a"),))
    manner = Manner(scenes={"flood.svg": scene})
    seconds: dict[str, float] = {}
    for name, form in FORMS.items():
        render = import_module(f"scantling.report.{form.module}").render
        render(flood(1), manner)  # imports
        start = time.perf_counter()
        made = render(report, manner)
        seconds[name] = time.perf_counter() - start
        size = len(made if isinstance(made, bytes) else made.encode())
        print(f"{name:12} {size / number:8.1f} bytes a finding")
    for name, value in seconds.items():
        print(f"{name:12} {value / seconds['json']:8.2f} times the JSON form")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5000)
