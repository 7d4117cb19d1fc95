"""Bytes to text and back, and places in the text."""

from __future__ import annotations

import gzip
import os
from pathlib import Path

import pytest
from drawings import svg
from hypothesis import given
from hypothesis import strategies as st

from scantling.read import Limits, Source, Unreadable, read_drawing

TEXT = svg("<title>Ünït → 𝔘</title><rect width='5' height='5'/>")


def declared(encoding: str, text: str = TEXT) -> str:
    return f'<?xml version="1.0" encoding="{encoding}"?>\n{text}'


@pytest.mark.parametrize(
    ("data", "encoding"),
    [
        (TEXT.encode(), "utf-8"),
        (b"\xef\xbb\xbf" + TEXT.encode(), "utf-8"),
        (b"\xff\xfe" + TEXT.encode("utf-16-le"), "utf-16-le"),
        (b"\xfe\xff" + declared("UTF-16").encode("utf-16-be"), "utf-16-be"),
        (declared("UTF-16").encode("utf-16-le"), "utf-16-le"),
        (b"\xff\xfe\0\0" + TEXT.encode("utf-32-le"), "utf-32-le"),
        (declared("utf-8").encode(), "utf-8"),
        (declared("ISO-8859-1", svg("<title>é</title>")).encode("latin-1"), "iso8859-1"),
        (declared("windows-1252", svg("<title>€</title>")).encode("cp1252"), "cp1252"),
        (declared("Shift_JIS", svg("<title>木</title>")).encode("shift_jis"), "shift_jis"),
        (gzip.compress(TEXT.encode()), "utf-8"),
    ],
)
def test_every_encoding_is_read_and_written_back(data: bytes, encoding: str) -> None:
    source = Source.from_bytes(data, "a.svg")
    assert source.encoding == encoding
    assert source.text.startswith("<")
    assert source.encoded() == data
    assert source.lossless
    read_drawing(source)
    edited = source.text.replace("title>", "desc>")
    again = Source.from_bytes(source.encoded(edited))
    assert (again.text, again.encoding, again.bom) == (edited, encoding, source.bom)


@pytest.mark.parametrize(
    ("data", "line", "column", "words"),
    [
        (b"", 0, 0, "empty file"),
        (b" \n ", 0, 0, "empty file"),
        (b"\xff\xfe", 0, 0, "empty file"),
        (b"<svg>\n \xe9</svg>", 2, 2, "not UTF-8: e9"),
        (b"\xff\xfe<\0s\0v\0\x00\xd8", 1, 4, "not UTF-16"),
        (declared("utf-7").encode(), 1, 1, "utf-7"),
        (declared("UTF-16").encode(), 1, 1, "not the file's"),
        (declared("rot13").encode(), 1, 1, "rot13"),
        (declared("no-such").encode(), 1, 1, "no-such"),
        (declared("unicode_escape").encode(), 1, 1, "unicode_escape"),
        (gzip.compress(TEXT.encode())[:-12], 0, 0, "cut short"),
        (b"\x1f\x8bxxxx", 0, 0, "compression is broken"),
    ],
)
def test_what_cannot_be_decoded_says_where(data: bytes, line: int, column: int, words: str) -> None:
    with pytest.raises(Unreadable) as caught:
        read_drawing(Source.from_bytes(data))
    assert words in caught.value.message
    assert (caught.value.line, caught.value.column) == (line, column)
    assert "\n" not in caught.value.message


def test_files_that_are_none(tmp_path: Path) -> None:
    with pytest.raises(Unreadable, match="no such file"):
        Source.open(tmp_path / "missing.svg")
    with pytest.raises(Unreadable, match="not a file"):
        Source.open(tmp_path)
    with pytest.raises(Unreadable, match="cannot be opened"):
        Source.open("a\0b.svg")
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe.svg")
        with pytest.raises(Unreadable, match="not a file"):
            Source.open(tmp_path / "pipe.svg")


def test_a_file_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "a.svg"
    path.write_bytes(TEXT.encode())
    source = Source.open(path)
    assert source.path == str(path)
    assert source.raw == TEXT.encode()


def test_size_limits() -> None:
    small = Limits(bytes=100)
    with pytest.raises(Unreadable, match=r"limit of 100 for bytes .*--limit bytes=VALUE"):
        Source.from_bytes(b" " * 101, limits=small)
    bomb = gzip.compress(b" " * 10_000_000)
    assert len(bomb) < 20_000
    with pytest.raises(Unreadable, match="once unpacked"):
        Source.from_bytes(bomb, limits=Limits(bytes=1_000_000))


def test_positions_count_every_kind_of_line_end() -> None:
    source = Source.from_text("ab\ncd\r\nef\rg𝔘h\n")
    places = {"b": (1, 2), "c": (2, 1), "e": (3, 1), "g": (4, 1), "h": (4, 3)}
    for letter, place in places.items():
        assert source.position(source.text.index(letter)) == place
    assert source.position(len(source.text)) == (5, 1)
    assert source.position(-5) == (1, 1)
    assert source.position(10**9) == (5, 1)


@given(st.text("ab\r\n𝔘", max_size=30), st.integers(0, 30))
def test_positions_as_python_counts_lines(text: str, offset: int) -> None:
    offset = min(offset, len(text))
    before = text[:offset].replace("\r\n", "\n").replace("\r", "\n")
    if text[offset - 1 : offset + 1] == "\r\n":  # inside a line end: still on its line
        before = text[: offset - 1].replace("\r\n", "\n").replace("\r", "\n") + "?"
    lines = before.split("\n")
    assert Source.from_text(text).position(offset) == (len(lines), len(lines[-1]) + 1)
