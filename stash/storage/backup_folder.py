"""A backup as a folder: each file lies in it once, whichever of the generations name it.

A generation is a sealed ZIP archive of the database and the manifest; photos and pictures lie
beside it in ``files/``, named by the sha256 of what is in them. So a backup made again writes only
what is new, and the folder is still one thing to copy.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

from stash.errors import NotEmptyError, StorageError
from stash.storage.picture_files import (
    holds,
    make_folder,
    plain_suffix,
    sweep_left_in,
    sync_folder,
    write_whole,
)

__all__ = [
    "GENERATION",
    "FilesBeside",
    "begin_folder",
    "is_folder",
    "newest_of",
    "path_beside",
]

GENERATION = "stash.zip"
FILES = "files"
_TURN = ".turn"
_KEPT = re.compile(r"[0-9a-f]{64}\.[a-z0-9]{1,5}")


def is_folder(target: Path) -> bool:
    """Whether a backup of this name is a folder: one that is there, or a name without an ending."""
    return target.is_dir() or not (target.exists() or target.suffix)


def newest_of(source: Path) -> Path:
    """Give the file to open for a backup that is named by its folder or by itself."""
    return source / GENERATION if source.is_dir() else source


def path_beside(generation: Path, name: str, sha256: str) -> Path:
    """Say where a member lies that is not inside the archive."""
    return generation.parent / FILES / f"{sha256}{plain_suffix(Path(name).suffix)}"


@contextmanager
def begin_folder(folder: Path, *, replace: bool) -> Iterator[None]:
    """Make the folder, or take the one that is there, for one backup at a time.

    Raises
    ------
    NotEmptyError
        If something else is in it, or a backup that shall not be replaced.
    StorageError
        If another backup into it is under way.
    """
    if folder.is_dir():
        there = {path.name for path in folder.iterdir() if not path.name.startswith(".")}
        if there and GENERATION not in there and there != {FILES}:
            remedy = "A backup wants a folder of its own; choose another name."
            raise NotEmptyError(folder, remedy=remedy)
        if GENERATION in there and not replace:
            raise NotEmptyError(
                folder,
                remedy="Choose another name.",
                at_terminal="Or add --replace: only what is new is written.",
            )
    make_folder(folder / FILES)
    folder.chmod(0o700)
    with closing(sqlite3.connect(folder / _TURN, timeout=0.0, isolation_level=None)) as turn:
        try:
            turn.execute("BEGIN EXCLUSIVE")  # ends with the process, however it ends
        except sqlite3.OperationalError:
            raise StorageError(
                f"Another backup into {folder} is under way. Let it end, then do the same again.",
                folder=folder,
            ) from None
        sweep_left_in(folder / FILES)
        yield


class FilesBeside:
    """The files of a backup folder while a generation is written.

    Attributes
    ----------
    written_bytes : int
        What had to be written because it was not there, or not whole any more.
    """

    def __init__(self, generation: Path) -> None:
        self._generation = generation
        self.written_bytes = 0

    def put(self, name: str, sha256: str, data: bytes) -> None:
        """Keep a file unless these very bytes lie there; what is written is read back."""
        path = path_beside(self._generation, name, sha256)
        if holds(path, data):
            return
        write_whole(path, data)
        self.written_bytes += len(data)
        if not holds(path, data):
            raise StorageError("The backup that was written differs from the stash.")

    def flush(self) -> None:
        """Make the names survive a power cut; the generation that needs them comes after."""
        sync_folder(self._generation.parent / FILES)
        sync_folder(self._generation.parent)

    def drop_all_but(self, named: Iterable[Path]) -> None:
        """Remove the files that no generation names any more."""
        wanted = set(named)
        for path in (self._generation.parent / FILES).iterdir():
            if path not in wanted and _KEPT.fullmatch(path.name):
                with suppress(OSError):
                    path.unlink()
