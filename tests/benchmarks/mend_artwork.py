"""Mend real artwork and check what must hold for each drawing.

Run by hand: `python tests/benchmarks/mend_artwork.py FOLDER [FILES [RULE …]]`. Prints what was
done and what stays, and every drawing for which one of these does not hold: the diff touches
only lines of the elements concerned; a second run changes nothing; contours elsewhere are the
same to 1e-9; pixels elsewhere are the same. Also how long mending takes against judging.
"""

from __future__ import annotations

import random
import re
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "mend"))
import seen

from scantling.linter import Linter, Wanted
from scantling.mend.mender import Mender
from scantling.mend.repair import Wish
from scantling.read import Source, Unreadable
from scantling.read.locate import whole_range

NUMBER = re.compile(r"\d+(\.\d+)?")


def main(folder: str, many: int, rules: tuple[str, ...]) -> None:
    files = sorted(Path(folder).rglob("*.svg"))
    random.Random(1).shuffle(files)
    mender = Mender(Linter(Wanted(width=60.0)), Wish(rules=rules))
    done: list[str] = []
    left: list[str] = []
    judging = mending = 0.0
    count = 0
    for file in files[:many]:
        path = str(file)
        try:
            source = Source.open(path)
            start = time.perf_counter()
            look = mender.look(source, path)
            judging += time.perf_counter() - start
            start = time.perf_counter()
            mended = mender.mended(source, path)
            mending += time.perf_counter() - start
        except Unreadable:
            continue
        done += [f"{one.finding.rule}: {NUMBER.sub('N', one.message)}" for one in mended.done]
        left += [f"{one.finding.rule}: {NUMBER.sub('N', one.reason)}" for one in mended.left]
        if not mended.changed:
            continue
        count += 1
        text = mended.text
        if mender.mended(Source.from_text(text, path), path).changed:
            print(f"{path}: a second run changes more")
        concerned = {offset for one in mended.done for offset in one.elements}
        allowed = set()
        for node in look.plan.drawing.root.walk():
            if node.offset in concerned:
                begin, end = whole_range(source, node)
                span = source.text[:begin].count("\n"), source.text[:end].count("\n")
                allowed |= set(range(span[0] + 1, span[1] + 2))
        if not seen.lines_changed(source.text, text) <= allowed:
            print(f"{path}: other lines have changed")
        stray = seen.stray_pixels(source.text, text)
        if stray:
            print(f"{path}: {stray} pixels elsewhere have changed")
    print(f"{min(many, len(files))} drawings, {count} mended")
    print(f"mending takes {mending / judging:.2f} times as long as judging")
    print(seen.tally(done))
    print("stays:")
    print(seen.tally(left))


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else 200, tuple(sys.argv[3:]))
