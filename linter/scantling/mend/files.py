"""Writing a mended drawing: at any moment the file is either the old one or the new one."""

from __future__ import annotations

import contextlib
import os
import stat
import tempfile


class NotWritten(Exception):
    """A file that could not be written, and why in one clause; it is as it was."""


def replace_file(path: str, old: bytes, new: bytes) -> None:
    """Put new bytes in place of a file that holds the old ones, keeping its permissions. A link
    stays one: the file that it leads to is written. Raises NotWritten.

    The bytes go to a file beside it, down to the disk, and that is moved into its place.
    """
    target = os.path.realpath(path)
    try:
        about = os.stat(target)
        with open(target, "rb") as file:
            if file.read() != old:
                raise NotWritten("it has been changed in the meantime")
        if not os.access(target, os.W_OK):
            raise NotWritten("it is write-protected")
        _replace(target, new, about)
    except OSError as error:
        raise NotWritten(str(error.strerror or error)) from None


def _replace(target: str, data: bytes, about: os.stat_result) -> None:
    folder, name = os.path.split(target)
    handle, beside = tempfile.mkstemp(dir=folder, prefix=f".{name[:40]}.", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            _like(file.fileno(), beside, about)
            file.flush()
            os.fsync(file.fileno())
        os.replace(beside, target)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(beside)
        raise
    _settle(folder)


def _like(handle: int, beside: str, about: os.stat_result) -> None:
    """The permissions of the file that it takes the place of, and its owner where that is
    another and may be given."""
    made = os.stat(beside)
    if hasattr(os, "chown") and (made.st_uid, made.st_gid) != (about.st_uid, about.st_gid):
        with contextlib.suppress(OSError):
            os.chown(beside, about.st_uid, about.st_gid)
    os.chmod(beside, stat.S_IMODE(about.st_mode))


def _settle(folder: str) -> None:
    """Bring the folder's new entry down to the disk, where a system can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
