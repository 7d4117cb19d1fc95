"""Writing: at any moment a file is either the old one or the new one."""

from __future__ import annotations

import os
import signal
import stat
import subprocess
import sys
import time
from pathlib import Path

import pytest

from scantling.mend.files import NotWritten, replace_file

OLD, NEW = b"old " * 50_000, b"new " * 60_000


def target(folder: Path, mode: int = 0o640) -> Path:
    file = folder / "drawing.svg"
    file.write_bytes(OLD)
    file.chmod(mode)
    return file


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o755])
def test_the_file_is_replaced_and_keeps_its_permissions(tmp_path: Path, mode: int):
    file = target(tmp_path, mode)
    replace_file(str(file), OLD, NEW)
    assert file.read_bytes() == NEW
    assert stat.S_IMODE(file.stat().st_mode) == mode
    assert os.listdir(tmp_path) == ["drawing.svg"]


def test_a_link_stays_a_link(tmp_path: Path):
    (tmp_path / "deep").mkdir()
    file = target(tmp_path / "deep")
    link = tmp_path / "link.svg"
    link.symlink_to(file)
    replace_file(str(link), OLD, NEW)
    assert link.is_symlink()
    assert file.read_bytes() == NEW


def test_a_file_that_has_changed_meanwhile_is_left(tmp_path: Path):
    file = target(tmp_path)
    with pytest.raises(NotWritten, match="changed in the meantime"):
        replace_file(str(file), b"other", NEW)
    assert file.read_bytes() == OLD


def test_a_file_that_has_gone_is_not_made(tmp_path: Path):
    with pytest.raises(NotWritten):
        replace_file(str(tmp_path / "none.svg"), OLD, NEW)
    assert os.listdir(tmp_path) == []


@pytest.mark.parametrize("step", ["fdopen", "fsync", "chmod", "replace"])
@pytest.mark.parametrize("blow", [KeyboardInterrupt, OSError])
def test_interrupted_at_any_step_the_file_is_the_old_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, blow: type[BaseException]
):
    file = target(tmp_path)

    def struck(*_: object, **__: object) -> None:
        raise blow("struck")

    monkeypatch.setattr(os, step, struck)
    with pytest.raises((blow, NotWritten)):
        replace_file(str(file), OLD, NEW)
    monkeypatch.undo()
    assert file.read_bytes() == OLD
    assert os.listdir(tmp_path) == ["drawing.svg"]


WRITER = """
import sys, time
from scantling.mend.files import replace_file
path = sys.argv[1]
old, new = b"old " * 50_000, b"new " * 60_000
print("ready", flush=True)
while True:
    replace_file(path, old, new)
    replace_file(path, new, old)
"""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no way to kill outright here")
def test_killed_at_any_moment_the_file_is_old_or_new(tmp_path: Path):
    file = target(tmp_path)
    seen = set()
    for k in range(12):
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(file)], stdout=subprocess.PIPE, text=True
        )
        assert writer.stdout is not None
        assert writer.stdout.readline() == "ready\n"
        time.sleep(0.001 + 0.0007 * k)
        writer.send_signal(signal.SIGKILL)
        writer.wait()
        writer.stdout.close()
        seen.add(file.read_bytes())
        file.write_bytes(OLD)
    assert seen <= {OLD, NEW}
