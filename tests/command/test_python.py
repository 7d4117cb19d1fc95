"""The Python interface: what it takes, and how it refuses the rest."""

from pathlib import Path

import pytest

from scantling import Level, lint

THIN = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'
    '<path d="M5 5H25V19.6H45V5H55V35H45V20.4H25V35H5Z"/></svg>'
)


@pytest.mark.parametrize("level", ["error", Level.ERROR])
def test_a_failing_level_by_its_word_or_as_a_value(tmp_path: Path, level: Level | str):
    drawing = tmp_path / "thin.svg"
    drawing.write_text(THIN, encoding="utf-8")
    report = lint(drawing, stock="acrylic-3", fail_at=level)
    assert report.fail_at is Level.ERROR
    assert report.exit_code == 1


@pytest.mark.parametrize("level", ["off", "ERROR", "fatal", ""])
def test_a_level_that_is_none(tmp_path: Path, level: str):
    with pytest.raises(ValueError, match=r"no level is called .*: note, warning, error"):
        lint(tmp_path, fail_at=level)
