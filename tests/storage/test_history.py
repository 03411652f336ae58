"""The history tells what happened, and the bin keeps what was deleted until it is emptied."""

from __future__ import annotations

from pathlib import Path

import pytest

from stash.errors import HistoryEndError, NotFoundError
from stash.scrap import Fabric
from stash.storage.picture_files import PictureFiles
from stash.storage.sqlite_file import SqliteFile
from stash.storage.sqlite_store import FolderStore
from stash.usecases.ports import Document
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


def test_what_was_taken_back_can_be_done_again_row_for_row(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    store.log_photo(made_photo(1))
    store.log_photo(made_photo(2))
    store.change_fabric(Fabric(5, "blue ditsy"), seen=Fabric(5), why="named")
    store.join_fabrics(1, 2, why="joined")
    store.delete_scrap(3, why="deleted")
    store.keep_document(Document("palette", "sea", {"colours": []}), why="palette")
    store.delete_document("palette", "sea", why="palette gone")
    everything = (store.scraps(), store.fabrics(), store.photos(), store.bin())
    undone = [store.undo() for _ in range(7)]
    assert store.scraps() == store.photos() == ()
    assert [store.redo() for _ in range(7)] == list(reversed(undone))
    assert (store.scraps(), store.fabrics(), store.photos(), store.bin()) == everything
    assert store.documents("palette") == ()
    assert [line.state for line in store.history()] == ["done"] * 7
    with pytest.raises(HistoryEndError, match="done again"):
        store.redo()


def test_mending_keeps_the_files_of_a_photo_that_can_still_be_done_again(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    store.log_photo(made_photo(1))
    before = sorted(path.name for path in store.files.all_files())
    store.undo()
    assert store.check(mend=True) == ()
    assert sorted(path.name for path in store.files.all_files()) == before
    store.redo()
    assert store.check() == () and len(store.scraps()) == 3


def test_a_new_change_closes_the_way_forward_and_frees_the_files(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    store.log_photo(made_photo(1))
    store.undo()
    store.keep_document(Document("palette", "sea", {"colours": []}), why="palette")
    with pytest.raises(HistoryEndError):
        store.redo()
    store.check(mend=True)
    assert list(store.files.all_files()) == []


def test_only_what_was_taken_back_last_is_done_again(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    for name in ("first", "second"):
        store.keep_document(Document("palette", name, _sea(name)), why=name)
        store.undo()
    assert store.redo() == "second"
    assert [one.name for one in store.documents("palette")] == ["second"]
    store.undo()
    store.keep_document(Document("palette", "third", _sea("third")), why="third")
    store.undo()
    assert store.redo() == "third"
    with pytest.raises(HistoryEndError):
        store.redo()
    assert store.check() == ()


def _sea(name: str) -> dict[str, object]:
    return {"name": name, "without": ["pink"]}
