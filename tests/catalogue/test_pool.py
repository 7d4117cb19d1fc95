"""The pool: order, bounds, and workers that die or take too long."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import chores
import pytest

from scantling.catalogue.pool import AHEAD, Done, Lost, NoWorkers, Pool

posix = pytest.mark.skipif(sys.platform == "win32", reason="signals as on POSIX")


def test_answers_come_in_the_order_of_the_tasks():
    tasks = [("sleep", 0.3), *(("say", n) for n in range(20))]
    answers = list(Pool(chores.troubled, None, workers=2).run(tasks))
    assert answers == [0.3, *range(20)]


def test_known_answers_keep_their_turn_and_need_no_worker():
    pool = Pool(chores.never, None, workers=2)  # any worker would fail
    assert list(pool.run(Done(n) for n in range(100))) == list(range(100))
    mixed = [Done(1), ("sleep", 0.1), Done(2), ("say", 3), Done(4)]
    assert list(Pool(chores.troubled, None, 2).run(mixed)) == [1, 0.1, 2, 3, 4]


@posix
def test_a_worker_that_is_killed_costs_its_task_alone():
    tasks = [("say", 1), ("die", signal.SIGKILL), ("exit", 3), ("raise", "what"), ("say", 2)]
    first, killed, left, raised, last = Pool(chores.troubled, None, workers=1).run(tasks)
    assert (first, last) == (1, 2)
    assert killed == Lost("its worker process died by SIGKILL (out of memory?)")
    assert left == Lost("its worker process died with exit code 3")
    assert raised == Lost("ValueError: what")


def test_a_task_over_its_time_is_stopped_and_the_rest_goes_on():
    began = time.monotonic()
    tasks = [("say", 1), ("sleep", 600), ("say", 2)]
    answers = list(Pool(chores.troubled, None, workers=1, limit=0.5).run(tasks))
    assert answers == [1, Lost("took longer than 0.5 s and was stopped"), 2]
    assert time.monotonic() - began < 60


def test_few_tasks_are_taken_before_their_turn():
    taken = 0

    def tasks():
        nonlocal taken
        yield ("sleep", 0.5)
        for number in range(1000):
            taken += 1
            yield ("say", number) if number % 2 else Done(number)

    answers = Pool(chores.troubled, None, workers=2).run(tasks())
    assert next(answers) == 0.5
    assert taken <= AHEAD * 2
    answers.close()


def test_workers_are_gone_when_the_caller_stops():
    pool = Pool(chores.troubled, None, workers=2)
    answers = pool.run([("pid", 0), *[("sleep", 60)] * 5])
    pid = next(answers)
    answers.close()
    if sys.platform != "win32":
        with pytest.raises(ProcessLookupError):
            os.kill(pid, 0)


def test_workers_that_cannot_start_are_told_once():
    with pytest.raises(NoWorkers, match="exit code 7"):
        list(Pool(chores.never, None, workers=1).run([1, 2, 3]))


def test_work_that_cannot_be_prepared_is_told_in_one_clause(capfd: pytest.CaptureFixture[str]):
    with pytest.raises(NoWorkers, match="cannot be started: ValueError: no rules"):
        list(Pool(chores.unable, "no rules", workers=2).run([1, 2, 3]))
    assert capfd.readouterr() == ("", "")


@posix
def test_workers_do_not_hear_an_interrupt():
    assert list(Pool(chores.troubled, None, workers=1).run([("deaf", 0)])) == [True]


def test_a_program_without_a_guard_can_use_the_pool(tmp_path: Path):
    script = tmp_path / "program.py"
    script.write_text(
        "import sys\n"
        f"sys.path.insert(0, {str(Path(__file__).parent)!r})\n"
        "import chores\n"
        "from scantling.catalogue.pool import Pool\n"
        "print(list(Pool(chores.steady, 2, workers=2).run([1, 2, 3])))\n"
    )
    done = subprocess.run([sys.executable, str(script)], capture_output=True, text=True, timeout=60)
    assert (done.stdout, done.stderr) == ("[2, 4, 6]\n", "")
