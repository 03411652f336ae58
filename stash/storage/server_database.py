"""A database server for several quilters: PostgreSQL through SQLAlchemy, pictures in the folder."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Connection, create_engine, select, text
from sqlalchemy.exc import ArgumentError, NoSuchModuleError

from stash.errors import StashLostError, StashNewerError, StorageError
from stash.storage.faults import faults_told
from stash.storage.folder_layout import SERVER_NOTE
from stash.storage.migrations import NEWEST, migrate, version_of
from stash.storage.picture_files import PictureFiles, write_whole
from stash.storage.row_digests import forget_touched, write_digests
from stash.storage.tables import stamp

__all__ = ["SERVER_NOTE", "ServerDatabase", "note_server", "noted_server"]

_WAIT_S = 10  # for another writer, as on a file


def noted_server(home: Path) -> str:
    """Give the address of the server a stash folder names, empty if it names none."""
    try:
        return str(json.loads((home / SERVER_NOTE).read_text("utf-8"))["address"])
    except (OSError, ValueError, KeyError, TypeError):
        return ""


def note_server(home: Path, address: str) -> None:
    """Let a stash folder name its server; passwords belong into the server's own password file."""
    with faults_told(home, waited_s=0.0):
        home.mkdir(parents=True, exist_ok=True)
        write_whole(home / SERVER_NOTE, json.dumps({"address": address}).encode())


def _shown(address: str) -> str:
    """Give an address without its password."""
    shown = re.sub(r"(://[^:@/]*):.*@", r"\1:…@", address)
    return re.sub(r"([?&]\w*password=)[^&]*", r"\1…", shown)


class ServerDatabase:
    """Connections to a stash on a server; its tables are made when first written.

    Parameters
    ----------
    address : str
        Such as ``postgresql+psycopg://user@host/name``.
    home : Path
        The stash folder with the pictures.
    """

    def __init__(self, address: str, home: Path) -> None:
        self.home = home
        try:
            # A line that was cut meanwhile is opened anew before it is used.
            self._engine = create_engine(address, pool_pre_ping=True)
        except (ArgumentError, NoSuchModuleError, ModuleNotFoundError) as problem:
            raise StorageError(
                f"The database server “{_shown(address)}” cannot be used "
                f"({type(problem).__name__}). An address reads "
                "postgresql+psycopg://user@host/name; the package psycopg must be installed.",
                folder=home,
            ) from problem
        self._ready = False

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a connection that sees one moment of the stash."""
        self._prepare()
        engine = self._engine.execution_options(isolation_level="REPEATABLE READ")
        with faults_told(self.home, waited_s=0.0), engine.begin() as connection:
            yield connection

    @contextmanager
    def writing(self, *, needed_bytes: int = 0) -> Iterator[Connection]:
        """Give a connection in a write transaction; writers come one after another."""
        self._prepare()
        with (
            faults_told(self.home, waited_s=_WAIT_S, needed_bytes=needed_bytes),
            self._engine.begin() as connection,
        ):
            connection.execute(text(f"SET LOCAL lock_timeout = '{_WAIT_S:d}s'"))
            connection.execute(select(stamp.c.changes).with_for_update())
            forget_touched(connection)
            yield connection
            write_digests(connection)

    def close(self) -> None:
        """Let go of the server."""
        self._engine.dispose()

    def _prepare(self) -> None:
        if self._ready:
            return
        with faults_told(self.home, waited_s=0.0), self._engine.begin() as connection:
            version = version_of(connection)
            if version > NEWEST:
                raise StashNewerError(self.home, version=version, known=NEWEST)
            files = sum(1 for _ in PictureFiles(self.home).all_files())
            if version == 0 and files:
                raise StashLostError(self.home, how="empty on its server", files=files)
            migrate(connection)
        self._ready = True
