"""Mutated drawings by the thousand: each is refused in one clear line or read, never a traceback,
never over the limits.

    python tests/benchmarks/reading_fuzz.py [FOLDER] [COUNT] [SEED]

FOLDER of SVG files to mutate (default: the suite's own); COUNT 50,000 unless said otherwise. The
first failure is written to mutated.svg in the working directory and raised.
"""

from __future__ import annotations

import random
import sys
import time
import warnings
from pathlib import Path

TESTS = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(TESTS / "read"))

from test_fuzz import SMALL, checked, clear, mutated  # noqa: E402

from scantling.read import Source, Unreadable  # noqa: E402


def main(folder: str, count: int, seed: int) -> None:
    warnings.simplefilter("error")
    random_ = random.Random(seed)
    paths = sorted(p for p in Path(folder).rglob("*.svg*") if p.stat().st_size < 20_000)
    read = 0
    slowest = 0.0
    for _ in range(count):
        data = mutated(random_.choice(paths).read_bytes(), random_)
        start = time.process_time()
        try:
            read += checked(Source.from_bytes(data, limits=SMALL)) is not None
        except Unreadable as error:
            clear(error)
        except BaseException:
            Path("mutated.svg").write_bytes(data)
            raise
        slowest = max(slowest, time.process_time() - start)
    print(f"{count} mutations: {read} read, {count - read} refused, slowest {slowest * 1e3:.0f} ms")


if __name__ == "__main__":
    words = [*sys.argv[1:4], *(str(TESTS / "read" / "fidelity"), "50000", "1")[len(sys.argv) - 1 :]]
    main(words[0], int(words[1]), int(words[2]))
