"""Files that are no SVG: what they are is said, whatever they are called."""

from __future__ import annotations

import gzip
from pathlib import Path

import pytest

from scantling.read.source import Source, Unreadable

PDF = b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n1 0 obj\n"
DXF = b"  0\r\nSECTION\r\n  2\r\nHEADER\r\n"


@pytest.mark.parametrize(
    ("data", "kind"),
    [
        (PDF, "a PDF document; export the drawing as SVG"),
        (b"%!PS-Adobe-3.0 EPSF-3.0\n", "a PostScript file; export the drawing as SVG"),
        (DXF, "a DXF drawing; export the drawing as SVG"),
        (b"999\nmade by hand\n0\nSECTION\n", "a DXF drawing; export the drawing as SVG"),
        (b"AC1032\0\0", "a DWG drawing; export the drawing as SVG"),
        (b"\x89PNG\r\n\x1a\n", "a PNG picture, made of pixels; trace it to outlines"),
        (b"\xff\xd8\xff\xe0\0\x10JFIF", "a JPEG picture, made of pixels; trace it to outlines"),
        (b"PK\x03\x04\x14\0", "a ZIP archive"),
        (gzip.compress(PDF, mtime=0), "a PDF document; export the drawing as SVG"),
    ],
)
def test_what_it_is_is_said(data: bytes, kind: str, tmp_path: Path) -> None:
    file = tmp_path / "logo.svg"
    file.write_bytes(data)
    with pytest.raises(Unreadable) as caught:
        Source.open(file)
    assert caught.value.message == f"not SVG but {kind}"
    assert caught.value.line == 0


def test_a_job_sheet_is_no_drawing(tmp_path: Path) -> None:
    file = tmp_path / "jobsheet.toml"
    file.write_text("[[stock]]\n")
    with pytest.raises(Unreadable, match=r"^not SVG but a TOML file; a job sheet is read"):
        Source.open(file)


@pytest.mark.parametrize("data", [b"", b" <svg/>", b"\xef\xbb\xbf<svg/>", b"0\n<svg/>"])
def test_nothing_is_said_of_what_is_not_known(data: bytes) -> None:
    assert Source.from_bytes(data).raw == data
