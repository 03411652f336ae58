"""A stash written by an earlier version opens, keeps its rows, and survives a broken upgrade."""

from __future__ import annotations

import math
import os
import shutil
import signal
import sqlite3
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import Polygon

from stash.drawing.photo_view import to_pixels
from stash.scrap import CardReport, Fabric
from stash.shape.containment.piece_fit import Placement
from stash.shape.plane.outline import outline_of
from stash.shape.templates.template import families, make_template
from stash.storage import migrations
from stash.storage.backup import bring_back
from stash.storage.migrations import NEWEST
from stash.storage.sqlite_store import FolderStore
from stash.storage.y_upwards import MIRROR_TURN_DEG
from stash.usecases.ports import SizeKey
from stash.usecases.quilts.plan_quilt import quilt_named
from stash.usecases.quilts.quilt_cut import cut_ring
from stash.wiring import open_store

REPO = Path(__file__).resolve().parents[2]
# These stashes hold a palette nobody could make: it is told, and in the way of nothing.
ODD = ("record", "palette sea")
OLD = REPO / "fixtures" / "old_stashes"
OLD_EXPORT = REPO / "fixtures" / "old_exports" / "version-1"
OLD_BACKUP = REPO / "fixtures" / "old_backups" / "version-2.zip"
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
    # Written with y down the photo, as versions 1 and 2 had it; read with y up.
    assert first.outline == outline_of(
        [(0, 0), (0, -9), (5, -9), (5, 0)], [[(1, -1), (2, -1), (2, -2), (1, -2)]], error_in=0.0625
    )
    assert (first.place, first.washed, first.appearance.reads_as) == (
        "bin 3",
        True,
        (27.5, 5.25, -35.0),
    )
    assert second.outline == outline_of([(6, 0), (6, -4), (9, 0)], error_in=0.03125)
    assert store.fabrics()[0] == Fabric(1, "lighthouse stripe", one_way=True, notes="shirt")
    assert store.document("palette", "sea").body == {"colours": ["#1f3f7a", "#2f8f8f"]}
    assert store.largest_sizes(SizeKey("square", "any turn")) == {1: 4.5, 2: 1.5}
    assert [line.why for line in store.history()][:2] == ["deleted scrap 3", "added by ruler"]
    assert [(one.kind, one.subject) for one in store.check()] == [ODD]


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


def test_a_row_changed_behind_the_digests_is_still_told_after_the_upgrade(tmp_path: Path) -> None:
    shutil.copytree(OLD / "version-5", tmp_path / "stash")
    raw = sqlite3.connect(tmp_path / "stash" / "stash.db")
    raw.execute("UPDATE scraps SET notes = 'not ours' WHERE number = 1")
    raw.commit()
    raw.close()
    assert "scraps [1]" in {one.subject for one in open_store(tmp_path / "stash").check()}


def test_a_table_that_is_gone_is_told_when_the_stash_is_looked_over(tmp_path: Path) -> None:
    shutil.copytree(OLD / "version-5", tmp_path / "stash")
    open_store(tmp_path / "stash").database.close()
    raw = sqlite3.connect(tmp_path / "stash" / "stash.db")
    raw.execute("DROP TABLE largest_sizes")
    raw.close()
    told = " ".join(finding.text for finding in open_store(tmp_path / "stash").check())
    assert "“largest_sizes” is gone" in told


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


@pytest.fixture(params=["opened", "imported", "brought back"])
def turned(request: pytest.FixtureRequest, tmp_path: Path) -> FolderStore:
    """A stash of version 2, whose y ran down, however it comes into this version."""
    home = tmp_path / "stash"
    if request.param == "opened":
        shutil.copytree(OLD / "version-2", home)
    elif request.param == "imported":
        open_store(home).take_in(str(OLD_EXPORT))
    else:
        bring_back(OLD_BACKUP, home)
    return open_store(home)


def test_what_was_kept_with_y_down_is_all_turned_up(turned: FolderStore) -> None:
    _assert_all_there(turned)
    first, second = turned.scraps()
    assert (first.grain_deg, second.grain_deg) == (340.0, None)
    assert first.picture is not None
    assert (first.picture.left_in, first.picture.top_in) == (0.0, -9.0)
    # Ten pixels to the inch, the card's x axis 30 degrees clockwise of the photo's: what lay at
    # 2, 1 with y down lies at 2, -1 now, on the same pixel.
    view = turned.photos()[0].view
    assert view is not None
    turn = math.radians(30)
    pixel = (
        32 + 10 * (2 * math.cos(turn) - math.sin(turn)),
        32 + 10 * (2 * math.sin(turn) + math.cos(turn)),
    )
    assert to_pixels(view, np.array([[2.0, -1.0]]))[0].tolist() == pytest.approx(pixel)
    # The lines were kept as 45: their angle in the photo, 75, and -30, the photo's x axis seen
    # from the card with y down. Against the card's x axis they stand at 75 + 30 degrees.
    assert first.appearance.direction_deg == pytest.approx(105.0)


def test_a_piece_of_a_quilt_lies_on_the_same_cloth_after_the_turn(turned: FolderStore) -> None:
    was = Placement(2.5, 6.0, 10.0).ring(make_template("half-square-triangle", "3"))
    quilt = quilt_named(turned, "lap")
    (piece,) = quilt.pieces
    assert piece.crop is not None and piece.crop.top_in == -9.0
    now = Polygon(cut_ring(quilt.plan, piece.crop))
    assert now.symmetric_difference(Polygon([(x, -y) for x, y in was])).area < 1e-9
    assert piece.stripe_deg == pytest.approx((105.0 - piece.crop.angle_deg) % 180)


def test_undo_goes_back_across_the_turn(turned: FolderStore) -> None:
    for why in ("deleted scrap 3", "added by ruler", "quilt planned", "corner put back"):
        assert turned.undo() == why
    corner_off = outline_of([(0, 0), (0, -9), (5, -2), (5, 0)], error_in=0.0625)
    assert turned.scrap(1).outline == corner_off
    assert turned.undo() == "corner cut off"
    assert turned.scrap(1).outline.points == ((0, 0), (0, -9), (5, -9), (5, 0))
    assert turned.undo() == "grain set"
    assert turned.scrap(1).grain_deg is None
    assert turned.redo() == "grain set"
    assert turned.scrap(1).grain_deg == 340.0
    assert [(one.kind, one.subject) for one in turned.check()] == [ODD]


def test_sizes_along_the_grain_are_worked_out_anew_after_the_turn(turned: FolderStore) -> None:
    assert turned.largest_sizes(SizeKey("square", "seam0.25-grain5-shrink0.03")) == {}


def test_a_scrap_measured_with_a_ruler_stays_as_it_was_typed(tmp_path: Path) -> None:
    shutil.copytree(OLD / "version-2", tmp_path / "stash")
    raw = sqlite3.connect(tmp_path / "stash" / "stash.db")
    raw.execute("UPDATE scraps SET deleted = 0, grain_deg = 30 WHERE number = 3")
    raw.commit()
    raw.close()
    ruled = open_store(tmp_path / "stash").scrap(3)
    assert ruled.outline.points == ((0, 0), (2, 0), (2, 2), (0, 2))
    assert ruled.grain_deg == 30.0


@pytest.mark.parametrize("family", families())
def test_every_shape_is_its_own_mirror_image_turned_as_the_step_says(family: str) -> None:
    shape = make_template(family, 3.0).cut_polygon()
    mirrored = affinity.scale(shape, 1, -1, origin=(0, 0))
    turned = affinity.rotate(shape, MIRROR_TURN_DEG[family], origin=(0, 0))
    assert turned.symmetric_difference(mirrored).area < 1e-6


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
