"""A fault of Scantling's own costs one file a clear line, never the run."""

import pytest

import scantling.measure.pieces.pieces
from scantling.linter import Linter, Wanted

DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40">'
    '<rect x="5" y="5" width="30" height="30"/></svg>'
)


def test_a_fault_in_measuring_is_told_and_contained(monkeypatch: pytest.MonkeyPatch):
    def broken(**_: object) -> None:
        raise ZeroDivisionError("no way through")

    monkeypatch.setattr(scantling.measure.pieces.pieces, "pieces", lambda lines: broken())
    report = Linter(Wanted(stock="acrylic-3")).text(DRAWING, "<text>")
    assert report.failure is not None
    assert "ZeroDivisionError: no way through" in report.failure.message
