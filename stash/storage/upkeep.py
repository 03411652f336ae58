"""Looking a stash over, and putting files aside that no row refers to."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from sqlalchemy import Connection, select
from sqlalchemy.exc import DatabaseError

from stash.errors import NotEmptyError
from stash.storage.checking import check_files, check_rows, orphans, wanted_files
from stash.storage.database import Database
from stash.storage.folder_layout import DATABASE
from stash.storage.picture_files import PHOTOS, PictureFiles
from stash.storage.put_aside import drop_outdated, put_aside
from stash.storage.record_bodies import unreadable_records
from stash.storage.seal import is_as_sealed, seal_file
from stash.storage.sqlite_file import RESTORING
from stash.storage.tables import changes, documents, photos, scraps
from stash.usecases.ports import Finding

__all__ = ["look_over", "mend_files", "need_nothing"]

_LEFT_BY_KILLS = 3  # photos a broken-off logging or two may leave without a row


def _unreadable(connection: Connection) -> Iterator[Finding]:
    try:
        for kind, name in unreadable_records(connection):
            text = f"The {kind} “{name}” cannot be read any more; make it again, or undo."
            yield Finding("record", f"{kind} {name}", text)
    except DatabaseError:
        return  # told with the rows


def look_over(database: Database, files: PictureFiles, *, mend: bool) -> tuple[Finding, ...]:
    """Check every row and file; ``mend`` first puts files aside that nothing refers to."""
    found: list[Finding] = []
    as_sealed = is_as_sealed(files.home)
    if mend:
        # The write lock keeps a photo that is being logged from losing its files.
        with database.writing() as connection:
            mend_files(connection, files)
    with database.reading() as connection:
        found += check_rows(connection)
        found += _unreadable(connection)
        try:
            wanted = wanted_files(connection, files)
        except (ValueError, KeyError, TypeError, AttributeError, DatabaseError) as problem:
            text = f"The database is damaged: it cannot be told which files it names ({problem})."
            return (*found, Finding("database", "", text))
    if as_sealed is False:
        text = (
            "The database file is not as this program left it. Rows that changed are named; if "
            "none is, only unused room in it did, and --mend notes it as it is now."
        )
        found.append(Finding("database", DATABASE, text))
    if as_sealed is None and not found and os.access(files.home, os.W_OK):
        seal_file(files.home)  # a kill left no note; from now on nothing changes unseen
    found += check_files(wanted)
    unused = orphans(files, wanted)
    if unknown := _unknown_photos(unused, wanted):
        text = (
            f"{unknown} photos lie in the folder that the database does not know: it may be an "
            "older one. `stash repair` logs them again."
        )
        found.append(Finding("unknown", PHOTOS, text))
    found += [
        Finding("orphan", path.name, f"Nothing refers to {path.name}; --mend puts it aside.")
        for path in [*unused, *files.unfinished()]
    ]
    return tuple(found)


def mend_files(connection: Connection, files: PictureFiles) -> None:
    """Put files aside that no row refers to; the caller holds the write lock.

    Half files of killed writers go at once, for nobody was told that they were kept. Nothing is
    touched where a row is damaged or the photos without one are so many that the database must be
    the wrong one.
    """
    files.sweep_unfinished()
    if any(check_rows(connection)):
        return
    shutil.rmtree(files.home / RESTORING, ignore_errors=True)
    drop_outdated(files.home)
    wanted = wanted_files(connection, files)
    unused = orphans(files, wanted)
    if not _unknown_photos(unused, wanted):
        put_aside(files.home, unused)


def _unknown_photos(unused: Sequence[Path], wanted: Mapping[Path, object]) -> int:
    """Count the photos without a row where they are more than broken-off work explains."""
    unknown = sum(path.parent.name == PHOTOS for path in unused)
    known = sum(path.parent.name == PHOTOS for path in wanted)
    return unknown if unknown > max(_LEFT_BY_KILLS, known) else 0


def need_nothing(connection: Connection, home: Path) -> None:
    """Raise NotEmptyError if the stash in this folder holds anything."""
    for table in (photos, scraps, documents, changes):
        if connection.execute(select(table.c.number).limit(1)).first() is not None:
            remedy = "An import needs a stash without anything; name a new folder."
            raise NotEmptyError(f"The stash in {home}", remedy=remedy)
