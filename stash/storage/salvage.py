"""A stash put together again from what can still be read of it, and from its backups.

Nothing is overwritten: a damaged database, and photos that are not what was logged, are put aside.
What the old database still holds comes first, then its change log, then the newest good backup.
"""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeAlias
from urllib.parse import quote

from sqlalchemy import Connection, Table, insert, select, text
from sqlalchemy.exc import DatabaseError

from stash.errors import StashDamagedError, StorageError
from stash.storage.backup import earlier_backups
from stash.storage.backup_file import open_backup
from stash.storage.change_log import row_from_json
from stash.storage.checking import check_rows, faults_of_row, orphans, wanted_files
from stash.storage.faults import faults_told, last_backup
from stash.storage.folder_layout import DATABASE, SERVER_NOTE
from stash.storage.migrations import NEWEST, migrate, version_of
from stash.storage.picture_files import (
    PHOTOS,
    PictureFiles,
    holds_hash,
    sha256_of,
    sync_folder,
)
from stash.storage.put_aside import put_aside
from stash.storage.row_digests import changed_rows, reseal
from stash.storage.sqlite_file import RESTORING, SqliteFile, file_engine
from stash.storage.tables import changes, documents, edits, fabrics, photos, scraps, twin_answers
from stash.usecases.ports import RepairReport

__all__ = ["rebuild"]

_WORK = "repair-unfinished"
_READY = "ready.db"
# In the order in which rows may refer to each other.
_TABLES = (photos, fabrics, scraps, documents, twin_answers, changes, edits)
_BY_NAME = {table.name: table for table in _TABLES}
_MOST_ROWS = 200_000  # numbers tried one by one where the count itself cannot be read
_UNKNOWN_CARD = {
    "card_kind": "unknown", "card_error_de00": 6.0, "card_error_worst_de00": 6.0,
    "card_absolute": False,
}  # fmt: skip

_Key: TypeAlias = tuple[int, ...]
_Rows: TypeAlias = dict[_Key, dict[str, Any]]


@dataclass
class _Source:
    """What one database still says.

    Attributes
    ----------
    rows : dict
        The good rows of each table.
    lost : set
        Names of tables from which rows may be missing.
    """

    where: str
    rows: dict[str, _Rows] = field(default_factory=dict)
    lost: set[str] = field(default_factory=set)


def rebuild(home: Path, *, backup: Path | None = None) -> RepairReport:
    """Make a stash sound in its place, as far as anything is left to make it from.

    Parameters
    ----------
    home : Path
        The stash folder.
    backup : Path, optional
        A backup to take what is missing from; otherwise the one noted last, and those before it.

    Raises
    ------
    StorageError
        If there is neither a stash nor its files, the folder cannot be written, or the rows lie on
        a database server.
    """
    if (home / SERVER_NOTE).exists():
        raise StorageError(
            "The rows of this stash lie on a database server; mend them there, from that server's "
            "own backup. Nothing was changed here.",
            folder=home,
        )
    backups = _backups(home, backup)
    with faults_told(home, waited_s=0.0):
        counts: dict[str, int] = {}
        lost_scraps: list[str] = []
        where, rebuilt = "", not _is_sound(home)
        if rebuilt:
            counts, lost_scraps, where = _make_anew(home, backups)
        database = SqliteFile(home, must_exist=True)
        try:
            with database.writing() as connection:
                healed, lost = _heal_files(connection, PictureFiles(home), backups)
                unknown = list(_unknown_photos(connection, PictureFiles(home)))
        finally:
            database.close()
    lost = [*lost_scraps, *lost]
    return RepairReport(rebuilt, where, counts, tuple(healed), tuple(lost), tuple(unknown))


def _backups(home: Path, named: Path | None) -> list[Path]:
    """Give the good backups, newest first; one that the user names must be good."""
    if named is not None:
        with open_backup(named):
            return [named]
    noted = last_backup(home)
    good = []
    for path in [Path(noted), *earlier_backups(Path(noted))] if noted else []:
        with suppress(StorageError), open_backup(path):
            good.append(path)
    return good


def _is_sound(home: Path) -> bool:
    if (home / RESTORING).exists() and not (home / DATABASE).exists():
        shutil.rmtree(home / RESTORING)  # half a restore: its photos lie in place already
    try:
        database = SqliteFile(home, must_exist=True)
        try:
            with database.reading() as connection:
                return not any(check_rows(connection))
        finally:
            database.close()
    except StashDamagedError:
        return False


def _make_anew(home: Path, backups: list[Path]) -> tuple[dict[str, int], list[str], str]:
    """Put the old database aside and a new one in its place.

    Gives how many scraps came from where, the scraps nobody knows any more, and the place aside.
    """
    work = home / _WORK
    ready = work / _READY
    if ready.exists() and not (home / DATABASE).exists():  # a repair was broken off at the end
        counts: dict[str, int] = {}
        lost: list[str] = []
    else:
        shutil.rmtree(work, ignore_errors=True)
        work.mkdir(mode=0o700)
        draft = work / "draft.db"
        sources = [*_old_database(home, work), *_from_backups(backups, work)]
        counts, lost = _put_together(draft, sources, PictureFiles(home))
        with draft.open("rb+") as file:
            os.fsync(file.fileno())
        draft.replace(ready)
    old = [home / f"{DATABASE}{end}" for end in ("", "-wal", "-shm", "-journal")]
    place = put_aside(home, [path for path in old if path.exists()])
    ready.replace(home / DATABASE)
    sync_folder(home)
    shutil.rmtree(work)
    return counts, lost, "" if place is None else place.relative_to(home).as_posix()


def _old_database(home: Path, work: Path) -> Iterator[_Source]:
    """Read what can still be read of the database in place; it is copied first, never written."""
    old = home / DATABASE
    if not old.exists() or not old.stat().st_size:
        return
    copy = work / "old.db"
    try:
        with (
            closing(
                sqlite3.connect(f"file:{quote(str(old.absolute()))}?mode=ro", uri=True)
            ) as here,
            closing(sqlite3.connect(copy)) as there,
        ):
            here.backup(there)
    except sqlite3.Error:
        copy.unlink(missing_ok=True)
        for end in ("", "-wal"):
            if old.with_name(DATABASE + end).exists():
                shutil.copyfile(old.with_name(DATABASE + end), copy.with_name(copy.name + end))
    yield from _read(copy, "the old database")


def _from_backups(backups: list[Path], work: Path) -> Iterator[_Source]:
    for turn, path in enumerate(backups):
        copy = work / f"backup-{turn}.db"
        with suppress(StorageError), open_backup(path) as backup:
            copy.write_bytes(backup.read(DATABASE))
            yield from _read(copy, f"the backup {path}")


def _read(copy: Path, where: str) -> Iterator[_Source]:
    """Read the good rows of a database that may be damaged, brought to today's schema first."""
    source = _Source(where)
    try:
        engine = file_engine(copy, mode="rw")
        with suppress(DatabaseError), engine.begin() as connection:
            migrate(connection)  # one too damaged for that gives rows of today's schema only
        with engine.connect() as connection:
            if version_of(connection) != NEWEST:
                return
            for table in _TABLES:
                source.rows[table.name] = _good_rows(connection, table, source)
        engine.dispose()
    except (DatabaseError, sqlite3.Error):
        return
    yield source


def _good_rows(connection: Connection, table: Table, source: _Source) -> _Rows:
    found: _Rows = {}
    try:
        for row in map(dict, connection.execute(select(table)).mappings()):
            found[_key(table, row)] = row
    except DatabaseError:
        source.lost.add(table.name)
        found = dict(_rows_one_by_one(connection, table))
    changed = _changed(connection)
    good = {
        key: row
        for key, row in found.items()
        if (table.name, json.dumps(list(key))) not in changed and not any(faults_of_row(table, row))
    }
    if len(good) < len(found):
        source.lost.add(table.name)
    return good


def _changed(connection: Connection) -> set[tuple[str, str]]:
    """Give the rows whose digest can be read and does not fit."""
    changed: set[tuple[str, str]] = set()
    with suppress(DatabaseError, ValueError, TypeError):
        changed.update(changed_rows(connection))
    return changed


def _rows_one_by_one(connection: Connection, table: Table) -> Iterator[tuple[_Key, dict[str, Any]]]:
    """Ask for each number alone, so that a damaged page costs only what lies on it."""
    column = table.c.change if table is edits else table.c.number
    counted = changes if table is edits else table
    for number in range(1, _last_number(connection, counted) + 1):
        try:
            of_number = connection.execute(select(table).where(column == number)).mappings().all()
        except DatabaseError:
            continue
        for row in map(dict, of_number):
            yield _key(table, row), row


def _last_number(connection: Connection, table: Table) -> int:
    with suppress(DatabaseError):
        asked = text("SELECT seq FROM sqlite_sequence WHERE name = :name")
        found = connection.execute(asked, {"name": table.name}).scalar()
        if isinstance(found, int):
            return min(found, _MOST_ROWS)
    return _MOST_ROWS


def _key(table: Table, row: Mapping[str, Any]) -> _Key:
    return tuple(int(row[column.name]) for column in table.primary_key)


def _put_together(
    draft: Path, sources: list[_Source], files: PictureFiles
) -> tuple[dict[str, int], list[str]]:
    """Write a sound database from several that are not.

    Gives how many scraps were taken from each, and the scraps that none of them holds.
    """
    rows = {table.name: _Source("").rows.get(table.name, {}) for table in _TABLES}
    counts: dict[str, int] = {}
    for turn, source in enumerate(sources):
        for table in _TABLES:
            # What a source holds whole is as it should be: rows it lacks were taken out.
            if turn and not all(table.name in one.lost for one in sources[:turn]):
                continue
            for key, row in source.rows.get(table.name, {}).items():
                if key not in rows[table.name]:
                    rows[table.name][key] = row
                    if table is scraps:
                        counts[source.where] = counts.get(source.where, 0) + 1
        if turn == 0 and source.lost:
            known = _from_change_log(source, rows)
            counts.update({"the history": known} if known else {})
    _link(rows, files)
    engine = file_engine(draft, mode="rwc")
    with engine.begin() as connection:
        migrate(connection)
        for table in _TABLES:
            if rows[table.name]:
                connection.execute(insert(table), list(rows[table.name].values()))
        reseal(connection)
    engine.dispose()
    return counts, [f"scrap {number}" for number in _begun_and_gone(rows)]


def _begun_and_gone(rows: dict[str, _Rows]) -> list[int]:
    """Give the numbers of scraps that the history saw begin and no row describes."""
    begun = {
        edit["row_number"]
        for (change, _), edit in rows["edits"].items()
        if edit["on_table"] == scraps.name
        and edit["before"] is None
        and rows["changes"][change,]["state"] != "undone"
    }
    return sorted(number for number in begun if (number,) not in rows["scraps"])


def _from_change_log(source: _Source, rows: dict[str, _Rows]) -> int:
    """Take rows that are lost, as the change log last saw them; gives how many scraps."""
    undone = {key[0] for key, row in source.rows["changes"].items() if row["state"] == "undone"}
    last: dict[tuple[str, int], str | None] = {}
    for (change, _), edit in sorted(source.rows["edits"].items()):
        began_only = edit["before"] is None and edit["after"] is None
        if change not in undone and not began_only:
            last[edit["on_table"], edit["row_number"]] = edit["after"]
    count = 0
    for (name, number), after in last.items():
        if name in source.lost and after is not None and (number,) not in rows[name]:
            row = row_from_json(after)
            if not any(faults_of_row(_BY_NAME[name], row)):
                rows[name][number,] = row
                count += name == scraps.name
    return count


def _link(rows: dict[str, _Rows], files: PictureFiles) -> None:
    """Leave out doubles, and make good for rows that others need."""
    _keep_first(rows["photos"], lambda row: row["sha256"])
    _keep_first(rows["documents"], lambda row: (row["kind"], row["name"]))
    shas = {row["sha256"] for row in rows["photos"].values()}
    for scrap in rows["scraps"].values():
        if (scrap["fabric"],) not in rows["fabrics"]:
            rows["fabrics"][scrap["fabric"],] = {
                "number": scrap["fabric"], "name": "", "one_way": False, "notes": "",
            }  # fmt: skip
        if scrap["photo"] is not None and scrap["photo"] not in shas:
            shas.add(scrap["photo"])
            number = max((key[0] for key in rows["photos"]), default=0) + 1
            rows["photos"][number,] = _photo_again(number, scrap["photo"], files)
    answers = rows["twin_answers"]
    _keep_first(answers, lambda row: (row["one"], row["other"]))
    for key, row in list(answers.items()):
        if not {(row["one"],), (row["other"],)} <= rows["scraps"].keys():
            del answers[key]
    kept = {key[0] for key in rows["changes"]}
    for key in [key for key in rows["edits"] if key[0] not in kept]:
        del rows["edits"][key]


def _keep_first(rows: _Rows, name_of: Any) -> None:
    seen: set[Any] = set()
    for key in list(rows):
        name = name_of(rows[key])
        if name in seen:
            del rows[key]
        seen.add(name)


def _photo_again(number: int, sha256: str, files: PictureFiles) -> dict[str, Any]:
    """Make a photo's row when only its scraps are left; how good its card was is not known."""
    path = files.find(sha256)
    suffix = ".jpg" if path is None else path.suffix
    kept = sha256 if path is None else sha256_of(path.read_bytes())
    return {
        "number": number, "sha256": sha256, "kept_sha256": kept, "suffix": suffix,
        "file_name": f"{sha256[:12]}{suffix}", "warnings": "[]", "view": None, **_UNKNOWN_CARD,
    }  # fmt: skip


def _heal_files(
    connection: Connection, files: PictureFiles, backups: list[Path]
) -> tuple[list[str], list[str]]:
    """Take lost and changed files from the backups; gives what was healed and what is lost."""
    healed, lost = [], []
    for path, (sha256, what) in wanted_files(connection, files).items():
        if holds_hash(path, sha256):
            continue
        data = _from_backup(backups, f"{path.parent.name}/{path.name}", sha256)
        if data is None:  # a changed file is better than none and stays
            lost.append(what)
            continue
        if path.exists():
            put_aside(files.home, [path])
        files.keep(path.parent.name, {path.stem: (path.suffix, data)})
        healed.append(what)
    return healed, lost


def _from_backup(backups: list[Path], name: str, sha256: str) -> bytes | None:
    for path in backups:
        with suppress(StorageError), open_backup(path) as backup:
            if backup.sha256.get(name) == sha256:
                return backup.read(name)
    return None


def _unknown_photos(connection: Connection, files: PictureFiles) -> Iterator[str]:
    """Give whole photos that no row knows: they can be measured again."""
    for path in orphans(files, wanted_files(connection, files)):
        if path.parent.name == PHOTOS and holds_hash(path, path.stem):
            yield path.name
