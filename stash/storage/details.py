"""Takes what photos tell of place, time and device off those that are kept already."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from sqlalchemy import Connection, Row, select, update

from stash.photo.files.private_details import without_details
from stash.storage.backup import earlier_backups
from stash.storage.backup_folder import newest_of
from stash.storage.change_log import Change
from stash.storage.database import Database
from stash.storage.faults import faults_told, last_backup
from stash.storage.picture_files import PHOTOS, PictureFiles, sha256_of, sync_folder, write_whole
from stash.storage.row_digests import touch
from stash.storage.tables import changes, edits, photos
from stash.usecases.ports import DetailsReport
from stash.wording import counted

__all__ = ["details_kept", "take_details_off"]


class _Photo(NamedTuple):
    row: Row[tuple[object, ...]]
    path: Path
    plain: bytes | None  # None where they cannot be taken off

    @property
    def tells(self) -> bool:
        """Whether something could be taken off the file."""
        return self.plain is not None and sha256_of(self.path.read_bytes()) != self.plain_sha256

    @property
    def plain_sha256(self) -> str:
        """The sha256 of the photo with its details taken off."""
        return sha256_of(self.plain or b"")


def details_kept(database: Database, files: PictureFiles) -> DetailsReport:
    """Say which kept photos tell more than their picture, and which backups hold such photos."""
    found = list(_photos(database, files))
    telling = tuple(one.row.file_name for one in found if one.tells)
    whole = tuple(one.row.file_name for one in found if one.plain is None)
    return DetailsReport(telling, 0, whole, _backups(files.home))


def take_details_off(database: Database, files: PictureFiles, *, at: str) -> DetailsReport:
    """Keep every photo without its details from now on; this cannot be undone.

    The rows say so first, in one transaction. Where it is broken off then, ``verify`` names the
    files that still are as they were, and the same once more ends it.
    """
    report = details_kept(database, files)
    telling = [one for one in _photos(database, files) if one.tells]
    if telling:
        if fresh := [one for one in telling if one.row.kept_sha256 != one.plain_sha256]:
            with database.writing() as connection:
                _note(connection, fresh, at)
        with faults_told(files.home, waited_s=0.0):
            for one in telling:
                write_whole(one.path, one.plain or b"")
            sync_folder(files.home / PHOTOS)
    return DetailsReport((), len(telling), report.whole, report.backups)


def _photos(database: Database, files: PictureFiles) -> Iterator[_Photo]:
    """Give the photos whose file is as it was logged, or still is where only its row is plain."""
    with database.reading() as connection:
        rows = connection.execute(select(photos).order_by(photos.c.number)).all()
    for row in rows:
        path = files.path_of(PHOTOS, row.sha256, row.suffix)
        if not path.is_file():
            continue
        with faults_told(files.home, waited_s=0.0):
            data = path.read_bytes()
        plain = without_details(data)
        if sha256_of(data) in (row.kept_sha256, row.sha256):
            yield _Photo(row, path, plain)


def _note(connection: Connection, telling: list[_Photo], at: str) -> None:
    count = len(telling)
    why = f"took place and device off {counted(count, 'photo')}"
    change = Change(connection, why=why, at=at)
    done = changes.c.number == change.number
    connection.execute(update(changes).where(done).values(state="final"))
    for one in telling:
        named = photos.c.number == one.row.number
        connection.execute(update(photos).where(named).values(kept_sha256=one.plain_sha256))
        touch(connection, photos, one.row.number)
        _note_in_history(connection, one)


def _note_in_history(connection: Connection, one: _Photo) -> None:
    """Let no undo bring back the checksum of a file that is gone."""
    of_it = (edits.c.on_table == photos.name, edits.c.row_number == one.row.number)
    for edit in connection.execute(select(edits).where(*of_it)).all():
        told = {
            name: json.dumps(json.loads(text) | {"kept_sha256": one.plain_sha256})
            for name, text in (("before", edit.before), ("after", edit.after))
            if text is not None
        }
        if told:
            this = (edits.c.change == edit.change, edits.c.step == edit.step)
            connection.execute(update(edits).where(*this).values(**told))
            touch(connection, edits, edit.change, edit.step)


def _backups(home: Path) -> tuple[str, ...]:
    noted = last_backup(home)
    if not noted:
        return ()
    there = (newest_of(Path(noted)), *earlier_backups(Path(noted)))
    return tuple(str(path) for path in there if path.is_file())
