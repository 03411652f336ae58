"""What a database or disk fault means to a quilter."""

from __future__ import annotations

import errno
import json
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DatabaseError, DBAPIError

from stash.errors import (
    StashDamagedError,
    StashFullError,
    StashLockedError,
    StashReadOnlyError,
    StorageError,
)

__all__ = ["LAST_BACKUP", "faults_told", "last_backup"]

LAST_BACKUP = "last_backup.json"
_FULL = {errno.ENOSPC, errno.EFBIG, errno.EDQUOT}
_FORBIDDEN = {errno.EACCES, errno.EPERM, errno.EROFS}


def last_backup(home: Path) -> str:
    """Name the newest backup made from this stash, if one is known."""
    try:
        return str(json.loads((home / LAST_BACKUP).read_text("utf-8"))["file"])
    except (OSError, ValueError, KeyError, TypeError):
        return ""


@contextmanager
def faults_told(home: Path, *, waited_s: float, needed_bytes: int = 0) -> Iterator[None]:
    """Turn database and disk faults into errors that name the folder and the remedy."""
    try:
        yield
    except OSError as problem:
        raise _of_disk(problem, home, needed_bytes) from problem
    except UnicodeEncodeError as problem:
        raise StorageError(
            "A name or a note holds signs that are no letters of any script, as a screen of "
            "another encoding sends them. Type it again; nothing was written.",
            folder=home,
        ) from problem
    except OverflowError as problem:
        raise StorageError(
            "No number in a stash is that large.",
            folder=home,
            at_terminal="`stash scraps` lists those there are.",
        ) from problem
    except UnicodeDecodeError as problem:  # SQLite tells of damage in words it read from it
        raise StashDamagedError(home, backup=last_backup(home)) from problem
    except sqlite3.Error as problem:
        raise _of_database(str(problem), home, waited_s, needed_bytes) from problem
    except DBAPIError as problem:
        if not isinstance(problem, DatabaseError):
            raise
        raise _of_database(str(problem.orig), home, waited_s, needed_bytes) from problem


def _of_disk(problem: OSError, home: Path, needed_bytes: int) -> StorageError:
    if problem.errno in _FULL:
        return StashFullError(home, needed_bytes=needed_bytes)
    if problem.errno in _FORBIDDEN:
        return StashReadOnlyError(home)
    return StorageError(
        f"Writing or reading in {home} failed ({problem.strerror}). What was logged before is "
        "kept; check the disk, then run the same command again.",
        folder=home,
    )


def _of_database(said: str, home: Path, waited_s: float, needed_bytes: int) -> StorageError:
    """Tell faults apart by SQLite's own wording; source sqlite.org/rescode.html."""
    text = said.lower()
    if "locked" in text or "busy" in text or "lock timeout" in text:
        return StashLockedError(home, waited_s=waited_s)
    if "is full" in text or ("disk i/o error" in text and _is_tight(home)):
        return StashFullError(home, needed_bytes=needed_bytes)
    if "malformed" in text or "not a database" in text:
        return StashDamagedError(home, backup=last_backup(home))
    if "readonly" in text or "unable to open" in text:
        return StashReadOnlyError(home)
    return StorageError(
        f"The stash in {home} could not be used ({said}). What was logged before is kept; look "
        "the stash over, then do the same again.",
        folder=home,
        at_terminal="`stash verify` looks it over.",
    )


def _is_tight(home: Path) -> bool:
    """Whether little room is left: a limit shows as an input/output error (measured)."""
    try:
        import resource  # not on every system

        limit = resource.getrlimit(resource.RLIMIT_FSIZE)[0]
        if limit != resource.RLIM_INFINITY:
            return True
    except ImportError:
        pass
    try:
        return shutil.disk_usage(home).free < 4_000_000
    except OSError:
        return False
