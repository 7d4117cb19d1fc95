"""A pool of worker processes that outlives its workers.

Tasks go out one at a time to each worker; answers come back in the order of the tasks. A worker
that dies, or takes longer than a task may, costs that task a `Lost` and is replaced. At most a
few tasks a worker are under way or waiting for an earlier one, whatever their number.
"""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from multiprocessing import get_context
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from typing import Any, Generic, TypeVar

Task = TypeVar("Task")
Answer = TypeVar("Answer")
Known = TypeVar("Known")
Work = Callable[[Task], Answer]
Prepare = Callable[[Any], Work[Task, Answer]]

AHEAD = 16
"""Tasks a worker that may be under way or done out of turn."""
BEAT = 0.2
"""Seconds after which a waiting pool looks up, so that an interrupt is heard on every system."""
START = 300.0
"""Seconds that a worker may take to begin: far more than a busy machine needs."""
FALSE_STARTS = 3
"""Workers in a row that may die before they have begun."""
BEGUN = "begun"
NEVER = float("inf")


@dataclass(frozen=True, slots=True)
class Lost:
    """No answer, and why."""

    reason: str


@dataclass(frozen=True, slots=True)
class Done(Generic[Known]):
    """In place of a task: its answer, which is known already."""

    answer: Known


class NoWorkers(RuntimeError):
    """Workers die before they have begun, so that more of them would be no use."""


@dataclass(slots=True)
class Worker:
    """A process, the line to it, and until when an answer is waited for (monotonic seconds)."""

    process: BaseProcess
    line: Connection
    until: float
    ready: bool = False
    """it has said that it has begun"""
    number: int = -1
    """of the task that it does or will do first; -1: none"""


@dataclass(slots=True)
class Pool(Generic[Task, Answer]):
    """
    prepare   called once in each worker with `given`; returns the function that does a task.
              It, `given`, the tasks and their answers must be picklable, for the workers share
              nothing with this process
    workers   how many at most; they start as tasks come
    limit     seconds that one task may take; None: as long as it likes
    """

    prepare: Prepare[Task, Answer]
    given: Any
    workers: int
    limit: float | None = None
    _workers: list[Worker] = field(default_factory=list)
    _tasks: dict[int, Task | None] = field(default_factory=dict)
    """under way or answered out of turn; None where the answer was known"""
    _answers: dict[int, Any] = field(default_factory=dict)
    _false_starts: int = 0

    def run(self, tasks: Iterable[Task | Done[Known]]) -> Iterator[Answer | Known | Lost]:
        """Yield the answer to each task, in order. The workers are gone when this ends, also
        when the caller stops early or is interrupted. Raises NoWorkers."""
        source = enumerate(tasks)
        held: tuple[int, Task] | None = None
        turn, more = 0, True
        try:
            while True:
                while more and len(self._tasks) < AHEAD * self.workers:
                    if held is None:
                        number, task = next(source, (-1, None))
                        if task is None:
                            more = False
                        elif isinstance(task, Done):
                            self._tasks[number], self._answers[number] = None, task.answer
                            break  # it may be its turn
                        else:
                            held = number, task
                    if held is not None:
                        if not self._hand_out(*held):
                            break
                        held = None
                while turn in self._answers:
                    del self._tasks[turn]
                    yield self._answers.pop(turn)
                    turn += 1
                if any(worker.number >= 0 for worker in self._workers):
                    idle = more and held is None and len(self._tasks) < AHEAD * self.workers
                    self._listen(0.0 if idle else BEAT)
                elif not more and not self._tasks:
                    return
        finally:
            self.close()

    def _hand_out(self, number: int, task: Task) -> bool:
        """Give a task to a worker that is free or new; False where there is none."""
        worker = next((w for w in self._workers if w.number < 0), None)
        if worker is None and len(self._workers) < self.workers:
            worker = self._start()
        if worker is None:
            return False
        self._tasks[number] = task
        worker.number = number
        if worker.ready:
            self._send(worker)
        return True

    def _start(self) -> Worker:
        context = get_context("spawn")
        here, there = context.Pipe()
        process = context.Process(
            target=serve, args=(there, self.prepare, self.given), daemon=True, name="scantling"
        )
        with _deaf(), _nameless_main():
            process.start()
        there.close()
        worker = Worker(process, here, time.monotonic() + START)
        self._workers.append(worker)
        return worker

    def _send(self, worker: Worker) -> None:
        worker.until = NEVER if self.limit is None else time.monotonic() + self.limit
        with contextlib.suppress(OSError):  # that it died is found when its answer is awaited
            worker.line.send(self._tasks[worker.number])

    def _listen(self, patience: float) -> None:
        """Wait until something happens, and take it in."""
        by_line: dict[Any, Worker] = {worker.line: worker for worker in self._workers}
        first = min(worker.until for worker in self._workers)
        for line in wait(list(by_line), min(max(first - time.monotonic(), 0.0), patience)):
            self._receive(by_line[line])
        now = time.monotonic()
        for worker in list(self._workers):
            if worker.number >= 0 and worker.until <= now:
                worker.process.kill()
                self._lose(worker, f"took longer than {self.limit or START:g} s and was stopped")

    def _receive(self, worker: Worker) -> None:
        try:
            said = worker.line.recv()
        except (EOFError, OSError):
            self._lose(worker)
            return
        if not worker.ready:
            if isinstance(said, Lost):
                raise NoWorkers(f"worker processes cannot be started: {said.reason}")
            worker.ready, worker.until = True, NEVER
            self._false_starts = 0
            if worker.number >= 0:
                self._send(worker)
        elif worker.number >= 0:
            self._answers[worker.number] = said
            worker.number, worker.until = -1, NEVER

    def _lose(self, worker: Worker, why: str = "") -> None:
        """A worker is gone or has to go. What it did is lost; what it had not begun is not."""
        worker.process.join(5.0)
        worker.line.close()
        self._workers.remove(worker)
        reason = why or f"its worker process died {_death(worker.process.exitcode)}"
        if worker.ready:
            if worker.number >= 0:
                self._answers[worker.number] = Lost(reason)
            return
        self._false_starts += 1
        if self._false_starts >= FALSE_STARTS:
            raise NoWorkers(f"worker processes do not start: the last one {reason}")
        if worker.number >= 0:
            self._start().number = worker.number

    def close(self) -> None:
        """Stop all workers at once."""
        for worker in self._workers:
            worker.process.kill()
        for worker in self._workers:
            worker.process.join(5.0)
            worker.line.close()
        self._workers.clear()


def serve(line: Connection, prepare: Prepare[Any, Any], given: Any) -> None:
    """A worker's life: do tasks until the other end is gone. Interrupts are the parent's."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with contextlib.suppress(OSError, EOFError):
        try:
            work = prepare(given)
        except Exception as error:
            line.send(Lost(f"{type(error).__name__}: {error}"))
            return
        line.send(BEGUN)
        while True:
            task = line.recv()
            try:
                answer = work(task)
            except Exception as error:
                answer = Lost(f"{type(error).__name__}: {error}")
            line.send(answer)


def _death(code: int | None) -> str:
    if code is None:
        return "of an unknown cause"
    if code >= 0:
        return f"with exit code {code}"
    try:
        name = signal.Signals(-code).name
    except ValueError:
        name = f"signal {-code}"
    return f"by {name}{' (out of memory?)' if name == 'SIGKILL' else ''}"


@contextlib.contextmanager
def _deaf() -> Iterator[None]:
    """Start a process that never hears Ctrl-C, not even before it can say that it does not want
    to: a blocked signal stays blocked in it. Where there is no mask, it has to be quick."""
    if sys.platform == "win32":
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


@contextlib.contextmanager
def _nameless_main() -> Iterator[None]:
    """Workers need nothing of the program that started them; without this, spawning would run
    its main module once more in each of them."""
    main: dict[str, Any] = sys.modules["__main__"].__dict__
    names = ("__spec__", "__file__")
    kept = {name: main.pop(name) for name in names if name in main}
    main["__spec__"] = None
    try:
        yield
    finally:
        main.update(kept)


def cores() -> int:
    """Cores that this process may use."""
    allowed = getattr(os, "sched_getaffinity", None)
    return (len(allowed(0)) if allowed else os.cpu_count()) or 1
