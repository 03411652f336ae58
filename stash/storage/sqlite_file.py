"""The SQLite file of a stash folder: opened safely, begun only when something is written."""

from __future__ import annotations

import os
import sqlite3
import stat
import time
import weakref
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any
from urllib.parse import quote

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.pool import ConnectionPoolEntry, QueuePool

from stash.errors import (
    StashDamagedError,
    StashFullError,
    StashLostError,
    StashMissingError,
    StashNewerError,
    StashReadOnlyError,
    StashReplacedError,
    StorageError,
)
from stash.storage.faults import faults_told, last_backup
from stash.storage.folder_layout import DATABASE
from stash.storage.migrations import NEWEST, migrate, version_of
from stash.storage.picture_files import (
    PictureFiles,
    draft_beside,
    make_folder,
    move_in_once,
    sync_folder,
)
from stash.storage.row_digests import forget_touched, write_digests
from stash.storage.schema_check import schema_faults
from stash.storage.seal import break_seal, seal_file

__all__ = [
    "DATABASE",
    "RESTORING",
    "SqliteFile",
    "bytes_of",
    "copy_database",
    "engine_of_bytes",
    "file_engine",
]

RESTORING = "restore-unfinished"  # marks a folder whose restore was broken off
_WAIT_S = 10.0
_MAGIC = b"SQLite format 3\0"  # sqlite.org/fileformat2.html, 1.3


class _FileConnection(sqlite3.Connection):
    """A connection that knows which file it opened: device and inode."""

    file: tuple[int, int] | None = None


def _which(path: Path) -> tuple[int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def file_engine(path: Path, *, mode: str = "rw", wait_s: float = _WAIT_S) -> Engine:
    """Make an engine for a file; ``mode`` is rwc, rw, ro or immutable."""
    how = "immutable=1" if mode == "immutable" else f"mode={mode}"
    where = f"file:{quote(str(path.absolute()))}?{how}"

    def connect() -> sqlite3.Connection:
        """Open the file, and remember which one it was."""
        while True:
            before = _which(path)
            made = sqlite3.connect(
                where, uri=True, timeout=wait_s, check_same_thread=False, factory=_FileConnection
            )
            made.file = _which(path)
            if before == made.file or mode == "rwc":
                return made
            made.close()  # replaced in between: which one was opened is not known

    engine = create_engine("sqlite://", creator=connect, poolclass=QueuePool)
    _prepare(engine, writable=mode == "rw")
    return engine


def _in_memory() -> Engine:
    """Make a database of its own in memory; it is one connection, so threads take turns."""
    engine = create_engine(
        "sqlite://",
        poolclass=QueuePool,
        pool_size=1,
        max_overflow=0,
        connect_args={"check_same_thread": False},
    )
    _prepare(engine, writable=False)
    return engine


def _memory_engine() -> Engine:
    """Make an empty stash that was never written, for questions to a folder without one."""
    engine = _in_memory()
    with engine.begin() as connection:
        migrate(connection)
    return engine


def _upgraded_in_memory(old: Engine) -> Engine:
    """Copy an old stash that may not be written into memory and upgrade it there."""
    engine = _in_memory()
    source, target = old.raw_connection(), engine.raw_connection()
    source.driver_connection.backup(target.driver_connection)  # type: ignore[union-attr]
    source.close()
    target.close()
    old.dispose()
    with engine.begin() as connection:
        migrate(connection)
    return engine


def engine_of_bytes(data: bytes) -> Engine:
    """Open a database that lies in memory as the bytes of its file, at the newest schema."""
    if not data.startswith(_MAGIC):  # of nothing at all SQLite says that memory is short
        raise sqlite3.DatabaseError("file is not a database")
    engine = _in_memory()
    raw = engine.raw_connection()
    raw.driver_connection.deserialize(data)  # type: ignore[union-attr]
    raw.close()
    with engine.begin() as connection:
        if version_of(connection) < NEWEST:
            migrate(connection)
    return engine


def _prepare(engine: Engine, *, writable: bool) -> None:
    """Set what SQLite needs on each connection, and say BEGIN ourselves.

    The driver would otherwise begin late and keep CREATE TABLE after a rollback, and a
    transaction that reads before it writes would fail at once when someone wrote between.
    """

    def on_connect(raw: sqlite3.Connection, _entry: ConnectionPoolEntry) -> None:
        """Set a connection up before its first use."""
        raw.isolation_level = None
        raw.execute("PRAGMA foreign_keys = ON")
        # A view or trigger that somebody planted may call nothing that reaches out of the file.
        raw.execute("PRAGMA trusted_schema = OFF")
        if writable:
            _use_write_ahead_log(raw)
            raw.execute("PRAGMA synchronous = FULL")

    def on_begin(connection: Connection) -> None:
        """Begin a transaction; one that will write takes its turn at once."""
        writing = connection.get_execution_options().get("stash_writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    event.listen(engine, "connect", on_connect)
    event.listen(engine, "begin", on_begin)


def _use_write_ahead_log(raw: sqlite3.Connection) -> None:
    """Switch to the write-ahead log; SQLite does not wait by itself while another switches."""
    give_up = time.monotonic() + _WAIT_S
    while True:
        try:
            if raw.execute("PRAGMA journal_mode").fetchone() != ("wal",):
                raw.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as problem:
            if "locked" not in str(problem) or time.monotonic() > give_up:
                raise
        time.sleep(0.02)


class SqliteFile:
    """Connections to the database of a stash folder.

    Parameters
    ----------
    home : Path
        The stash folder.
    must_exist : bool
        Refuse a folder without a stash; otherwise it reads as empty and the first write
        begins it. Reading never creates anything.
    wait_s : float
        How long to wait for another writer, seconds.
    """

    def __init__(self, home: Path, *, must_exist: bool = False, wait_s: float = _WAIT_S) -> None:
        self.home = home
        self.path = home / DATABASE
        self.wait_s = wait_s
        self._engine: Engine | None = None
        self._empty: Engine | None = None
        self._checked = False
        self._full = False
        self._sealing: weakref.finalize[Any, Any] | None = None
        if self.path.exists():
            self._open()
        else:
            self._refuse_lost()
            if must_exist:
                raise StashMissingError(home)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a connection that sees one moment of the stash."""
        with (
            faults_told(self.home, waited_s=self.wait_s),
            self._for_reading().begin() as connection,
        ):
            self._need_same_file(connection)
            yield connection

    @contextmanager
    def writing(self, *, needed_bytes: int = 0) -> Iterator[Connection]:
        """Give a connection in the one write transaction; all of it is kept or nothing.

        Raises
        ------
        StorageError
            Nothing was written then.
        """
        with faults_told(self.home, waited_s=self.wait_s, needed_bytes=needed_bytes):
            engine = self._for_writing().execution_options(stash_writes=True)
            with engine.begin() as connection:
                self._need_same_file(connection)
                forget_touched(connection)
                yield connection
                write_digests(connection)
                self._need_same_file(connection)
                self._seal_at_the_end()

    def _seal_at_the_end(self) -> None:
        """Take the note of the whole file away; a new one is made when the program ends."""
        break_seal(self.home)
        if self._sealing is None:
            self._sealing = weakref.finalize(self, seal_file, self.home)

    def _need_same_file(self, connection: Connection) -> None:
        """Refuse to go on with a file that is not in the folder any more: all would be lost."""
        raw = connection.connection.dbapi_connection
        opened = getattr(raw, "file", None)  # a stash read in memory has none
        if opened is not None and opened != _which(self.path):
            raise StashReplacedError(self.home)

    def close(self) -> None:
        """Let go of the file."""
        for engine in (self._engine, self._empty):
            if engine is not None:
                engine.dispose()
        self._engine = self._empty = None
        if self._sealing is not None:
            self._sealing()
            self._sealing = None

    def may_write(self) -> bool:
        """Whether this user may write here, as far as permissions tell."""
        if not self.home.exists():
            return True
        on_file = not self.path.exists() or _is_writable(self.path)
        return on_file and _is_writable(self.home)

    def _for_reading(self) -> Engine:
        if self._engine is not None:
            return self._engine
        if self.path.exists():
            return self._open()
        if self._empty is None:
            self._empty = _memory_engine()
        return self._empty

    def _for_writing(self) -> Engine:
        if not self.may_write():
            raise StashReadOnlyError(self.home)
        if self._engine is None and not self.path.exists():
            self._begin()
        engine = self._engine or self._open()
        if self._full:
            raise StashFullError(self.home)
        if not self._checked:
            self._refuse_damage(engine)
            PictureFiles(self.home).sweep_unfinished()
            self._keep_private()
            self._checked = True
        return engine

    def _keep_private(self) -> None:
        """Close the folder to others, where an older version left it open to them."""
        with suppress(OSError):  # not ours, or a disk without permissions
            mode = stat.S_IMODE(self.home.stat().st_mode)
            if mode & 0o077:
                self.home.chmod(mode & 0o700)

    def _open(self) -> Engine:
        if self.path.stat().st_size == 0:  # opening it would write its head
            raise self._lost("empty")
        try:
            return self._opened(writable=self.may_write())
        except StashFullError:
            # No room even for what SQLite lays beside the file: it can be read as it lies.
            self._full = True
            return self._opened(writable=False)

    def _opened(self, *, writable: bool) -> Engine:
        engine = file_engine(self.path, mode=self._mode(writable), wait_s=self.wait_s)
        try:
            with faults_told(self.home, waited_s=self.wait_s):
                with engine.begin() as connection:
                    version = version_of(connection)
                if version > NEWEST:
                    raise StashNewerError(self.home, version=version, known=NEWEST)
                if version == 0:
                    raise self._lost("empty")  # one that is begun comes whole into the folder
                if version < NEWEST and writable:
                    self._upgrade(engine)
        except BaseException:
            engine.dispose()
            raise
        if version < NEWEST and not writable:
            engine = _upgraded_in_memory(engine)
        self._engine = engine
        return engine

    def _mode(self, writable: bool) -> str:
        if writable:
            return "rw"
        return "immutable" if _how_to_read(self.path) == "immutable=1" else "ro"

    def _begin(self) -> None:
        """Make an empty stash beside its place and move it in whole; who comes second uses that."""
        self._refuse_lost()
        make_folder(self.home)
        with draft_beside(self.path) as draft:
            engine = file_engine(draft, mode="rwc")
            with engine.begin() as connection:
                migrate(connection)
            engine.dispose()
            move_in_once(draft, self.path)

    def _refuse_lost(self) -> None:
        """Tell a folder without a database, but with the files of one, from a new one."""
        if (self.home / RESTORING).exists():
            text = f"A restore into {self.home} was broken off. Run the same restore again."
            raise StorageError(text, folder=self.home)
        log = self.path.with_name(f"{DATABASE}-wal")
        if any(PictureFiles(self.home).all_files()) or (log.exists() and log.stat().st_size):
            if self.path.exists():  # begun by someone else meanwhile
                return
            raise self._lost("missing")

    def _lost(self, how: str) -> StashLostError:
        files = sum(1 for _ in PictureFiles(self.home).all_files())
        return StashLostError(self.home, how=how, files=files, backup=last_backup(self.home))

    def _upgrade(self, engine: Engine) -> None:
        """Take the missing schema steps; a copy of the file as it was is kept beside it."""
        copy = self.path.with_name(f"before-version-{NEWEST}.db")
        if not copy.exists():
            copy_database(self.path, copy)
        break_seal(self.home)
        with engine.execution_options(stash_writes=True).begin() as connection:
            migrate(connection)

    def _refuse_damage(self, engine: Engine) -> None:
        """Look the whole file over once before the first write, so that damage is not spread."""
        with engine.connect() as connection:
            said = connection.exec_driver_sql("PRAGMA quick_check(1)").scalar_one()
            whole = said == "ok" and not any(schema_faults(connection))
        if not whole:
            raise StashDamagedError(self.home, backup=last_backup(self.home))


def _is_writable(path: Path) -> bool:
    return os.access(path, os.W_OK, effective_ids=os.access in os.supports_effective_ids)


def _how_to_read(path: Path) -> str:
    """Say how to open a database in a folder that may not be written.

    The shared memory beside a write-ahead log cannot be made there; a file that nobody is writing
    can be read as it lies.
    """
    log = path.with_name(f"{path.name}-wal")
    return "mode=ro" if log.exists() and log.stat().st_size else "immutable=1"


def bytes_of(source: Path) -> bytes:
    """Give one moment of a database that may be in use as the bytes of a file of its own."""
    try:
        return _copied(source, "mode=ro")
    except sqlite3.OperationalError:  # no permission or no room for what SQLite lays beside it
        return _copied(source, _how_to_read(source))


def _copied(source: Path, how: str) -> bytes:
    here: Any = sqlite3.connect(f"file:{quote(str(source.absolute()))}?{how}", uri=True)
    there = sqlite3.connect(":memory:")
    try:
        here.backup(there)
        data = bytearray(there.serialize())
    finally:
        there.close()
        here.close()
    # Bytes 18 and 19 say that a write-ahead log lies beside (sqlite.org/fileformat2.html): none
    # does.
    data[18:20] = b"\x01\x01"
    return bytes(data)


def copy_database(source: Path, target: Path) -> None:
    """Copy a database that may be in use, with SQLite's online backup; whole or not at all."""
    draft = target.with_name(f"{target.name}.unfinished")
    with suppress(FileNotFoundError):
        draft.unlink()
    here: Any = sqlite3.connect(f"file:{quote(str(source.absolute()))}?mode=ro", uri=True)
    there = sqlite3.connect(draft)
    try:
        here.backup(there)
        there.execute("PRAGMA journal_mode = DELETE")
    finally:
        there.close()
        here.close()
    with draft.open("rb+") as file:
        os.fsync(file.fileno())
    draft.replace(target)
    sync_folder(target.parent)
