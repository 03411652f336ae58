"""Locked, full, forbidden, damaged, newer: one sentence, and what was logged stays."""

from __future__ import annotations

import contextlib
import os
import shutil
import sqlite3
import subprocess
import sys
import threading
import time
from dataclasses import replace
from pathlib import Path

import pytest

from stash.errors import (
    FileMissingError,
    RecordDamagedError,
    StashDamagedError,
    StashFullError,
    StashLockedError,
    StashNewerError,
    StashReadOnlyError,
    StorageError,
)
from stash.storage import picture_files
from stash.storage.migrations import NEWEST
from stash.storage.picture_files import PictureFiles
from stash.storage.seal import SEAL
from stash.storage.sqlite_file import DATABASE, SqliteFile
from stash.storage.sqlite_store import FolderStore
from stash.usecases.ports import SizeKey
from stash.usecases.scraps.review_scraps import ScrapFilter, find_scraps
from stash.wiring import open_store, restore_backup
from tests.storage.made_records import made_photo

ROOT = Path(__file__).resolve().parents[2]
DRIVER = Path(__file__).with_name("log_made_photos.py")
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT), "OMP_NUM_THREADS": "1"}


def _stash(home: Path, photos: int = 3) -> FolderStore:
    store = open_store(home)
    for seed in range(photos):
        store.log_photo(made_photo(seed))
    return store


def _start(home: Path, first: int, count: int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, str(DRIVER), str(home), str(first), str(count)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=ENVIRONMENT,
    )


def test_two_imports_of_the_same_photos_log_each_once(tmp_path: Path) -> None:
    both = [_start(tmp_path, 0, 15) for _ in range(2)]
    for process in both:
        _, problems = process.communicate(timeout=300)
        assert (process.returncode, problems) == (0, "")
    store = open_store(tmp_path)
    assert len(store.photos()) == 15
    assert len(store.scraps()) == 45
    assert store.check() == ()


def test_an_edit_made_during_an_import_is_kept(tmp_path: Path) -> None:
    store = _stash(tmp_path, 1)
    process = _start(tmp_path, 1, 12)
    assert process.stdout is not None
    process.stdout.readline()
    for turn in range(10):
        scrap = store.scrap(1)
        store.change_scrap(replace(scrap, place=f"bin {turn}"), seen=scrap, why="moved")
        time.sleep(0.02)
    process.communicate(timeout=300)
    assert process.returncode == 0
    assert store.scrap(1).place == "bin 9"
    assert len(store.photos()) == 13
    assert store.check() == ()


def test_a_writer_waits_for_another_that_finishes(tmp_path: Path) -> None:
    store = _stash(tmp_path)
    other = sqlite3.connect(tmp_path / DATABASE, check_same_thread=False, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    release = threading.Timer(1.0, lambda: other.execute("COMMIT"))
    release.start()
    store.log_photo(made_photo(9))
    release.join()
    other.close()
    assert len(store.photos()) == 4


def test_a_lock_that_is_never_let_go_is_told_and_loses_nothing(tmp_path: Path) -> None:
    _stash(tmp_path).database.close()
    other = sqlite3.connect(tmp_path / DATABASE, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    store = FolderStore(SqliteFile(tmp_path, wait_s=0.3), PictureFiles(tmp_path))
    with pytest.raises(StashLockedError, match="Another program is writing") as problem:
        store.log_photo(made_photo(9))
    assert problem.value.waited_s == 0.3
    assert len(store.scraps()) == 9  # reading goes on meanwhile
    other.execute("ROLLBACK")
    other.close()
    store.log_photo(made_photo(9))
    assert store.check() == ()


LIMITED = """
import resource, sys
from dataclasses import replace
from pathlib import Path
from stash.errors import StashFullError
from stash.usecases.scraps.review_scraps import ScrapFilter, find_scraps
from stash.wiring import open_store
from tests.storage.made_records import made_photo
resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[2]), int(sys.argv[2])))
store = open_store(Path(sys.argv[1]))
try:
    for seed in range(3, 60):
        store.log_photo(made_photo(seed, size=int(sys.argv[3])))
        print(seed)
except StashFullError as problem:
    print(problem, file=sys.stderr)
    raise SystemExit(1)
"""


@pytest.mark.parametrize(
    ("limit", "size"),
    [(150_000, 20_000), (30_000, 40_000)],
    ids=["the database does not fit", "the photo does not fit"],
)
def test_a_file_size_limit_reads_as_no_room_and_keeps_what_was_logged(
    tmp_path: Path, limit: int, size: int
) -> None:
    pytest.importorskip("resource", reason="no file size limits on this system")
    _stash(tmp_path).database.close()
    done = subprocess.run(
        [sys.executable, "-c", LIMITED, str(tmp_path), str(limit), str(size)],
        capture_output=True,
        text=True,
        env=ENVIRONMENT,
        check=False,
    )
    assert done.returncode == 1, done.stderr
    assert "no room left" in done.stderr
    assert str(tmp_path) in done.stderr
    said = [int(line) for line in done.stdout.split()]
    store = open_store(tmp_path)
    assert len(store.photos()) == 3 + len(said)
    assert [f for f in store.check() if f.kind != "orphan"] == []
    store.log_photo(made_photo(99))  # works again once there is room
    assert store.check(mend=True) == ()


@pytest.fixture
def small_disk(tmp_path: Path) -> object:
    """Mount a disk of one megabyte, where that is allowed."""
    place = tmp_path / "disk"
    place.mkdir()
    mount = shutil.which("mount")
    if mount is None or os.name != "posix":
        pytest.skip("no disk can be mounted on this system")
    made = subprocess.run(
        [mount, "-t", "tmpfs", "-o", "size=1m", "tmpfs", str(place)],
        capture_output=True,
        check=False,
    )
    if made.returncode:
        pytest.skip("this user may not mount a small disk")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


def test_a_read_only_disk_answers_and_is_backed_up_to_another(
    small_disk: Path, tmp_path: Path
) -> None:
    _stash(small_disk / "stash").database.close()
    again = ["mount", "-o", "remount,ro", str(small_disk)]
    if subprocess.run(again, capture_output=True, check=False).returncode:
        pytest.skip("this disk cannot be made read-only")
    store = open_store(small_disk / "stash", must_exist=True)
    store.keep_largest_sizes(SizeKey("square", "any"), {1: 2.0})  # worked out again next time
    assert (len(store.scraps()), store.largest_sizes(SizeKey("square", "any"))) == (9, {})
    assert store.check() == ()
    store.backup(str(tmp_path / "kept.zip"))
    store.export(str(tmp_path / "open"), with_details=True)
    restore_backup(tmp_path / "kept.zip", tmp_path / "new")
    assert len(open_store(tmp_path / "new").scraps()) == 9
    with pytest.raises(StashReadOnlyError):
        store.delete_scrap(1, why="x")


def test_a_disk_filled_to_the_brim_still_answers(small_disk: Path, tmp_path: Path) -> None:
    _stash(small_disk / "stash").database.close()
    with pytest.raises(OSError, match="No space left"):
        (small_disk / "rest").write_bytes(bytes(2_000_000))
    store = open_store(small_disk / "stash", must_exist=True)
    assert len(store.scraps()) == 9
    store.keep_largest_sizes(SizeKey("square", "any"), {1: 2.0})
    store.backup(str(tmp_path / "kept.zip"))
    with pytest.raises(StashFullError, match="no room left"):
        store.delete_scrap(1, why="x")


def test_a_full_disk_is_told_with_the_room_needed(small_disk: Path) -> None:
    store = open_store(small_disk / "stash")
    logged = 0
    with pytest.raises(StashFullError, match="no room left") as problem:
        for seed in range(100):
            store.log_photo(made_photo(seed, size=60_000))
            logged += 1
    assert problem.value.needed_bytes > 60_000
    assert logged > 2
    assert len(store.photos()) == logged
    assert [f for f in store.check() if f.kind != "orphan"] == []


class _Broken:
    """Lets so many writes through and fails from then on."""

    def __init__(self, allowed: int) -> None:
        self.left = allowed
        self.real = os.fsync

    def __call__(self, handle: int) -> None:
        self.left -= 1
        if self.left < 0:
            raise OSError(5, "Input/output error")
        self.real(handle)


@pytest.mark.parametrize("allowed", range(8))
def test_a_disk_error_at_any_flush_never_acknowledges(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, allowed: int
) -> None:
    store = _stash(tmp_path)
    # One photo and three pictures: 4 files and 4 folder flushes.
    monkeypatch.setattr(picture_files.os, "fsync", _Broken(allowed))
    with pytest.raises(StorageError, match="Input/output error"):
        store.log_photo(made_photo(9))
    monkeypatch.undo()
    assert len(store.photos()) == 3
    assert [f for f in store.check() if f.kind != "orphan"] == []
    store.log_photo(made_photo(9))
    assert store.check(mend=True) == ()


def test_a_stash_that_may_not_be_written_is_still_read(tmp_path: Path) -> None:
    _stash(tmp_path / "stash").database.close()
    script = (
        "import os, sys; from pathlib import Path\n"
        "from stash.wiring import open_store\n"
        "from stash.errors import StashReadOnlyError\n"
        "from tests.storage.made_records import made_photo\n"
        "import stash.storage.sqlite_store, stash.storage.backup\n"
        "photo = made_photo(9)\n"
        "os.geteuid() or os.seteuid(65534)\n"
        "store = open_store(Path(sys.argv[1]))\n"
        "print(len(store.scraps()))\n"
        "try: store.log_photo(photo)\n"
        "except StashReadOnlyError as problem: print(problem)\n"
        "try: store.delete_scrap(1, why='x')\n"
        "except StashReadOnlyError as problem: print(problem)\n"
    )
    if os.name != "posix":
        pytest.skip("permissions are set otherwise on this system")
    for folder in [tmp_path, *tmp_path.parents]:
        if os.geteuid() == 0 and not folder.stat().st_mode & 0o001:
            folder.chmod(folder.stat().st_mode | 0o011)
    (tmp_path / "stash").chmod(0o555)
    (tmp_path / "stash" / DATABASE).chmod(0o444)
    done = subprocess.run(
        [sys.executable, "-c", script, str(tmp_path / "stash")],
        capture_output=True,
        text=True,
        env=ENVIRONMENT,
        check=False,
    )
    (tmp_path / "stash").chmod(0o755)
    assert done.returncode == 0, done.stderr
    count, *told = done.stdout.splitlines()
    assert count == "9"
    assert len(told) == 2
    assert all("can be read but not changed" in line for line in told)


def _zero_a_page(file: Path) -> None:
    data = bytearray(file.read_bytes())
    # The page in the middle: scraps with their outlines lie there.
    start = len(data) // 8192 * 4096
    data[start : start + 4096] = bytes(4096)
    file.write_bytes(data)


def _cut_in_half(file: Path) -> None:
    os.truncate(file, file.stat().st_size // 2)


def _replace_by_text(file: Path) -> None:
    file.write_text("Dear diary, today I bought more fabric. " * 500)


@pytest.mark.parametrize("harm", [_zero_a_page, _cut_in_half, _replace_by_text])
def test_a_damaged_stash_is_told_and_not_written(tmp_path: Path, harm: object) -> None:
    home = tmp_path / "stash"
    store = _stash(home, 10)
    store.backup(str(tmp_path / "kept.zip"))
    store.database.close()
    harm(home / DATABASE)  # type: ignore[operator]
    before = (home / DATABASE).read_bytes()
    with pytest.raises(StashDamagedError, match="damaged") as problem:
        open_store(home).log_photo(made_photo(99))
    assert f"stash restore {tmp_path / 'kept.zip'}" in str(problem.value)
    assert (home / DATABASE).read_bytes() == before


def test_a_stash_of_a_newer_version_is_left_alone(tmp_path: Path) -> None:
    _stash(tmp_path).database.close()
    raw = sqlite3.connect(tmp_path / DATABASE)
    raw.execute(f"PRAGMA user_version = {NEWEST + 3}")
    raw.close()
    before = (tmp_path / DATABASE).read_bytes()
    with pytest.raises(StashNewerError, match=f"version {NEWEST + 3}") as problem:
        open_store(tmp_path)
    assert (problem.value.version, problem.value.known) == (NEWEST + 3, NEWEST)
    assert (tmp_path / DATABASE).read_bytes() == before


def _moment(home: Path) -> tuple[int, bool]:
    """What changes when the write-ahead log is brought into the file."""
    return (home / DATABASE).stat().st_mtime_ns, (home / SEAL).exists()


def test_a_copy_taken_at_any_moment_opens(tmp_path: Path) -> None:
    home = tmp_path / "stash"
    _stash(home, 1).database.close()
    copies = []
    with _start(home, 1, 25) as process:
        while process.poll() is None:
            copy, before = tmp_path / f"copy {len(copies)}", _moment(home)
            with contextlib.suppress(shutil.Error):  # a file went while it was copied
                shutil.copytree(home, copy, ignore=shutil.ignore_patterns(".unfinished-*"))
            if _moment(home) == before and (copy / DATABASE).exists():
                copies.append(copy)
            else:  # the log was brought into the file meanwhile: that is no one moment
                shutil.rmtree(copy)
            time.sleep(0.1)
    assert len(copies) > 2
    for copy in copies:
        store = open_store(copy)
        found = [f for f in store.check() if f.kind not in ("orphan", "missing")]
        assert found == []
        store.database.close()


def test_a_missing_and_a_changed_picture_are_listed_and_the_rest_goes_on(tmp_path: Path) -> None:
    store = _stash(tmp_path)
    first, second = store.scraps()[:2]
    assert first.picture is not None
    assert second.picture is not None
    (tmp_path / "pictures" / f"{first.picture.sha256}.jpg").unlink()
    (tmp_path / "pictures" / f"{second.picture.sha256}.jpg").write_bytes(b"not this")
    assert [(f.kind, f.text.split(" is")[0]) for f in store.check(mend=True)] == [
        ("missing", "The picture of scrap 1"),
        ("changed", "The picture of scrap 2"),
    ]
    assert len(store.scraps()) == 9
    with pytest.raises(FileMissingError):
        store.picture(first.picture.sha256)


def test_a_restart_sweeps_what_a_killed_writer_left(tmp_path: Path) -> None:
    _stash(tmp_path).database.close()
    dead = subprocess.run([sys.executable, "-c", "import os; print(os.getpid())"],
                          capture_output=True, text=True, check=True)  # fmt: skip
    left = tmp_path / "pictures" / f".unfinished-{int(dead.stdout)}-abc"
    mine = tmp_path / "pictures" / f".unfinished-{os.getpid()}-abc"
    left.write_bytes(b"half")
    mine.write_bytes(b"half")
    open_store(tmp_path).log_photo(made_photo(50))
    assert not left.exists()
    assert mine.exists()


def test_the_program_says_so_in_one_line_and_ends_with_1(tmp_path: Path) -> None:
    (tmp_path / DATABASE).write_text("no stash at all " * 400)
    done = subprocess.run(
        [sys.executable, "-m", "stash", "history", "--home", str(tmp_path)],
        capture_output=True,
        text=True,
        env=ENVIRONMENT,
        check=False,
    )
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr.startswith("stash: The stash in ")
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize(
    ("damage", "named", "said"),
    [
        ("kind = 'odd'", "Scrap 4 cannot be read", "Scrap 4: its kind “odd”"),
        ("colours = x'00'", "Scrap 4 cannot be read", "Scrap 4: its colours cannot be read"),
        ("outline = x'00'", "The outline of a scrap", "Scrap 4: its outline is no shape"),
    ],
)
def test_a_damaged_row_is_named_and_verify_says_what_is_wrong(
    tmp_path: Path, damage: str, named: str, said: str
) -> None:
    store = _stash(tmp_path)
    with sqlite3.connect(tmp_path / DATABASE) as raw:
        raw.execute(f"UPDATE scraps SET {damage} WHERE number = 4")
    raw.close()
    store.forget()
    with pytest.raises(RecordDamagedError, match=f"{named}.*stash verify"):
        [scrap.outline.points for scrap in store.scraps()]
    assert any(finding.text.startswith(said) for finding in store.check())


def test_verify_tells_a_damaged_row_from_a_real_process(tmp_path: Path) -> None:
    _stash(tmp_path).database.close()
    with sqlite3.connect(tmp_path / DATABASE) as raw:
        raw.execute("UPDATE scraps SET kind = 'odd' WHERE number = 4")
    raw.close()
    words = [sys.executable, "-m", "stash", "verify", "--home", str(tmp_path)]
    ended = subprocess.run(words, capture_output=True, text=True, env=ENVIRONMENT, check=False)
    assert ended.returncode == 1
    assert ended.stdout.startswith("Scrap 4: its kind “odd”")
    assert ended.stderr == ""


def test_a_scrap_whose_fabric_is_lost_is_named(tmp_path: Path) -> None:
    store = _stash(tmp_path)
    scrap = store.scrap(4)
    with sqlite3.connect(tmp_path / DATABASE) as raw:
        raw.execute("DELETE FROM fabrics WHERE number = ?", (scrap.fabric,))
    raw.close()
    store.forget()
    lost = r"The fabric of scrap \d+ cannot be read.*stash verify"
    with pytest.raises(RecordDamagedError, match=lost):
        find_scraps(store, ScrapFilter())
    assert any("names one of fabrics that is not there" in f.text for f in store.check())
