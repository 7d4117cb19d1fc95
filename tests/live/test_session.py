"""`scantling watch` as a user starts it: on the terminal, over HTTP, and in a real browser."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import threading
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
from browsing import browser

from scantling.live.session import run
from scantling.wanted import Wanted

PATIENCE = 60.0
HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40">\n'
    '<rect id="plate" x="5" y="5" width="30" height="20"/>'
)
CLEAN = f"{HEAD}</svg>\n"
OPEN = f'{HEAD}\n<path id="slit" d="M10 30H20V35" fill="none" stroke="#000"/></svg>\n'


class Session:
    """A running `scantling watch`, with what it has said so far."""

    def __init__(self, folder: Path, *args: str) -> None:
        self.said: list[str] = []
        self.news = threading.Condition()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "scantling", "watch", *args],
            cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding="utf-8",
            env={**os.environ, "NO_COLOR": "1"},
        )  # fmt: skip
        self.readers = [
            threading.Thread(target=self._read, args=(stream,))
            for stream in (self.process.stdout, self.process.stderr)
        ]
        for reader in self.readers:
            reader.start()

    def _read(self, stream) -> None:
        for line in stream:
            with self.news:
                self.said.append(line.rstrip("\n"))
                self.news.notify_all()

    def wait(self, pattern: str, times: int = 1) -> str:
        """The latest line that fits, once there are so many."""

        def found() -> list[str]:
            return [line for line in self.said if re.search(pattern, line)]

        with self.news:
            assert self.news.wait_for(lambda: len(found()) >= times, PATIENCE), self.said
            return found()[-1]

    def end(self) -> int:
        self.process.send_signal(signal.SIGINT)
        try:
            code = self.process.wait(PATIENCE)
        finally:
            self.process.kill()
        for reader in self.readers:
            reader.join(PATIENCE)
        return code


pytestmark = pytest.mark.skipif(os.name == "nt", reason="sends POSIX signals")


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = tmp_path / "Entwürfe"
    folder.mkdir()
    (folder / "mond.svg").write_text(OPEN, encoding="utf-8")
    return folder


@pytest.fixture
def session(shop: Path) -> Iterator[Session]:
    session = Session(shop, "mond.svg")
    yield session
    assert session.end() == 0
    assert "Traceback" not in "\n".join(session.said)


def test_each_save_is_judged_and_served(session: Session, shop: Path):
    session.wait(r"^mond\.svg:3:\d+: error: .*\[open-path\]")
    url = session.wait("the page is at").split()[-1]
    assert re.fullmatch(r"http://127\.0\.0\.1:\d+/", url)
    assert "open-path" in urllib.request.urlopen(url + "page").read().decode()
    (shop / "mond.svg").write_text(CLEAN, encoding="utf-8")
    session.wait("judged in .*nothing found")
    session.wait("judged in", 2)
    (shop / "mond.svg").write_text(CLEAN[:99], encoding="utf-8")  # cut off in the middle
    session.wait(r"^mond\.svg:.*error: not XML")
    (shop / "jobsheet.toml").write_text('[rules.open-path]\nlevel = "note"\n', encoding="utf-8")
    (shop / "mond.svg").write_text(OPEN, encoding="utf-8")
    session.wait(r"^mond\.svg:3:\d+: note: .*\[open-path\]")


def test_without_a_page(shop: Path):
    session = Session(shop, "mond.svg", "--no-page")
    session.wait(r"\[open-path\]")
    session.wait("judged in")
    assert session.end() == 0
    assert not any("the page is at" in line for line in session.said)


def test_it_says_that_it_waits_for_what_is_not_there_yet(shop: Path):
    (shop / "empty").mkdir()
    session = Session(shop, "late.svg", "empty", "--no-page")
    session.wait("^scantling: late.svg: no such file or folder yet; waiting until there is one$")
    session.wait("^scantling: empty: no SVG drawing in this folder yet; waiting until")
    session.wait("judged in")
    (shop / "late.svg").write_bytes((shop / "mond.svg").read_bytes())
    session.wait(r"^late\.svg:3:\d+: error: .*\[open-path\]")
    assert session.end() == 0


def test_known_findings_are_accepted(shop: Path):
    subprocess.run(
        [sys.executable, "-m", "scantling", "lint", "mond.svg", "--write-known", "known.json"],
        cwd=shop, capture_output=True, check=True,
    )  # fmt: skip
    session = Session(shop, "mond.svg", "--known", "known.json", "--no-page")
    session.wait(r"judged in .*s: .*accepted")
    assert session.end() == 0
    assert not any("error" in line for line in session.said)


def test_a_signal_ends_it_at_any_moment(monkeypatch: pytest.MonkeyPatch, shop: Path):
    """Also while the thread that it interrupts holds the lock of the event that it sets, which a
    wait takes for a moment at its beginning and end."""

    class Held(threading.Condition):
        def __enter__(self) -> bool:
            assert threading.current_thread() is not threading.main_thread(), "a deadlock"
            return super().__enter__()

    def interrupted(linter, paths, told, stop: threading.Event, known) -> None:
        stop._cond = Held()
        signal.raise_signal(signal.SIGINT)
        until = time.monotonic() + PATIENCE
        while not stop.is_set() and time.monotonic() < until:
            time.sleep(0.001)
        ended.append(stop.is_set())

    ended: list[bool] = []
    monkeypatch.setattr("scantling.live.session.watch", interrupted)
    run(Wanted(), [str(shop / "mond.svg")], port=None)
    assert ended == [True]


def test_a_port_that_is_taken(session: Session, shop: Path):
    port = session.wait("the page is at").rstrip("/").rpartition(":")[2]
    done = subprocess.run(
        [sys.executable, "-m", "scantling", "watch", "mond.svg", "--port", port],
        cwd=shop, capture_output=True, encoding="utf-8", timeout=PATIENCE,
    )  # fmt: skip
    assert done.returncode == 2
    assert re.fullmatch(rf"scantling: error: port {port} cannot be used: .+\n", done.stderr)


def test_in_a_browser_the_page_follows(session: Session, shop: Path, tmp_path: Path):
    url = session.wait("the page is at").split()[-1]
    with browser(tmp_path / "profile") as chrome:
        from selenium.webdriver.support.ui import WebDriverWait

        wait = WebDriverWait(chrome, PATIENCE, 0.05)

        def status() -> str:
            chrome.switch_to.default_content()
            return chrome.find_element("css selector", "[role=status]").text

        def shown() -> str:
            chrome.switch_to.frame(chrome.find_element("tag name", "iframe"))
            text = chrome.execute_script("return document.body ? document.body.textContent : ''")
            chrome.switch_to.default_content()
            return text

        chrome.get(url)
        assert chrome.title == "mond.svg"
        wait.until(lambda _: status().startswith("1 error"))
        wait.until(lambda _: "outline is open" in shown())
        (shop / "mond.svg").write_text(CLEAN, encoding="utf-8")
        wait.until(lambda _: status().startswith("Nothing found"))
        wait.until(lambda _: "outline is open" not in shown())
        severe = [entry for entry in chrome.get_log("browser") if entry["level"] == "SEVERE"]
        assert severe == []
