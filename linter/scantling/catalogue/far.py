"""The same work on other machines: by the workers of a Dask scheduler.

Drawings and job sheets are sent along, so workers need no common disk; they need the same
version of this program and the same packs, and say so if they have others. A worker that dies
in the middle of its work is the scheduler's concern: it hands the task to another.
"""

from __future__ import annotations

import contextlib
import logging
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from importlib import import_module
from queue import Empty, SimpleQueue
from typing import Any, TypeVar
from uuid import uuid4

from scantling.catalogue.pool import AHEAD, BEAT, Done, Lost
from scantling.catalogue.stamp import stamp
from scantling.catalogue.task import Task
from scantling.catalogue.work import Answer, Given, prepare

CONNECT = 20.0
"""Seconds to wait for the scheduler, and for its first worker."""
ALONE = 60.0
"""Seconds to wait for a worker when all have gone."""

Known = TypeVar("Known")


class NoScheduler(RuntimeError):
    """The scheduler or its workers cannot be used; one clause."""


@dataclass(frozen=True, slots=True)
class Other:
    """A worker's answer when it is not the same program."""

    where: str


@dataclass(slots=True)
class Far:
    """Like a pool, with a scheduler's workers. `limit`: seconds after which a task is given up;
    it cannot be stopped where it runs."""

    address: str
    given: Given
    limit: float | None = None

    def run(self, tasks: Iterable[Task | Done[Known]]) -> Iterator[Answer | Known | Lost]:
        """Yield the answer to each task, in order. Raises NoScheduler."""
        client = _client(self.address)
        try:
            yield from _Errand(client, self.given, self.limit).run(tasks)
        finally:
            with contextlib.suppress(Exception):
                client.close(timeout=0.5)


AGAIN = ("lost", "pending")
"""What a task is whose worker died with its answer, before that was fetched: the scheduler has it
done again."""


@dataclass(slots=True)
class _Errand:
    client: Any
    given: Given
    limit: float | None

    def run(self, tasks: Iterable[Task | Done[Known]]) -> Iterator[Answer | Known | Lost]:
        token, mark = uuid4().hex, stamp()
        source = enumerate(tasks)
        ended: SimpleQueue[int] = SimpleQueue()
        futures: dict[int, Any] = {}
        answers: dict[int, Any] = {}
        turn, more = 0, True
        window = AHEAD * self._threads()
        while True:
            while more and len(futures) + len(answers) < window:
                number, task = next(source, (-1, None))
                if task is None:
                    more = False
                elif isinstance(task, Done):
                    answers[number] = task.answer
                    break  # it may be its turn
                else:
                    futures[number] = self.client.submit(
                        do, token, mark, self.given, self.limit, task,
                        pure=False, key=f"scantling-{token}-{number}",
                    )  # fmt: skip
                    _call(ended, futures[number], number)
            while turn in answers:
                yield answers.pop(turn)
                turn += 1
            if futures:
                full = len(futures) + len(answers) >= window
                for number in self._ended(ended, wait=full or not more):
                    if futures[number].status in AGAIN:
                        _call(ended, futures[number], number)
                    else:
                        answers[number] = _answer(futures.pop(number))
            elif not more and not answers:
                return

    def _ended(self, ended: SimpleQueue[int], wait: bool) -> list[int]:
        """The tasks that have come to an end; with `wait`, one at least."""
        numbers = []
        since = time.monotonic()
        with contextlib.suppress(Empty):
            while True:
                numbers.append(ended.get_nowait())
        while wait and not numbers:
            try:
                numbers.append(ended.get(timeout=BEAT))
            except Empty:
                self._alive(since)
        return numbers

    def _alive(self, since: float) -> None:
        if self.client.status not in ("running", "connecting"):
            raise NoScheduler("the scheduler is gone")
        if time.monotonic() - since > ALONE and not self._threads():
            raise NoScheduler(f"the scheduler has had no worker for {ALONE:g} s")

    def _threads(self) -> int:
        try:
            return sum(self.client.nthreads().values())
        except (OSError, ValueError) as error:
            raise NoScheduler(f"the scheduler does not answer: {error}") from None


def _client(address: str) -> Any:
    try:
        distributed: Any = import_module("distributed")
    except ImportError:
        raise NoScheduler(
            "a scheduler needs the package 'distributed': pip install 'scantling[cluster]'"
        ) from None
    for name in ("distributed", "distributed.client", "distributed.batched", "tornado"):
        logging.getLogger(name).setLevel(logging.CRITICAL)
    try:
        client = distributed.Client(address, timeout=CONNECT, set_as_default=False)
    except (OSError, ValueError, TimeoutError) as error:
        raise NoScheduler(f"no scheduler answers at {address}: {error}") from None
    try:
        client.wait_for_workers(1, timeout=CONNECT)
    except TimeoutError:
        client.close()
        raise NoScheduler(f"the scheduler at {address} has no worker") from None
    return client


def _call(ended: SimpleQueue[int], future: Any, number: int) -> None:
    """Put down the number of a task when it has come to an end."""
    future.add_done_callback(lambda _: ended.put(number))


def _answer(future: Any) -> Any:
    """What has become of a task."""
    if future.status == "finished":
        answer = future.result()
        if isinstance(answer, Other):
            raise NoScheduler(
                f"the worker {answer.where} has another version of scantling, of Python, of the "
                "libraries that measure, or other packs of rules"
            )
        return answer
    if future.status == "error":
        error = future.exception()
        if type(error).__name__ == "KilledWorker":
            return Lost("every worker that it was given to died (out of memory?)")
        return Lost(f"{type(error).__name__}: {error}")
    raise NoScheduler("the scheduler has dropped the work")


# On the worker

_benches: dict[tuple[str, int], Callable[[Task], Answer]] = {}


def do(
    token: str, mark: str, given: Given, limit: float | None, task: Task
) -> Answer | Lost | Other:
    """Do a task on a worker. Each of its threads has its own rules and job sheets."""
    if stamp() != mark:
        distributed: Any = import_module("distributed")
        return Other(distributed.get_worker().address)
    if limit is None:
        return _bench(token, given)(task)
    box: list[Answer | Lost] = []

    def work() -> None:
        try:
            box.append(_bench(token, given)(task))
        except Exception as error:
            box.append(Lost(f"{type(error).__name__}: {error}"))

    thread = threading.Thread(target=work, daemon=True)
    thread.start()
    thread.join(limit)
    return box[0] if box else Lost(f"took longer than {limit:g} s and was given up")


def _bench(token: str, given: Given) -> Callable[[Task], Answer]:
    key = token, threading.get_ident()
    if key not in _benches:
        for old in [old for old in list(_benches) if old[0] != token]:
            _benches.pop(old, None)
        _benches[key] = prepare(given)
    return _benches[key]
