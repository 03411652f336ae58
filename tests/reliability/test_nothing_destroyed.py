"""The commands meant to keep a stash safe never destroy what was acknowledged."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import sys
import zipfile
from pathlib import Path

import pytest

from stash.errors import (
    StashDamagedError,
    StashLostError,
    StashReplacedError,
    StorageError,
)
from stash.storage import backup_file
from stash.storage.put_aside import drop_outdated
from stash.storage.sqlite_file import bytes_of
from stash.storage.sqlite_store import FolderStore
from stash.usecases.photos.add_photo import already_logged
from stash.wiring import open_store, rebuild_stash, restore_backup
from tests.running import run_stash
from tests.storage.made_records import made_photo

PHOTOS = 5


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A stash of five photos with three scraps each, one of them corrected."""
    store = _logged(tmp_path / "stash")
    scrap = store.scrap(4)
    from dataclasses import replace

    store.change_scrap(replace(scrap, place="blue tin"), seen=scrap, why="moved")
    store.database.close()
    return tmp_path / "stash"


def _logged(home: Path, photos: int = PHOTOS) -> FolderStore:
    store = open_store(home)
    for seed in range(photos):
        store.log_photo(made_photo(seed))
    return store


def _files(home: Path) -> set[str]:
    return {path.name for folder in ("photos", "pictures") for path in (home / folder).iterdir()}


def _lose_database(home: Path, how: str) -> None:
    if how == "empty":
        os.truncate(home / "stash.db", 0)
    else:
        (home / "stash.db").unlink()


@pytest.mark.parametrize("how", ["empty", "missing"])
def test_a_lost_database_is_told_by_every_command_and_nothing_is_deleted(
    home: Path, how: str
) -> None:
    files = _files(home)
    _lose_database(home, how)
    for words in (
        ["verify"], ["verify", "--mend"], ["bin", "--empty"], ["scraps"], ["undo"],
        ["card", "add", "desk", "--kind", "chart24", "--pitch", "0.55"],
    ):  # fmt: skip
        done = run_stash(*words, home=home)
        assert done.returncode == 1, words
        assert f"is {how}, although 20 photos and pictures lie beside it" in done.stderr, words
        assert "stash repair" in done.stderr
    assert _files(home) == files
    with pytest.raises(StashLostError):
        open_store(home).log_photo(made_photo(9))
    assert _files(home) == files


def test_a_fresh_database_beside_many_photos_is_damage_and_mending_moves_nothing(
    home: Path, tmp_path: Path
) -> None:
    files = _files(home)
    open_store(tmp_path / "other").log_photo(made_photo(77))
    open_store(tmp_path / "other").database.close()
    shutil.copy(tmp_path / "other" / "stash.db", home / "stash.db")
    (home / "stash.seal").unlink()
    found = open_store(home).check(mend=True)
    assert [f.text for f in found if f.kind == "unknown"] == [
        "5 photos lie in the folder that the database does not know: it may be an older one. "
        "`stash repair` logs them again."
    ]
    assert _files(home) == files


def test_mending_puts_files_aside_where_they_are_listed_and_brought_back(home: Path) -> None:
    stray = home / "photos" / f"{'ab' * 32}.jpg"
    stray.write_bytes(b"left by a broken-off logging")
    done = run_stash("verify", "--mend", home=home)
    assert (done.returncode, stray.exists()) == (0, False)
    (folder,) = json.loads(run_stash("aside", "--json", home=home).stdout)["folders"]
    assert folder["files"] == [f"photos/{stray.name}"]
    assert drop_outdated(home) == 0
    run_stash("aside", "--bring-back", folder["date"], home=home)
    assert stray.read_bytes() == b"left by a broken-off logging"
    assert json.loads(run_stash("aside", "--json", home=home).stdout)["folders"] == []


def test_what_was_put_aside_long_ago_goes_only_if_disk_and_name_say_so(home: Path) -> None:
    for name in ("2020-01-01T000000Z", "2020-01-02T000000Z"):
        (home / "aside" / name).mkdir(parents=True)
    os.utime(home / "aside" / "2020-01-01T000000Z", (1.5e9, 1.5e9))
    assert drop_outdated(home) == 1
    assert [path.name for path in (home / "aside").iterdir()] == ["2020-01-02T000000Z"]


def test_emptying_the_bin_removes_the_files_of_what_it_named_and_no_other(home: Path) -> None:
    stray = home / "photos" / f"{'cd' * 32}.jpg"
    stray.write_bytes(b"nobody asked to sweep")
    store = open_store(home)
    gone = store.scrap(1)
    assert gone.picture is not None
    store.delete_scrap(1, why="lost")
    before = _files(home)
    assert store.empty_bin() == 1
    assert before - _files(home) == {f"{gone.picture.sha256}.jpg"}


def test_a_photo_that_goes_with_its_last_scrap_is_named_before_and_after(home: Path) -> None:
    store = open_store(home)
    (photo,) = [one for one in store.photos() if one.file_name == "table 0.jpg"]
    *others, last = [scrap.number for scrap in store.scraps() if scrap.photo == photo.sha256]
    for number in others:
        store.delete_scrap(number, why="lost")
    assert "table" not in run_stash("bin", home=home).stdout
    store.delete_scrap(last, why="lost")
    for words in (["bin"], ["bin", "--empty"]):
        assert "the photo table 0.jpg" in run_stash(*words, home=home).stdout
    assert photo.sha256 not in [one.sha256 for one in open_store(home).photos()]


def test_a_photo_logged_again_heals_a_lost_and_a_changed_copy(home: Path) -> None:
    store = open_store(home)
    first, second = made_photo(0), made_photo(1)
    lost, changed = (home / "photos" / f"{one.sha256}.jpg" for one in (first, second))
    lost.unlink()
    changed.write_bytes(b"not this")
    for one in (first, second):
        outcome = already_logged(store, one.data, one.sha256, file_name=one.file_name)
        assert outcome is not None
        assert "whole again" in outcome.warnings[-1]
    assert (lost.read_bytes(), changed.read_bytes()) == (first.data, second.data)
    assert store.check() == ()
    assert (home / store.aside()[0].files[0]).name == changed.name
    again = already_logged(store, first.data, first.sha256, file_name="x.jpg")
    assert again is not None
    assert again.warnings == first.warnings


# The open store knows its file


@pytest.mark.parametrize("how", ["deleted", "restored over"])
def test_an_open_store_never_acknowledges_into_another_file(
    home: Path, tmp_path: Path, how: str
) -> None:
    store = _logged(home)
    store.backup(str(tmp_path / "kept.zip"))
    shutil.rmtree(home)
    if how == "restored over":
        restore_backup(tmp_path / "kept.zip", home)
    files = _files(home) if home.exists() else set()
    with pytest.raises(StashReplacedError, match="replaced or taken away"):
        store.log_photo(made_photo(50))
    with pytest.raises(StashReplacedError):
        store.scraps()
    assert (_files(home) if home.exists() else set()) == files


def test_a_store_replaced_in_the_middle_of_a_transaction_keeps_nothing(home: Path) -> None:
    store = open_store(home)
    with pytest.raises(StashReplacedError), store.database.writing():
        shutil.copy(home / "stash.db", home / "copy.db")
        (home / "copy.db").replace(home / "stash.db")


# Repair


def _facts(home: Path) -> list[tuple[object, ...]]:
    store = open_store(home)
    facts = [(s.number, s.fabric, s.photo, s.place, s.outline) for s in store.scraps()]
    store.database.close()
    return facts


def _zero_scraps(home: Path) -> None:
    """Overwrite the leaf pages of one table, in the middle of the file."""
    raw = sqlite3.connect(home / "stash.db")
    raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    raw.close()
    data = bytearray((home / "stash.db").read_bytes())
    at = data.find(b"blue tin") // 4096 * 4096
    data[at : at + 4096] = bytes(4096)
    (home / "stash.db").write_bytes(data)


def test_repair_takes_what_is_left_then_history_then_the_backup(home: Path, tmp_path: Path) -> None:
    before = _facts(home)
    assert run_stash("backup", tmp_path / "kept.zip", home=home).returncode == 0
    _zero_scraps(home)
    assert run_stash("verify", home=home).returncode == 1
    done = run_stash("repair", home=home)
    assert done.returncode == 0, done.stderr
    assert "Scraps from the old database" in done.stdout
    assert _facts(home) == before
    assert run_stash("verify", home=home).returncode == 0
    assert any("stash.db" in one.files for one in open_store(home).aside())


@pytest.mark.parametrize("how", ["empty", "missing"])
def test_repair_of_a_lost_database_uses_the_backup_and_keeps_every_photo(
    home: Path, tmp_path: Path, how: str
) -> None:
    before = _facts(home)
    open_store(home).backup(str(tmp_path / "kept.zip"))
    late = made_photo(60)
    open_store(home).log_photo(late)
    _lose_database(home, how)
    report = rebuild_stash(home)
    assert report.unknown == (f"{late.sha256}.jpg",)
    assert _facts(home) == before
    assert (home / "photos" / f"{late.sha256}.jpg").read_bytes() == late.data


def test_repair_without_any_backup_keeps_the_rows_that_can_be_read(home: Path) -> None:
    raw = sqlite3.connect(home / "stash.db")
    raw.execute("UPDATE scraps SET outline = x'00' WHERE number = 7")
    raw.execute("UPDATE scraps SET place = 'a tin it never was in' WHERE number = 4")
    raw.commit()
    raw.close()
    assert rebuild_stash(home).lost == ("scrap 7",)
    facts = {number: place for number, _, _, place, _ in _facts(home)}
    assert sorted(facts) == [n for n in range(1, 3 * PHOTOS + 1) if n != 7]
    assert facts[4] == "blue tin"  # from the history
    assert [f for f in open_store(home).check() if f.kind != "orphan"] == []


def test_repair_brings_lost_and_changed_pictures_back_from_the_backup(
    home: Path, tmp_path: Path
) -> None:
    store = open_store(home)
    store.backup(str(tmp_path / "kept.zip"))
    first, second, *_ = sorted((home / "pictures").iterdir())
    first.unlink()
    second.write_bytes(b"not this")
    report = rebuild_stash(home)
    assert (report.rebuilt, len(report.healed), report.lost) == (False, 2, ())
    assert open_store(home).check() == ()


# Backup and restore


def test_a_damaged_stash_never_takes_the_place_of_its_backup(home: Path, tmp_path: Path) -> None:
    kept = tmp_path / "kept.zip"
    open_store(home).backup(str(kept))
    good = kept.read_bytes()
    raw = sqlite3.connect(home / "stash.db")
    raw.execute("UPDATE scraps SET place = 'somewhere' WHERE number = 4")
    raw.commit()
    raw.close()
    done = run_stash("backup", kept, "--replace", home=home)
    assert (done.returncode, "damaged" in done.stderr) == (1, True)
    assert kept.read_bytes() == good


def test_a_changed_photo_gets_no_fresh_checksum(home: Path, tmp_path: Path) -> None:
    kept = tmp_path / "kept.zip"
    (photo, *_) = sorted((home / "photos").iterdir())
    whole = photo.read_bytes()
    photo.write_bytes(whole[:-1] + b"?")
    done = run_stash("backup", kept, home=home)
    assert done.returncode == 3
    with zipfile.ZipFile(kept) as archive:
        assert f"photos/{photo.name}" not in archive.namelist()
    photo.write_bytes(whole)
    assert run_stash("backup", kept, "--replace", home=home).returncode == 0
    photo.unlink()  # now the backup that is replaced holds it
    assert run_stash("backup", kept, "--replace", home=home).returncode == 0
    with zipfile.ZipFile(kept) as archive:
        assert archive.read(f"photos/{photo.name}") == whole


def test_two_older_backups_are_kept_and_the_last_complete_one_always(
    home: Path, tmp_path: Path
) -> None:
    kept = tmp_path / "kept.zip"
    store = open_store(home)
    made = []
    for turn in range(4):
        store.keep_document(_palette(turn), why="palette")
        store.backup(str(kept), replace=True)
        made.append(kept.read_bytes())
    generations = [kept, tmp_path / "kept.zip.1", tmp_path / "kept.zip.2"]
    assert [path.read_bytes() for path in generations] == made[:0:-1]
    for path in [*(home / "photos").iterdir(), *generations[:2]]:
        path.unlink()
    for _ in range(4):
        store.keep_document(_palette(9), why="palette")
        store.backup(str(kept), replace=True)
    complete = [backup_file.says_complete(path) for path in generations]
    assert sum(complete) >= 1
    assert {path.name for path in tmp_path.iterdir()} == {"stash", *(p.name for p in generations)}


def _palette(turn: int) -> object:
    from stash.usecases.ports import Document

    return Document("palette", f"sea {turn}", {"name": f"sea {turn}", "without": ["pink"]})


KILLED = """
import os, signal, sys
from pathlib import Path
from stash.storage import backup
from stash.wiring import open_store
real = backup._read_back
def die(*given):
    real(*given)
    os.kill(os.getpid(), signal.SIGKILL)
backup._read_back = die
open_store(Path(sys.argv[1])).backup(sys.argv[2], replace=True)
"""


@pytest.mark.skipif(not hasattr(os, "O_TMPFILE"), reason="files without a name are Linux's")
def test_a_killed_backup_leaves_nothing_and_the_old_one_whole(home: Path, tmp_path: Path) -> None:
    import subprocess

    kept = tmp_path / "kept.zip"
    open_store(home).backup(str(kept))
    before = kept.read_bytes()
    root = Path(__file__).resolve().parents[2]
    words = [sys.executable, "-c", KILLED, str(home), str(kept)]
    done = subprocess.run(words, env={**os.environ, "PYTHONPATH": str(root)}, check=False)
    assert done.returncode == -9
    assert {path.name for path in tmp_path.iterdir()} == {"stash", "kept.zip"}
    assert kept.read_bytes() == before


PLANTED = (
    "CREATE TRIGGER friendly AFTER UPDATE ON scraps BEGIN DELETE FROM edits; "
    "DELETE FROM scraps; END"
)


def test_a_planted_trigger_is_named_and_nothing_is_written(home: Path, tmp_path: Path) -> None:
    kept = tmp_path / "kept.zip"
    open_store(home).backup(str(kept))
    with zipfile.ZipFile(kept) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    raw = sqlite3.connect(home / "stash.db")
    raw.execute(PLANTED)
    raw.commit()
    raw.close()
    assert "trigger “friendly”" in run_stash("verify", home=home).stdout
    store = open_store(home)
    with pytest.raises(StashDamagedError):
        store.delete_scrap(1, why="a note")
    store.database.close()
    # The same in a backup: its own digests fit, its schema does not.
    members["stash.db"] = bytes_of(home / "stash.db")
    _write_zip(tmp_path / "planted.zip", members)
    with pytest.raises(StorageError, match="trigger “friendly”"):
        restore_backup(tmp_path / "planted.zip", tmp_path / "new")
    assert not (tmp_path / "new" / "stash.db").exists()
    rebuild_stash(home)
    assert open_store(home).check() == ()
    assert len(open_store(home).scraps()) == 3 * PHOTOS


def _write_zip(path: Path, members: dict[str, bytes]) -> None:
    import hashlib

    sums = {n: hashlib.sha256(d).hexdigest() for n, d in members.items() if n != "manifest.json"}
    manifest = {"format": "stash backup 1", "version": 1, "sha256": sums}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            if name != "manifest.json":
                how = zipfile.ZIP_DEFLATED if name == "stash.db" else zipfile.ZIP_STORED
                archive.writestr(name, data, how)
        archive.writestr("manifest.json", json.dumps(manifest))


def test_a_backup_that_unpacks_to_much_more_than_it_holds_is_refused_unread(
    home: Path, tmp_path: Path
) -> None:
    open_store(home).backup(str(tmp_path / "kept.zip"))
    with zipfile.ZipFile(tmp_path / "kept.zip") as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    members["stash.db"] += bytes(300_000_000)
    _write_zip(tmp_path / "bomb.zip", members)
    assert (tmp_path / "bomb.zip").stat().st_size < 1_500_000
    with pytest.raises(StorageError, match="not a backup"):
        restore_backup(tmp_path / "bomb.zip", tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_a_restore_without_some_photos_says_so_and_ends_with_3(home: Path, tmp_path: Path) -> None:
    (photo, *_) = sorted((home / "photos").iterdir())
    photo.unlink()
    assert run_stash("backup", tmp_path / "kept.zip", home=home).returncode == 3
    done = run_stash("restore", tmp_path / "kept.zip", home=tmp_path / "new")
    assert done.returncode == 3
    assert "Not in the backup: photo" in done.stdout


def test_a_second_restore_into_one_folder_is_told_in_a_sentence(home: Path, tmp_path: Path) -> None:
    open_store(home).backup(str(tmp_path / "kept.zip"))
    new = tmp_path / "new"
    (new / "restore-unfinished").mkdir(parents=True)
    other = sqlite3.connect(new / "restore-unfinished" / "turn.db", isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    with pytest.raises(StorageError, match="Another restore into"):
        restore_backup(tmp_path / "kept.zip", new)
    other.close()
    restore_backup(tmp_path / "kept.zip", new)
    assert open_store(new).check() == ()
