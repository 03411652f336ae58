"""A stash written by an earlier version opens, keeps its rows, and survives a broken upgrade."""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from stash.scrap import CardReport, Fabric
from stash.shape.outline import outline_of
from stash.storage import migrations
from stash.storage.migrations import NEWEST
from stash.storage.sqlite_store import FolderStore
from stash.usecases.ports import SizeKey
from stash.wiring import open_store

REPO = Path(__file__).resolve().parents[2]
OLD = REPO / "fixtures" / "old_stashes"
VERSIONS = sorted(int(path.name.split("-")[1]) for path in OLD.glob("version-*"))


@pytest.fixture(params=VERSIONS)
def old_home(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    shutil.copytree(OLD / f"version-{request.param}", tmp_path / "stash")
    return tmp_path / "stash"


def _assert_all_there(store: FolderStore) -> None:
    """Hold the stash against what was put into it; every old stash holds the same."""
    (photo,) = store.photos()
    assert photo.file_name == "table.jpg"
    assert photo.card == CardReport("chart24", 1.25, 3.5)
    assert photo.warnings == ("a shadow lies over the left edge",)
    first, second = store.scraps()
    assert first.outline == outline_of(
        [(0, 0), (5, 0), (5, 9), (0, 9)], [[(1, 1), (2, 1), (2, 2), (1, 2)]], error_in=0.0625
    )
    assert (first.place, first.washed, first.appearance.reads_as) == (
        "bin 3",
        True,
        (27.5, 5.25, -35.0),
    )
    assert second.outline == outline_of([(6, 0), (9, 0), (6, 4)], error_in=0.03125)
    assert store.fabrics()[0] == Fabric(1, "lighthouse stripe", one_way=True, notes="shirt")
    assert store.document("palette", "sea").body == {"colours": ["#1f3f7a", "#2f8f8f"]}
    assert store.largest_sizes(SizeKey("square", "any turn")) == {1: 4.5, 2: 1.5}
    assert [line.why for line in store.history()][:2] == ["deleted scrap 3", "added by ruler"]
    assert store.check() == ()


def test_there_is_an_old_stash_of_every_version_before_this_one() -> None:
    assert [version for version in range(1, NEWEST) if version not in VERSIONS] == []


def test_an_old_stash_opens_and_keeps_everything(old_home: Path) -> None:
    store = open_store(old_home)
    _assert_all_there(store)
    assert store.undo() == "deleted scrap 3"
    assert len(store.scraps()) == 3
    store.database.close()
    raw = sqlite3.connect(old_home / "stash.db")
    assert raw.execute("PRAGMA user_version").fetchone() == (NEWEST,)
    raw.close()


def test_the_file_as_it_was_is_kept_beside_the_upgraded_one(old_home: Path) -> None:
    raw = sqlite3.connect(old_home / "stash.db")
    (version,) = raw.execute("PRAGMA user_version").fetchone()
    raw.close()
    if version == NEWEST:
        pytest.skip("this stash needs no upgrade")
    open_store(old_home).database.close()
    kept = sqlite3.connect(old_home / f"before-version-{NEWEST}.db")
    assert kept.execute("PRAGMA user_version").fetchone() == (version,)
    assert kept.execute("SELECT count(*) FROM scraps").fetchone() == (3,)
    kept.close()


def test_an_old_stash_that_may_not_be_written_is_still_read(
    old_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("stash.storage.sqlite_file._is_writable", lambda path: False)
    before = (old_home / "stash.db").read_bytes()
    _assert_all_there(open_store(old_home))
    assert (old_home / "stash.db").read_bytes() == before
    assert not (old_home / f"before-version-{NEWEST}.db").exists()


def test_an_upgrade_that_fails_leaves_the_old_version(
    old_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(connection: object) -> None:
        raise RuntimeError("power cut")

    steps = (*migrations.STEPS, fail)
    monkeypatch.setattr(migrations, "STEPS", steps)
    monkeypatch.setattr("stash.storage.migrations.NEWEST", len(steps))
    monkeypatch.setattr("stash.storage.sqlite_file.NEWEST", len(steps))
    with pytest.raises(RuntimeError):
        open_store(old_home)
    monkeypatch.undo()
    _assert_all_there(open_store(old_home))


HANGING = """
import sys, time
from pathlib import Path
from stash.storage import migrations, sqlite_file

def hang(connection):
    connection.exec_driver_sql("ALTER TABLE scraps ADD COLUMN half TEXT")
    connection.exec_driver_sql("UPDATE scraps SET place = 'nowhere'")
    print("in the middle", flush=True)
    time.sleep(60)

migrations.STEPS = (*migrations.STEPS, hang)
migrations.NEWEST = sqlite_file.NEWEST = len(migrations.STEPS)
sqlite_file.SqliteFile(Path(sys.argv[1]))
"""


@pytest.mark.skipif(os.name != "posix", reason="kills a process")
def test_a_kill_in_the_middle_of_an_upgrade_leaves_the_old_version(old_home: Path) -> None:
    process = subprocess.Popen(
        [sys.executable, "-c", HANGING, str(old_home)],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(REPO)},
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "in the middle\n"
    process.send_signal(signal.SIGKILL)
    process.communicate()
    _assert_all_there(open_store(old_home))
