"""What a run costs besides the drawing: one icon linted cold, against the bare imports.

    python tests/benchmarks/start_up.py FILE.svg... [--runs 15]

Prints, for each command, the least processor time (user and system, of the process itself) and
the least wall time of so many runs, and its ratio to `python -c "import numpy, shapely"`. Each
file by itself, of which no result is kept where it is small; then the folder that it is in, with
an empty store, with a store that holds only another drawing, and with the result ("again").
Compiled modules are kept, as for whoever has run the command once.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from pathlib import Path

BARE = "import numpy, shapely"
OTHER = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'
    '<path d="M5 5H35V35H5Z"/></svg>'
)
COMMAND = "from scantling.__main__ import run; run()"
"""What the installed script does."""


def used(command: Sequence[str], env: Mapping[str, str]) -> tuple[float, float]:
    """Processor and wall seconds of one run. Raises RuntimeError where it could not do its work."""
    start = time.perf_counter()
    process = subprocess.Popen(
        command, env=dict(env), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    _, status, usage = os.wait4(process.pid, 0)
    wall = time.perf_counter() - start
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in (0, 1):
        raise RuntimeError(f"{process.returncode} from {command}")
    return usage.ru_utime + usage.ru_stime, wall


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("files", nargs="+", type=Path)
    parser.add_argument("--runs", type=int, default=15)
    parser.add_argument("--stock", default="acrylic-3")
    parser.add_argument("--width", default="60")
    chosen = parser.parse_args()
    scantling = [sys.executable, "-c", COMMAND]
    lint = [*scantling, "lint", "--stock", chosen.stock, "--width", chosen.width]
    env = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    commands = {
        BARE: [sys.executable, "-c", BARE],
        "python alone": [sys.executable, "-c", ""],
        "--version": [*scantling, "--version"],
    }
    stores: dict[str, Path] = {}
    with tempfile.TemporaryDirectory() as folder:
        for number, file in enumerate(chosen.files):
            own, other = (Path(folder, f"{number}", name) for name in ("own", "other"))
            own.mkdir(parents=True)
            other.mkdir()
            shutil.copy(file, own)
            (other / "other.svg").write_text(OTHER, encoding="utf-8")
            commands[f"lint {file.name}"] = [*lint, str(file)]
            commands[f"its folder, {file.name}"] = [*lint, str(own)]
            for name, known in (("another's store", other), ("again", own)):
                stores[f"its folder, {name}, {file.name}"] = store = Path(
                    folder, f"{number} {name}"
                )
                commands[f"its folder, {name}, {file.name}"] = [*lint, str(own)]
                used([*lint, str(known)], env | {"XDG_CACHE_HOME": str(store)})
        best: dict[str, tuple[float, float]] = {}
        for run in range(chosen.runs + 1):
            # in turn, so that other work on the machine hits all alike
            for name, command in commands.items():
                store = Path(folder, f"{run} {name}".replace(os.sep, "-"))
                if name in stores:
                    shutil.copytree(stores[name], store)
                cpu, wall = used(command, env | {"XDG_CACHE_HOME": str(store)})
                old = best.get(name, (cpu, wall))
                best[name] = (min(old[0], cpu), min(old[1], wall))
    bare = best[BARE]
    print(f"{'':40}{'processor':>12}{'ratio':>8}{'wall':>10}{'ratio':>8}")
    for name, (cpu, wall) in best.items():
        print(
            f"{name:40}{1e3 * cpu:9.0f} ms{cpu / bare[0]:8.2f}"
            f"{1e3 * wall:7.0f} ms{wall / bare[1]:8.2f}"
        )


if __name__ == "__main__":
    main()
