"""The forms a report can take, by name, and where each is written.

A form is a module with `render(report, manner)` that returns text or bytes; it is imported when
it is asked for. Files are written whole or not at all.
"""

from __future__ import annotations

import contextlib
import os
import stat
import sys
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from importlib import import_module
from typing import IO, Any

import click

from scantling.near import get_close_matches
from scantling.records import dataclass
from scantling.report.model import Manner, Report

TEXT = "text"


@dataclass(frozen=True, slots=True)
class Form:
    """One form: the module that makes it, what it is, whether it draws (needs scenes), and
    whether it shows repairs (`Finding.fixes`)."""

    module: str
    title: str
    draws: bool = False
    mends: bool = False


FORMS: dict[str, Form] = {
    TEXT: Form("text", "one line per finding, and a summary"),
    "sarif": Form("sarif", "SARIF 2.1.0", mends=True),
    "json": Form("as_json", "everything, as JSON"),
    "csv": Form("as_csv", "one row per finding, for spreadsheets"),
    "junit": Form("junit", "JUnit XML, one suite per drawing and one case per rule"),
    "annotations": Form("annotations", "workflow commands that mark the lines of a change"),
    "page": Form("page", "one HTML file: the drawing with each finding marked", draws=True),
    "picture": Form("picture", "the drawing with its findings, as .svg or .png", draws=True),
}


class FormError(click.UsageError):
    """A form that does not exist, or a place it cannot be written to; one clear line."""


@dataclass(frozen=True, slots=True)
class Delivery:
    """A form, and where it goes; `file` None: standard output."""

    form: str
    file: str | None = None


def parse_form(text: str, known: Mapping[str, Any] = FORMS) -> Delivery:
    """Read `FORM` or `FORM=FILE`; `-` as FILE is standard output. `known` are the command's forms
    by name. Raises FormError."""
    name, equals, file = text.partition("=")
    if name not in known:
        near = get_close_matches(name.casefold(), known, 1, 0.5)
        hint = f"; did you mean {near[0]!r}?" if near else "."
        raise FormError(f"no report form is called {name!r}{hint} There are {', '.join(known)}")
    if equals and not file:
        raise FormError(f"--report {text}: a file name is missing after '='")
    return Delivery(name, None if file in ("", "-") else file)


def parse_forms(texts: Iterable[str], known: Mapping[str, Any] = FORMS) -> tuple[Delivery, ...]:
    """Read all `--report` options of a command; none: text. Raises FormError, also where two
    forms would go to the same place."""
    wanted = tuple(parse_form(text, known) for text in texts) or (Delivery(TEXT),)
    taken: dict[str | None, Delivery] = {}
    for one in wanted:
        place = os.path.abspath(one.file) if one.file else None
        if place in taken:
            where = one.file or "standard output"
            raise FormError(
                f"{taken[place].form} and {one.form} reports would both go to {where}; "
                f"name a file: --report {one.form}=FILE"
            )
        taken[place] = one
    return wanted


def draws(wanted: Iterable[Delivery]) -> bool:
    """Whether any of the forms needs the scenes of the drawings."""
    return any(FORMS[one.form].draws for one in wanted)


def mends(wanted: Iterable[Delivery]) -> bool:
    """Whether any of the forms shows repairs."""
    return any(FORMS[one.form].mends for one in wanted)


def deliver(report: Report, wanted: Sequence[Delivery], manner: Manner | None = None) -> None:
    """Write each form to its place. Raises FormError where that cannot be done; the forms before
    it are written."""
    manner = manner or Manner()
    for one in wanted:
        if one.file is None and one.form == TEXT and is_terminal(sys.stdout):
            from scantling.report.text import show

            show(report, manner, sys.stdout)
        else:
            send(one, [rendered(one, report, manner)])


def send(one: Delivery, content: Iterable[bytes]) -> None:
    """Write a form, piece by piece, to its place. Raises FormError."""
    if one.file is not None:
        write(one.file, content)
    else:
        _to_stdout(content)


def say(text: str) -> None:
    """Write text to standard output: to a terminal as it can show it, to everything else as
    UTF-8."""
    if is_terminal(sys.stdout):
        sys.stdout.write(text)
    else:
        _to_stdout([text.encode("utf-8", "backslashreplace")])


def tell(note: str) -> None:
    """Say in a line on standard error what is in no report, since it is about the run itself."""
    click.echo(f"scantling: note: {note}", err=True)


def rendered(one: Delivery, report: Report, manner: Manner) -> bytes:
    """A form as bytes; text is UTF-8."""
    form = FORMS[one.form]
    made = import_module(f"scantling.report.{form.module}").render(
        report, replace(manner, target=one.file or "")
    )
    return made if isinstance(made, bytes) else made.encode("utf-8", "backslashreplace")


def write(file: str, content: bytes | Iterable[bytes]) -> None:
    """Write a file, given as one piece or many, whole or not at all: beside its place first,
    then moved there. What is not a regular file (a pipe, a device) is written to directly.
    Raises FormError."""
    pieces = [content] if isinstance(content, bytes) else content
    try:
        mode = _mode(file)
        if mode is None:
            with open(file, "wb") as stream:
                stream.writelines(pieces)
        else:
            _replace(os.path.realpath(file), pieces, mode)
    except OSError as error:
        raise FormError(f"cannot write {file}: {error.strerror or error}") from None


def _mode(target: str) -> int | None:
    """The permissions a written file must have; None where it is not a regular file."""
    try:
        found = os.stat(target)
    except FileNotFoundError:
        mask = os.umask(0)
        os.umask(mask)
        return 0o666 & ~mask
    return stat.S_IMODE(found.st_mode) if stat.S_ISREG(found.st_mode) else None


def _replace(target: str, pieces: Iterable[bytes], mode: int) -> None:
    from tempfile import mkstemp

    folder, name = os.path.split(target)
    handle, beside = mkstemp(dir=folder, prefix=f".{name[:40]}.")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.writelines(pieces)
        os.chmod(beside, mode)
        os.replace(beside, target)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(beside)
        raise


def is_terminal(stream: IO[str]) -> bool:
    """Whether a person is looking who can be shown colours and progress."""
    return stream.isatty() and os.environ.get("TERM") != "dumb"


def _to_stdout(pieces: Iterable[bytes]) -> None:
    """Bytes as they are, so that results are the same whatever the locale."""
    stream = getattr(sys.stdout, "buffer", None)
    if stream is None:  # a stand-in without bytes below it
        sys.stdout.writelines(piece.decode("utf-8", "replace") for piece in pieces)
    else:
        sys.stdout.flush()
        stream.writelines(pieces)
    sys.stdout.flush()
