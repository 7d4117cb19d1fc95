"""Mend real artwork and check what must hold for each drawing.

Run by hand: `python tests/benchmarks/mend_artwork.py FILES FOLDER… [--rule RULE…]`, with so many
drawings of each folder; a drawing may stand in the place of a folder. Prints what was done and
what stays, and every drawing for which one of these does not hold: the diff touches only lines of
the elements concerned; a second run changes nothing; no rule finds more on any sheet than before;
pixels elsewhere are the same. Also how long mending takes against judging, and which drawings take
long.
"""

from __future__ import annotations

import random
import re
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "mend"))
import seen

from scantling.linter import TROUBLES, Linter, Wanted
from scantling.mend.mender import Mended, Mender
from scantling.mend.repair import Wish
from scantling.read import Source, Unreadable
from scantling.read.drawing import Drawing
from scantling.read.locate import whole_range
from scantling.report.model import FileReport

NUMBER = re.compile(r"\d+(\.\d+)?")
LONG = 5.0
"""Seconds of processor time from which a drawing is named."""


@dataclass
class Times:
    """Seconds of processor time of all drawings, one by one."""

    judging: list[float] = field(default_factory=list)
    mending: list[float] = field(default_factory=list)

    def told(self) -> str:
        times = sorted(self.mending) or [0.0]
        middle, most = times[len(times) // 2], times[int(len(times) * 0.99)]
        ratio = sum(self.mending) / max(sum(self.judging), 1e-9)
        return (
            f"mending takes {ratio:.2f} times as long as judging; "
            f"half of the drawings under {middle:.2f} s, 99 % under {most:.2f} s, "
            f"all under {times[-1]:.2f} s"
        )


def chosen(folders: Sequence[str], many: int) -> Iterator[str]:
    for folder in folders:
        whole = Path(folder)
        files = [whole] if whole.is_file() else sorted(whole.rglob("*.svg"))
        random.Random(1).shuffle(files)
        yield from map(str, files[:many])


def allowed_lines(source: Source, drawing: Drawing, mended: Mended) -> set[int]:
    """Numbers of the lines of the elements concerned."""
    concerned = {offset for one in mended.done for offset in one.elements}
    lines: set[int] = set()
    for node in drawing.root.walk():
        if node.offset in concerned:
            begin, end = whole_range(source, node)
            span = source.text[:begin].count("\n"), source.text[:end].count("\n")
            lines |= set(range(span[0] + 1, span[1] + 2))
    return lines


def come(before: FileReport, after: FileReport) -> Iterator[str]:
    """What is found more often than before."""
    old = Counter((finding.rule, finding.stock) for finding in before.findings)
    for (rule, sheet), times in Counter((f.rule, f.stock) for f in after.findings).items():
        if times > old[rule, sheet]:
            yield f"{times} {rule} on {sheet}, {old[rule, sheet]} before"


def wrongs(
    mender: Mender, path: str, before: FileReport, drawing: Drawing, mended: Mended
) -> Iterator[str]:
    """What does not hold for a drawing that was mended."""
    source, text = mended.source, mended.text
    new = Source.from_text(text, path)
    if mender.mended(new, path).changed:
        yield "a second run changes more"
    lines = source.text.split("\n")  # of lines that are alike any may be the one that is gone
    touched = {lines[number - 1] for number in seen.lines_changed(source.text, text)}
    if not touched <= {lines[n - 1] for n in allowed_lines(source, drawing, mended)}:
        yield "other lines have changed"
    after = mender.linter.judged(new, path)[0]
    yield from come(before, after)
    try:
        stray = seen.stray_pixels(source.text, text)
    except BaseException as error:  # the renderer's own panics are no Exception
        if isinstance(error, KeyboardInterrupt):
            raise
        yield f"cannot be drawn: {error}"
        return
    if stray:
        yield f"{stray} pixels elsewhere have changed"


def main(many: int, folders: Sequence[str], rules: tuple[str, ...]) -> None:
    mender = Mender(Linter(Wanted(width=60.0)), Wish(rules=rules))
    done: list[str] = []
    left: list[str] = []
    times = Times()
    count = bad = 0
    for path in chosen(folders, many):
        try:
            source = Source.open(path)
            start = time.process_time()
            report, plan = mender.linter.judged(source, path)
            judged = time.process_time()
            mended = mender.mended(source, path)
            finished = time.process_time()
        except Unreadable:
            continue
        except TROUBLES as error:
            print(f"{path}: {type(error).__name__}: {error}", flush=True)
            continue
        times.judging.append(judged - start)
        times.mending.append(finished - judged)
        if finished - judged > LONG:
            took = f"{finished - judged:.1f} s, judging {judged - start:.1f} s"
            print(f"{path}: {took}, {len(mended.rounds)} rounds", flush=True)
        done += [f"{one.finding.rule}: {NUMBER.sub('N', one.message)}" for one in mended.done]
        left += [f"{one.finding.rule}: {NUMBER.sub('N', one.reason)}" for one in mended.left]
        if not mended.changed:
            continue
        count += 1
        found = list(wrongs(mender, path, report, plan.drawing, mended))
        bad += bool(found)
        for wrong in found:
            print(f"{path}: {wrong}", flush=True)
    print(f"{len(times.mending)} drawings, {count} mended, {bad} with something wrong")
    print(times.told())
    print(seen.tally(done))
    print("stays:")
    print(seen.tally(left))


if __name__ == "__main__":
    words = sys.argv[1:]
    split = words.index("--rule") if "--rule" in words else len(words)
    main(int(words[0]), words[1:split], tuple(words[split + 1 :]))
