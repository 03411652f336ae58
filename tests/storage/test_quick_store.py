"""The quick store answers as the whole one does, and leaves to it what it cannot."""

from __future__ import annotations

import random
import shutil
import sqlite3
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from stash.errors import NotFoundError, StashMissingError, StashNewerError
from stash.scrap import ScrapState
from stash.storage.folder_layout import DATABASE, NEWEST_SCHEMA
from stash.storage.kept_answers import kept_answer
from stash.storage.migrations import NEWEST
from stash.storage.quick_store import QuickStore
from stash.usecases.ports import Document, ScrapColumns, SizeKey
from stash.wiring import open_store, open_to_ask
from tests.storage.made_records import made_photo, made_scrap

OLD = Path(__file__).resolve().parents[2] / "fixtures" / "old_stashes"
KEY = SizeKey("square", "any turn")


@pytest.fixture
def home(tmp_path: Path) -> Path:
    store = open_store(tmp_path / "stash")
    for seed in range(3):
        store.log_photo(made_photo(seed))
    store.add_scrap(made_scrap(random.Random(9)), why="by ruler")
    store.delete_scrap(2, why="lost")
    fifth = store.scrap(5)
    store.change_scrap(replace(fifth, state=ScrapState.CUT_UP), seen=fifth, why="cut")
    store.keep_document(Document("palette", "sea", {"colours": ["#1f3f7a"]}), why="made")
    store.keep_largest_sizes(KEY, {1: 4.5, 3: 1.5})
    return tmp_path / "stash"


def _same(one: ScrapColumns, other: ScrapColumns) -> bool:
    looks = ("reads_as", "counts", "colours", "contrast", "repeat", "error", "absolute", "woven")
    pairs = [(one.number, other.number), (one.fabric, other.fabric), (one.area, other.area)]
    pairs += [(getattr(one.looks, name), getattr(other.looks, name)) for name in looks]
    equal = all(np.array_equal(a, b, equal_nan=a.dtype.kind == "f") for a, b in pairs)
    return equal and one.places == other.places


def test_both_stores_answer_alike(home: Path) -> None:
    quick, whole = open_to_ask(home), open_store(home)
    assert isinstance(quick, QuickStore)
    assert quick.document("palette", "sea") == whole.document("palette", "sea")
    assert quick.documents("palette") == whole.documents("palette")
    assert quick.largest_sizes(KEY) == whole.largest_sizes(KEY) == {1: 4.5, 3: 1.5}
    assert _same(quick.columns(), whole.columns())


def test_columns_hold_what_the_records_hold(home: Path) -> None:
    columns, scraps = open_store(home).columns(), open_store(home).scraps()
    usable = [scrap for scrap in scraps if scrap.state is not ScrapState.CUT_UP]
    assert columns.number.tolist() == [scrap.number for scrap in usable]
    assert columns.area.tolist() == [scrap.outline.area_sq_in for scrap in usable]
    assert columns.looks.colours.tolist() == [
        [*one.lab, one.share] for scrap in usable for one in scrap.appearance.colours
    ]
    sure = [s.appearance.repeat_in if s.appearance.repeat_sure else None for s in usable]
    assert [None if np.isnan(v) else v for v in columns.looks.repeat.tolist()] == sure


def test_a_scrap_changed_by_another_is_seen_by_the_next_question(home: Path) -> None:
    before = open_to_ask(home).columns()
    store = open_store(home)
    first = store.scrap(1)
    store.change_scrap(replace(first, place="bin 77"), seen=first, why="moved")
    assert before.places[0] != "bin 77"
    assert open_to_ask(home).columns().places[0] == "bin 77"


def test_a_name_that_is_not_there_is_told_with_those_that_are(home: Path) -> None:
    with pytest.raises(NotFoundError, match="sea"):
        open_to_ask(home).document("palette", "see")


def test_a_folder_without_a_stash_is_told(tmp_path: Path) -> None:
    with pytest.raises(StashMissingError):
        open_to_ask(tmp_path)


def test_an_old_stash_is_asked_through_the_whole_store(tmp_path: Path) -> None:
    shutil.copytree(OLD / "version-1", tmp_path / "stash")
    quick = open_to_ask(tmp_path / "stash")
    assert quick.document("palette", "sea").body == {"colours": ["#1f3f7a", "#2f8f8f"]}
    assert quick.columns().number.tolist() == [1, 2]


def test_a_stash_of_a_newer_version_is_refused(home: Path) -> None:
    with sqlite3.connect(home / DATABASE) as connection:
        connection.execute(f"PRAGMA user_version = {NEWEST + 1}")
    connection.close()
    with pytest.raises(StashNewerError):
        open_to_ask(home).columns()


def test_the_quick_store_knows_the_newest_schema() -> None:
    assert NEWEST_SCHEMA == NEWEST


def test_a_kept_answer_is_made_once_for_each_key(tmp_path: Path) -> None:
    made: list[str] = []

    def ask(key: str) -> bytes:
        return kept_answer(tmp_path, "names", key, lambda: made.append(key) or key.encode())

    assert [ask("one"), ask("one"), ask("two"), ask("two"), ask("one")] == [
        b"one", b"one", b"two", b"two", b"one",
    ]  # fmt: skip
    assert made == ["one", "two", "one"]


@pytest.mark.parametrize("harm", [lambda data: data[:-1], lambda data: data[:-1] + b"?", bytes])
def test_a_torn_or_changed_kept_answer_is_made_anew(tmp_path: Path, harm) -> None:
    kept_answer(tmp_path, "names", "key", lambda: b"true")
    (file,) = (tmp_path / "kept_answers").iterdir()
    file.write_bytes(harm(file.read_bytes()) if harm is not bytes else b"")
    assert kept_answer(tmp_path, "names", "key", lambda: b"made anew") == b"made anew"


def test_what_cannot_be_kept_is_answered_all_the_same(tmp_path: Path) -> None:
    (tmp_path / "kept_answers").write_text("a file where the folder should be")
    assert kept_answer(tmp_path, "names", "key", lambda: b"true") == b"true"
