"""A stash asked without SQLAlchemy, whose loading takes longer than most answers.

Only for questions to a stash of today's schema in a file that may be written; whatever else is
met (no stash, an older or newer one, a server, damage, a lock) is left to the whole store, which
knows how to mend it or what to say.
"""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Callable, Hashable, Mapping, Sequence
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar
from urllib.parse import quote

from stash.storage.folder_layout import DATABASE, NEWEST_SCHEMA, SERVER_NOTE
from stash.storage.kept_answers import kept_answer
from stash.storage.scrap_columns import (
    OUTLINES_IN_USE,
    SCRAPS_IN_USE,
    columns_of_rows,
    outlines_of_rows,
)
from stash.storage.twin_columns import ALIKE, ANSWERS, alike_of_rows, answers_of_rows
from stash.usecases.ports import (
    AlikeScraps,
    Document,
    ScrapColumns,
    ScrapOutline,
    SizeKey,
    TwinAnswer,
)

if TYPE_CHECKING:
    from stash.scrap import Fabric, Scrap
    from stash.storage.sqlite_store import FolderStore

__all__ = ["QuickStore", "quick_store"]

T = TypeVar("T")
_WAIT_S = 10.0


def quick_store(home: Path, whole: Callable[[], FolderStore]) -> QuickStore | None:
    """Give the quick store of a folder, or None where only the whole store will do."""
    file = home / DATABASE
    if (home / SERVER_NOTE).exists() or not file.exists():
        return None
    if not (os.access(home, os.W_OK) and os.access(file, os.W_OK)):
        return None
    return QuickStore(file, whole)


class QuickStore:
    """Answers the questions of ``AskedStore`` from the file itself.

    Parameters
    ----------
    file : Path
        The database file.
    whole : callable
        Opens the whole store, when something is asked that only it can do.
    """

    def __init__(self, file: Path, whole: Callable[[], FolderStore]) -> None:
        self._file = file
        self._open_whole = whole
        self._whole: FolderStore | None = None
        self._derived: dict[Hashable, Any] = {}

    @property
    def whole(self) -> FolderStore:
        """The store that can do everything."""
        if self._whole is None:
            self._whole = self._open_whole()
        return self._whole

    def scraps(self) -> Sequence[Scrap]:
        """Give every scrap that is not deleted, by number."""
        return self.whole.scraps()

    def fabrics(self) -> Sequence[Fabric]:
        """Give every fabric that has a scrap, by number."""
        return self.whole.fabrics()

    def derived(self, key: Hashable, make: Callable[[], T]) -> T:
        """Give what was made of the records before, or make it; a question sees one moment."""
        if key not in self._derived:
            self._derived[key] = make()
        found: T = self._derived[key]
        return found

    def documents(self, kind: str) -> Sequence[Document]:
        """Give all named records of a kind, oldest first."""
        rows = self._rows(
            "SELECT kind, name, body FROM documents WHERE kind = ? ORDER BY number", kind
        )
        if rows is None:
            return self.whole.documents(kind)
        return tuple(Document(kind, name, json.loads(body)) for kind, name, body in rows)

    def document(self, kind: str, name: str) -> Document:
        """Give one named record; raises NotFoundError that lists the names there are."""
        for document in self.documents(kind):
            if document.name == name:
                return document
        return self.whole.document(kind, name)

    def largest_sizes(self, key: SizeKey) -> Mapping[int, float]:
        """Give stored largest finished sizes in inches by scrap number."""
        rows = self._rows(
            "SELECT scrap, size_in FROM largest_sizes WHERE family = ? AND rule = ?",
            key.family,
            key.rule,
        )
        return self.whole.largest_sizes(key) if rows is None else dict(rows)

    def keep_largest_sizes(self, key: SizeKey, sizes: Mapping[int, float]) -> None:
        """Store largest finished sizes; forgotten when a scrap's outline changes."""
        self.whole.keep_largest_sizes(key, sizes)

    def alike(self) -> Sequence[AlikeScraps]:
        """Give the pairs of scraps, neither deleted, that look like one cloth."""
        rows = self._rows(ALIKE)
        return self.whole.alike() if rows is None else alike_of_rows(rows)

    def twin_answers(self) -> Sequence[TwinAnswer]:
        """Give what was answered of scraps that are not deleted."""
        rows = self._rows(ANSWERS)
        return self.whole.twin_answers() if rows is None else answers_of_rows(rows)

    def columns(self) -> ScrapColumns:
        """Give every scrap that is not deleted and not cut up as columns, by number."""
        rows = self._rows(SCRAPS_IN_USE)
        return self.whole.columns() if rows is None else columns_of_rows(rows)

    def outlines(self) -> Mapping[int, ScrapOutline]:
        """Give the outline of every scrap that is not deleted and not cut up, by number."""
        rows = self._rows(OUTLINES_IN_USE)
        return self.whole.outlines() if rows is None else outlines_of_rows(rows)

    def kept_answer(self, name: str, key: str, make: Callable[[], bytes]) -> bytes:
        """Give bytes that follow from their key alone, or make them; kept between runs."""
        return kept_answer(self._file.parent, name, key, make)

    def _rows(self, statement: str, *values: str) -> list[Any] | None:
        """Ask the file; None where the whole store has to look."""
        if self._whole is not None:
            return None
        where = f"file:{quote(str(self._file.absolute()))}?mode=rw"
        try:
            with closing(sqlite3.connect(where, uri=True, timeout=_WAIT_S)) as connection:
                connection.execute("PRAGMA query_only = ON")
                version = connection.execute("PRAGMA user_version").fetchone()
                journal = connection.execute("PRAGMA journal_mode").fetchone()
                if version != (NEWEST_SCHEMA,) or journal != ("wal",):
                    return None
                return connection.execute(statement, values).fetchall()
        except sqlite3.Error:
            return None
