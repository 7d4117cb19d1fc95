"""The text of a drawing: bytes to characters, places in it, and back to bytes."""

from __future__ import annotations

import codecs
import os
import re
import stat
from bisect import bisect_right
from functools import cached_property

from scantling.read.limits import Limits


class Unreadable(Exception):
    """A drawing that cannot be read. `line` and `column` count from 1; 0: the whole file."""

    def __init__(self, message: str, line: int = 0, column: int = 0) -> None:
        super().__init__(message)
        self.message = message
        self.line = line
        self.column = column


class Source:
    """One drawing's text, with all that is needed to write it back as it was.

    path        as given
    raw         the file's bytes
    text        its characters, without byte order mark; line ends as they are
    encoding    Python's name of the codec
    bom         the byte order mark's bytes, or b''
    compressed  True for gzip (.svgz)
    values, spelled   places found before, for `locate`
    """

    __slots__ = (
        "__dict__", "bom", "compressed", "encoding", "path", "raw", "spelled", "text", "values",
    )  # fmt: skip

    def __init__(
        self, path: str, raw: bytes, text: str, encoding: str, bom: bytes, compressed: bool
    ) -> None:
        self.path = path
        self.raw = raw
        self.text = text
        self.encoding = encoding
        self.bom = bom
        self.compressed = compressed
        self.values: dict[tuple[int, str], tuple[int, int] | None] = {}
        self.spelled: dict[tuple[int, int], tuple[list[int], list[int]]] = {}

    @classmethod
    def open(cls, path: str | os.PathLike[str], limits: Limits | None = None) -> Source:
        """Read a file. Raises Unreadable: missing, not a file, too big, wrong encoding."""
        limits = limits or Limits()
        name = os.fspath(path)
        try:
            about = os.stat(name)
            if not stat.S_ISREG(about.st_mode):
                raise Unreadable("not a file")
            if about.st_size > limits.bytes:
                raise Unreadable(limits.exceeded("bytes", f"the file has {about.st_size}"))
            with open(name, "rb") as file:
                raw = file.read(limits.bytes + 1)
        except (OSError, ValueError) as error:
            reason = getattr(error, "strerror", None) or str(error)
            raise Unreadable(f"cannot be opened: {reason[:1].lower()}{reason[1:]}") from None
        return cls.from_bytes(raw, name, limits)

    @classmethod
    def from_bytes(cls, raw: bytes, path: str = "<bytes>", limits: Limits | None = None) -> Source:
        """Decode by byte order mark, else by the XML declaration, else as UTF-8."""
        limits = limits or Limits()
        if len(raw) > limits.bytes:
            raise Unreadable(limits.exceeded("bytes", f"the file has {len(raw)}"))
        compressed = raw[:2] == b"\x1f\x8b"
        data = _gunzip(raw, limits) if compressed else raw
        if data[:1] != b"<":
            _refuse_strangers(data, path)
        encoding, bom = _sniff(data)
        body = data[len(bom) :]
        try:
            text = body.decode(encoding)
        except UnicodeDecodeError as error:
            before = body[: error.start].decode(encoding, "replace")
            starts = _line_starts(before)
            wrong = " ".join(f"{byte:02x}" for byte in body[error.start : error.end][:4])
            raise Unreadable(
                f"not {encoding.upper()}: {wrong or 'the end'} cannot be decoded",
                len(starts),
                len(before) - starts[-1] + 1,
            ) from None
        except Exception:  # codecs of other kinds fail in other ways
            raise Unreadable(f"cannot be decoded as {encoding}") from None
        return cls(path, raw, text, encoding, bom, compressed)

    @classmethod
    def from_text(cls, text: str, path: str = "<text>") -> Source:
        """A drawing that is text already; an encoding declared in it is not followed."""
        return cls(path, text.encode("utf-8", "surrogatepass"), text, "utf-8", b"", False)

    def encoded(self, text: str | None = None) -> bytes:
        """The file's bytes with this text in place of its own: same encoding, byte order mark
        and compression. Raises UnicodeEncodeError for a character the encoding does not have."""
        if text is None or text == self.text:
            return self.raw
        data = self.bom + text.encode(self.encoding)
        if not self.compressed:
            return data
        import zlib

        packer = zlib.compressobj(9, zlib.DEFLATED, 31)
        return packer.compress(data) + packer.flush()

    @cached_property
    def lossless(self) -> bool:
        """True when decoding and encoding again gives the same bytes, so that an edit changes
        nothing but what it edits. False for a few codecs with several spellings of one text."""
        try:
            data = self.bom + self.text.encode(self.encoding)
        except UnicodeError:
            return False
        return (_gunzip(self.raw, None) if self.compressed else self.raw) == data

    @cached_property
    def _starts(self) -> list[int]:
        return _line_starts(self.text)

    def position(self, offset: int) -> tuple[int, int]:
        """Line and column, both from 1, of a character offset; columns count code points. Lines
        end in LF, CRLF or CR."""
        offset = min(max(offset, 0), len(self.text))
        line = bisect_right(self._starts, offset)
        return line, offset - self._starts[line - 1] + 1


def _refuse_strangers(data: bytes, path: str) -> None:
    from scantling.read.strangers import stranger

    what = stranger(data, path)
    if what:
        raise Unreadable(f"not SVG but {what}")


def _line_starts(text: str) -> list[int]:
    return [0, *(end.end() for end in re.finditer(r"\r\n|\n|\r", text))]


def _gunzip(raw: bytes, limits: Limits | None) -> bytes:
    import zlib

    most = limits.bytes if limits else 0
    unpacker = zlib.decompressobj(31)
    try:
        data = unpacker.decompress(raw, most + 1 if most else 0)
    except zlib.error:
        raise Unreadable("compressed, but the compression is broken") from None
    if limits and len(data) > most:
        raise Unreadable(limits.exceeded("bytes", "once unpacked"))
    if not unpacker.eof:
        raise Unreadable("compressed, but cut short")
    return data


_BOMS = (  # XML 1.0, appendix F; the longer marks first
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_BARE = (  # the same without a mark: '<' and what follows it
    (b"<\0\0\0", "utf-32-le"),
    (b"\0\0\0<", "utf-32-be"),
    (b"<\0", "utf-16-le"),
    (b"\0<", "utf-16-be"),
)
_DECLARED = rb"""\s*<\?xml[^>]{0,200}?\sencoding\s*=\s*["']([A-Za-z][A-Za-z0-9._-]{0,40})["']"""


def _sniff(data: bytes) -> tuple[str, bytes]:
    for mark, encoding in _BOMS:
        if data.startswith(mark):
            return encoding, mark
    for start, encoding in _BARE:
        if data.startswith(start):
            return encoding, b""
    if not data.lstrip().startswith(b"<?xml"):
        return "utf-8", b""
    declared = re.match(_DECLARED, data)
    if not declared:
        return "utf-8", b""
    name = declared[1].decode("ascii")
    try:
        codec = codecs.lookup(name)
        if not getattr(codec, "_is_text_encoding", True):
            raise LookupError
        same = data[:64].split(b"?")[0].decode(codec.name) == "<" * (data[:1] == b"<")
        plain = b"<?xml \\n+AGE-".decode(codec.name) == "<?xml \\n+AGE-"
    except (LookupError, UnicodeError, ValueError):
        raise Unreadable(f"the encoding {name} is not known, or not the file's", 1, 1) from None
    if not (same or data[:1] != b"<") or not plain:  # escapes, UTF-7, sixteen bits a character
        raise Unreadable(f"the XML declaration says {name}, but the file is not in that", 1, 1)
    return codec.name, b""
