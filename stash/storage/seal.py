"""The digest of the whole database file, for as long as nothing is written to it.

Digests of rows do not reach what lies between the rows. When a program that wrote ends in order,
everything is in the file itself and its digest is noted beside it; the next writer takes the note
away first. A killed program leaves no note, and the rows speak for themselves.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from contextlib import closing, suppress
from pathlib import Path
from urllib.parse import quote

from stash.storage.folder_layout import DATABASE
from stash.storage.picture_files import sync_folder, write_whole

__all__ = ["SEAL", "break_seal", "is_as_sealed", "seal_file"]

SEAL = "stash.seal"


def break_seal(home: Path) -> None:
    """Take the note away before something is written."""
    with suppress(FileNotFoundError):
        (home / SEAL).unlink()
        sync_folder(home)


def seal_file(home: Path) -> None:
    """Bring everything into the file and note its digest; nothing is noted while others write."""
    where = f"file:{quote(str((home / DATABASE).absolute()))}?mode=rw"
    with suppress(sqlite3.Error, OSError), closing(sqlite3.connect(where, uri=True)) as raw:
        raw.isolation_level = None
        raw.execute("PRAGMA busy_timeout = 1000")
        busy, _, _ = raw.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
        if busy:
            return
        raw.execute("BEGIN IMMEDIATE")  # nobody writes until the note is made
        log = home / f"{DATABASE}-wal"
        if not log.exists() or log.stat().st_size == 0:
            write_whole(home / SEAL, _note(raw))
        raw.execute("ROLLBACK")


def is_as_sealed(home: Path) -> bool | None:
    """Whether the file is as it was noted; None without a note."""
    for _ in range(2):  # someone may write just now
        try:
            said = (home / SEAL).read_bytes()
        except FileNotFoundError:
            return None
        if said == _note_now(home / DATABASE):
            return True
    return False if (home / SEAL).exists() else None


def _note_now(file: Path) -> bytes | None:
    """Give the note that fits the file as it is; None for a file that SQLite cannot read."""
    for how in ("mode=ro", "immutable=1"):  # the latter where nothing may be laid beside it
        where = f"file:{quote(str(file.absolute()))}?{how}"
        with suppress(sqlite3.Error), closing(sqlite3.connect(where, uri=True)) as raw:
            return _note(raw)
    return None


def _note(raw: sqlite3.Connection) -> bytes:
    """Digest the pages as SQLite reads them, which are those of the file while no log lies beside.

    The file is never opened past SQLite: a process that closes a file loses all its locks on it
    (fcntl(2)), also those of a store that is open in it, and the next program to end would then
    take the log away from under that store.
    """
    return json.dumps({"sha256": hashlib.sha256(raw.serialize()).hexdigest()}).encode()
