"""A backup that is a folder grows by what is new, and gives back each of its generations."""

from __future__ import annotations

from pathlib import Path

import pytest

from stash.errors import NotEmptyError, StorageError
from stash.storage.sqlite_store import FolderStore
from stash.wiring import check_backup, open_store, restore_backup
from tests.running import run_stash
from tests.storage.made_records import made_photo


@pytest.fixture
def store(tmp_path: Path) -> FolderStore:
    made = open_store(tmp_path / "here")
    for seed in range(3):
        made.log_photo(made_photo(seed, size=20_000))
    return made


def _files(folder: Path) -> dict[Path, tuple[int, int]]:
    """Each file with what changes when it is written anew: inode and time."""
    found = [path for path in folder.rglob("*") if path.is_file() and path.name != ".turn"]
    return {path: (path.stat().st_ino, path.stat().st_mtime_ns) for path in found}


def _photos(home: Path) -> list[str]:
    return [photo.sha256 for photo in open_store(home).photos()]


def test_for_one_photo_more_only_its_files_and_the_database_are_written(
    store: FolderStore, tmp_path: Path
) -> None:
    kept = tmp_path / "kept"
    first = store.backup(str(kept))
    assert first.written_bytes == first.size_bytes
    before = _files(kept)
    photo = made_photo(9, size=20_000)
    store.log_photo(photo)
    second = store.backup(str(kept), replace=True)
    after = _files(kept)
    new = {path for path in after if before.get(path) != after[path]}
    # The photo, its three pictures, and the archive of database and manifest; the one before it
    # has another name now.
    assert {path.suffix for path in new} == {".jpg", ".zip", ".1"}
    assert len(new) == 1 + len(photo.scraps) + 2
    assert all(before[kept / "stash.zip"] == after[path] for path in new if path.suffix == ".1")
    written = sum(path.stat().st_size for path in new if path.suffix != ".1")
    assert (second.written_bytes, second.files) == (written, first.files + 4)
    assert second.written_bytes < first.size_bytes


def test_three_generations_come_back_and_files_of_no_generation_go(
    store: FolderStore, tmp_path: Path
) -> None:
    kept = tmp_path / "kept"
    lone = store.log_photo(made_photo(20, scraps=1, size=5_000))
    store.backup(str(kept))
    held = len(list((kept / "files").iterdir()))
    store.delete_scrap(lone[0].number, why="lost")
    store.empty_bin()
    homes = []
    for turn in range(3):
        store.log_photo(made_photo(30 + turn, scraps=1, size=5_000))
        store.backup(str(kept), replace=True)
        homes.append(_photos(tmp_path / "here"))
        # The photo that was emptied stays as long as a generation names it.
        assert len(list((kept / "files").iterdir())) == held + 2 * (turn + 1) - 2 * (turn == 2)
    for turn, name in enumerate(["stash.zip.2", "stash.zip.1", "stash.zip"]):
        restore_backup(kept / name, tmp_path / name)
        assert _photos(tmp_path / name) == homes[turn]
        assert open_store(tmp_path / name).check() == ()
    restore_backup(kept, tmp_path / "newest")
    assert _photos(tmp_path / "newest") == homes[2]


def test_a_copy_of_the_folder_is_a_backup(store: FolderStore, tmp_path: Path) -> None:
    import shutil

    store.backup(str(tmp_path / "kept"))
    shutil.copytree(tmp_path / "kept", tmp_path / "stick")
    shutil.rmtree(tmp_path / "kept")
    restore_backup(tmp_path / "stick", tmp_path / "new")
    assert open_store(tmp_path / "new").scraps() == store.scraps()


def test_one_file_spoilt_in_it_is_told_costs_that_file_alone_and_is_healed_by_the_next(
    store: FolderStore, tmp_path: Path
) -> None:
    kept, home = tmp_path / "kept", tmp_path / "here"
    store.backup(str(kept))
    photo = store.photos()[0]
    spoilt = kept / "files" / f"{photo.sha256}.jpg"
    spoilt.write_bytes(spoilt.read_bytes()[:-1] + b"?")
    store.database.close()
    assert f"{spoilt} in the backup is missing or was changed" in check_backup(home)
    done = run_stash("restore", kept, home=tmp_path / "new")
    assert done.returncode == 3
    assert f"photo “{photo.file_name}”" in done.stdout
    assert len(open_store(tmp_path / "new").scraps()) == 9
    spoilt.unlink()
    assert check_backup(home)
    open_store(home).backup(str(kept), replace=True)
    assert check_backup(home) == ""


def test_a_generation_whose_digest_is_wrong_is_told_by_name(
    store: FolderStore, tmp_path: Path
) -> None:
    kept = tmp_path / "kept"
    store.backup(str(kept))
    store.backup(str(kept), replace=True)
    older = kept / "stash.zip.1"
    older.write_bytes(older.read_bytes()[:-1] + b"x")
    assert str(older) in check_backup(tmp_path / "here")


@pytest.mark.parametrize("there", ["letters", "a backup"])
def test_a_folder_that_holds_something_is_not_written_into_unasked(
    store: FolderStore, tmp_path: Path, there: str
) -> None:
    kept = tmp_path / "kept"
    if there == "letters":
        kept.mkdir()
        (kept / "letter.txt").write_text("dear")
    else:
        store.backup(str(kept))
    before = _files(kept)
    with pytest.raises(NotEmptyError):
        store.backup(str(kept), replace=there == "letters")
    assert _files(kept) == before


def test_two_backups_into_one_folder_at_once_end_with_a_sentence(
    store: FolderStore, tmp_path: Path
) -> None:
    import sqlite3

    kept = tmp_path / "kept"
    store.backup(str(kept))
    other = sqlite3.connect(kept / ".turn", isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    with pytest.raises(StorageError, match="Another backup into"):
        store.backup(str(kept), replace=True)
    other.close()
    store.backup(str(kept), replace=True)


def test_a_lost_photo_comes_from_an_earlier_generation_or_is_counted_as_missing(
    store: FolderStore, tmp_path: Path
) -> None:
    kept, photo = tmp_path / "kept", store.photos()[0]
    store.backup(str(kept))
    (tmp_path / "here" / "photos" / f"{photo.sha256}.jpg").unlink()
    assert store.backup(str(kept), replace=True).missing == ()
    (kept / "files" / f"{photo.sha256}.jpg").unlink()
    assert store.backup(str(kept), replace=True).missing == (f"photo “{photo.file_name}”",)


def test_a_file_made_anew_is_told_to_be_written_whole_and_a_folder_by_what_is_new(
    store: FolderStore, tmp_path: Path
) -> None:
    for name, told in (
        ("kept.zip", " MB (all of it written anew; a folder takes only what is new), in "),
        ("kept", " MB of it written now), in "),
    ):
        for more in ([], ["--replace"]):
            done = run_stash("backup", tmp_path / name, *more, home=store.home)
            assert done.returncode == 0, done.stderr
            assert (told in done.stdout) == bool(more), done.stdout
