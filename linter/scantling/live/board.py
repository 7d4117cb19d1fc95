"""A page that is shown in a browser on this machine and changes when there is a newer one.

It is served on the loopback address alone, to requests that name it so: no other machine, and no
site that points a name of its own at this address, can read it. The page itself stays untouched
in a frame; the frame's small script is told of newer pages as they come (HTML standard, 9.2,
"Server-sent events").
"""

from __future__ import annotations

import base64
import contextlib
import hashlib
import json
import threading
from html import escape
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from importlib.resources import files

ADDRESS = "127.0.0.1"
REST = 15.0
"""Seconds after which a silent connection is tried, so that one that is gone is let go."""


class Board:
    """Shows one page at a time at `url`. Port 0: any that is free. Raises OSError where the port
    cannot be had."""

    def __init__(self, title: str, port: int = 0) -> None:
        self.title = title
        self.page = b""
        self.words = ""
        self.number = 0
        self.open = True
        self.changed = threading.Condition()
        self._server = _Server((ADDRESS, port), _Handler)
        self._server.board = self
        self.port = int(self._server.server_address[1])
        self.url = f"http://{ADDRESS}:{self.port}/"
        self.hosts = {f"{name}:{self.port}" for name in (ADDRESS, "localhost")}
        self._thread = threading.Thread(
            target=self._server.serve_forever, args=(0.05,), daemon=True
        )
        self._thread.start()

    def show(self, page: bytes, words: str) -> None:
        """Show a page from now on; `words` say in short what it shows."""
        with self.changed:
            self.page, self.words = page, words
            self.number += 1
            self.changed.notify_all()

    def close(self) -> None:
        with self.changed:
            self.open = False
            self.changed.notify_all()
        self._server.shutdown()
        self._server.server_close()
        self._thread.join()


class _Server(ThreadingHTTPServer):
    daemon_threads = True
    block_on_close = False
    board: Board

    def handle_error(self, request: object, client_address: object) -> None:
        """A browser that goes away in the middle is not an error."""


class _Handler(BaseHTTPRequestHandler):
    server: _Server
    protocol_version = "HTTP/1.1"

    def do_GET(self) -> None:
        board = self.server.board
        if self.headers.get("Host") not in board.hosts:
            self.send_error(421)
        elif self.path == "/":
            self._send(*_frame(board))
        elif self.path == "/page":
            self._send(board.page, "frame-ancestors 'self'")
        elif self.path == "/changes":
            with contextlib.suppress(OSError):
                self._changes(board)
        else:
            self.send_error(404)

    def _send(self, body: bytes, policy: str) -> None:
        self.send_response(200)
        self.send_header("Content-Type", "text/html; charset=utf-8")
        self.send_header("Content-Length", str(len(body)))
        self.send_header("Content-Security-Policy", policy)
        self._guard()
        self.end_headers()
        self.wfile.write(body)

    def _changes(self, board: Board) -> None:
        """Tell of each newer page until the browser leaves."""
        self.close_connection = True
        self.send_response(200)
        self.send_header("Content-Type", "text/event-stream")
        self._guard()
        self.end_headers()
        told = 0

        def news() -> bool:
            return board.number != told or not board.open

        while True:
            with board.changed:
                board.changed.wait_for(news, REST)
                if not board.open:
                    return
                number, words = board.number, board.words
            said = json.dumps({"number": number, "words": words})
            self.wfile.write(f"data: {said}\n\n".encode() if number != told else b":\n\n")
            self.wfile.flush()
            told = number

    def _guard(self) -> None:
        self.send_header("Cache-Control", "no-store")
        self.send_header("X-Content-Type-Options", "nosniff")
        self.send_header("Referrer-Policy", "no-referrer")
        self.send_header("Cross-Origin-Resource-Policy", "same-origin")

    def log_message(self, format: str, *args: object) -> None:
        """Nothing is said of requests."""


def _frame(board: Board) -> tuple[bytes, str]:
    """The document around the page, and the policy that holds it to its own script."""
    here = files("scantling.live")
    script = here.joinpath("board.js").read_text(encoding="utf-8")
    style = here.joinpath("board.css").read_text(encoding="utf-8")
    document = (
        here.joinpath("board.html")
        .read_text(encoding="utf-8")
        .replace("{{style}}", style)
        .replace("{{script}}", script)
        .replace("{{number}}", str(board.number))
        .replace("{{title}}", escape(board.title))
    )
    policy = (
        "default-src 'none'; frame-src 'self'; connect-src 'self'; img-src data:; "
        "base-uri 'none'; frame-ancestors 'none'; "
        f"script-src '{_hash(script)}'; style-src '{_hash(style)}'"
    )
    return document.encode(), policy


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode()).digest()
    return f"sha256-{base64.b64encode(digest).decode()}"
