"""Picture files written and flushed before the rows that name them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager

from sqlalchemy import Connection

from stash.storage.database import Database
from stash.storage.faults import faults_told
from stash.storage.picture_files import PictureFiles

__all__ = ["files_first"]

_FOR_ROWS_BYTES = 100_000  # room that the rows of a photo with many scraps take, generously


@contextmanager
def files_first(
    database: Database, files: PictureFiles, wanted: Mapping[str, dict[str, tuple[str, bytes]]]
) -> Iterator[Connection]:
    """Keep files, then give the one write transaction for the rows that refer to them.

    So the transaction is short, and no row ever stands without its picture; a file without a row
    is swept later.

    Parameters
    ----------
    wanted : mapping
        For each folder the files by sha256: suffix and bytes.
    """
    inside = [data for folder in wanted.values() for _, data in folder.values()]
    needed_bytes = sum(map(len, inside)) + _FOR_ROWS_BYTES
    if inside:
        with database.writing(needed_bytes=needed_bytes):
            pass  # a stash that cannot be written is told before the first file
        with faults_told(files.home, waited_s=0.0, needed_bytes=needed_bytes):
            for folder, of_folder in wanted.items():
                files.keep(folder, of_folder)
    with database.writing(needed_bytes=needed_bytes) as connection:
        # A sweep may have come between; it holds the lock that is held now.
        for folder, of_folder in wanted.items():
            files.keep_missing(folder, of_folder)
        yield connection
