"""The store: what is kept is found again, and no harm comes from a broken one."""

import os
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable
from hashlib import sha1
from pathlib import Path

import pytest

from scantling.catalogue.store import FILE_NAME, KEEP_AUDITS, Kept, Store, digest_of


def key(n: int) -> bytes:
    return b"key%d" % n


def test_what_is_kept_is_found_by_the_next_run(tmp_path: Path):
    with Store.open(tmp_path) as store:
        kept = store.keep(b"k", b"row", b"body" * 100)
        assert store.find([b"k", b"other"]) is None
        assert store.body(kept.digest) == b"body" * 100
    with Store.open(tmp_path) as store:
        assert store.find([b"k"]) == [kept]
        assert store.body(kept.digest) == b"body" * 100
        assert store.body(b"unknown") is None
        assert store.notes == []


def test_equal_reports_are_kept_once(tmp_path: Path):
    with Store.open(tmp_path) as store:
        kept = {store.keep(key(n), b"row", b"body") for n in range(10)}
        assert len(kept) == 1
    base = sqlite3.connect(tmp_path / FILE_NAME)
    assert base.execute("SELECT count(*) FROM bodies").fetchone() == (1,)
    assert base.execute("SELECT count(*) FROM keys").fetchone() == (10,)
    base.close()


@pytest.mark.parametrize(
    "content", [b"", b"this is no database" * 500, b"SQLite format 3\0" + b"\xff" * 5000]
)
def test_a_file_that_is_no_store_is_made_anew(tmp_path: Path, content: bytes):
    (tmp_path / FILE_NAME).write_bytes(content)
    with Store.open(tmp_path) as store:
        kept = store.keep(b"k", b"row", b"body")
        if content:
            (note,) = store.notes
            assert "a new one is begun" in note
            assert FILE_NAME in note
    with Store.open(tmp_path) as store:
        assert store.find([b"k"]) == [kept]
        assert store.notes == []


def test_a_store_that_breaks_while_it_is_open_is_made_anew(tmp_path: Path):
    with Store.open(tmp_path) as store:
        for n in range(300):
            store.keep(key(n), b"row%d" % n, os.urandom(2000))
        store.flush()
        store._base.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        store._base.execute("PRAGMA cache_size = 0")
        with (tmp_path / FILE_NAME).open("r+b") as file:
            file.write(b"\x5a" * 200_000)
        assert store.find([key(7)]) is None
        assert len(store.notes) == 1
        kept = store.keep(b"k", b"row", b"body")
        assert store.body(kept.digest) == b"body"
    with Store.open(tmp_path) as store:
        assert store.find([b"k"]) == [kept]


def _pages(whole: bytes) -> list[bytes]:
    size = int.from_bytes(whole[16:18], "big")  # sqlite.org/fileformat.html, 1.3.2
    return [whole[at : at + size] for at in range(0, len(whole), size)]


@pytest.mark.parametrize(
    "ruin",
    [
        lambda page, others: bytes(len(page)),
        lambda page, others: others[-1],
        lambda page, others: None,
    ],
    ids=["never written", "another page's place", "the rest missing"],
)
def test_a_store_that_got_to_disk_in_part_only(
    tmp_path: Path, ruin: Callable[[bytes, list[bytes]], bytes | None]
):
    """A run that makes a store does not wait until it is on disk; the power may fail."""
    folder = tmp_path / "whole"
    with Store.open(folder) as store:
        kept = [store.keep(key(n), b"row%d" % n, os.urandom(3000)) for n in range(2)]
        bodies = [store.body(one.digest) for one in kept]
    pages = _pages((folder / FILE_NAME).read_bytes())
    assert len(pages) > 8
    lost = 0
    for n, page in enumerate(pages):
        new = ruin(page, pages[:n] + pages[n + 1 :])
        folder = tmp_path / f"{n}"
        folder.mkdir()
        rest = [] if new is None else [new, *pages[n + 1 :]]
        (folder / FILE_NAME).write_bytes(b"".join(pages[:n] + rest))
        with Store.open(folder) as store:
            for k, one in enumerate(kept):
                found = store.find([key(k)])
                body = store.body(one.digest)
                assert found in (None, [one])
                assert body in (None, bodies[k])
                lost += not (found and body)
            again = store.keep(b"k", b"row", b"body")
        told = store.notes  # closing it writes
        with Store.open(folder) as store:
            if not told:
                assert store.find([b"k"]) == [again]
                assert store.body(again.digest) == b"body"
            assert store.notes == []
    assert lost


def test_what_was_there_before_the_power_failed_is_there_or_told_to_be_lost(tmp_path: Path):
    """A run that keeps results beside past audits does not wait for the disk: any page may stand
    there as it was before, or none but that one as it is after."""
    folder = tmp_path / "whole"

    def keep(store: Store, n: int) -> tuple[bytes, Kept, bytes]:
        """A key of usual length, with a row and a body that need pages of their own."""
        key = sha1(b"%d" % n).digest()
        body = os.urandom(1200 if n % 8 == 0 else 100)
        return key, store.keep(key, b"row %d " % n * (150 if n % 8 == 1 else 1), body), body

    with Store.open(folder) as store:
        audit = store.begin("scope")
        kept = [keep(store, n) for n in range(120)]
        for n, (_, one, _) in enumerate(kept):
            store.enter(audit, f"{n}.svg", "", one.digest)
        store.finish(audit)
    history = {(f"{n}.svg", ""): one.digest for n, (_, one, _) in enumerate(kept)}
    before = _pages((folder / FILE_NAME).read_bytes())
    with Store.open(folder) as store:
        kept += [keep(store, n) for n in range(120, 200)]
    after = _pages((folder / FILE_NAME).read_bytes())
    before += [bytes(len(after[0]))] * (len(after) - len(before))
    changed = [n for n, page in enumerate(after) if page != before[n]]
    assert len(changed) > 20
    lost = told = 0
    for n in changed:
        for most, few in ((after, before), (before, after)):
            with tempfile.TemporaryDirectory(dir=tmp_path) as place:
                Path(place, FILE_NAME).write_bytes(b"".join([*most[:n], few[n], *most[n + 1 :]]))
                with Store.open(place) as store:
                    assert store.entries(audit) == history or store.notes
                    for key, one, body in kept:
                        assert store.find([key]) in (None, [one])
                        found = store.body(one.digest)
                        assert found in (None, body)
                        lost += found is None
                told += bool(store.notes)
    assert lost
    assert told


def test_a_store_of_another_version_is_made_anew(tmp_path: Path):
    base = sqlite3.connect(tmp_path / FILE_NAME)
    base.execute("PRAGMA user_version = 999")
    base.close()
    with Store.open(tmp_path) as store:
        assert "another version" in store.notes[0]


def test_a_body_that_is_not_what_was_kept_is_not_handed_out(tmp_path: Path):
    with Store.open(tmp_path) as store:
        kept = store.keep(b"k", b"row", b"body")
    base = sqlite3.connect(tmp_path / FILE_NAME)
    base.execute("UPDATE bodies SET body = ?", (b"x" * 20,))
    base.commit()
    base.close()
    with Store.open(tmp_path) as store:
        assert store.body(kept.digest) is None
        again = store.keep(b"k", b"row", b"body")
        assert store.body(again.digest) == b"body"


def test_without_a_place_to_keep_things_the_run_goes_on(tmp_path: Path):
    (tmp_path / "file").write_text("in the way")
    with Store.open(tmp_path / "file" / "below") as store:
        kept = store.keep(b"k", b"row", b"body")
        assert store.find([b"k"]) == [kept] or store.body(kept.digest) == b"body"
        assert "nothing is kept" in store.notes[0]


def test_a_temporary_store_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.chdir(tmp_path)
    with Store.open(None) as store:
        kept = store.keep(b"k", b"row", b"body")
        assert store.body(kept.digest) == b"body"
    assert list(tmp_path.iterdir()) == []


def test_it_stays_within_its_size_and_forgets_what_was_not_used(tmp_path: Path):
    most = 200_000
    for run in range(6):
        with Store.open(tmp_path, most) as store:
            assert run == 0 or store.find([key(0)]) is not None
            store._later("UPDATE keys SET used = used - 7200 WHERE key <> ?", key(0))
            store.keep(key(0), b"row0", b"body0")
            for n in range(25):
                store.keep(key(1 + n + 25 * run), b"row%d.%d" % (run, n), os.urandom(1500))
    with Store.open(tmp_path, most) as store:
        assert store.size() <= most
        assert store.find([key(0)]) is not None
        assert store.find([key(25 * 6)]) is not None
        assert store.find([key(1)]) is None


def test_reports_of_the_last_audit_outlive_their_keys(tmp_path: Path):
    with Store.open(tmp_path, 100_000) as store:
        audit = store.begin("scope")
        kept = store.keep(b"k", b"row", b"body")
        store.enter(audit, "a.svg", "", kept.digest)
        store.finish(audit)
    for n in range(5):
        with Store.open(tmp_path, 100_000) as store:
            store._later("UPDATE keys SET used = 0")
            for m in range(40):
                store.keep(key(1 + 40 * n + m), b"row", os.urandom(1500))
    with Store.open(tmp_path) as store:
        assert store.find([b"k"]) is None
        last = store.last("scope")
        assert last is not None
        assert store.entries(last.id) == {("a.svg", ""): kept.digest}
        assert store.body(kept.digest) == b"body"


def test_only_finished_audits_of_the_same_scope_are_compared_with(tmp_path: Path):
    with Store.open(tmp_path) as store:
        done = store.begin("here")
        store.finish(done)
        store.begin("here")  # interrupted
        store.finish(store.begin("elsewhere"))
        last = store.last("here")
        assert last is not None
        assert last.id == done
        assert store.last("here", before=last.began) is None
        assert store.last("nowhere") is None


def test_old_audits_are_forgotten(tmp_path: Path):
    with Store.open(tmp_path) as store:
        for _ in range(KEEP_AUDITS + 5):
            store.finish(store.begin("scope"))
    base = sqlite3.connect(tmp_path / FILE_NAME)
    assert base.execute("SELECT count(*) FROM audits").fetchone() == (KEEP_AUDITS,)
    base.close()


def test_names_that_are_no_text_survive(tmp_path: Path):
    odd = os.fsdecode(b"caf\xe9.svg") if os.name == "posix" else "café.svg"
    with Store.open(tmp_path) as store:
        audit = store.begin("scope")
        for name in (odd, "日本.svg"):
            store.enter(audit, name, "birch-4", b"d")
        store.flush()
        assert set(store.entries(audit)) == {(odd, "birch-4"), ("日本.svg", "birch-4")}


WRITER = """
import sys
import tempfile
from collections.abc import Callable
from hashlib import sha1
from pathlib import Path
from scantling.catalogue.store import Store
mine = int(sys.argv[2])
with Store.open(Path(sys.argv[1])) as store:
    audit = store.begin(f"scope {mine}")
    for n in range(400):
        kept = store.keep(b"%d.%d" % (mine, n), b"row", b"body %d" % n)
        store.enter(audit, f"{n}.svg", "", kept.digest)
        assert store.find([b"%d.%d" % (mine, n // 2)]) or n < 200
    store.finish(audit)
    assert store.notes == [], store.notes
"""


def test_several_runs_write_at_once(tmp_path: Path):
    runs = [
        subprocess.Popen([sys.executable, "-c", WRITER, str(tmp_path), str(mine)])
        for mine in range(4)
    ]
    assert [run.wait(60) for run in runs] == [0] * 4
    with Store.open(tmp_path) as store:
        assert store.notes == []
        for mine in range(4):
            assert store.find([b"%d.%d" % (mine, n) for n in range(400)]) is not None
            last = store.last(f"scope {mine}")
            assert last is not None
            assert len(store.entries(last.id)) == 400


def test_the_digest_tells_row_and_body_apart():
    assert digest_of(b"ab", b"c") != digest_of(b"a", b"bc")
