"""The stash: photos, scraps, fabrics and named records, kept in a folder.

The statements are SQLAlchemy Core and hold on SQLite and PostgreSQL alike.
"""

from __future__ import annotations

import gc
import json
import shutil
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Protocol, TypeVar

from sqlalchemy import Connection, Row, Select, bindparam, delete, insert, select

from stash.errors import (
    FileMissingError,
    HistoryEndError,
    NotEmptyError,
    NotFoundError,
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
from stash.storage.faults import faults_told
from stash.storage.kept_answers import kept_answer
from stash.storage.picture_files import PHOTOS, PICTURES, PictureFiles, plain_suffix, sha256_of
from stash.storage.records import (
    SCRAP_COLUMNS,
    fabric_of,
    new_scrap_row,
    photo_of,
    photo_row,
    scrap_row,
    scraps_of,
)
from stash.storage.scrap_columns import SCRAPS_IN_USE, columns_of_rows
from stash.storage.sqlite_file import DATABASE, RESTORING
from stash.storage.tables import changes, documents, fabrics, largest_sizes, photos, scraps, stamp
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

__all__ = ["Database", "FolderStore"]


class Database(Protocol):
    """Where connections come from."""

    def reading(self) -> AbstractContextManager[Connection]:
        """Give a connection that sees one moment."""

    def writing(self, *, needed_bytes: int = 0) -> AbstractContextManager[Connection]:
        """Give a connection in one write transaction."""


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
            number = _begin_photo(connection, photo)
            if number is not None:
                self._log_rows(connection, photo, number)
        return self._scraps_of(photo.sha256)

    def _scraps_of(self, photo: str) -> tuple[Scrap, ...]:
        return tuple(scraps_of(self._all(_living_scraps().where(scraps.c.photo == photo))))

    def _log_rows(self, connection: Connection, photo: PhotoToLog, number: int) -> None:
        count = len(photo.scraps)
        what = f"logged {photo.file_name} with {count} scrap{'' if count == 1 else 's'}"
        change = self._change(connection, what)
        change.begun(photos, number)
        for scrap in photo.scraps:
            _begin_scrap(connection, change, scrap, photo=photo.sha256)

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
                    rows = connection.execute(_living_scraps()).all()
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
            return _one_scrap(connection, number)

    def change_scrap(self, scrap: Scrap, *, why: str) -> None:
        """Put the changed record in place of the old one, undoably."""
        with self.database.writing() as connection:
            _one_scrap(connection, scrap.number)
            _need_fabric(connection, scrap.fabric)
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
            number = _begin_scrap(connection, change, scrap, photo=photo)
            return _one_scrap(connection, number)

    def delete_scrap(self, number: int, *, why: str) -> None:
        """Take a scrap out of sight, undoably."""
        with self.database.writing() as connection:
            _one_scrap(connection, number)
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
            _need_fabric(connection, fabric.number)
            self._change(connection, why).update(fabrics, fabric.number, row)

    def join_fabrics(self, keep: int, other: int, *, why: str) -> None:
        """Say that two fabrics are one; the other's scraps become the kept one's."""
        with self.database.writing() as connection:
            _need_fabric(connection, keep)
            _need_fabric(connection, other)
            change = self._change(connection, why)
            numbers = connection.execute(
                select(scraps.c.number).where(scraps.c.fabric == other)
            ).scalars()
            for number in numbers.all():
                change.update(scraps, number, {"fabric": keep})

    def split_scrap(self, number: int, *, why: str) -> int:
        """Say that a scrap is a fabric of its own; gives the new fabric's number."""
        with self.database.writing() as connection:
            _one_scrap(connection, number)
            change = self._change(connection, why)
            fabric = _begin_fabric(change)
            change.update(scraps, number, {"fabric": fabric})
        return fabric

    # Named records

    def documents(self, kind: str) -> tuple[Document, ...]:
        """Give all named records of a kind, oldest first."""
        rows = self._all(
            select(documents).where(documents.c.kind == kind).order_by(documents.c.number)
        )
        return tuple(Document(row.kind, row.name, json.loads(row.body)) for row in rows)

    def document(self, kind: str, name: str) -> Document:
        """Give one named record; raises NotFoundError that lists the names there are."""
        for document in self.documents(kind):
            if document.name == name:
                return document
        raise NotFoundError(kind, name, hint=_names_hint(kind, self.documents(kind)))

    def keep_document(self, document: Document, *, why: str) -> None:
        """Keep or replace a named record, undoably."""
        with self.database.writing() as connection:
            _keep_document(connection, self._change(connection, why), document)

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
                _one_scrap(connection, scrap.number)
                _need_fabric(connection, scrap.fabric)
                change.update(scraps, scrap.number, scrap_row(scrap))
            numbers = [_begin_scrap(connection, change, one, photo=None) for one in begun]
            for document in records:
                _keep_document(connection, change, document)
            return tuple(_one_scrap(connection, number) for number in numbers)

    def delete_document(self, kind: str, name: str, *, why: str) -> None:
        """Take a named record away, undoably."""
        with self.database.writing() as connection:
            number = _document_number(connection, kind, name)
            if number is None:
                raise NotFoundError(kind, name)
            self._change(connection, why).delete(documents, number)

    # Largest sizes

    def largest_sizes(self, key: SizeKey) -> dict[int, float]:
        """Give stored largest finished sizes in inches by scrap number."""
        rows = self._all(
            select(largest_sizes.c.scrap, largest_sizes.c.size_in).where(
                largest_sizes.c.family == key.family, largest_sizes.c.rule == key.rule
            )
        )
        return {row.scrap: row.size_in for row in rows}

    def keep_largest_sizes(self, key: SizeKey, sizes: Mapping[int, float]) -> None:
        """Store largest finished sizes; forgotten when a scrap's outline changes."""
        if not sizes:
            return
        with self.database.writing() as connection:
            known = set(connection.execute(select(scraps.c.number)).scalars())
            rows = [
                {"family": key.family, "rule": key.rule, "scrap": scrap, "size_in": float(size)}
                for scrap, size in sizes.items()
                if scrap in known
            ]
            if not rows:
                return
            gone = delete(largest_sizes).where(
                largest_sizes.c.family == key.family,
                largest_sizes.c.rule == key.rule,
                largest_sizes.c.scrap == bindparam("of_scrap"),
            )
            connection.execute(gone, [{"of_scrap": row["scrap"]} for row in rows])
            connection.execute(insert(largest_sizes), rows)

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
                self._sweep(connection)
        return count

    # Safety

    def check(self, *, mend: bool = False) -> tuple[Finding, ...]:
        """Look everything over; ``mend`` sweeps files that nothing refers to.

        Nothing else is mended: what is missing or changed has to come from a backup.
        """
        from stash.storage.checking import (  # noqa: PLC0415 - seldom asked for
            check_files,
            check_rows,
            orphans,
            wanted_files,
        )

        if mend:
            # The write lock keeps a photo that is being logged from losing its files.
            with self.database.writing() as connection:
                self._sweep(connection)
        with self.database.reading() as connection:
            found = list(check_rows(connection))
            wanted = wanted_files(connection, self.files)
        found += check_files(wanted)
        left = [*orphans(self.files, wanted), *self.files.unfinished()]
        found += [
            Finding("orphan", path.name, f"Nothing refers to {path.name}; --mend removes it.")
            for path in left
        ]
        return tuple(found)

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

        stash = read_export(Path(folder))
        with self.database.writing() as connection:
            for table in (photos, scraps, documents, changes):
                if connection.execute(select(table.c.number).limit(1)).first() is not None:
                    remedy = "An import needs a stash without anything; name a new folder."
                    raise NotEmptyError(f"The stash in {self.home}", remedy=remedy)
            return import_from(connection, self.files, Path(folder), stash)

    def _sweep(self, connection: Connection) -> None:
        from stash.storage.checking import orphans, wanted_files  # noqa: PLC0415 - seldom asked for

        self.files.sweep_unfinished()
        shutil.rmtree(self.home / RESTORING, ignore_errors=True)
        for path in orphans(self.files, wanted_files(connection, self.files)):
            with faults_told(self.home, waited_s=0.0):
                path.unlink(missing_ok=True)

    def _change(self, connection: Connection, why: str) -> Change:
        return Change(connection, why=why, at=self._now())

    def _all(self, statement: Select[Any]) -> Sequence[Row[Any]]:
        with self.database.reading() as connection:
            return connection.execute(statement).all()


def _living_scraps() -> Select[Any]:
    return select(*SCRAP_COLUMNS).where(~scraps.c.deleted).order_by(scraps.c.number)


def _one_scrap(connection: Connection, number: int) -> Scrap:
    rows = connection.execute(_living_scraps().where(scraps.c.number == number))
    for scrap in scraps_of(rows):
        return scrap
    raise NotFoundError("scrap", number)


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


def _need_fabric(connection: Connection, number: int) -> None:
    found = connection.execute(select(fabrics.c.number).where(fabrics.c.number == number)).first()
    if found is None:
        raise NotFoundError("fabric", number)


def _begin_photo(connection: Connection, photo: PhotoToLog) -> int | None:
    """Insert the photo's row and give its number; None if it is there already."""
    if connection.dialect.name == "postgresql":
        from sqlalchemy.dialects.postgresql import insert as make  # noqa: PLC0415 - seldom asked for
    else:
        from sqlalchemy.dialects.sqlite import insert as make  # type: ignore[assignment] # noqa: PLC0415
    row = photo_row(photo, suffix=plain_suffix(photo.suffix))
    statement = make(photos).values(**row).on_conflict_do_nothing(index_elements=["sha256"])
    return connection.execute(statement.returning(photos.c.number)).scalar_one_or_none()


def _begin_scrap(
    connection: Connection, change: Change, scrap: ScrapToLog, *, photo: str | None
) -> int:
    fabric = scrap.fabric
    if fabric is None:
        fabric = _begin_fabric(change)
    else:
        _need_fabric(connection, fabric)
    picture = sha256_of(scrap.picture_jpeg) if scrap.picture_jpeg else None
    return change.insert(scraps, new_scrap_row(scrap, fabric=fabric, photo=photo, picture=picture))


def _begin_fabric(change: Change) -> int:
    return change.insert(fabrics, {"name": "", "one_way": False, "notes": ""})


def _size(file: tuple[str, bytes]) -> int:
    return len(file[1])


def _keep_document(connection: Connection, change: Change, document: Document) -> None:
    body = json.dumps(document.body, ensure_ascii=False)
    number = _document_number(connection, document.kind, document.name)
    if number is None:
        change.insert(documents, {"kind": document.kind, "name": document.name, "body": body})
    else:
        change.update(documents, number, {"body": body})


def _document_number(connection: Connection, kind: str, name: str) -> int | None:
    return connection.execute(
        select(documents.c.number).where(documents.c.kind == kind, documents.c.name == name)
    ).scalar_one_or_none()


def _names_hint(kind: str, there: Iterable[Document]) -> str:
    names = ", ".join(document.name for document in there)
    return f"There are: {names}." if names else f"There is no {kind} yet."
