"""The audit on a Dask scheduler: a real one, with worker processes of its own."""

import os
import signal
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from shop import build

from scantling.catalogue.audit import Asked, Audit, Silence, run
from scantling.catalogue.audit_data import as_sarif
from scantling.catalogue.far import Far, NoScheduler
from scantling.catalogue.pool import Done, Lost
from scantling.catalogue.work import Given
from scantling.wanted import Wanted

distributed = pytest.importorskip("distributed")


@pytest.fixture(scope="module")
def cluster() -> Iterator[object]:
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as running:
        yield running


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = build(tmp_path / "shop")
    sound = (folder / "doors" / "sound.svg").read_text()
    for n in range(24):
        (folder / "doors" / f"more-{n:02}.svg").write_text(
            sound.replace("M9 ", f"M{5.8 + n / 8:g} ")
        )
    monkeypatch.chdir(folder)
    monkeypatch.setenv("SCANTLING_CACHE", str(tmp_path / "cache"))
    return folder


def audit(address: str = "", progress=None) -> Audit:
    asked = Asked(
        paths=(".",), trials=("birch-4", "card-1"), workers=1, scheduler=address, keep=False
    )
    return run(asked, progress)


def written(done: Audit) -> bytes:
    return b"".join(as_sarif(done, done.outcomes))


@pytest.mark.skipif(sys.platform == "win32", reason="workers are killed by a signal")
def test_the_same_bytes_as_here_though_a_worker_is_killed(cluster, shop: Path):
    killed = []

    class Killer(Silence):
        def step(self, findings: int, known: bool) -> None:
            if not killed:
                with distributed.Client(cluster, set_as_default=False) as client:
                    pids = client.run(os.getpid)
                killed.append(next(iter(pids.values())))
                os.kill(killed[0], signal.SIGKILL)

    with audit(cluster.scheduler_address, Killer()) as far, audit() as here:
        assert killed
        assert len(far.outcomes) == 2 * 29
        assert written(far) == written(here)
        assert far.exit_code == here.exit_code == 2


def test_drawings_and_job_sheets_are_sent_along(cluster, shop: Path, tmp_path: Path):
    """Workers have another working folder, and need not see the files."""
    with distributed.Client(cluster, set_as_default=False) as client:
        (tmp_path / "elsewhere").mkdir()
        client.run(os.chdir, str(tmp_path / "elsewhere"))
    with audit(cluster.scheduler_address) as far:
        rows = {(o.row.file, o.row.trial): o.row for o in far.outcomes}
        assert rows["doors/narrow.svg", "birch-4"].errors == 1
        assert rows["doors/narrow.svg", "card-1"].errors == 0


def test_known_answers_keep_their_turn(cluster):
    far = Far(cluster.scheduler_address, Given(Wanted(), ("",)))
    assert list(far.run(Done(n) for n in range(100))) == list(range(100))


def test_work_that_fails_is_lost_alone(cluster, shop: Path):
    from scantling.catalogue.task import Desk

    task = Desk(Wanted()).task("doors/sound.svg")
    far = Far(cluster.scheduler_address, Given(Wanted(), ("",)), limit=60.0)
    good, bad, known = far.run([task, ("no", "task"), Done("known")])
    assert not isinstance(good, Lost)
    assert isinstance(bad, Lost)
    assert known == "known"


def test_workers_of_another_version_are_refused(cluster, shop: Path, monkeypatch):
    from scantling.catalogue import far
    from scantling.catalogue.task import Desk

    monkeypatch.setattr(far, "stamp", lambda: "another version")
    errand = Far(cluster.scheduler_address, Given(Wanted(), ("",)))
    with pytest.raises(NoScheduler, match="another version of scantling"):
        list(errand.run([Desk(Wanted()).task("doors/sound.svg")]))


def test_no_scheduler_is_one_line(shop: Path, capsys, monkeypatch):
    from scantling.catalogue import far
    from scantling.cli import main

    monkeypatch.setattr(far, "CONNECT", 0.5)
    with pytest.raises(SystemExit) as stop:
        main(["audit", ".", "--scheduler", "tcp://127.0.0.1:9"])
    assert stop.value.code == 2
    err = capsys.readouterr().err
    assert "no scheduler answers at tcp://127.0.0.1:9" in err
    assert len(err.splitlines()) == 1


def test_without_the_extra_it_says_what_to_install(shop: Path, capsys, monkeypatch):
    from scantling.cli import main

    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(SystemExit) as stop:
        main(["audit", ".", "--scheduler", "tcp://127.0.0.1:9"])
    assert stop.value.code == 2
    assert "scantling[cluster]" in capsys.readouterr().err
