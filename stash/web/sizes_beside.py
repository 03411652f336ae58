"""Works out sizes beside the pages, so that none of them waits for thousands of scraps."""

from __future__ import annotations

import contextlib
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field

from stash.errors import StashError
from stash.shape.templates.template import Template
from stash.usecases.pieces.piece_counts import CutRule
from stash.usecases.pieces.sizes_ahead import not_worked_out, work_out
from stash.usecases.ports import Store

__all__ = ["SizesBeside"]

_ALWAYS_AT_ONCE = 12  # or longer, when so few are left that asking again would be a nuisance
_PORTION = 8
_STAND_BACK_S = 2.0  # longest wait for pages that are being answered


@dataclass(frozen=True, slots=True)
class _Job:
    template: Template
    rule: CutRule
    counts: bool


@dataclass(slots=True)
class SizesBeside:
    """What is being worked out now; the newest question comes first."""

    at_most_s: float = 1.0  # a page waits so long for what is missing
    _jobs: list[_Job] = field(default_factory=list)
    _lock: threading.Lock = field(default_factory=threading.Lock)
    _thread: threading.Thread | None = None
    _pages: int = 0
    _quiet: threading.Condition = field(default_factory=threading.Condition)

    @contextlib.contextmanager
    def standing_back(self) -> Iterator[None]:
        """Let a page be answered first."""
        with self._quiet:
            self._pages += 1
        try:
            yield
        finally:
            with self._quiet:
                self._pages -= 1
                self._quiet.notify_all()

    def left(self, store: Store, template: Template, rule: CutRule, *, counts: bool = True) -> int:
        """Give how many scraps are not yet worked out; few are done at once, the rest is begun."""
        until = time.monotonic() + self.at_most_s
        before, missing = -1, len(not_worked_out(store, template, rule, counts=counts))
        while missing and (missing <= _ALWAYS_AT_ONCE or time.monotonic() < until):
            if missing == before:
                break  # corrected by someone meanwhile; left to the next who asks
            work_out(store, template, rule, most=_PORTION, counts=counts)
            before, missing = missing, len(not_worked_out(store, template, rule, counts=counts))
        if missing:
            self._begin(store, _Job(template, rule, counts))
        return missing

    def _begin(self, store: Store, job: _Job) -> None:
        with self._lock:
            if job in self._jobs:
                self._jobs.remove(job)
            self._jobs.append(job)
            if self._thread is None:
                self._thread = threading.Thread(
                    target=self._work, args=(store,), name="work out sizes", daemon=True
                )
                self._thread.start()

    def _work(self, store: Store) -> None:
        while True:
            with self._lock:
                if not self._jobs:
                    self._thread = None
                    return
                job = self._jobs[-1]
            with self._quiet:
                self._quiet.wait_for(lambda: not self._pages, timeout=_STAND_BACK_S)
            more = False
            # A stash that cannot be written now is told to whoever asks next.
            with contextlib.suppress(StashError):
                more = _advanced(store, job)
            if not more:
                with self._lock, contextlib.suppress(ValueError):
                    self._jobs.remove(job)


def _advanced(store: Store, job: _Job) -> bool:
    """Work out some more; false when nothing is left, or nothing came of it."""

    def missing() -> list[int]:
        """Give the scraps still to be worked out."""
        return list(not_worked_out(store, job.template, job.rule, counts=job.counts))

    before = missing()
    if not work_out(store, job.template, job.rule, most=_PORTION, counts=job.counts):
        return False
    return missing() != before
