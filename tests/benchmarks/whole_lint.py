"""Where the time of a whole lint goes, beside what it takes merely to parse the same drawings.

    python tests/benchmarks/whole_lint.py FOLDER [--count 40] [--width 60] [--stock acrylic-3]

Each drawing is judged by all rules with every colour a sheet of its own, and parsed by svgelements
(`SVG.parse`), in turn, least processor time of several runs. Prints milliseconds a drawing for
each stage (read, plan, measure and judge, how small, summary), the facts and rules that take most,
and the ratio to the parse: of the sums, and the median.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from statistics import median
from typing import Any

import svgelements

from scantling.linter import Linter, summarise
from scantling.measure.facts import Facts
from scantling.read import Source, read_drawing
from scantling.wanted import Wanted

STAGES = ("read", "plan", "measure and judge", "how small", "summary")


def stages(linter: Linter, file: str) -> list[float]:
    """Processor seconds of each stage."""
    times = [time.process_time()]
    drawing = read_drawing(Source.open(file))
    times.append(time.process_time())
    plan = linter.planned(drawing, file, linter.setting(file).job, linter.wanted.stock)
    times.append(time.process_time())
    verdict = linter.verdict(plan, file)
    times.append(time.process_time())
    scale = linter.scale(plan, verdict)
    times.append(time.process_time())
    summarise(plan, verdict, file, scale)
    times.append(time.process_time())
    return [b - a for a, b in pairwise(times)]


def parse(file: str) -> float:
    start = time.process_time()
    svgelements.SVG.parse(file)
    return time.process_time() - start


class Ledger:
    """What each fact and each rule's check take, without the facts that they ask for."""

    def __init__(self) -> None:
        self.own: Counter[str] = Counter()
        self._inner: list[float] = []

    def listen(self) -> Callable[[], None]:
        """Begin to write down; the answer ends it."""
        plain = Facts.call

        def call(facts: Facts, function: Callable[..., Any], **also: Any) -> Any:
            start = time.process_time()
            self._inner.append(0.0)
            found = plain(facts, function, **also)
            found = list(found) if function.__name__ == "check" and found is not None else found
            spent = time.process_time() - start
            inner = self._inner.pop()
            module = function.__module__.rpartition(".")[2]
            self.own[f"{module}.{function.__name__}"] += spent - inner
            if self._inner:
                self._inner[-1] += spent
            return found

        def end() -> None:
            Facts.call = plain  # type: ignore[method-assign]

        Facts.call = call  # type: ignore[method-assign]
        return end


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--count", type=int, default=40)
    parser.add_argument("--width", type=float, default=60.0)
    parser.add_argument("--stock", default="acrylic-3")
    parser.add_argument("--rounds", type=int, default=3)
    chosen = parser.parse_args()
    files = sorted(map(str, chosen.folder.rglob("*.svg")))
    files = files[:: max(1, len(files) // chosen.count)][: chosen.count]
    linter = Linter(Wanted(stock=chosen.stock, width=chosen.width))
    for file in files[:3]:
        stages(linter, file)
        parse(file)
    total: Counter[str] = Counter()
    ratios = []
    for file in files:
        runs = [(stages(linter, file), parse(file)) for _ in range(chosen.rounds)]
        best = min((run for run, _ in runs), key=sum)
        plain = min(parsed for _, parsed in runs)
        total.update(dict(zip(STAGES, best, strict=True)))
        total["parse"] += plain
        ratios.append(sum(best) / plain)
    lint = sum(total[stage] for stage in STAGES)
    for name in (*STAGES, "parse"):
        print(f"{name:20} {total[name] / len(files) * 1e3:8.2f} ms a drawing")
    print(f"{'ratio':20} {lint / total['parse']:8.2f}, median {median(ratios):.2f}")

    ledger = Ledger()
    end = ledger.listen()
    for file in files:
        stages(linter, file)
    end()
    for name, spent in ledger.own.most_common(15):
        print(f"  {name:40} {spent / len(files) * 1e3:8.2f}")


if __name__ == "__main__":
    main()
