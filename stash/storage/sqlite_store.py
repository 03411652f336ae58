"""A stash folder whole: its records, and what looks them over and copies them."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import select

from stash.errors import StorageError
from stash.scrap import Scrap
from stash.storage.change_log import empty_bin
from stash.storage.faults import faults_told
from stash.storage.folder_layout import DATABASE
from stash.storage.record_store import RecordStore
from stash.storage.records import SCRAP_COLUMNS, scraps_of
from stash.storage.tables import changes, scraps
from stash.usecases.ports import AsideFolder, BackupReport, DetailsReport, Finding, HistoryLine

__all__ = ["FolderStore"]


class FolderStore(RecordStore):
    """A stash in a folder, with its history, its bin and its copies."""

    # History

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
        forgotten with the scraps. Of the files only theirs go.
        """
        from stash.storage.checking import wanted_files  # seldom asked for

        with self.database.writing() as connection:
            before = wanted_files(connection, self.files)
            count = empty_bin(connection, at=self._now())
        # Files go only when that is kept; in a turn of its own, so that nobody logs them meanwhile.
        with self.database.writing() as connection, faults_told(self.home, waited_s=0.0):
            for path in before.keys() - wanted_files(connection, self.files).keys():
                path.unlink(missing_ok=True)
        return count

    # Safety

    def check(self, *, mend: bool = False) -> tuple[Finding, ...]:
        """Look everything over; ``mend`` puts files aside that nothing refers to.

        Nothing else is mended: what is missing or changed has to come from a backup.
        """
        from stash.storage.upkeep import look_over  # seldom asked for

        return look_over(self.database, self.files, mend=mend)

    def aside(self) -> tuple[AsideFolder, ...]:
        """Give what was put aside and is still kept, oldest first."""
        from stash.storage.put_aside import what_is_aside  # seldom asked for

        return what_is_aside(self.home)

    def bring_back(self, name: str) -> int:
        """Put the files of one folder that was put aside back in their places; gives how many."""
        from stash.storage.put_aside import bring_back_aside  # seldom asked for

        with self.database.writing():
            return bring_back_aside(self.home, name)

    def backup(self, target: str, *, replace: bool = False) -> BackupReport:
        """Write everything into one file."""
        with self.database.reading():
            pass  # a stash that cannot be read is told before anything is written
        if not (self.home / DATABASE).exists():
            raise StorageError(
                "A stash on a database server is backed up by that server.",
                folder=self.home,
                at_terminal="`stash export` writes it into a folder.",
            )
        from stash.storage.backup import write_backup  # seldom asked for

        return write_backup(self.home, Path(target), replace=replace)

    def details(self, *, take_off: bool = False) -> DetailsReport:
        """Say what kept photos tell of place, time and device; ``take_off`` makes them plain."""
        # Loads the picture library.
        from stash.storage.details import details_kept, take_details_off

        if take_off:
            return take_details_off(self.database, self.files, at=self._now())
        return details_kept(self.database, self.files)

    def export(self, folder: str, *, with_details: bool = False) -> BackupReport:
        """Write everything into a folder of open files."""
        from stash.storage.exchange import export_to  # loads the picture library

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
        from stash.storage.exchange import import_from, read_export  # the same
        from stash.storage.upkeep import need_nothing  # seldom asked for

        stash = read_export(Path(folder))
        with self.database.writing() as connection:
            need_nothing(connection, self.home)
            return import_from(connection, self.files, Path(folder), stash)
