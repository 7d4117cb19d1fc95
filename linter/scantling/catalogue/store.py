"""What is kept between runs: reports by the content they were made from, and past audits.

One SQLite file. Reports are kept once each, however many keys and audits speak of them. Several
runs may use the store at the same time; what one has written the others see. The store may be
lost at any time without harm but that of measuring again: a file that is no sound database is
put aside and rebuilt, and where none can be made a private temporary one serves for the run.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
import time
import zlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import field
from typing import Any, ParamSpec, TypeVar

from scantling.digests import blake2b
from scantling.records import NamedTuple, dataclass

FILE_NAME = "scantling.sqlite3"
FORM = 2
"""Counts up when the tables change; a store of another form is rebuilt."""
MOST = 1 << 30
"""Bytes that the store may take (common practice, no source)."""
KEEP_AUDITS = 40
"""Past audits kept of each scope."""
PATIENCE = 30.0
"""Seconds to wait for another run that is writing."""
AT_ONCE = 64
"""Statements written in one transaction: few enough that little is lost, enough to be quick."""
HOUR = 3600

P = ParamSpec("P")
T = TypeVar("T")

_TABLES = """
CREATE TABLE IF NOT EXISTS bodies (
    digest BLOB PRIMARY KEY, row BLOB NOT NULL, body BLOB NOT NULL
) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS keys (
    key BLOB PRIMARY KEY, digest BLOB NOT NULL, used INTEGER NOT NULL
) WITHOUT ROWID;
CREATE INDEX IF NOT EXISTS keys_used ON keys (used);
CREATE TABLE IF NOT EXISTS audits (
    id INTEGER PRIMARY KEY AUTOINCREMENT, scope TEXT NOT NULL, began REAL NOT NULL,
    done INTEGER NOT NULL DEFAULT 0
);
CREATE INDEX IF NOT EXISTS audits_scope ON audits (scope, began);
CREATE TABLE IF NOT EXISTS entries (
    audit INTEGER NOT NULL,
    file TEXT NOT NULL, trial TEXT NOT NULL, digest BLOB NOT NULL,
    PRIMARY KEY (audit, file, trial)
) WITHOUT ROWID;
CREATE INDEX IF NOT EXISTS entries_digest ON entries (digest);
"""


class Kept(NamedTuple):
    """One report as it is kept: its short row and its whole, both JSON."""

    digest: bytes
    row: bytes


class Past(NamedTuple):
    """A past audit."""

    id: int
    began: float
    """seconds since 1970"""


def digest_of(row: bytes, body: bytes) -> bytes:
    """What a kept result is checked by when it is found: 20 bytes of BLAKE2b."""
    return blake2b(b"%d\0" % len(row) + row + body, digest_size=20).digest()


@dataclass(slots=True)
class Store:
    """An open store. Use `Store.open`, and close it (or use it in a `with`)."""

    path: str | None
    """None: private and temporary"""
    most: int = MOST
    notes: list[str] = field(default_factory=list)
    """What went wrong with the store, each in one line"""
    _base: sqlite3.Connection = field(init=False)
    _waiting: list[tuple[str, tuple[Any, ...]]] = field(default_factory=list)
    """Statements that are not carried out yet: nobody else has to wait while a drawing is
    measured"""
    _since: float = 0.0

    @classmethod
    def open(cls, folder: str | os.PathLike[str] | None, most: int = MOST) -> Store:
        """The store in a folder, which is made if need be; None: a temporary one. Never fails
        for want of a place: `notes` says what was wrong, and the store is a temporary one."""
        store = cls(os.path.join(folder, FILE_NAME) if folder else None, most)
        store._open()
        return store

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # -- reports ----------------------------------------------------------------------------

    def find(self, keys: Sequence[bytes]) -> list[Kept] | None:
        """What is kept under these keys, all or none."""
        return self._safely(self._find, keys)

    def _find(self, keys: Sequence[bytes]) -> list[Kept] | None:
        found, old = [], []
        for key in keys:
            row = self._base.execute(
                "SELECT keys.digest, row, used, key, bodies.digest "
                "FROM keys JOIN bodies ON keys.digest = bodies.digest WHERE key = ?",
                (key,),
            ).fetchone()
            if row is None:
                return None
            digest, sealed, used, *asked = row
            _check(asked == [key, digest])
            found.append(Kept(digest, _opened(sealed)))
            old.append((key, used))
        now = int(time.time())
        for key, used in old:
            if used < now - HOUR:  # so that a second run within the hour writes nothing
                self._later("UPDATE keys SET used = ? WHERE key = ?", now, key)
        return found

    def keep(self, key: bytes | None, row: bytes, body: bytes) -> Kept:
        """Keep a report; without a key it can be found by its digest alone."""
        kept = Kept(digest_of(row, body), row)
        packed = zlib.compress(body, 1)
        self._later(
            "INSERT OR IGNORE INTO bodies VALUES (?, ?, ?)", kept.digest, _sealed(row), packed
        )
        if key is not None:
            now = int(time.time())
            self._later("INSERT OR REPLACE INTO keys VALUES (?, ?, ?)", key, kept.digest, now)
        return kept

    def body(self, digest: bytes) -> bytes | None:
        """A whole report by its digest; None where it is not (or no longer) kept whole."""
        self.flush()
        return self._safely(self._body, digest)

    def _body(self, digest: bytes) -> bytes | None:
        found = self._base.execute(
            "SELECT row, body FROM bodies WHERE digest = ?", (digest,)
        ).fetchone()
        if found is None:
            return None
        try:
            body = zlib.decompress(found[1])
            if digest_of(_opened(found[0]), body) == digest:
                return body
        except (zlib.error, TypeError):
            pass
        self._later("DELETE FROM bodies WHERE digest = ?", digest)
        return None

    # -- audits -----------------------------------------------------------------------------

    def begin(self, scope: str) -> int:
        """A new audit of a scope; its number."""
        self.flush()
        self._safely(self._lastingly)
        insert = "INSERT INTO audits (scope, began) VALUES (?, ?)"
        done = self._safely(lambda: self._base.execute(insert, (scope, time.time())).lastrowid)
        return done or 0

    def enter(self, audit: int, file: str, trial: str, digest: bytes) -> None:
        """Note that an audit has seen a report."""
        self._later(
            "INSERT OR REPLACE INTO entries SELECT ?, ?, ?, ? "
            "WHERE EXISTS (SELECT 1 FROM audits WHERE id = ?)",
            audit,
            _storable(file),
            trial,
            digest,
            audit,
        )

    def finish(self, audit: int) -> None:
        """The audit is complete: from now on it is one that others can be compared with."""
        self._later("UPDATE audits SET done = 1 WHERE id = ?", audit)
        self.flush()

    def last(self, scope: str, before: float | None = None) -> Past | None:
        """The last complete audit of a scope, or the last that began before a time."""
        row = self._safely(
            lambda: self._base.execute(
                "SELECT id, began FROM audits WHERE scope = ? AND done AND began < ? "
                "ORDER BY began DESC, id DESC LIMIT 1",
                (scope, before if before is not None else float("inf")),
            ).fetchone()
        )
        return Past(*row) if row else None

    def entries(self, audit: int) -> dict[tuple[str, str], bytes]:
        """Digests of the reports of an audit, by file and trial."""

        def found() -> list[Any]:
            rows = self._base.execute(
                "SELECT audit, file, trial, digest FROM entries WHERE audit = ?", (audit,)
            ).fetchall()
            _check(all(row[0] == audit for row in rows))
            return rows

        rows = self._safely(found)
        return {(_restored(file), trial): bytes(digest) for _, file, trial, digest in rows or ()}

    # -- writing ----------------------------------------------------------------------------

    def _later(self, statement: str, *values: Any) -> None:
        """Write when enough has come together or enough time has passed."""
        if not self._waiting:
            self._since = time.monotonic()
        self._waiting.append((statement, values))
        if len(self._waiting) >= AT_ONCE or time.monotonic() - self._since > 0.5:
            self.flush()

    def flush(self) -> None:
        """Write all that is waiting."""
        if self._waiting:
            self._safely(self._write)
            self._waiting.clear()

    def _write(self) -> None:
        with self._transaction():
            for statement, values in self._waiting:
                self._base.execute(statement, values)

    @contextlib.contextmanager
    def _transaction(self) -> Iterator[None]:
        self._base.execute("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            with contextlib.suppress(sqlite3.Error):
                self._base.execute("ROLLBACK")
            raise
        self._base.execute("COMMIT")

    def close(self) -> None:
        """Write what is waiting, forget what is over the bounds, close."""
        self.flush()
        if self.path is not None:
            self._safely(self._trim)
        self._shut()

    def abandon(self) -> None:
        """Write what is waiting and close, at once."""
        self.flush()
        self._shut()

    def size(self) -> int:
        """Bytes that the store holds, free pages not counted."""

        def pages() -> int:
            count, free, each = (
                self._base.execute(f"PRAGMA {name}").fetchone()[0]
                for name in ("page_count", "freelist_count", "page_size")
            )
            return int((count - free) * each)

        return self._safely(pages) or 0

    def _trim(self) -> None:
        """Forget old audits; above the size, forget what was not used for longest as well."""
        size = self.size()
        over = size > self.most
        old = self._base.execute(
            "SELECT id FROM (SELECT id, row_number() OVER (PARTITION BY scope, done "
            "ORDER BY began DESC) AS place, began FROM audits) WHERE place > ?",
            (KEEP_AUDITS,),
        ).fetchall()
        if not over and not old:
            return
        self._lastingly()
        with self._transaction():
            self._base.executemany("DELETE FROM entries WHERE audit = ?", old)
            self._base.executemany("DELETE FROM audits WHERE id = ?", old)
            if over:
                self._forget(1.0 - 0.75 * self.most / size)
            self._base.execute(
                "DELETE FROM bodies WHERE digest NOT IN (SELECT digest FROM keys) "
                "AND digest NOT IN (SELECT digest FROM entries)"
            )
        self._base.execute("PRAGMA incremental_vacuum")

    def _lastingly(self) -> None:
        """From now on, wait for the disk where SQLite's write-ahead log needs it to stay sound."""
        self._base.execute("PRAGMA synchronous = NORMAL")

    def _forget(self, share: float) -> None:
        """Forget a share of all keys, those not used for longest first, and of all audits but
        the last of each scope, the oldest first."""
        self._base.execute(
            "DELETE FROM keys WHERE key IN (SELECT key FROM keys ORDER BY used LIMIT "
            "(SELECT 1 + CAST(? * count(*) AS INTEGER) FROM keys))",
            (share,),
        )
        lost = self._base.execute(
            "SELECT id FROM audits WHERE id NOT IN (SELECT max(id) FROM audits GROUP BY scope) "
            "ORDER BY began LIMIT (SELECT 1 + CAST(? * count(*) AS INTEGER) FROM audits)",
            (share,),
        ).fetchall()
        self._base.executemany("DELETE FROM entries WHERE audit = ?", lost)
        self._base.executemany("DELETE FROM audits WHERE id = ?", lost)

    # -- trouble ----------------------------------------------------------------------------

    def _safely(self, work: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T | None:
        """Do something with the database; if it turns out not to be sound, rebuild it and do it
        once more, and without a place to keep things do it in a private one."""
        for _ in range(3):
            try:
                return work(*args, **kwargs)
            except sqlite3.OperationalError as error:
                if self.path is None:
                    raise
                if str(error).startswith("no such"):  # a table or column: not our file
                    self._anew(f"{error}")
                else:
                    self._without(f"{error}")
            except sqlite3.DatabaseError as error:
                if self.path is None:
                    raise
                self._anew(f"{error}")
        return None

    def _open(self) -> None:
        if self.path is None:
            self._base = _connect("")
            self._base.executescript(_TABLES)
            return
        try:
            os.makedirs(os.path.dirname(self.path), mode=0o700, exist_ok=True)
            self._base = self._prepared(self.path)
        except sqlite3.OperationalError as error:
            self._without(str(error))
        except sqlite3.DatabaseError as error:
            self._anew(str(error))
        except OSError as error:
            self._without(error.strerror or str(error))

    def _prepared(self, path: str) -> sqlite3.Connection:
        base = _connect(path)
        try:
            form = base.execute("PRAGMA user_version").fetchone()[0]
            if form not in (0, FORM):
                raise sqlite3.DatabaseError("made by another version")
            # Nobody waits until results are on disk: if one does not get there whole, because the
            # power fails, that is noticed like any damage. Histories are (`_lastingly`).
            base.execute("PRAGMA synchronous = OFF")
            if form == 0:
                base.execute("PRAGMA auto_vacuum = INCREMENTAL")
            base.execute("PRAGMA journal_mode = WAL")
            if form == 0:
                base.executescript(f"BEGIN IMMEDIATE;{_TABLES}PRAGMA user_version = {FORM};COMMIT;")
        except BaseException:
            base.close()
            raise
        return base

    def _anew(self, why: str) -> None:
        """Put a broken store away and start with an empty one."""
        assert self.path is not None
        self.notes.append(f"the store {self.path} cannot be used ({why}); a new one is begun")
        self._shut()
        try:
            for ending in ("", "-wal", "-shm"):
                with contextlib.suppress(FileNotFoundError):
                    os.unlink(f"{self.path}{ending}")
            self._base = self._prepared(self.path)
        except (OSError, sqlite3.Error) as error:
            self._without(str(error))

    def _without(self, why: str) -> None:
        """Go on with a private store that is gone at the end of the run."""
        self.notes.append(f"the store {self.path} cannot be used ({why}); nothing is kept")
        self._shut()
        self.path = None
        self._open()

    def _shut(self) -> None:
        base = getattr(self, "_base", None)
        if base is not None:
            with contextlib.suppress(sqlite3.Error):
                base.close()


def _sealed(row: bytes) -> bytes:
    """A row as it is kept: it is read without its report, so it has a sum of its own."""
    return blake2b(row, digest_size=8).digest() + row


def _opened(sealed: Any) -> bytes:
    _check(isinstance(sealed, bytes) and sealed == _sealed(sealed[8:]))
    return bytes(sealed[8:])


def _check(sound: bool) -> None:
    """What is found is what was asked for: in a tree whose pages do not belong together, SQLite may
    come upon something else."""
    if not sound:
        raise sqlite3.DatabaseError("its pages do not belong together")


def _connect(path: str) -> sqlite3.Connection:
    return sqlite3.connect(
        path, timeout=PATIENCE, isolation_level=None, check_same_thread=False, cached_statements=64
    )


def _storable(name: str) -> str:
    """File names may hold bytes that are not text."""
    return name.encode("utf-8", "surrogateescape").decode("latin-1")


def _restored(name: str) -> str:
    return name.encode("latin-1").decode("utf-8", "surrogateescape")
