"""Work for a pool to be tried on."""

import os
import signal
import time
from typing import Any

from scantling.catalogue.pool import Done


def steady(given: Any):
    return lambda task: task * given


def troubled(given: Any):
    """Does what a task says; the worker's own process suffers it."""

    def work(task: tuple[str, Any]):
        kind, value = task
        if kind == "die":
            os.kill(os.getpid(), value)
        elif kind == "exit":
            os._exit(value)
        elif kind == "raise":
            raise ValueError(value)
        elif kind == "sleep":
            time.sleep(value)
        elif kind == "memory":
            raise MemoryError
        elif kind == "pid":
            return os.getpid()
        elif kind == "deaf":
            return signal.SIGINT in signal.pthread_sigmask(signal.SIG_BLOCK, set()) or (
                signal.getsignal(signal.SIGINT) is signal.SIG_IGN
            )
        return value

    return work


def never(given: Any):
    os._exit(7)


def unable(given: Any):
    raise ValueError(given)


class Here:
    """In place of a pool: does everything in this process, which is quicker for a few tasks."""

    def __init__(self, prepare: Any, given: Any, workers: int, limit: Any = None) -> None:
        self.prepare, self.given = prepare, given

    def run(self, tasks: Any):
        work = None
        for task in tasks:
            if isinstance(task, Done):
                yield task.answer
            else:
                work = work or self.prepare(self.given)
                yield work(task)
