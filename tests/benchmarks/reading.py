"""How fast drawings are read, against svgelements reading the same files in the same run.

    python tests/benchmarks/reading.py FOLDER [MOST_FILES]

Prints time per file and per path segment, and the ratios. Path data alone is timed too: bare
tokens (one regular expression), our reader, svgelements' Path. Times are of the process, so that
other work on the machine counts less.
"""

from __future__ import annotations

import random
import re
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import svgelements

from scantling.read import Source, read_drawing
from scantling.read.flatten import flatten
from scantling.read.pathdata import read_path

TOKENS = re.compile(r"[A-Za-z]|[-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?").findall


def timed(work: Callable[[Any], object], things: Sequence[Any]) -> tuple[float, int]:
    """Seconds for all that could be done, and how many could not."""
    failed = 0
    start = time.process_time()
    for thing in things:
        try:
            work(thing)
        except Exception:
            failed += 1
    return time.process_time() - start, failed


def main(folder: str, most: int = 1000) -> None:
    paths = sorted(Path(folder).rglob("*.svg"))
    chosen = random.Random(1).sample(paths, min(most, len(paths)))
    sources = [Source.open(path) for path in chosen]
    drawings = [read_drawing(source) for source in sources]
    segments = sum(len(drawing.curves.kind) for drawing in drawings)
    data = [n.attrib["d"] for drawing in drawings for n in drawing.root.walk() if "d" in n.attrib]
    pieces = sum(len(read_path(d)[0]) for d in data)
    print(f"{len(chosen)} files, {segments} segments drawn, {pieces} in path data")

    def line(what: str, seconds: float, count: int, base: float, failed: int) -> None:
        per = seconds / max(count, 1) * 1e6
        also = f", {failed} failed" if failed else ""
        print(f"  {what:<34}{per:9.2f} µs a segment{base / seconds:9.1f} x{also}")

    print("path data alone, against svgelements.Path:")
    theirs, failed = timed(svgelements.Path, data)
    line("svgelements.Path", theirs, pieces, theirs, failed)
    for what, work in (("read_path", read_path), ("bare tokens", TOKENS)):
        seconds, failed = timed(work, data)
        line(what, seconds, pieces, theirs, failed)

    print("whole files, from their bytes, against svgelements.SVG.parse:")
    theirs, failed = timed(lambda s: svgelements.SVG.parse(s.path, reify=True), sources)
    line("svgelements.SVG.parse", theirs, segments, theirs, failed)
    ours, failed = timed(lambda s: read_drawing(Source.open(s.path)), sources)
    line("read_drawing", ours, segments, theirs, failed)
    print(f"  a file: {theirs / len(chosen) * 1e3:.2f} ms and {ours / len(chosen) * 1e3:.2f} ms")

    seconds, _ = timed(lambda d: flatten(d.curves, 0.01), drawings)
    points = sum(len(flatten(d.curves, 0.01).xy) for d in drawings)
    per = seconds / segments * 1e6
    print(f"flattening to 0.01 px: {per:.2f} µs a segment, {seconds / points * 1e9:.0f} ns a point")


if __name__ == "__main__":
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    main(sys.argv[1], *map(int, sys.argv[2:3]))
