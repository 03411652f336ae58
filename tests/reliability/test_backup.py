"""A backup is one file that gives the same answers elsewhere."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest

from stash.errors import NotEmptyError, StashNewerError, StorageError
from stash.storage.sqlite_store import FolderStore
from stash.usecases.ports import Document, SizeKey
from stash.wiring import open_store, restore_backup
from tests.storage.made_records import made_photo

ROOT = Path(__file__).resolve().parents[2]
DRIVER = Path(__file__).with_name("log_made_photos.py")
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT), "OMP_NUM_THREADS": "1"}


def _full_stash(home: Path) -> FolderStore:
    store = open_store(home)
    for seed in range(4):
        store.log_photo(made_photo(seed))
    store.keep_document(
        Document("palette", "sea", {"name": "sea", "without": ["pink"]}), why="palette sea"
    )
    store.keep_largest_sizes(SizeKey("square", "any"), {1: 2.5, 7: 4.0})
    store.delete_scrap(5, why="deleted scrap 5")
    store.join_fabrics(1, 2, why="joined 1 and 2")
    return store


def _everything(store: FolderStore) -> object:
    return (
        store.photos(),
        store.scraps(),
        store.bin(),
        store.fabrics(),
        store.documents("palette"),
        store.largest_sizes(SizeKey("square", "any")),
        store.history(),
        [store.picture(photo.sha256) for photo in store.photos()],
        [store.picture(scrap.picture.sha256) for scrap in store.scraps() if scrap.picture],
    )


def test_a_restored_stash_gives_the_same_answers_elsewhere(tmp_path: Path) -> None:
    store = _full_stash(tmp_path / "here")
    report = store.backup(str(tmp_path / "kept.zip"))
    assert (report.files, report.missing) == (4 + 12, ())
    restore_backup(tmp_path / "kept.zip", tmp_path / "far" / "there")
    there = open_store(tmp_path / "far" / "there")
    assert _everything(there) == _everything(store)
    assert there.check() == ()
    assert there.undo() == "joined 1 and 2"
    assert {path.name for path in there.home.iterdir()} == {
        "stash.db", "stash.db-wal", "stash.db-shm", "photos", "pictures",
    }  # fmt: skip


def test_no_place_on_this_computer_is_written_into_a_backup(tmp_path: Path) -> None:
    store = _full_stash(tmp_path / "a-telling-name")
    store.backup(str(tmp_path / "kept.zip"))
    with zipfile.ZipFile(tmp_path / "kept.zip") as archive:
        for name in archive.namelist():
            assert b"a-telling-name" not in archive.read(name)


def test_the_checksums_inside_are_those_of_the_members(tmp_path: Path) -> None:
    import hashlib

    _full_stash(tmp_path / "here").backup(str(tmp_path / "kept.zip"))
    with zipfile.ZipFile(tmp_path / "kept.zip") as archive:
        told = json.loads(archive.read("manifest.json"))["sha256"]
        real = {
            name: hashlib.sha256(archive.read(name)).hexdigest()
            for name in archive.namelist()
            if name != "manifest.json"
        }
    assert told == real


def test_a_backup_never_replaces_a_file_unasked(tmp_path: Path) -> None:
    store = _full_stash(tmp_path / "here")
    target = tmp_path / "kept.zip"
    target.write_text("letters from grandmother")
    with pytest.raises(NotEmptyError, match="already there"):
        store.backup(str(target))
    assert target.read_text() == "letters from grandmother"
    store.backup(str(target), replace=True)
    assert zipfile.is_zipfile(target)


@pytest.mark.parametrize("there", ["a stash", "another file"])
def test_a_restore_never_overwrites(tmp_path: Path, there: str) -> None:
    _full_stash(tmp_path / "here").backup(str(tmp_path / "kept.zip"))
    home = tmp_path / "home"
    if there == "a stash":
        open_store(home).log_photo(made_photo(77))
    else:
        home.mkdir()
        (home / "letter.txt").write_text("dear")
    before = {path: path.read_bytes() for path in home.rglob("*") if path.is_file()}
    with pytest.raises(NotEmptyError, match="nothing was overwritten"):
        restore_backup(tmp_path / "kept.zip", home)
    assert {path: path.read_bytes() for path in home.rglob("*") if path.is_file()} == before


def test_a_backup_taken_during_an_import_is_whole(tmp_path: Path) -> None:
    home = tmp_path / "here"
    open_store(home).log_photo(made_photo(0))
    process = subprocess.Popen(
        [sys.executable, str(DRIVER), str(home), "1", "25"], stdout=subprocess.PIPE, env=ENVIRONMENT
    )
    assert process.stdout is not None
    process.stdout.readline()
    made = 0
    store = open_store(home)
    while process.poll() is None:
        store.backup(str(tmp_path / f"{made}.zip"))
        made += 1
    process.communicate()
    assert process.returncode == 0
    assert made > 1
    for number in range(made):
        restore_backup(tmp_path / f"{number}.zip", tmp_path / f"home {number}")
        there = open_store(tmp_path / f"home {number}")
        assert there.check() == ()
        assert len(there.scraps()) == 3 * len(there.photos()) > 0


def _flip(archive: Path, share: float) -> None:
    data = bytearray(archive.read_bytes())
    data[int(len(data) * share)] ^= 0xFF
    archive.write_bytes(data)


@pytest.mark.parametrize("share", [0.02, 0.3, 0.6, 0.9])
def test_a_damaged_backup_is_refused_and_leaves_no_stash(tmp_path: Path, share: float) -> None:
    _full_stash(tmp_path / "here").backup(str(tmp_path / "kept.zip"))
    _flip(tmp_path / "kept.zip", share)
    with pytest.raises(StorageError, match="not a backup of a stash, or is damaged"):
        restore_backup(tmp_path / "kept.zip", tmp_path / "home")
    assert not (tmp_path / "home" / "stash.db").exists()


def test_what_is_no_backup_is_refused(tmp_path: Path) -> None:
    with pytest.raises(StorageError, match="There is no backup file"):
        restore_backup(tmp_path / "nothing.zip", tmp_path / "home")
    (tmp_path / "text.zip").write_text("hello")
    with zipfile.ZipFile(tmp_path / "other.zip", "w") as archive:
        archive.writestr("manifest.json", '{"format": "stash backup 1", "sha256": {"../x": "0"}}')
    for name in ("text.zip", "other.zip"):
        with pytest.raises(StorageError, match="not a backup"):
            restore_backup(tmp_path / name, tmp_path / "home")
    assert not (tmp_path / "home").exists()


def test_a_backup_of_a_newer_version_is_told(tmp_path: Path) -> None:
    import sqlite3

    store = _full_stash(tmp_path / "here")
    store.database.close()
    raw = sqlite3.connect(tmp_path / "here" / "stash.db")
    raw.execute("PRAGMA user_version = 99")
    raw.close()
    from stash.storage.backup import write_backup

    with pytest.raises(StashNewerError):
        write_backup(tmp_path / "here", tmp_path / "kept.zip")
    assert not (tmp_path / "kept.zip").exists()
    assert list(tmp_path.glob(".backup-*")) == []


@pytest.mark.skipif(os.name != "posix", reason="kills a process")
def test_a_killed_restore_leaves_no_stash_or_a_whole_one_and_can_be_repeated(
    tmp_path: Path,
) -> None:
    store = _full_stash(tmp_path / "here")
    for seed in range(10, 30):
        store.log_photo(made_photo(seed))
    store.backup(str(tmp_path / "kept.zip"))
    script = (
        "import sys; from pathlib import Path\n"
        "from stash.wiring import restore_backup\n"
        "import stash.storage.backup\n"
        "print('ready', flush=True)\n"
        "restore_backup(Path(sys.argv[1]), Path(sys.argv[2]))\n"
    )
    rng = random.Random(5)
    unfinished = 0
    for turn in range(8):
        home = tmp_path / f"home {turn}"
        process = subprocess.Popen(
            [sys.executable, "-c", script, str(tmp_path / "kept.zip"), str(home)],
            stdout=subprocess.PIPE,
            env=ENVIRONMENT,
        )
        assert process.stdout is not None
        process.stdout.readline()
        time.sleep(rng.uniform(0, 0.12))
        process.send_signal(signal.SIGKILL)
        process.communicate()
        if not (home / "stash.db").exists():
            unfinished += 1
            if (home / "restore-unfinished").exists():
                with pytest.raises(StorageError, match="broken off"):
                    open_store(home).log_photo(made_photo(99))
            restore_backup(tmp_path / "kept.zip", home)
        there = open_store(home)
        assert _everything(there) == _everything(store)
        assert there.check(mend=True) == ()
    assert unfinished > 0


def test_a_picture_that_is_none_does_not_come_back_and_is_told(tmp_path: Path) -> None:
    """Its digest is right: whoever writes a backup writes the digests."""
    store, made = open_store(tmp_path / "here"), made_photo(1)
    first, *rest = made.scraps
    store.log_photo(replace(made, scraps=(replace(first, picture_jpeg=b"no picture"), *rest)))
    store.backup(str(tmp_path / "kept.zip"))
    store.export(str(tmp_path / "open"), with_details=True)
    report = restore_backup(tmp_path / "kept.zip", tmp_path / "there")
    assert report.missing == ("picture of scrap 1",)
    assert len(list((tmp_path / "there" / "pictures").iterdir())) == len(rest)
    other = open_store(tmp_path / "other")
    assert other.take_in(str(tmp_path / "open")).missing == ("picture of scrap 1",)
