"""No bit of a stash or its backup changes without being told."""

from __future__ import annotations

import sqlite3
from contextlib import closing, suppress
from pathlib import Path

import pytest

from stash.storage.sqlite_store import FolderStore
from stash.storage.tables import metadata
from stash.wiring import open_store
from tests.reliability.flip_bits import flip_many, is_seen
from tests.storage.made_records import made_photo


def test_every_one_of_two_hundred_flipped_bits_is_told() -> None:
    assert flip_many(200, seed=5)["which"] == []


def test_every_one_of_eighty_bits_flipped_beside_a_backup_that_is_a_folder_is_told() -> None:
    tally = flip_many(80, seed=7, folder=True)
    assert (tally["which"], tally["in"]["backup"] > 20) == ([], True)


def test_after_a_kill_no_flipped_bit_changes_what_the_records_say_untold() -> None:
    assert flip_many(60, seed=6, killed=True)["which"] == []


@pytest.fixture
def store(tmp_path: Path) -> FolderStore:
    made = open_store(tmp_path)
    made.log_photo(made_photo(1))
    made.delete_scrap(2, why="lost")
    made.delete_scrap(3, why="lost too")
    return made


@pytest.mark.parametrize(
    ("harm", "named"),
    [
        ("UPDATE scraps SET notes = 'x' WHERE number = 1", "scraps [1]"),
        ("UPDATE scraps SET grain_deg = 12.5 WHERE number = 1", "scraps [1]"),
        ("UPDATE photos SET file_name = 'y'", "photos [1]"),
        ("UPDATE edits SET row_number = 3 WHERE row_number = 2 AND change = 2", "edits [2, 0]"),
        ("UPDATE changes SET state = 'final' WHERE number = 2", "changes [2]"),
        ("UPDATE stamp SET changes = changes + 1", "stamp [1]"),
        ("DELETE FROM fabrics WHERE number = 99 OR number = 3", "fabrics [3]"),
        ("UPDATE digests SET digest = 'z' WHERE on_table = 'fabrics'", "fabrics [1]"),
    ],
)
def test_a_row_changed_past_the_program_is_named(store: FolderStore, harm: str, named: str) -> None:
    with sqlite3.connect(store.home / "stash.db") as raw:
        raw.execute(harm)
    raw.close()
    assert named in [finding.subject for finding in store.check() if finding.kind == "row"]


def test_a_change_that_dropped_out_of_the_history_with_its_digests_is_noticed(
    store: FolderStore,
) -> None:
    with sqlite3.connect(store.home / "stash.db") as raw:
        raw.execute("DELETE FROM edits WHERE change = 2")
        raw.execute("DELETE FROM changes WHERE number = 2")
        raw.execute("DELETE FROM digests WHERE on_table = 'changes' AND row_key = '[2]'")
        raw.execute("DELETE FROM digests WHERE on_table = 'edits' AND row_key LIKE '[2,%'")
    raw.close()
    assert [f.subject for f in store.check() if f.kind == "row"] == ["history [3]"]


SPOILT = {
    "name": "UPDATE sqlite_master SET sql = replace(sql, '{column}', 'x{rest}') "
    "WHERE name = '{table}'",
    "bytes": "UPDATE {table} SET {column} = x'ff00fe'",
    "word": "UPDATE {table} SET {column} = 'x'",
}


@pytest.mark.parametrize("how", SPOILT)
@pytest.mark.parametrize("table", sorted(metadata.tables))
def test_a_column_of_another_name_or_kind_is_told_and_no_fault(
    store: FolderStore, table: str, how: str
) -> None:
    store.database.close()
    file = store.home / "stash.db"
    whole = file.read_bytes()
    for column in [one.name for one in metadata.tables[table].columns]:
        with closing(sqlite3.connect(file)) as raw, suppress(sqlite3.IntegrityError):
            raw.execute("PRAGMA writable_schema = ON")
            words = SPOILT[how].format(table=table, column=column, rest=column[1:])
            changed = raw.execute(words).rowcount
            raw.commit()
            assert is_seen(store.home) or not changed, column
        for beside in store.home.glob("stash.db-*"):
            beside.unlink()
        file.write_bytes(whole)


def test_undo_redo_and_emptying_keep_every_digest_right(store: FolderStore) -> None:
    for step in (store.undo, store.undo, store.redo, store.redo, store.empty_bin):
        step()
        assert store.check() == ()
