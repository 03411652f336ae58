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
            note = {"sha256": _digest(home / DATABASE)}
            write_whole(home / SEAL, json.dumps(note).encode())
        raw.execute("ROLLBACK")


def is_as_sealed(home: Path) -> bool | None:
    """Whether the file is as it was noted; None without a note."""
    for _ in range(2):  # someone may write just now
        try:
            said = (home / SEAL).read_bytes()
            same = said == json.dumps({"sha256": _digest(home / DATABASE)}).encode()
        except FileNotFoundError:
            return None
        if same:
            return True
    return False if (home / SEAL).exists() else None


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
