"""Looking a stash over, and sweeping away files that no row refers to."""

from __future__ import annotations

import shutil
from pathlib import Path

from sqlalchemy import Connection, select

from stash.errors import NotEmptyError
from stash.storage.checking import check_files, check_rows, orphans, wanted_files
from stash.storage.database import Database
from stash.storage.faults import faults_told
from stash.storage.picture_files import PictureFiles
from stash.storage.sqlite_file import RESTORING
from stash.storage.tables import changes, documents, photos, scraps
from stash.usecases.ports import Finding

__all__ = ["look_over", "need_nothing", "sweep"]


def look_over(database: Database, files: PictureFiles, *, mend: bool) -> tuple[Finding, ...]:
    """Check every row and file; ``mend`` first sweeps files that nothing refers to."""
    if mend:
        # The write lock keeps a photo that is being logged from losing its files.
        with database.writing() as connection:
            sweep(connection, files)
    with database.reading() as connection:
        found = list(check_rows(connection))
        wanted = wanted_files(connection, files)
    found += check_files(wanted)
    left = [*orphans(files, wanted), *files.unfinished()]
    found += [
        Finding("orphan", path.name, f"Nothing refers to {path.name}; --mend removes it.")
        for path in left
    ]
    return tuple(found)


def sweep(connection: Connection, files: PictureFiles) -> None:
    """Remove files that no row refers to; the caller holds the write lock."""
    files.sweep_unfinished()
    shutil.rmtree(files.home / RESTORING, ignore_errors=True)
    for path in orphans(files, wanted_files(connection, files)):
        with faults_told(files.home, waited_s=0.0):
            path.unlink(missing_ok=True)


def need_nothing(connection: Connection, home: Path) -> None:
    """Raise NotEmptyError if the stash in this folder holds anything."""
    for table in (photos, scraps, documents, changes):
        if connection.execute(select(table.c.number).limit(1)).first() is not None:
            remedy = "An import needs a stash without anything; name a new folder."
            raise NotEmptyError(f"The stash in {home}", remedy=remedy)
