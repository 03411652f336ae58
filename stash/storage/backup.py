"""A stash as one file or folder, made while it is in use, brought back whole or not at all.

The file is a ZIP archive: ``stash.db``, ``photos/``, ``pictures/`` and, last, ``manifest.json``
with the sha256 of every other member; its comment is the sha256 of all bytes before it. Photos lie
in it as they are; only the database is packed. A folder holds the same archive with photos and
pictures beside it (``backup_folder``). A backup is read back and looked over before it takes the
place of an older one, and the two before it are kept.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import sqlite3
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, closing, contextmanager, nullcontext, suppress
from dataclasses import replace as replace_fields
from datetime import UTC, datetime
from pathlib import Path
from typing import IO

from stash.errors import (
    NotEmptyError,
    StashDamagedError,
    StashFullError,
    StashNewerError,
    StorageError,
)
from stash.storage.backup_file import (
    BESIDE_FORMAT,
    MANIFEST,
    SEALED_FORMAT,
    BackupFile,
    open_backup,
    says_complete,
)
from stash.storage.backup_folder import (
    GENERATION,
    FilesBeside,
    begin_folder,
    is_folder,
    newest_of,
)
from stash.storage.checking import check_rows, wanted_files
from stash.storage.faults import LAST_BACKUP, faults_told, last_backup
from stash.storage.migrations import NEWEST, version_of
from stash.storage.picture_check import is_scrap_picture
from stash.storage.picture_files import (
    PHOTOS,
    PICTURES,
    PictureFiles,
    draft_beside,
    make_folder,
    nameless_draft,
    sha256_of,
    sweep_left_in,
    sync_folder,
    write_whole,
)
from stash.storage.record_bodies import unreadable_as_missing
from stash.storage.seal import seal_file
from stash.storage.sqlite_file import DATABASE, RESTORING, SqliteFile, bytes_of, engine_of_bytes
from stash.usecases.ports import BackupReport

__all__ = ["bring_back", "earlier_backups", "look_at_backup", "write_backup"]

_EARLIER = 2  # generations kept besides the newest
_HEX = 64


def write_backup(home: Path, target: Path, *, replace: bool = False) -> BackupReport:
    """Write the stash of a folder into one file or folder; others may go on logging meanwhile.

    In a folder only what is new is written. A photo that was lost or changed is taken from the
    backup that is replaced, if it holds it.

    Parameters
    ----------
    home : Path
        The stash folder.
    target : Path
        The file to write, or a folder: one that is there, or a name without an ending.
    replace : bool
        Replace a backup of that name, once the new one is complete and read back; the old one is
        kept as ``NAME.1``, the one before it as ``NAME.2``, in a folder inside it.

    Raises
    ------
    NotEmptyError
        If the file is there already, or the folder holds something else.
    StashDamagedError
        If the database is damaged; the older backup stays as it is.
    StorageError
        If the stash cannot be read or the file not be written; no half file is left.
    """
    in_folder = is_folder(target)
    with faults_told(target.parent, waited_s=0.0):
        if not target.parent.is_dir():
            text = f"There is no folder {target.parent} to write the backup into; make it first."
            raise StorageError(text, folder=target.parent)
        if in_folder:
            with begin_folder(target, replace=replace):
                file = target / GENERATION
                beside = FilesBeside(file)
                report = _write_generation(home, file, beside)
                _drop_unnamed(file, beside)
        elif target.exists() and not replace:
            raise NotEmptyError(
                target, remedy="Choose another name.", at_terminal="Or add --replace."
            )
        else:
            report = _write_generation(home, target, None)
    _note_backup(home, target, complete=not report.missing)
    return replace_fields(report, file=str(target))


def _write_generation(home: Path, target: Path, beside: FilesBeside | None) -> BackupReport:
    """Write a new archive and give it its name once it is proven."""
    sweep_left_in(target.parent)
    with faults_told(home, waited_s=0.0):
        database = bytes_of(home / DATABASE)
    wanted = _looked_over(home, database)
    with nameless_draft(target) as draft, ExitStack() as older:
        earlier = _opened(older, [target, *earlier_backups(target)])
        made = _write_archive(database, wanted, earlier, draft.file, beside)
        if beside is not None:
            beside.flush()
        _read_back(draft.path, target, database)
        _make_room(target, complete=not made.missing)
        draft.take_name()
    sync_folder(target.parent)
    with open_backup(target) as whole:
        archive_bytes = target.stat().st_size
        size = archive_bytes + sum(path.stat().st_size for path in whole.beside())
    written = archive_bytes + (0 if beside is None else beside.written_bytes)
    return replace_fields(made, file=str(target), size_bytes=size, written_bytes=written)


def _drop_unnamed(newest: Path, beside: FilesBeside) -> None:
    """Remove the files of generations that are gone; while one cannot be read, all are kept."""
    named: set[Path] = set()
    with suppress(StorageError):
        for one in (newest, *earlier_backups(newest)):
            with open_backup(one) as backup:
                named |= backup.beside()
        beside.drop_all_but(named)


def _looked_over(home: Path, database: bytes) -> Mapping[Path, tuple[str, str]]:
    """Refuse a damaged database, and give the files it names."""
    engine = engine_of_bytes(database)
    with engine.connect() as connection:
        if (version := version_of(connection)) > NEWEST:
            raise StashNewerError(home, version=version, known=NEWEST)
        if any(check_rows(connection)):
            raise StashDamagedError(home, backup=last_backup(home))
        wanted = wanted_files(connection, PictureFiles(home))
    engine.dispose()
    return wanted


def _opened(stack: ExitStack, paths: Sequence[Path]) -> tuple[BackupFile, ...]:
    opened = []
    for path in paths:
        with suppress(StorageError):
            opened.append(stack.enter_context(open_backup(path)))
    return tuple(opened)


def _write_archive(
    database: bytes,
    wanted: Mapping[Path, tuple[str, str]],
    earlier: Sequence[BackupFile],
    file: IO[bytes],
    beside: FilesBeside | None,
) -> BackupReport:
    """Write the archive; gives how many files it names, what is missing, and what tells more."""
    from stash.photo.files.private_details import tells_more  # loads Pillow

    checksums = {DATABASE: sha256_of(database)}
    missing: list[str] = []
    telling = 0
    with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED) as archive:
        archive.comment = b"0" * _HEX
        archive.writestr(_entry(DATABASE, zipfile.ZIP_DEFLATED), database)
        for path, (sha256, what) in wanted.items():
            name = f"{path.parent.name}/{path.name}"
            data = _as_logged(path, sha256) or _from_earlier(earlier, name, sha256)
            if data is None:
                missing.append(what)
                continue
            checksums[name] = sha256
            telling += path.parent.name == PHOTOS and tells_more(data)
            if beside is None:
                archive.writestr(_entry(name, zipfile.ZIP_STORED), data)
            else:
                beside.put(name, sha256, data)
        how = SEALED_FORMAT if beside is None else BESIDE_FORMAT
        manifest = {"format": how, "version": NEWEST, "sha256": checksums, "missing": missing}
        archive.writestr(_entry(MANIFEST, zipfile.ZIP_DEFLATED), json.dumps(manifest, indent=1))
    _seal(file)
    return BackupReport("", len(checksums) - 1, tuple(missing), 0, telling=telling)


def _as_logged(path: Path, sha256: str) -> bytes | None:
    """Read a file if it still is what was logged."""
    try:
        data = path.read_bytes()
    except OSError:
        return None
    return data if sha256_of(data) == sha256 else None


def _from_earlier(earlier: Sequence[BackupFile], name: str, sha256: str) -> bytes | None:
    for backup in earlier:
        if backup.sha256.get(name) == sha256:
            with suppress(StorageError):
                return backup.read(name)
    return None


def _seal(file: IO[bytes]) -> None:
    """Write the digest of all that comes before it into the comment at the end."""
    end = file.seek(-_HEX, os.SEEK_END)
    file.seek(0)
    digest = hashlib.sha256()
    left = end
    while piece := file.read(min(left, 1 << 20)):
        digest.update(piece)
        left -= len(piece)
    file.seek(end)
    file.write(digest.hexdigest().encode())
    file.flush()
    os.fsync(file.fileno())


def _read_back(draft: Path, target: Path, database: bytes) -> None:
    """Read the new file as a restore would; raises StorageError if anything differs."""
    with open_backup(draft, named=target) as written:
        written.check()
        if written.read(DATABASE) != database:
            raise StorageError("The backup that was written differs from the stash.")


def _entry(name: str, how: int) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name)  # dated 1980: the same stash gives the same bytes
    entry.compress_type = how
    entry.external_attr = 0o600 << 16
    return entry


def earlier_backups(target: Path) -> tuple[Path, ...]:
    """Give the generations before a backup file, newest first, that are there."""
    newest = newest_of(target)
    places = (newest.with_name(f"{newest.name}.{turn}") for turn in range(1, _EARLIER + 1))
    return tuple(place for place in places if place.exists())


def _make_room(target: Path, *, complete: bool) -> None:
    """Move the generations up by one; an incomplete one never drives out the last complete one."""
    if not target.exists():
        return
    first, second = (target.with_name(f"{target.name}.{turn}") for turn in (1, 2))
    newer_complete = complete or any(says_complete(one) for one in (target, first))
    if first.exists() and (newer_complete or not says_complete(second)):
        first.replace(second)
    with draft_beside(first) as link:
        try:
            os.link(target, link)
        except OSError:  # a disk without links: for a moment there is no newest
            target.replace(first)
            return
        link.replace(first)


def _note_backup(home: Path, target: Path, *, complete: bool) -> None:
    """Note where the newest complete backup is, so that a damaged stash can name it."""
    if not complete and says_complete(Path(last_backup(home) or target)):
        return
    note = {"file": str(target.absolute()), "at": datetime.now(UTC).isoformat(timespec="seconds")}
    with suppress(OSError):  # the backup is made all the same
        write_whole(home / LAST_BACKUP, json.dumps(note).encode())


def look_at_backup(source: Path) -> None:
    """Read a backup whole, as a restore would, and those before it in a folder.

    Raises
    ------
    StorageError
        At the first thing that is not as it was written.
    """
    earlier = earlier_backups(source) if source.is_dir() else ()
    for one in (source, *earlier):
        with open_backup(one) as backup:
            backup.check()
            try:
                with faults_told(one, waited_s=0.0):
                    _looked_over(one, backup.read(DATABASE))
            except StashDamagedError as problem:
                text = f"The database in {one} is damaged. Try an older backup."
                raise StorageError(text, folder=one) from problem


def bring_back(source: Path, home: Path) -> BackupReport:
    """Bring a backup back into a folder that holds no stash.

    Files go in first, each whole and under its own checksum; the database is looked over and moved
    in last. A restore that was broken off is simply run again.

    Raises
    ------
    NotEmptyError
        If something is in the folder already.
    StorageError
        If the file is no backup or is damaged, or another restore is under way; the folder then
        holds no stash.
    """
    with open_backup(source) as backup:
        _refuse_a_full_folder(home)
        with faults_told(home, waited_s=0.0, needed_bytes=backup.size_bytes):
            _refuse_too_little_room(home, backup.size_bytes)
            make_folder(home)
            with _only_restore(home):
                missing = _bring_back(backup, home)
                size = backup.size_bytes
    return BackupReport(str(source), len(backup.sha256) - 1, missing, size)


def _bring_back(backup: BackupFile, home: Path) -> tuple[str, ...]:
    files = PictureFiles(home)
    files.sweep_unfinished()
    for name in sorted(backup.sha256):
        if name != DATABASE:
            folder, file = name.split("/")
            sha256, suffix = file.split(".")
            with suppress(StorageError) if backup.is_beside else nullcontext():
                data = backup.read(name)
                if folder != PICTURES or is_scrap_picture(data):
                    files.keep(folder, {sha256: (suffix, data)})
    draft = home / RESTORING / DATABASE
    with draft.open("wb") as written:
        for piece in backup.pieces(DATABASE):
            written.write(piece)
        written.flush()
        os.fsync(written.fileno())
    missing = _looked_at_restored(backup, draft, home)
    draft.replace(home / DATABASE)
    sync_folder(home)
    seal_file(home)
    return missing


def _looked_at_restored(backup: BackupFile, draft: Path, home: Path) -> tuple[str, ...]:
    """Refuse a database that is damaged or newer; say which files it names that are not there."""
    opened = SqliteFile(draft.parent, must_exist=True)
    try:
        with opened.reading() as connection:
            for fault in check_rows(connection):
                raise StorageError(
                    f"The database in {backup.source} is damaged ({fault.text.rstrip('.')}). "
                    "Nothing was brought back from it; try an older backup.",
                    folder=home,
                )
            wanted = wanted_files(connection, PictureFiles(home))
            unreadable = unreadable_as_missing(connection)
    finally:
        opened.close()
    # Closing wrote everything into the file itself; what lies beside it is empty.
    for beside in ("-wal", "-shm"):
        draft.with_name(DATABASE + beside).unlink(missing_ok=True)
    lost = [what for path, (_, what) in wanted.items() if not path.is_file()]
    return (*lost, *unreadable)


def _not_empty(home: Path) -> NotEmptyError:
    return NotEmptyError(
        home,
        remedy="Take an empty folder; nothing was overwritten.",
        at_terminal="It is named with --home.",
    )


def _refuse_a_full_folder(home: Path) -> None:
    if home.exists() and not home.is_dir():
        raise _not_empty(home)
    if not home.is_dir() or not any(home.iterdir()):
        return
    if (home / DATABASE).exists() or not (home / RESTORING).exists():
        raise _not_empty(home)


def _refuse_too_little_room(home: Path, needed_bytes: int) -> None:
    there = next(place for place in (home, *home.absolute().parents) if place.is_dir())
    if shutil.disk_usage(there).free < needed_bytes:
        raise StashFullError(home, needed_bytes=needed_bytes)


@contextmanager
def _only_restore(home: Path) -> Iterator[None]:
    """Hold the folder for one restore; the hold ends with the process, however it ends."""
    (home / RESTORING).mkdir(mode=0o700, exist_ok=True)
    with closing(sqlite3.connect(home / RESTORING / "turn.db", timeout=0.0)) as turn:
        try:
            turn.execute("BEGIN EXCLUSIVE")
        except sqlite3.OperationalError:
            raise StorageError(
                f"Another restore into {home} is under way. Let it end; this one changed nothing.",
                folder=home,
            ) from None
        _refuse_a_full_folder(home)  # the other one may have ended just now
        yield
        shutil.rmtree(home / RESTORING)
