"""What was read or made of the records before, for as long as nothing is written."""

from __future__ import annotations

import gc
from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from typing import Any, TypeVar

from sqlalchemy import Connection, select

from stash.scrap import Scrap
from stash.storage.database import Database
from stash.storage.records import scraps_of
from stash.storage.scrap_rows import living_scraps
from stash.storage.tables import stamp

__all__ = ["Remembered"]

T = TypeVar("T")


class Remembered:
    """The scraps as last read, and what was derived of them; each change's stamp ends both."""

    def __init__(self, database: Database) -> None:
        self._database = database
        self.forget()

    def forget(self) -> None:
        """Read anew when next asked, even if nothing was written since."""
        self._scraps: tuple[int, tuple[Scrap, ...]] | None = None
        self._derived: tuple[int, dict[Hashable, Any]] = (-1, {})

    def scraps(self) -> tuple[Scrap, ...]:
        """Give every scrap that is not deleted, by number."""
        with self._database.reading() as connection:
            changed = _stamp(connection)
            if self._scraps is None or self._scraps[0] != changed:
                with _collector_resting():
                    rows = connection.execute(living_scraps()).all()
                    self._scraps = (changed, tuple(scraps_of(rows)))
        return self._scraps[1]

    def derived(self, key: Hashable, make: Callable[[], T]) -> T:
        """Give what was made of the records before, or make it."""
        with self._database.reading() as connection:
            changed = _stamp(connection)
        if self._derived[0] != changed:
            self._derived = (changed, {})
        known = self._derived[1]
        if key not in known:
            known[key] = make()
        found: T = known[key]
        return found


def _stamp(connection: Connection) -> int:
    return int(connection.execute(select(stamp.c.changes)).scalar_one())


@contextmanager
def _collector_resting() -> Iterator[None]:
    """Keep Python from counting through many new records again and again (halves the time)."""
    if not gc.isenabled():
        yield
        return
    gc.disable()
    try:
        yield
    finally:
        gc.enable()
