"""Processes that measure photos: each within limits, none outliving the one that started it.

A photo may be anything. What it does to memory, to time or to a library is done to a process of
its own; that costs one photo, never the others. Worker and starter talk in pickles over pipes.
"""

from __future__ import annotations

import ctypes
import os
import pickle
import signal
import subprocess
import sys
import threading
import time
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from importlib import import_module
from typing import Any, Literal

__all__ = ["Job", "Lost", "crew_results", "work"]

Job = tuple[Callable[..., Any], tuple[Any, ...]]

_LONGEST_S = 300.0  # the slowest photo seen took 20 s on a busy machine
_MOST_BYTES = 2_500_000_000  # above what the libraries take; 108 megapixels take under 1 GB
_LOOK_S = 0.5
_PARENT_DIED = 1  # PR_SET_PDEATHSIG, prctl(2)
_START = "import sys; from stash.usecases.photos.measuring_crew import work; work(int(sys.argv[1]))"


@dataclass(frozen=True, slots=True)
class Lost:
    """A job without a result: its worker died twice, took too long or too much, or failed.

    Attributes
    ----------
    how : str
        "died", "too long", "too large" or "failed".
    said : str
        What the program said, for "failed".
    """

    how: Literal["died", "too long", "too large", "failed"]
    said: str = ""


def crew_results(jobs: Iterable[Job | None], *, workers: int) -> Generator[Any]:
    """Do jobs side by side and give their results, or ``Lost``, in their order.

    Parameters
    ----------
    jobs : iterable
        Each a function that a module holds, and its arguments; taken up one by one as workers
        come free. Instead of None nothing is done, and None is given.
    workers : int
        Processes at once. They end with the last result, and when the iteration is given up.
    """
    crew = _Crew()
    waiting: deque[tuple[Job | None, Future[Any]]] = deque()
    with ThreadPoolExecutor(workers, thread_name_prefix="measuring") as threads:
        try:
            for job in jobs:
                waiting.append((job, threads.submit(crew.do, job)))
                if len(waiting) > 2 * workers:
                    yield crew.settled(*waiting.popleft())
            while waiting:
                yield crew.settled(*waiting.popleft())
        finally:
            for _, left in waiting:
                left.cancel()
            crew.end()


class _Crew:
    """The workers of one run: one to each thread, begun when first needed."""

    def __init__(self) -> None:
        self._mine = threading.local()
        self._gate = _Gate()
        self._all: list[_Worker] = []
        self._ended = False

    def do(self, job: Job | None) -> Any:
        """Do a job on this thread's worker; None if the worker died."""
        if job is None:
            return None
        with self._gate.shared():
            return self._worker().do(job)

    def settled(self, job: Job | None, done: Future[Any]) -> Any:
        """Give a job's result; one whose worker died is tried once more while all others rest."""
        result = done.result()
        if result is not None or job is None:
            return result
        with self._gate.alone():
            worker = _Worker()
            self._all.append(worker)
            try:
                return worker.do(job) or Lost("died")
            finally:
                worker.end()

    def end(self) -> None:
        """End every worker, whatever it does."""
        self._ended = True
        for worker in list(self._all):
            worker.end()

    def _worker(self) -> _Worker:
        worker: _Worker | None = getattr(self._mine, "worker", None)
        if worker is None or not worker.lives():
            worker = self._mine.worker = _Worker()
            self._all.append(worker)
            if self._ended:
                worker.end()
        return worker


class _Gate:
    """Lets many in together, or one alone."""

    def __init__(self) -> None:
        self._change = threading.Condition()
        self._inside = 0
        self._closed = False

    @contextmanager
    def shared(self) -> Iterator[None]:
        """Go in together with others."""
        with self._change:
            self._change.wait_for(lambda: not self._closed)
            self._inside += 1
        try:
            yield
        finally:
            with self._change:
                self._inside -= 1
                self._change.notify_all()

    @contextmanager
    def alone(self) -> Iterator[None]:
        """Go in when all are out, and keep the others out."""
        with self._change:
            self._closed = True
            self._change.wait_for(lambda: self._inside == 0)
        try:
            yield
        finally:
            with self._change:
                self._closed = False
                self._change.notify_all()


class _Worker:
    """One process that measures."""

    def __init__(self) -> None:
        paths = os.pathsep.join(path for path in sys.path if path)
        self._process = subprocess.Popen(
            [sys.executable, "-P", "-c", _START, str(os.getpid())],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": paths},
        )

    def lives(self) -> bool:
        """Whether it can take a job."""
        return self._process.poll() is None

    def do(self, job: Job) -> Any:
        """Give a job's result, ``Lost`` if it took too long, None if the process died."""
        late = threading.Event()

        def stop() -> None:
            """End the worker, and remember that it was too late."""
            late.set()
            self._process.kill()

        clock = threading.Timer(_LONGEST_S, stop)
        clock.start()
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        try:
            pickle.dump(job, self._process.stdin)
            self._process.stdin.flush()
            return pickle.load(self._process.stdout)
        except (EOFError, OSError, pickle.UnpicklingError):
            self.end()
            return Lost("too long") if late.is_set() else None
        finally:
            clock.cancel()

    def end(self) -> None:
        """Kill it; nothing it does is kept before the starter keeps it."""
        self._process.kill()
        self._process.wait()
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                with suppress(OSError):
                    pipe.close()


def work(parent: int) -> None:
    """Do jobs from standard input until it ends: the life of a worker.

    Parameters
    ----------
    parent : int
        The process that started it, with which it dies.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the starter's to hear
    _die_with(parent)
    import_module("stash.photo.measuring")  # what the libraries take is no photo's
    jobs, results = sys.stdin.buffer, os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what a library prints is no result
    with suppress(EOFError, BrokenPipeError):
        while True:
            pickle.dump(_result_of(*pickle.load(jobs)), results)
            results.flush()


def _result_of(do: Callable[..., Any], given: tuple[Any, ...]) -> Any:
    try:
        with _limited_memory():
            return do(*given)
    except MemoryError:
        return Lost("too large")
    except Exception as fault:
        if os.environ.get("STASH_TRACE"):
            import traceback  # for testers

            traceback.print_exc()
        short = "emory" in str(fault)  # OpenCV's own words for it
        return Lost("too large" if short else "failed", f"{type(fault).__name__}: {fault}")


@contextmanager
def _limited_memory() -> Iterator[None]:
    """Let the process take so much more than it has now, where the system can tell and hold it."""
    try:
        import resource  # not on every system

        with open("/proc/self/statm") as told:  # noqa: PTH123
            has = int(told.read().split()[0]) * resource.getpagesize()
        before = resource.getrlimit(resource.RLIMIT_AS)
        most = has + _MOST_BYTES
        if before[1] != resource.RLIM_INFINITY:
            most = min(most, before[1])
        resource.setrlimit(resource.RLIMIT_AS, (most, before[1]))
    except (ImportError, OSError, ValueError):
        yield
        return
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_AS, before)


def _die_with(parent: int) -> None:
    """End when the starter ends, however it does: at once on Linux, within a second elsewhere."""
    if sys.platform == "linux":
        with suppress(OSError, AttributeError):
            ctypes.CDLL(None).prctl(_PARENT_DIED, int(signal.SIGKILL), 0, 0, 0)
    threading.Thread(target=_watch, args=(parent,), daemon=True).start()


def _watch(parent: int) -> None:
    while os.getppid() == parent:
        time.sleep(_LOOK_S)
    os._exit(1)
