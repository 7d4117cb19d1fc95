"""How truly drawings are read: what was read against what a renderer draws.

    python tests/benchmarks/reading_fidelity.py                       the suite's files, by resvg
                                                                      and headless Chromium
    python tests/benchmarks/reading_fidelity.py FOLDER [MOST] [SEED]  a sample of a folder, by resvg

Prints every file whose shapes agree to less than 0.995 (intersection over union), or whose
colours differ on more than 2 % of the area, with what the reader has remarked about it: paint
that has no one colour (gradients, patterns), text and bitmaps differ by nature, and are said.

Two kinds of difference are the renderer's, with nothing read differently, and leave no remark:
mitres at lines of less than about 1/4096 unit (closing lines left over from rounding), which it
takes or leaves by a threshold of its own, and mitres between tangents that it approximates. In
3,542 files of public icons, emoji and flags there were two.
"""

from __future__ import annotations

import random
import sys
from pathlib import Path

TESTS = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(TESTS / "read"))

import redraw  # noqa: E402

from scantling.read import Source, Unreadable, read_drawing  # noqa: E402


def of_folder(folder: str, most: int, seed: int) -> None:
    paths = sorted(Path(folder).rglob("*.svg"))
    chosen = random.Random(seed).sample(paths, min(most, len(paths)))
    shapes = colours = unread = unexplained = 0
    for path in chosen:
        try:
            source = Source.open(path)
            drawing = read_drawing(source)
        except Unreadable as error:
            unread += 1
            print(f"  {path.name}: unreadable: {error.message}")
            continue
        found = redraw.compare(source.text)
        if found.shape >= 0.995 and found.colour >= 0.98:
            continue
        shapes += found.shape < 0.995
        colours += found.colour < 0.98
        said = sorted({f"{r.kind} {r.word[:20]}" for r in drawing.remarks})
        unexplained += not said
        print(
            f"  {path.name}: shape {found.shape:.4f}, colour {found.colour:.4f}; "
            f"said: {', '.join(said) or 'nothing'}"
        )
    print(
        f"{len(chosen)} files of {folder}: {shapes} below 0.995 in shape, {colours} below 0.98 in "
        f"colour, {unread} unreadable; {unexplained} of these unexplained by a remark"
    )


def of_suite() -> None:
    files = sorted((TESTS / "read" / "fidelity").iterdir())
    data = []
    for path in files:
        source = Source.open(path)
        again = redraw.plain(read_drawing(source)).encode()
        data += [source.text.encode() if source.compressed else source.raw, again]
        found = redraw.compare(source.text)
        if min(found) < 0.995:
            print(f"  resvg: {path.name}: shape {found.shape:.4f}, colour {found.colour:.4f}")
    if redraw.browser():
        pictures = redraw.browser_pictures(data)
        for path, one, other in zip(files, pictures[::2], pictures[1::2], strict=True):
            found = redraw.likeness(one, other)
            if min(found) < 0.995:
                print(
                    f"  chromium: {path.name}: shape {found.shape:.4f}, colour {found.colour:.4f}"
                )
    print(f"{len(files)} files; the differences are explained in tests/read/test_fidelity.py")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        most, seed = (int(word) for word in [*sys.argv[2:4], *("500", "1")[len(sys.argv[2:4]) :]])
        of_folder(sys.argv[1], most, seed)
    else:
        of_suite()
