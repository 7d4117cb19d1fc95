"""From saving a drawing to its report by `scantling watch`, in seconds. Run by hand:

python tests/benchmarks/live.py [DRAWING]
"""

from __future__ import annotations

import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
ROUNDS = 10


def main(drawing: Path) -> None:
    with tempfile.TemporaryDirectory() as folder:
        for job in drawing.resolve().parents:
            if (job / "jobsheet.toml").exists():
                shutil.copy(job / "jobsheet.toml", folder)
                break
        copy = Path(folder, drawing.name)
        shutil.copy(drawing, copy)
        text = copy.read_text(encoding="utf-8")
        watch = subprocess.Popen(
            [sys.executable, "-m", "scantling", "watch", str(copy)],
            stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, encoding="utf-8",
        )  # fmt: skip
        assert watch.stderr is not None
        print(watch.stderr.readline().strip())
        watch.stderr.readline()  # where the page is
        taken = []
        for number in range(ROUNDS):
            time.sleep(0.5)
            started = time.perf_counter()
            copy.write_text(text + "\n" * (number + 1), encoding="utf-8")
            watch.stderr.readline()
            taken.append(time.perf_counter() - started)
        watch.terminate()
        watch.wait()
    print(f"from save to report: median {statistics.median(taken):.2f} s, worst {max(taken):.2f} s")


if __name__ == "__main__":
    main(Path(*sys.argv[1:]) if sys.argv[1:] else ROOT / "examples" / "clock" / "moon-clock.svg")
