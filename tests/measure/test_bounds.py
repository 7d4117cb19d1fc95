"""Bounds on measuring: a drawing beyond one is refused with the limit's name, before the work."""

import math
from pathlib import Path

import pytest

from scantling import Report, lint

STAR = "".join(
    f"M{30 - 9 * math.cos(a):.3f} {20 - 9 * math.sin(a):.3f}"
    f"L{30 + 9 * math.cos(a + 0.1 * k):.3f} {20 + 9 * math.sin(a + 0.1 * k):.3f}"
    for k, a in ((k, math.pi * k / 40) for k in range(40))
)
RINGS = "".join(f"M{20 + k / 9:.3f} 20a9 9 0 1 0 18 0a9 9 0 1 0 -18 0z" for k in range(20))


def judged(folder: Path, path: str, *limits: str) -> Report:
    file = folder / "drawing.svg"
    file.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40" '
        f'fill="none" stroke="#000"><path d="{path}"/></svg>',
        encoding="utf-8",
    )
    return lint(file, limits=limits)


@pytest.mark.parametrize(
    ("path", "limit", "why"),
    [
        (STAR, "crossings", "cut lines cross or touch"),
        (RINGS, "pairs", "lines lie so close"),
    ],
)
def test_a_drawing_beyond_a_limit_is_one_line_that_says_how_to_raise_it(
    tmp_path: Path, path: str, limit: str, why: str
):
    within = judged(tmp_path, path)
    assert within.failures == ()
    report = judged(tmp_path, path, f"{limit}=100")
    assert report.exit_code == 2
    assert report.findings == ()
    (failure,) = report.failures
    assert failure.message.startswith(f"over the limit of 100 for {limit} ({why}")
    assert f"raise it with --limit {limit}=VALUE" in failure.message
    raised = judged(tmp_path, path, f"{limit}=1e9")
    assert raised.findings == within.findings


def test_the_limit_for_crossings_is_what_is_counted(tmp_path: Path):
    grid = "".join(f"M5 {8 + 3 * k}H55M{8 + 3 * k} 5V38" for k in range(10))
    assert judged(tmp_path, grid, "crossings=100").failures == ()
    (failure,) = judged(tmp_path, grid, "crossings=99").failures
    assert "cut lines cross or touch 100 times" in failure.message
