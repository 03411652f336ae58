"""A stash as one file, made while it is in use, and brought back whole or not at all.

The file is a ZIP archive: ``stash.db``, ``photos/``, ``pictures/`` and, last, ``manifest.json``
with the sha256 of every other member. Photos lie in it as they are; only the database is packed.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from stash.errors import NotEmptyError, StorageError
from stash.storage.checking import wanted_files
from stash.storage.faults import LAST_BACKUP, faults_told
from stash.storage.migrations import NEWEST
from stash.storage.picture_files import (
    PHOTOS,
    PICTURES,
    PictureFiles,
    sha256_of,
    sync_folder,
    write_whole,
)
from stash.storage.sqlite_file import DATABASE, RESTORING, SqliteFile, copy_database
from stash.usecases.ports import BackupReport

__all__ = ["bring_back", "write_backup"]

_MANIFEST = "manifest.json"
_FORMAT = "stash backup 1"
_MEMBER = re.compile(rf"({PHOTOS}|{PICTURES})/([0-9a-f]{{64}})(\.[a-z0-9]{{1,5}})")


def write_backup(home: Path, target: Path, *, replace: bool = False) -> BackupReport:
    """Write the stash of a folder into one file; others may go on logging meanwhile.

    Parameters
    ----------
    home : Path
        The stash folder.
    target : Path
        The file to write.
    replace : bool
        Replace a file of that name; it is only replaced once the new one is complete.

    Raises
    ------
    NotEmptyError
        If the file is there already.
    StorageError
        If the stash cannot be read or the file not be written; no half file is left.
    """
    if target.exists() and not replace:
        raise NotEmptyError(target, remedy="Choose another name, or add --replace.")
    with faults_told(target.parent, waited_s=0.0):
        if not target.parent.is_dir():
            text = f"There is no folder {target.parent} to write the backup into; make it first."
            raise StorageError(text, folder=target.parent)
        with tempfile.TemporaryDirectory(prefix=".backup-", dir=target.parent) as drafts:
            copy, draft = Path(drafts) / DATABASE, Path(drafts) / "draft.zip"
            with faults_told(home, waited_s=0.0):
                copy_database(home / DATABASE, copy)
            report = _write_archive(home, copy, draft)
            draft.replace(target)
            sync_folder(target.parent)
    _note_backup(home, target)
    return BackupReport(str(target), report.files, report.missing, target.stat().st_size)


def _write_archive(home: Path, copy: Path, draft: Path) -> BackupReport:
    database = SqliteFile(copy.parent)
    with database.reading() as connection:
        wanted = wanted_files(connection, PictureFiles(home))
    database.close()
    checksums: dict[str, str] = {}
    missing: list[str] = []
    with draft.open("wb") as file:
        with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED) as archive:
            data = copy.read_bytes()
            checksums[DATABASE] = sha256_of(data)
            archive.writestr(_entry(DATABASE, zipfile.ZIP_DEFLATED), data)
            for path, (_, what) in wanted.items():
                name = f"{path.parent.name}/{path.name}"
                try:
                    data = path.read_bytes()
                except FileNotFoundError:
                    missing.append(what)
                    continue
                checksums[name] = sha256_of(data)
                archive.writestr(_entry(name, zipfile.ZIP_STORED), data)
            manifest = {"format": _FORMAT, "version": NEWEST, "sha256": checksums}
            text = json.dumps(manifest, indent=1)
            archive.writestr(_entry(_MANIFEST, zipfile.ZIP_DEFLATED), text)
        file.flush()
        os.fsync(file.fileno())
    return BackupReport(str(draft), len(checksums) - 1, tuple(missing), 0)


def _entry(name: str, how: int) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name)  # dated 1980: the same stash gives the same bytes
    entry.compress_type = how
    entry.external_attr = 0o600 << 16
    return entry


def _note_backup(home: Path, target: Path) -> None:
    """Note where the newest backup is, so that a damaged stash can name it."""
    note = {"file": str(target.absolute()), "at": datetime.now(UTC).isoformat(timespec="seconds")}
    if os.access(home, os.W_OK):
        with faults_told(home, waited_s=0.0):
            write_whole(home / LAST_BACKUP, json.dumps(note).encode())


def bring_back(source: Path, home: Path) -> BackupReport:
    """Bring a backup back into a folder that holds no stash.

    Files go in first, each whole and under its own checksum; the database is moved in last. A
    restore that was broken off is simply run again.

    Raises
    ------
    NotEmptyError
        If something is in the folder already.
    StorageError
        If the file is no backup or is damaged; the folder then holds no stash.
    """
    with _archive_of(source) as (archive, checksums):
        _refuse_a_full_folder(home)
        with faults_told(home, waited_s=0.0, needed_bytes=source.stat().st_size):
            home.mkdir(parents=True, exist_ok=True)
            (home / RESTORING).mkdir(exist_ok=True)
            files = PictureFiles(home)
            files.sweep_unfinished()
            for name in sorted(checksums):
                _bring_back_file(files, name, _member(archive, name, checksums[name], source))
            database = _member(archive, DATABASE, checksums[DATABASE], source)
            _move_in(home, database)
    return BackupReport(str(source), len(checksums) - 1, (), source.stat().st_size)


def _bring_back_file(files: PictureFiles, name: str, data: bytes) -> None:
    found = _MEMBER.fullmatch(name)
    if found is not None:
        files.keep(found[1], {found[2]: (found[3], data)})


def _move_in(home: Path, database: bytes) -> None:
    """Put the database in place once everything it names is there and it opens."""
    draft = home / RESTORING / DATABASE
    draft.write_bytes(database)
    opened = SqliteFile(draft.parent, must_exist=True)  # refuses damage and newer versions
    opened.close()
    with draft.open("rb+") as file:
        os.fsync(file.fileno())
    draft.replace(home / DATABASE)
    shutil.rmtree(home / RESTORING)
    sync_folder(home)


def _refuse_a_full_folder(home: Path) -> None:
    remedy = "Name an empty folder with --home; nothing was overwritten."
    if home.exists() and not home.is_dir():
        raise NotEmptyError(home, remedy=remedy)
    if not home.is_dir() or not any(home.iterdir()):
        return
    if (home / DATABASE).exists() or not (home / RESTORING).exists():
        raise NotEmptyError(home, remedy=remedy)


@contextmanager
def _archive_of(source: Path) -> Iterator[tuple[zipfile.ZipFile, dict[str, str]]]:
    if not source.is_file():
        raise StorageError(f"There is no backup file {source}.", folder=source)
    try:
        with zipfile.ZipFile(source) as archive:
            manifest = json.loads(archive.read(_MANIFEST))
            checksums = dict(manifest["sha256"])
            known = manifest["format"] == _FORMAT and DATABASE in checksums
            if not known or not all(map(_is_member, checksums)):
                raise _no_backup(source)
            yield archive, checksums
    except (zipfile.BadZipFile, KeyError, ValueError, TypeError, EOFError) as problem:
        raise _no_backup(source) from problem


def _is_member(name: str) -> bool:
    return name == DATABASE or _MEMBER.fullmatch(name) is not None


def _member(archive: zipfile.ZipFile, name: str, sha256: str, source: Path) -> bytes:
    data = archive.read(name)
    if hashlib.sha256(data).hexdigest() != sha256:
        raise _no_backup(source)
    return data


def _no_backup(source: Path) -> StorageError:
    return StorageError(
        f"{source} is not a backup of a stash, or is damaged. Nothing was brought back from it; "
        "try an older backup.",
        folder=source,
    )
