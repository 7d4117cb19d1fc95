"""Where a thin place is told does not hang on what else is drawn, or on how far was measured."""

from __future__ import annotations

from pathlib import Path

import pytest

from scantling.judge import page
from scantling.linter import Linter, Wanted

# A round pocket whose throat is between two corners, where one line ends and the next begins.
POCKET = '<path d="M5 5H55V40H{}L25.07 30A8 8 0 1 0 24.93 30L{} 40H5Z"/>'
MOUTHS = [("26", "24"), ("30", "20"), ("25.5", "24.5"), ("40", "10"), ("26", "10"), ("40", "24")]


@pytest.mark.parametrize("stock", ["plywood-3", "plywood-6", "cork-2"])
def test_a_gap_between_corners_is_told_on_the_same_line(stock: str, tmp_path: Path):
    told = set()
    for out, back in MOUTHS:
        file = tmp_path / "drawing.svg"
        file.write_text(page(POCKET.format(out, back), 60), encoding="utf-8")
        report = Linter(Wanted(stock=stock)).file(str(file))
        (gap,) = [f for f in report.findings if f.rule == "narrow-gap"]
        assert gap.at == pytest.approx((25.0, 30.0), abs=1e-6)
        text = file.read_text(encoding="utf-8")
        told.add(text[gap.place.offset : gap.place.end_offset])
    assert told == {"L25.07 30"}
