"""Works out sizes beside the pages, so that none of them waits for thousands of scraps."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field

from stash.errors import StashError
from stash.shape.template import Template
from stash.usecases.piece_counts import CutRule
from stash.usecases.ports import Store
from stash.usecases.sizes_ahead import not_worked_out, work_out

__all__ = ["Bench"]

_AT_ONCE = 60  # so many are worked out while the page waits: about a second
_PORTION = 8
_STAND_BACK_S = 2.0  # longest wait for pages that are being answered


@dataclass(frozen=True, slots=True)
class _Job:
    template: Template
    rule: CutRule
    counts: bool


@dataclass(slots=True)
class Bench:
    """What is being worked out now; the newest question comes first."""

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
        """Give how many scraps are not yet worked out; few are done at once, many begun."""
        missing = len(not_worked_out(store, template, rule, counts=counts))
        if missing <= _AT_ONCE:
            while missing and work_out(store, template, rule, most=_AT_ONCE, counts=counts):
                missing = len(not_worked_out(store, template, rule, counts=counts))
                if missing > _AT_ONCE:
                    break
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
                more = work_out(store, job.template, job.rule, most=_PORTION, counts=job.counts)
            if not more:
                with self._lock, contextlib.suppress(ValueError):
                    self._jobs.remove(job)
