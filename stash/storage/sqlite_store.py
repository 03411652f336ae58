"""The stash: photos, scraps, fabrics and named records, kept in a folder.

The statements are SQLAlchemy Core and hold on SQLite and PostgreSQL alike.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TypeVar

from sqlalchemy import Connection, Row, Select, select

from stash.errors import (
    FileMissingError,
    HistoryEndError,
    StorageError,
)
from stash.scrap import Fabric, LoggedPhoto, Scrap
from stash.storage.change_log import (
    Change,
    do_again,
    empty_bin,
    last_taken_back,
    newest_change,
    take_back,
)
from stash.storage.database import Database
from stash.storage.faults import faults_told
from stash.storage.kept_answers import kept_answer
from stash.storage.named_records import delete_document, document_named, documents_of, keep_document
from stash.storage.picture_files import PHOTOS, PICTURES, PictureFiles, sha256_of
from stash.storage.records import (
    SCRAP_COLUMNS,
    fabric_of,
    photo_of,
    scrap_row,
    scraps_of,
)
from stash.storage.scrap_columns import SCRAPS_IN_USE, columns_of_rows
from stash.storage.scrap_rows import (
    begin_fabric,
    begin_photo,
    begin_scrap,
    living_scraps,
    need_fabric,
    one_scrap,
)
from stash.storage.size_rows import keep_sizes, sizes_of
from stash.storage.sqlite_file import DATABASE
from stash.storage.tables import changes, fabrics, photos, scraps, stamp
from stash.usecases.ports import (
    BackupReport,
    Document,
    Finding,
    HistoryLine,
    PhotoToLog,
    ScrapColumns,
    ScrapToLog,
    SizeKey,
)

T = TypeVar("T")

__all__ = ["FolderStore"]


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")


class FolderStore:
    """A stash in a folder: its database and its picture files.

    Parameters
    ----------
    database : Database
        Where connections come from.
    files : PictureFiles
        The photo and picture files.
    now : callable
        Gives the time for the history, ISO 8601.
    """

    def __init__(
        self, database: Database, files: PictureFiles, *, now: Callable[[], str] = _now
    ) -> None:
        self.database = database
        self.files = files
        self._now = now
        self._remembered: tuple[int, tuple[Scrap, ...]] | None = None
        self._derived: tuple[int, dict[Hashable, Any]] = (-1, {})

    @property
    def home(self) -> Path:
        """The stash folder."""
        return self.files.home

    # Photos

    def photo(self, sha256: str) -> LoggedPhoto | None:
        """Give the photo of that identity if it was logged."""
        with self.database.reading() as connection:
            row = connection.execute(select(photos).where(photos.c.sha256 == sha256)).first()
        return None if row is None else photo_of(row)

    def photos(self) -> tuple[LoggedPhoto, ...]:
        """Give all logged photos, oldest first."""
        return tuple(photo_of(row) for row in self._all(select(photos).order_by(photos.c.number)))

    def log_photo(self, photo: PhotoToLog) -> tuple[Scrap, ...]:
        """Keep the photo and its scraps in one transaction; twice the same is once.

        The files are written and flushed before the transaction begins, so that it is short and
        no row ever stands without its picture.
        """
        if self.photo(photo.sha256) is not None:
            return self._scraps_of(photo.sha256)
        originals = {photo.sha256: (photo.suffix, photo.data)}
        pictures = {
            sha256_of(scrap.picture_jpeg): (".jpg", scrap.picture_jpeg)
            for scrap in photo.scraps
            if scrap.picture_jpeg
        }
        size = len(photo.data) + sum(len(data) for _, data in pictures.values()) + 100_000
        with self.database.writing(needed_bytes=size):
            pass  # a stash that cannot be written is told before the first file
        with faults_told(self.home, waited_s=0.0, needed_bytes=size):
            self.files.keep(PHOTOS, originals)
            self.files.keep(PICTURES, pictures)
        with self.database.writing(needed_bytes=size) as connection:
            # A sweep may have come between; it holds the lock that is held now.
            self.files.keep_missing(PHOTOS, originals)
            self.files.keep_missing(PICTURES, pictures)
            number = begin_photo(connection, photo)
            if number is not None:
                self._log_rows(connection, photo, number)
        return self._scraps_of(photo.sha256)

    def _scraps_of(self, photo: str) -> tuple[Scrap, ...]:
        return tuple(scraps_of(self._all(living_scraps().where(scraps.c.photo == photo))))

    def _log_rows(self, connection: Connection, photo: PhotoToLog, number: int) -> None:
        count = len(photo.scraps)
        what = f"logged {photo.file_name} with {count} scrap{'' if count == 1 else 's'}"
        change = self._change(connection, what)
        change.begun(photos, number)
        for scrap in photo.scraps:
            begin_scrap(connection, change, scrap, photo=photo.sha256)

    def picture(self, sha256: str) -> bytes:
        """Give the bytes of a kept picture or photo.

        Raises
        ------
        FileMissingError
            If the stash does not hold it.
        """
        path = self.files.find(sha256)
        if path is None:
            raise FileMissingError(self.home, sha256=sha256)
        with faults_told(self.home, waited_s=0.0):
            return path.read_bytes()

    # Scraps

    def scraps(self) -> tuple[Scrap, ...]:
        """Give every scrap that is not deleted, by number."""
        with self.database.reading() as connection:
            changed = connection.execute(select(stamp.c.changes)).scalar_one()
            if self._remembered is None or self._remembered[0] != changed:
                with _collector_resting():
                    rows = connection.execute(living_scraps()).all()
                    self._remembered = (changed, tuple(scraps_of(rows)))
        return self._remembered[1]

    def derived(self, key: Hashable, make: Callable[[], T]) -> T:
        """Give what was made of the records before, or make it; anew once something is written."""
        with self.database.reading() as connection:
            changed = int(connection.execute(select(stamp.c.changes)).scalar_one())
        if self._derived[0] != changed:
            self._derived = (changed, {})
        known = self._derived[1]
        if key not in known:
            known[key] = make()
        found: T = known[key]
        return found

    def columns(self) -> ScrapColumns:
        """Give every scrap that is not deleted and not cut up as columns, by number."""
        with self.database.reading() as connection:
            return columns_of_rows(connection.exec_driver_sql(SCRAPS_IN_USE).all())

    def kept_answer(self, name: str, key: str, make: Callable[[], bytes]) -> bytes:
        """Give bytes that follow from their key alone, or make them; kept between runs."""
        return kept_answer(self.home, name, key, make) if self.home.is_dir() else make()

    def forget(self) -> None:
        """Read the scraps anew when next asked, even if nothing was written since."""
        self._remembered = None
        self._derived = (-1, {})

    def scrap(self, number: int) -> Scrap:
        """Give one scrap; raises NotFoundError."""
        with self.database.reading() as connection:
            return one_scrap(connection, number)

    def change_scrap(self, scrap: Scrap, *, why: str) -> None:
        """Put the changed record in place of the old one, undoably."""
        with self.database.writing() as connection:
            one_scrap(connection, scrap.number)
            need_fabric(connection, scrap.fabric)
            self._change(connection, why).update(scraps, scrap.number, scrap_row(scrap))

    def add_scrap(self, scrap: ScrapToLog, *, why: str, photo: str | None = None) -> Scrap:
        """Keep one scrap more: marked on a logged photo, measured by ruler, left of another."""
        if scrap.picture_jpeg:
            shown = {sha256_of(scrap.picture_jpeg): (".jpg", scrap.picture_jpeg)}
            with self.database.writing():
                pass
            with faults_told(self.home, waited_s=0.0, needed_bytes=len(scrap.picture_jpeg)):
                self.files.keep(PICTURES, shown)
        with self.database.writing() as connection:
            change = self._change(connection, why)
            number = begin_scrap(connection, change, scrap, photo=photo)
            return one_scrap(connection, number)

    def delete_scrap(self, number: int, *, why: str) -> None:
        """Take a scrap out of sight, undoably."""
        with self.database.writing() as connection:
            one_scrap(connection, number)
            self._change(connection, why).update(scraps, number, {"deleted": True})

    # Fabrics

    def fabrics(self) -> tuple[Fabric, ...]:
        """Give every fabric that has a scrap, by number."""
        used = select(scraps.c.fabric).where(~scraps.c.deleted)
        rows = self._all(
            select(fabrics).where(fabrics.c.number.in_(used)).order_by(fabrics.c.number)
        )
        return tuple(fabric_of(row) for row in rows)

    def change_fabric(self, fabric: Fabric, *, why: str) -> None:
        """Put the changed record in place of the old one, undoably."""
        row = {"name": fabric.name, "one_way": fabric.one_way, "notes": fabric.notes}
        with self.database.writing() as connection:
            need_fabric(connection, fabric.number)
            self._change(connection, why).update(fabrics, fabric.number, row)

    def join_fabrics(self, keep: int, other: int, *, why: str) -> None:
        """Say that two fabrics are one; the other's scraps become the kept one's."""
        with self.database.writing() as connection:
            need_fabric(connection, keep)
            need_fabric(connection, other)
            change = self._change(connection, why)
            numbers = connection.execute(
                select(scraps.c.number).where(scraps.c.fabric == other)
            ).scalars()
            for number in numbers.all():
                change.update(scraps, number, {"fabric": keep})

    def split_scrap(self, number: int, *, why: str) -> int:
        """Say that a scrap is a fabric of its own; gives the new fabric's number."""
        with self.database.writing() as connection:
            one_scrap(connection, number)
            change = self._change(connection, why)
            fabric = begin_fabric(change)
            change.update(scraps, number, {"fabric": fabric})
        return fabric

    # Named records

    def documents(self, kind: str) -> tuple[Document, ...]:
        """Give all named records of a kind, oldest first."""
        with self.database.reading() as connection:
            return documents_of(connection, kind)

    def document(self, kind: str, name: str) -> Document:
        """Give one named record; raises NotFoundError that lists the names there are."""
        with self.database.reading() as connection:
            return document_named(connection, kind, name)

    def keep_document(self, document: Document, *, why: str) -> None:
        """Keep or replace a named record, undoably."""
        with self.database.writing() as connection:
            keep_document(connection, self._change(connection, why), document)

    def keep_together(
        self,
        *,
        changed: Sequence[Scrap] = (),
        begun: Sequence[ScrapToLog] = (),
        records: Sequence[Document] = (),
        why: str,
    ) -> tuple[Scrap, ...]:
        """Change scraps, begin others and keep records in one change; gives those begun."""
        shown = {sha256_of(one.picture_jpeg): (".jpg", one.picture_jpeg) for one in begun}
        shown.pop(sha256_of(b""), None)
        with self.database.writing():
            pass  # a stash that cannot be written is told before the first file
        with faults_told(self.home, waited_s=0.0, needed_bytes=sum(map(_size, shown.values()))):
            self.files.keep(PICTURES, shown)
        with self.database.writing() as connection:
            self.files.keep_missing(PICTURES, shown)
            change = self._change(connection, why)
            for scrap in changed:
                one_scrap(connection, scrap.number)
                need_fabric(connection, scrap.fabric)
                change.update(scraps, scrap.number, scrap_row(scrap))
            numbers = [begin_scrap(connection, change, one, photo=None) for one in begun]
            for document in records:
                keep_document(connection, change, document)
            return tuple(one_scrap(connection, number) for number in numbers)

    def delete_document(self, kind: str, name: str, *, why: str) -> None:
        """Take a named record away, undoably."""
        with self.database.writing() as connection:
            delete_document(connection, self._change(connection, why), kind, name)

    # Largest sizes

    def largest_sizes(self, key: SizeKey) -> dict[int, float]:
        """Give stored largest finished sizes in inches by scrap number."""
        with self.database.reading() as connection:
            return sizes_of(connection, key)

    def keep_largest_sizes(self, key: SizeKey, sizes: Mapping[int, float]) -> None:
        """Store largest finished sizes; forgotten when a scrap's outline changes."""
        if sizes:
            with self.database.writing() as connection:
                keep_sizes(connection, key, sizes)

    # History

    def undo(self) -> str:
        """Take back the newest change that is not yet taken back, and say what it was."""
        with self.database.writing() as connection:
            newest = newest_change(connection)
            if newest is None:
                raise HistoryEndError("There is no change left to take back.")
            number, why = newest
            take_back(connection, number)
        return why

    def redo(self) -> str:
        """Do again what was taken back last, and say what it was; not after a newer change."""
        with self.database.writing() as connection:
            last = last_taken_back(connection)
            if last is None:
                raise HistoryEndError(
                    "Nothing can be done again: nothing was taken back, or something was changed "
                    "since."
                )
            number, why = last
            do_again(connection, number)
        return why

    def history(self) -> tuple[HistoryLine, ...]:
        """Give all changes, newest first."""
        rows = self._all(select(changes).order_by(changes.c.number.desc()))
        return tuple(HistoryLine(row.number, row.at, row.why, row.state) for row in rows)

    def bin(self) -> tuple[Scrap, ...]:
        """Give the deleted scraps that can still be brought back."""
        binned = select(*SCRAP_COLUMNS).where(scraps.c.deleted).order_by(scraps.c.number)
        return tuple(scraps_of(self._all(binned)))

    def empty_bin(self) -> int:
        """Remove deleted scraps for good and say how many; what was done before stays done.

        Changes before that cannot be taken back any more: the rows they would bring back are
        forgotten with the scraps.
        """
        with self.database.writing() as connection:
            count = empty_bin(connection, at=self._now())
            if count:
                from stash.storage.upkeep import sweep  # noqa: PLC0415 - seldom asked for

                sweep(connection, self.files)
        return count

    # Safety

    def check(self, *, mend: bool = False) -> tuple[Finding, ...]:
        """Look everything over; ``mend`` sweeps files that nothing refers to.

        Nothing else is mended: what is missing or changed has to come from a backup.
        """
        from stash.storage.upkeep import look_over  # noqa: PLC0415 - seldom asked for

        return look_over(self.database, self.files, mend=mend)

    def backup(self, target: str, *, replace: bool = False) -> BackupReport:
        """Write everything into one file."""
        with self.database.reading():
            pass  # a stash that cannot be read is told before anything is written
        if not (self.home / DATABASE).exists():
            raise StorageError(
                "A stash on a database server is backed up by that server; `stash export` writes "
                "it into a folder.",
                folder=self.home,
            )
        from stash.storage.backup import write_backup  # noqa: PLC0415 - seldom asked for

        return write_backup(self.home, Path(target), replace=replace)

    def export(self, folder: str, *, with_details: bool = False) -> BackupReport:
        """Write everything into a folder of open files."""
        from stash.storage.exchange import export_to  # noqa: PLC0415 - loads the picture library

        with self.database.reading() as connection:
            return export_to(connection, self.files, Path(folder), with_details=with_details)

    def take_in(self, folder: str) -> BackupReport:
        """Bring an exported folder into this stash, which must hold nothing.

        Raises
        ------
        NotEmptyError
            If this stash holds anything.
        StorageError
            If the export cannot be read; nothing is imported then.
        """
        from stash.storage.exchange import import_from, read_export  # noqa: PLC0415 - the same
        from stash.storage.upkeep import need_nothing  # noqa: PLC0415 - seldom asked for

        stash = read_export(Path(folder))
        with self.database.writing() as connection:
            need_nothing(connection, self.home)
            return import_from(connection, self.files, Path(folder), stash)

    def _change(self, connection: Connection, why: str) -> Change:
        return Change(connection, why=why, at=self._now())

    def _all(self, statement: Select[Any]) -> Sequence[Row[Any]]:
        with self.database.reading() as connection:
            return connection.execute(statement).all()


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


def _size(file: tuple[str, bytes]) -> int:
    return len(file[1])
