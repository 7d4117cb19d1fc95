"""Noticing changes, and the page that follows them."""

from __future__ import annotations

import http.client
import json
import os
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from scantling.live.board import ADDRESS, Board
from scantling.live.changes import changes, marks

PATIENCE = 20.0
"""Seconds to wait for what must happen; a slow machine is no failure."""


class Watcher:
    """Counts changes in a thread of its own."""

    def __init__(self, files: list[Path]) -> None:
        self.files = files
        self.seen = 0
        self.stop = threading.Event()
        self.news = threading.Condition()
        self.look = changes(lambda: map(str, self.files), self.stop, every=0.02)
        self.thread = threading.Thread(target=self._run)
        self.thread.start()

    def _run(self) -> None:
        for _ in self.look:
            with self.news:
                self.seen += 1
                self.news.notify_all()

    def wait(self, number: int) -> bool:
        with self.news:
            return self.news.wait_for(lambda: self.seen >= number, PATIENCE)


@pytest.fixture
def watcher(tmp_path: Path) -> Iterator[Watcher]:
    one = tmp_path / "clock.svg"
    one.write_text("<svg/>", encoding="utf-8")
    watcher = Watcher([one, tmp_path / "jobsheet.toml"])
    yield watcher
    watcher.stop.set()
    watcher.thread.join(PATIENCE)
    assert not watcher.thread.is_alive()


def test_a_save_is_noticed(watcher: Watcher):
    watcher.files[0].write_text("<svg><rect/></svg>", encoding="utf-8")
    assert watcher.wait(1)


def test_a_save_by_renaming_is_noticed(watcher: Watcher, tmp_path: Path):
    other = tmp_path / "saved.tmp"
    other.write_text("<svg/>", encoding="utf-8")
    about = watcher.files[0].stat()
    os.utime(other, ns=(about.st_atime_ns, about.st_mtime_ns))  # same time, same size
    os.replace(other, watcher.files[0])
    assert watcher.wait(1)


def test_files_that_come_and_go_are_noticed(watcher: Watcher):
    watcher.files[1].write_text("", encoding="utf-8")
    assert watcher.wait(1)
    watcher.files[1].unlink()
    assert watcher.wait(2)


def test_nothing_is_noticed_where_nothing_changed(watcher: Watcher):
    time.sleep(0.3)
    assert watcher.seen == 0


def test_a_change_before_the_first_look_is_noticed(tmp_path: Path):
    file = tmp_path / "clock.svg"
    file.write_text("<svg/>", encoding="utf-8")
    stop = threading.Event()
    look = changes(lambda: [str(file)], stop, every=0.02)
    file.write_text("<svg></svg>", encoding="utf-8")  # while the caller is still judging
    assert next(look, stop) is None
    stop.set()
    assert next(look, stop) is stop


def test_a_name_that_cannot_be_is_a_file_that_is_not_there():
    assert marks(["no\0name", "nowhere.svg"]) == {"no\0name": None, "nowhere.svg": None}


@pytest.fixture
def board() -> Iterator[Board]:
    board = Board("moon <clock>.svg")
    board.show(b"<!doctype html><title>first</title>", "Nothing found")
    yield board
    board.close()


def get(board: Board, path: str, **headers: str) -> http.client.HTTPResponse:
    connection = http.client.HTTPConnection(ADDRESS, board.port, timeout=PATIENCE)
    connection.request("GET", path, headers=headers)
    return connection.getresponse()


def test_only_this_machine_is_served(board: Board):
    assert board.url == f"http://127.0.0.1:{board.port}/"
    assert board._server.socket.getsockname()[0] == "127.0.0.1"
    assert get(board, "/page", Host="cuckoo.invalid").status == 421
    assert get(board, "/page", Host=f"cuckoo.invalid:{board.port}").status == 421
    assert get(board, "/page", Host=f"localhost:{board.port}").status == 200


def test_the_page_is_served_as_it_is(board: Board):
    answer = get(board, "/page")
    assert answer.read() == b"<!doctype html><title>first</title>"
    assert answer.headers["Cache-Control"] == "no-store"
    assert get(board, "/../etc/passwd").status == 404


def test_the_frame_may_run_its_own_script_and_nothing_else(board: Board):
    answer = get(board, "/")
    text = answer.read().decode()
    policy = answer.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert policy.count("sha256-") == 2
    assert "moon &lt;clock&gt;.svg" in text
    assert "<clock>" not in text


def test_browsers_are_told_of_newer_pages(board: Board):
    answer = get(board, "/changes")
    assert answer.headers["Content-Type"] == "text/event-stream"
    assert event(answer) == {"number": 1, "words": "Nothing found"}
    board.show(b"second", "1 error")
    assert event(answer) == {"number": 2, "words": "1 error"}
    assert get(board, "/page").read() == b"second"
    board.close()
    assert answer.read() == b""


def event(answer: http.client.HTTPResponse) -> dict[str, object]:
    line = answer.readline()
    assert answer.readline() == b"\n"
    return json.loads(line.removeprefix(b"data: "))


def test_a_port_that_is_taken_is_said(board: Board):
    with pytest.raises(OSError):
        Board("other", board.port)
