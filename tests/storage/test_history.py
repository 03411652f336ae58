"""The history tells what happened, and the bin keeps what was deleted until it is emptied."""

from __future__ import annotations

from pathlib import Path

import pytest

from stash.errors import NotFoundError
from stash.storage.picture_files import PictureFiles
from stash.storage.sqlite_file import SqliteFile
from stash.storage.sqlite_store import FolderStore
from stash.wiring import open_store
from tests.storage.made_records import made_photo


def test_the_history_is_newest_first_and_marks_what_was_taken_back(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    store.log_photo(made_photo(1))
    store.delete_scrap(2, why="deleted scrap 2")
    store.undo()
    store.delete_scrap(3, why="deleted scrap 3")
    assert [(line.why, line.state) for line in store.history()] == [
        ("deleted scrap 3", "done"),
        ("deleted scrap 2", "undone"),
        ("logged table 1.jpg with 3 scraps", "done"),
    ]


def test_a_clock_that_jumps_back_does_not_mix_up_the_history(tmp_path: Path) -> None:
    times = iter(["2031-01-01T00:00:00", "1999-01-01T00:00:00", "1999-01-01T00:00:00"])
    store = FolderStore(SqliteFile(tmp_path), PictureFiles(tmp_path), now=lambda: next(times))
    for seed in range(3):
        store.log_photo(made_photo(seed))
    assert [line.at[:4] for line in store.history()] == ["1999", "1999", "2031"]
    assert store.undo() == "logged table 2.jpg with 3 scraps"


def test_deleted_scraps_lie_in_the_bin_until_it_is_emptied(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    store.log_photo(made_photo(1))
    store.log_photo(made_photo(2))
    for number in (1, 2, 3, 5):
        store.delete_scrap(number, why=f"deleted scrap {number}")
    assert [scrap.number for scrap in store.bin()] == [1, 2, 3, 5]
    assert store.empty_bin() == 4
    assert store.bin() == ()
    assert [scrap.number for scrap in store.scraps()] == [4, 6]
    assert [fabric.number for fabric in store.fabrics()] == [4, 6]
    # The first photo has no scrap left and goes; the second stays.
    assert [photo.file_name for photo in store.photos()] == ["table 2.jpg"]
    assert sorted(path.suffix for path in store.files.all_files()) == [".jpg"] * 3
    assert store.check() == ()
    with pytest.raises(NotFoundError):
        store.undo()
    assert store.history()[0].why == "emptied the bin of 4 scraps"
    assert store.log_photo(made_photo(1))[0].number == 7


def test_an_empty_bin_can_be_emptied_without_making_anything_final(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    store.log_photo(made_photo(1))
    assert store.empty_bin() == 0
    assert store.undo() == "logged table 1.jpg with 3 scraps"
