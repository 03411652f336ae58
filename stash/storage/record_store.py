"""Photos, scraps, fabrics and named records: looked up, kept, changed, taken back.

The statements are SQLAlchemy Core and hold on SQLite and PostgreSQL alike.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from contextlib import AbstractContextManager, suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TypeVar

from sqlalchemy import Connection, Row, Select, select

from stash.errors import FileMissingError, HistoryEndError, StashFullError, StashReadOnlyError
from stash.scrap import Fabric, LoggedPhoto, Scrap
from stash.storage.as_seen import fabric_values, scrap_values
from stash.storage.change_log import (
    Change,
    bump,
    do_again,
    last_taken_back,
    newest_change,
    scraps_once_of,
    take_back,
)
from stash.storage.database import Database
from stash.storage.faults import faults_told
from stash.storage.files_first import files_first
from stash.storage.kept_answers import kept_answer
from stash.storage.named_records import delete_document, document_named, documents_of, keep_document
from stash.storage.picture_files import PHOTOS, PICTURES, PictureFiles, holds, sha256_of
from stash.storage.records import fabric_of, photo_of, scraps_of
from stash.storage.remembered import Remembered
from stash.storage.scrap_columns import (
    OUTLINES_IN_USE,
    SCRAPS_IN_USE,
    columns_of_rows,
    outlines_of_rows,
)
from stash.storage.scrap_rows import (
    begin_photo,
    begin_scrap,
    living_scraps,
    need_fabric,
    one_scrap,
)
from stash.storage.size_rows import keep_sizes, sizes_of
from stash.storage.tables import fabrics, photos, scraps
from stash.storage.twin_columns import ALIKE, ANSWERS, alike_of_rows, answers_of_rows
from stash.storage.twin_rows import imprints_of, keep_imprints, settle
from stash.usecases.ports import (
    AlikeScraps,
    Document,
    PhotoToLog,
    ScrapColumns,
    ScrapOutline,
    ScrapToLog,
    Settlement,
    SizeKey,
    TwinAnswer,
)
from stash.wording import counted

T = TypeVar("T")

__all__ = ["RecordStore"]


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")


class RecordStore:
    """The records of a stash: its database and its picture files.

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
        self._remembered = Remembered(database)

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

        A photo that another process logged meanwhile is left as it is.
        """
        if self.photo(photo.sha256) is not None:
            return self._scraps_of(photo.sha256)
        files = {
            PHOTOS: {photo.sha256: (photo.suffix, photo.data)},
            PICTURES: _pictures_of(photo.scraps),
        }
        with files_first(self.database, self.files, files) as connection:
            number = begin_photo(connection, photo)
            if number is not None:
                self._log_rows(connection, photo, number)
        return self._scraps_of(photo.sha256)

    def heal_photo(self, sha256: str, data: bytes) -> bool:
        """Put a logged photo's file back if it was lost or changed, and say whether it was.

        A changed file is put aside, not overwritten. A photo that was kept without its place and
        device is kept without them again.
        """
        if sha256_of(data) != sha256:
            return False
        with self.database.reading() as connection:
            row = connection.execute(select(photos).where(photos.c.sha256 == sha256)).first()
        if row is None:
            return False
        if row.kept_sha256 != sha256:
            from stash.photo.files.private_details import without_details  # Pillow

            data = without_details(data) or b""
            if sha256_of(data) != row.kept_sha256:
                return False
        path = self.files.path_of(PHOTOS, sha256, row.suffix)
        if holds(path, data):
            return False
        from stash.storage.put_aside import put_aside  # hardly ever

        wanted = {PHOTOS: {sha256: (row.suffix, data)}}
        if path.exists():
            with self.database.writing():
                put_aside(self.home, [path])
        with files_first(self.database, self.files, wanted):
            pass
        return True

    def _scraps_of(self, photo: str) -> tuple[Scrap, ...]:
        return tuple(scraps_of(self._all(living_scraps().where(scraps.c.photo == photo))))

    def _log_rows(self, connection: Connection, photo: PhotoToLog, number: int) -> None:
        count = len(photo.scraps)
        what = f"logged {photo.file_name} with {counted(count, 'scrap')}"
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
            data = path.read_bytes()
        # A damaged picture is told as such before a library stumbles over it. A photo may have
        # been kept without its place and device: its own bytes are looked at by `verify`.
        if path.parent.name == PICTURES and sha256_of(data) != sha256:
            raise FileMissingError(self.home, sha256=sha256)
        return data

    # Scraps

    def scraps(self) -> tuple[Scrap, ...]:
        """Give every scrap that is not deleted, by number."""
        return self._remembered.scraps()

    def derived(self, key: Hashable, make: Callable[[], T]) -> T:
        """Give what was made of the records before, or make it; anew once something is written."""
        return self._remembered.derived(key, make)

    def columns(self) -> ScrapColumns:
        """Give every scrap that is not deleted and not cut up as columns, by number."""
        with self.database.reading() as connection:
            return columns_of_rows(connection.exec_driver_sql(SCRAPS_IN_USE).all())

    def outlines(self) -> dict[int, ScrapOutline]:
        """Give the outline of every scrap that is not deleted and not cut up, by number."""
        with self.database.reading() as connection:
            return outlines_of_rows(connection.exec_driver_sql(OUTLINES_IN_USE).all())

    def kept_answer(self, name: str, key: str, make: Callable[[], bytes]) -> bytes:
        """Give bytes that follow from their key alone, or make them; kept between runs."""
        return kept_answer(self.home, name, key, make) if self.home.is_dir() else make()

    def forget(self) -> None:
        """Read the scraps anew when next asked, even if nothing was written since."""
        self._remembered.forget()

    def scrap(self, number: int) -> Scrap:
        """Give one scrap; raises NotFoundError."""
        with self.database.reading() as connection:
            return one_scrap(connection, number)

    def change_scrap(self, scrap: Scrap, *, seen: Scrap, why: str) -> None:
        """Write what differs from the record as it was seen, undoably.

        What others have changed meanwhile stays; raises ChangedElsewhereError if it is the same.
        """
        with self.database.writing() as connection:
            values = scrap_values(connection, seen, scrap)
            if values:
                self._change(connection, why).update(scraps, scrap.number, values)

    def add_scrap(self, scrap: ScrapToLog, *, why: str, photo: str | None = None) -> Scrap:
        """Keep one scrap more: marked on a logged photo, measured by ruler, left of another."""
        with self._pictures_first([scrap]) as connection:
            change = self._change(connection, why)
            number = begin_scrap(connection, change, scrap, photo=photo)
            return one_scrap(connection, number)

    def delete_scrap(self, number: int, *, why: str) -> None:
        """Take a scrap out of sight, undoably."""
        self.delete_scraps([number], why=why)

    def delete_scraps(self, numbers: Sequence[int], *, why: str) -> None:
        """Take scraps out of sight, all in one undoable change or none."""
        with self.database.writing() as connection:
            change = self._change(connection, why)
            for number in numbers:
                one_scrap(connection, number)
                change.update(scraps, number, {"deleted": True})

    # Fabrics

    def fabrics(self) -> tuple[Fabric, ...]:
        """Give every fabric that has a scrap, by number."""
        used = select(scraps.c.fabric).where(~scraps.c.deleted)
        rows = self._all(
            select(fabrics).where(fabrics.c.number.in_(used)).order_by(fabrics.c.number)
        )
        return tuple(fabric_of(row) for row in rows)

    def fabrics_joined_from(self, number: int) -> tuple[int, ...]:
        """Give the fabrics to which scraps once counted to a fabric are counted now."""
        with self.database.reading() as connection:
            once = scraps_once_of(connection, number)
            rows = connection.execute(
                select(scraps.c.fabric)
                .where(scraps.c.number.in_(once), ~scraps.c.deleted)
                .distinct()
                .order_by(scraps.c.fabric)
            )
            return tuple(rows.scalars())

    def change_fabric(self, fabric: Fabric, *, seen: Fabric, why: str) -> None:
        """Write what differs from the record as it was seen, undoably, as for a scrap."""
        with self.database.writing() as connection:
            values = fabric_values(connection, seen, fabric)
            if values:
                self._change(connection, why).update(fabrics, fabric.number, values)

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

    # What may be one cloth

    def alike(self) -> tuple[AlikeScraps, ...]:
        """Give the pairs of scraps, neither deleted, that look like one cloth."""
        with self.database.reading() as connection:
            return alike_of_rows(connection.exec_driver_sql(ALIKE).all())

    def twin_answers(self) -> tuple[TwinAnswer, ...]:
        """Give what was answered of scraps that are not deleted."""
        with self.database.reading() as connection:
            return answers_of_rows(connection.exec_driver_sql(ANSWERS).all())

    def imprints(self, recipe: int) -> dict[int, bytes]:
        """Give the imprints kept of scraps that are not deleted, by scrap number."""
        with self.database.reading() as connection:
            return imprints_of(connection, recipe)

    def keep_imprints(
        self,
        recipe: int,
        features: Mapping[int, bytes],
        pairs: Sequence[tuple[int, int, float]],
    ) -> None:
        """Keep imprints and the look-alikes found with them; forgotten with outline or picture."""
        with self.database.writing() as connection:
            keep_imprints(connection, recipe, features, pairs)
            bump(connection)

    def settle_twins(self, settled: Settlement, *, why: str) -> None:
        """Keep answers and what follows from them as one change, undoably.

        Raises ChangedElsewhereError if someone else answered otherwise meanwhile.
        """
        with self.database.writing() as connection:
            settle(connection, self._change(connection, why), settled)

    # Named records

    def documents(self, kind: str) -> tuple[Document, ...]:
        """Give all named records of a kind, oldest first."""
        with self.database.reading() as connection:
            return documents_of(connection, kind)

    def document(self, kind: str, name: str) -> Document:
        """Give one named record; raises NotFoundError that lists the names there are."""
        with self.database.reading() as connection:
            return document_named(connection, kind, name)

    def keep_document(self, document: Document, *, seen: Sequence[Document] = (), why: str) -> None:
        """Keep or replace a named record, undoably.

        Raises ChangedElsewhereError if it, or another one it was thought out with, is no longer as
        it was seen.
        """
        with self.database.writing() as connection:
            keep_document(connection, self._change(connection, why), document, seen=seen)

    def keep_together(
        self,
        *,
        changed: Sequence[tuple[Scrap, Scrap]] = (),
        renamed: Sequence[tuple[Fabric, Fabric]] = (),
        begun: Sequence[ScrapToLog] = (),
        records: Sequence[tuple[Document, Document]] = (),
        why: str,
    ) -> tuple[Scrap, ...]:
        """Change scraps and fabrics, begin others, keep records in one change; gives the begun.

        Each scrap, fabric and record is given as it was seen and as it is to be. All of it is
        refused with ChangedElsewhereError if anything to be changed is no longer as it was seen.
        """
        with self._pictures_first(begun) as connection:
            change = self._change(connection, why)
            for seen, scrap in changed:
                values = scrap_values(connection, seen, scrap, alone=True)
                change.update(scraps, scrap.number, values)
            for cloth, fabric in renamed:
                change.update(fabrics, fabric.number, fabric_values(connection, cloth, fabric))
            numbers = [begin_scrap(connection, change, one, photo=None) for one in begun]
            for was, document in records:
                keep_document(connection, change, document, seen=(was,))
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
        """Store largest finished sizes; forgotten when a scrap's outline changes.

        Where nothing can be written they are worked out again next time; nothing is lost with them.
        """
        if sizes:
            with (
                suppress(StashFullError, StashReadOnlyError),
                self.database.writing() as connection,
            ):
                keep_sizes(connection, key, sizes)

    # Taking back

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

    def _change(self, connection: Connection, why: str) -> Change:
        return Change(connection, why=why, at=self._now())

    def _all(self, statement: Select[Any]) -> Sequence[Row[Any]]:
        with self.database.reading() as connection:
            return connection.execute(statement).all()

    def _pictures_first(self, begun: Sequence[ScrapToLog]) -> AbstractContextManager[Connection]:
        return files_first(self.database, self.files, {PICTURES: _pictures_of(begun)})


def _pictures_of(begun: Sequence[ScrapToLog]) -> dict[str, tuple[str, bytes]]:
    pictures = (scrap.picture_jpeg for scrap in begun if scrap.picture_jpeg)
    return {sha256_of(picture): (".jpg", picture) for picture in pictures}
