"""How far the work is, with the time left: only where a person watches, never between lines."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Event, Thread
from typing import TYPE_CHECKING

from stash.cli.messages import on_terminal

if TYPE_CHECKING:
    from rich.progress import Progress

__all__ = ["bytes_in", "counted_work", "watched_work"]

_EVERY_S = 0.25  # how often a growing file is looked at


@contextmanager
def counted_work(what: str) -> Iterator[Callable[[int, int, str], None]]:
    """Show work that says itself how far it is: done, of how many, and the thing just done.

    Lines printed meanwhile stay whole above the bar; it goes when the work is done.
    """
    if not on_terminal():
        yield lambda _done, _total, _what: None
        return
    with _bar() as bar:
        task = bar.add_task(what, total=None)

        def tell(done: int, total: int, thing: str) -> None:
            bar.update(task, completed=done, total=total, description=f"{what} {thing}".strip())

        yield tell


@contextmanager
def watched_work(
    what: str,
    *,
    total: Callable[[], float] | None = None,
    done: Callable[[], float] | None = None,
) -> Iterator[None]:
    """Show work that tells nothing: by what it has written, or by the time it takes."""
    if not on_terminal():
        yield
        return
    finished = Event()
    with _bar() as bar:
        task = bar.add_task(what, total=total() if total else None)

        def look() -> None:
            while not finished.wait(_EVERY_S):
                if done is not None:
                    bar.update(task, completed=done())

        watcher = Thread(target=look, daemon=True)
        watcher.start()
        try:
            yield
        finally:
            finished.set()
            watcher.join()


def bytes_in(*places: Path) -> float:
    """Give how many bytes files and folders hold; what goes away meanwhile counts nothing."""
    size = 0
    for place in places:
        for file in (place, *place.rglob("*")):
            try:
                size += file.stat().st_size if file.is_file() else 0
            except OSError:
                continue
    return float(size)


def _bar() -> Progress:
    from rich.console import Console  # only where a person watches
    from rich.progress import (
        BarColumn,
        Progress,
        TextColumn,
        TimeElapsedColumn,
        TimeRemainingColumn,
    )

    return Progress(
        TextColumn("{task.description}", markup=False),
        BarColumn(),
        TimeElapsedColumn(),
        TextColumn("left"),
        TimeRemainingColumn(),
        console=Console(stderr=True),
        transient=True,
        # Answers that go to a file or another program go there as they are.
        redirect_stdout=sys.stdout.isatty(),
    )
