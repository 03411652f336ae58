"""No program takes the log away from under a store that is open in another.

A process that opens and closes a database file past SQLite loses all its locks on it (fcntl(2)).
The next program to end then takes itself for the last one and removes the write-ahead log, and
what the open store goes on to acknowledge stands in a file without a name.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from stash.storage.sqlite_store import FolderStore
from stash.wiring import check_backup, open_store
from tests.running import run_stash
from tests.storage.made_records import made_photo


def _beside(store: FolderStore) -> None:
    other = open_store(store.home)
    other.log_photo(made_photo(3))
    other.database.close()


DONE: dict[str, Callable[[FolderStore, Path], object]] = {
    "verify": lambda store, _: store.check(),
    "mend": lambda store, _: store.check(mend=True),
    "backup": lambda store, place: store.backup(str(place / "kept.zip")),
    "backup into a folder": lambda store, place: store.backup(str(place / "kept")),
    "verify the backup": lambda store, _: check_backup(store.home),
    "export": lambda store, place: store.export(str(place / "open"), with_details=True),
    "details": lambda store, _: store.details(take_off=True),
    "empty the bin": lambda store, _: store.empty_bin(),
    "a second store that ends": lambda store, _: _beside(store),
}


class _Opened:
    """Hears of every file that Python itself opens; SQLite's own it does not hear of."""

    def __init__(self) -> None:
        self.watched: Path | None = None
        self.heard: list[str] = []
        sys.addaudithook(self._hear)

    def _hear(self, event: str, args: tuple[Any, ...]) -> None:
        if self.watched is not None and event == "open" and args[0] == str(self.watched):
            self.heard.append(str(args[0]))


OPENED = _Opened()  # there is no taking a hook away; it rests when it watches nothing


@pytest.mark.parametrize("what", DONE)
def test_what_is_done_beside_an_open_store_keeps_its_locks(tmp_path: Path, what: str) -> None:
    home = tmp_path / "home"
    first = open_store(home)
    first.log_photo(made_photo(1))
    first.database.close()
    store = open_store(home)
    store.log_photo(made_photo(2))
    OPENED.watched, OPENED.heard = home / "stash.db", []
    try:
        DONE[what](store, tmp_path)
    finally:
        OPENED.watched = None
    assert OPENED.heard == []
    log = (home / "stash.db-wal").stat().st_ino
    assert run_stash("scrap", "1", "--bin", "red tin", home=home).returncode == 0
    assert (home / "stash.db-wal").stat().st_ino == log
    assert store.scrap(1).place == "red tin"
    store.log_photo(made_photo(4))
    said = run_stash("verify", home=home)
    assert (said.returncode, said.stderr) == (0, "")
    store.database.close()
