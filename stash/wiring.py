"""Opens the stash folder and hands it to a face."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from stash.storage.sqlite_store import FolderStore
    from stash.usecases.ports import AskedStore, BackupReport, RepairReport

__all__ = [
    "check_backup",
    "home_folder",
    "open_store",
    "open_to_ask",
    "rebuild_stash",
    "restore_backup",
    "settle_on_server",
]


def home_folder(home: Path | None) -> Path:
    """Give the stash folder: the one named, or this user's data folder."""
    if home is not None:
        return home
    import platformdirs  # only when no folder is named

    return Path(platformdirs.user_data_dir("stash", appauthor=False))


def open_store(home: Path | None, *, must_exist: bool = False) -> FolderStore:
    """Open the stash kept in a folder.

    A folder without a stash reads as an empty one; nothing is created before the first write.

    Parameters
    ----------
    home : Path or None
        The stash folder; None for this user's data folder.
    must_exist : bool
        Refuse a folder without a stash: for commands that only ask, so that a mistyped
        ``--home`` is told.

    Raises
    ------
    StorageError
        If the folder cannot be read, or not be understood.
    """
    # The database library takes a quarter of a second to load: not for ``stash --help``.
    from stash.storage.picture_files import PictureFiles
    from stash.storage.server_database import ServerDatabase, noted_server
    from stash.storage.sqlite_file import SqliteFile
    from stash.storage.sqlite_store import FolderStore

    folder = home_folder(home)
    if address := noted_server(folder):
        return FolderStore(ServerDatabase(address, folder), PictureFiles(folder))
    return FolderStore(SqliteFile(folder, must_exist=must_exist), PictureFiles(folder))


def open_to_ask(home: Path | None) -> AskedStore:
    """Open the stash kept in a folder for a question only, as quickly as can be.

    Raises
    ------
    StashMissingError
        If there is no stash in the folder.
    StorageError
        If it cannot be read, or not be understood.
    """
    from stash.storage.quick_store import quick_store  # NumPy, not for --help

    def whole() -> FolderStore:
        """Open the store with all it can do."""
        return open_store(home, must_exist=True)

    return quick_store(home_folder(home), whole) or whole()


def settle_on_server(home: Path | None, address: str) -> None:
    """Let a stash folder keep its rows on a database server, its pictures in the folder.

    Raises
    ------
    StorageError
        If the folder holds a stash already, or the server cannot be reached.
    """
    from stash.errors import NotEmptyError
    from stash.storage.server_database import ServerDatabase, note_server
    from stash.storage.sqlite_file import DATABASE

    folder = home_folder(home)
    if (folder / DATABASE).exists():
        remedy = "Take another folder for the stash on the server."
        raise NotEmptyError(
            f"The stash in {folder}", remedy=remedy, at_terminal="It is named with --home."
        )
    database = ServerDatabase(address, folder)
    with database.reading():
        pass
    database.close()
    note_server(folder, address)


def restore_backup(source: Path, home: Path | None) -> BackupReport:
    """Bring a backup back into a folder that holds no stash.

    Raises
    ------
    NotEmptyError
        If something is in the folder already; nothing is overwritten.
    StorageError
        If the file is no backup, is damaged, or the folder cannot be written.
    """
    from stash.storage.backup import bring_back  # loads the database library

    return bring_back(source, home_folder(home))


def check_backup(home: Path | None, file: Path | None = None) -> str:
    """Read a backup as a restore would, and say what is wrong with it; empty if nothing is.

    Parameters
    ----------
    home : Path or None
        The stash folder.
    file : Path, optional
        The backup; otherwise the last one that was made of this stash, if it is within reach.
    """
    from stash.errors import StorageError
    from stash.storage.backup import look_at_backup  # loads the database library
    from stash.storage.backup_folder import newest_of
    from stash.storage.faults import last_backup

    noted = Path(last_backup(home_folder(home)) or ".")
    if file is None and not newest_of(noted).is_file():
        return ""
    try:
        look_at_backup(file or noted)
    except StorageError as problem:
        return str(problem)
    return ""


def rebuild_stash(home: Path | None, *, backup: Path | None = None) -> RepairReport:
    """Make a damaged stash sound in its place; nothing is overwritten.

    Raises
    ------
    StorageError
        If there is neither a stash nor its files, or the folder cannot be written.
    """
    from stash.storage.salvage import rebuild  # loads the database library

    return rebuild(home_folder(home), backup=backup)
