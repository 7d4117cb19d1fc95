"""How an audit scales: run by hand, it prints ratios.

    python tests/benchmarks/catalogue_scale.py FOLDER... [--count 20000] [--largest 6]

FOLDERs hold SVG files, of any icon packages for instance. `count` drawings are made of them:
each once, then again with an outer group that makes the bytes differ.

Beside each figure stands what it takes merely to parse the same files with svgelements, and what
a plain script takes that looks for thin webs with shapely's buffer.
"""

from __future__ import annotations

import argparse
import itertools
import math
import os
import re
import resource
import shutil
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np

WEB = 1.7
"""mm: the drawn web that the buffer script looks for"""


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--count", type=int, default=1000)
    parser.add_argument("--largest", type=int, default=5, help="power of ten of segments")
    parser.add_argument("--cores", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--sample", type=int, default=300, help="files for the other programs")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        os.environ["SCANTLING_CACHE"] = os.path.join(place, "cache")
        folder = Path(place, "drawings")
        made = make(asked.folders, folder, asked.count)
        print(f"{made} drawings, {sum(f.stat().st_size for f in folder.rglob('*.svg'))} bytes")
        speed(folder, made, asked.cores, asked.sample)
        growth(Path(place, "growth"), asked.largest)


# Many drawings


def make(sources: Iterable[Path], folder: Path, count: int) -> int:
    found = [p for source in sources for p in sorted(source.rglob("*.svg"))]
    if not found:
        sys.exit("no SVG files there")
    number = 0
    for turn in itertools.count():
        for path in found:
            if number == count:
                return number
            target = folder / f"{number // 1000:03}" / f"{number:06}-{path.stem[:40]}.svg"
            target.parent.mkdir(parents=True, exist_ok=True)
            if turn == 0:
                shutil.copyfile(path, target)
            else:
                text = path.read_text(encoding="utf-8", errors="replace")
                shift = f'<g transform="translate({turn / 1000:g})">'
                text = re.sub(r"(<svg\b[^>]*>)", rf"\1{shift}", text, count=1)
                target.write_text(text.replace("</svg>", "</g></svg>"), encoding="utf-8")
            number += 1
    return number


def speed(folder: Path, count: int, cores: int, sample: int) -> None:
    """Of a sample: drawings a second and a core, beside the others, and speed-up with cores. Of
    all: drawings a second, and how much faster it is once more; memory of both."""
    files = sorted(folder.rglob("*.svg"))[:: max(count // sample, 1)]
    part = Path(folder.parent, "sample")
    part.mkdir()
    for file in files:
        shutil.copyfile(file, part / file.name)
    ours = clocked(lambda: audit(part, 1, keep=False))
    parsing = clocked(lambda: [parsed(file) for file in files])
    buffers = clocked(lambda: [thin_webs(file) for file in files])
    print(f"\n{len(files)} of them, one worker: {len(files) / ours:.1f} drawings a second "
          f"({ours:.2f} s); svgelements parsing alone {parsing:.2f} s ({ours / parsing:.2f}), "
          f"buffer script {buffers:.2f} s ({ours / buffers:.2f})")  # fmt: skip
    for workers in (n for n in (2, 4, 8, 16, 32) if n <= cores):
        took = clocked(lambda workers=workers: audit(part, workers, keep=False))  # type: ignore[misc]
        print(f"{workers} workers: {ours / took:.2f} times as fast as one")
    print(memory())
    new = clocked(lambda: audit(folder, cores, keep=True))
    print(f"all {count}, {cores} workers, results kept: {count / new:.1f} drawings a second "
          f"({new:.1f} s)")  # fmt: skip
    again = clocked(lambda: audit(folder, cores, keep=True))
    print(f"once more: {count / again:.0f} drawings a second ({again:.2f} s), {new / again:.0f} "
          "times as fast")  # fmt: skip
    print(memory())


def audit(folder: Path, workers: int, keep: bool) -> None:
    from scantling import api

    with api.audit(folder, width=60.0, workers=workers, cache=keep) as done:
        failed = [o.row for o in done.outcomes if o.row.failure]
    for row in failed[:5]:
        print("   not judged:", row.file, row.failure)


def memory() -> str:
    """The most that this process and the largest worker so far have had."""
    here, worker = (
        resource.getrusage(who).ru_maxrss / 1024  # kB on Linux; bytes on macOS
        for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    )
    return f"memory: {here:.0f} MB here, {worker:.0f} MB the largest worker"


def clocked(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def least(do: Callable[[Path], object], file: Path) -> float:
    """Seconds, the least of three for what is over soon."""
    times = [clocked(lambda: do(file))]
    while len(times) < 3 and times[0] < 1:
        times.append(clocked(lambda: do(file)))
    return min(times)


# The others


def parsed(file: Path) -> list[object]:
    from svgelements import SVG, Shape
    from svgelements import Path as Line

    return [Line(e) for e in SVG.parse(str(file)).elements() if isinstance(e, Shape)]


def thin_webs(file: Path) -> int:
    """A plain script: flatten, make polygons, shrink and grow again; what is lost is thin."""
    import shapely

    polygons = []
    for line in parsed(file):
        for part in line.as_subpaths():  # type: ignore[attr-defined]
            points = [
                (point.x, point.y)
                for segment in part
                for point in (segment.point(k / 12) for k in range(1, 13))
                if point is not None
            ]
            if len(points) > 3:
                polygons.append(shapely.Polygon(points))
    solid = shapely.Polygon()
    for polygon in polygons:
        solid = solid.symmetric_difference(shapely.make_valid(polygon))
    if solid.is_empty:
        return 0
    x0, _, x1, _ = solid.bounds
    half = WEB / 2 * max(x1 - x0, 1e-9) / 60.0
    lost = solid.difference(solid.buffer(-half).buffer(half * 1.0001))
    return sum(part.area > half * half for part in shapely.get_parts(lost))


# Large drawings


def growth(folder: Path, largest: int) -> None:
    """Time against segments, and the slope of it on logarithmic scales."""
    folder.mkdir()
    warm = folder / "100.svg"
    warm.write_text(gears(100), encoding="utf-8")
    one(warm)  # imports are no part of it
    sizes = [10**n for n in range(2, largest + 1)]
    times: dict[str, list[float]] = {"audit": [], "parsing": [], "buffer script": []}
    print("\nsegments      audit    parsing    buffer script   (s, and audit as a ratio)")
    for size in sizes:
        file = folder / f"{size}.svg"
        file.write_text(gears(size), encoding="utf-8")
        programs = {"audit": one, "parsing": parsed, "buffer script": thin_webs}
        if size > 10_000:  # beyond that it takes hours
            del programs["buffer script"]
        took = {name: least(do, file) for name, do in programs.items()}
        for name, seconds in took.items():
            times[name].append(seconds)
        plain = took.get("buffer script")
        print(f"{size:8}  {took['audit']:9.3f}  {took['parsing']:9.3f} "
              f"({took['audit'] / took['parsing']:.2f})  "
              + (f"{plain:9.3f} ({took['audit'] / plain:.2f})" if plain else ""))  # fmt: skip
    for name, found in times.items():
        known = sizes[: len(found)]
        slope = np.polyfit(np.log(known[-3:]), np.log(found[-3:]), 1)[0]
        print(f"slope of {name} over the last {len(known[-3:])} sizes: {slope:.2f}")


def one(file: Path) -> None:
    """A drawing judged in this process, at a size that grows with it, so that its parts do not."""
    from scantling import api

    segments = int(file.stem)
    api.lint(file, width=12.0 * math.isqrt(max(segments // 100, 1)))


def gears(segments: int) -> str:
    """Parts of 100 segments each, side by side in a square."""
    turn = np.arange(100) * (2 * np.pi / 100)
    radius = np.where(np.arange(100) % 4 < 2, 5.0, 4.2)
    points = np.column_stack([np.cos(turn) * radius, np.sin(turn) * radius])
    gear = "M" + "L".join(f"{x:.3f} {y:.3f}" for x, y in points) + "Z"
    wide = math.isqrt(max(segments // 100, 1))
    uses = "".join(
        f'<path transform="translate({6 + 12 * column} {6 + 12 * row})" d="{gear}"/>'
        for row in range(wide)
        for column in range(wide)
    )
    box = f"0 0 {12 * wide} {12 * wide}"
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}">{uses}</svg>'


if __name__ == "__main__":
    main()
