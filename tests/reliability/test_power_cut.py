"""A power cut at any moment of a writing command: nothing acknowledged is lost, nothing is half.

Every moment of a recorded command is laid out as each kind of loss would leave it (``power_cut``)
and opened with the real reader. What it finds must be one of the states that the command itself
went through, and none before what it had acknowledged. ``STASH_POWER_CUTS=all`` plays all commands
at every moment; a check plays a few at some.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from stash.errors import StashError, StorageError
from stash.storage.backup import earlier_backups, look_at_backup
from stash.storage.backup_file import open_backup
from stash.storage.open_format import dump
from stash.wiring import open_store, rebuild_stash, restore_backup
from tests.reliability.power_cut import (
    LOSSES,
    Call,
    Disk,
    NotRecordableError,
    lay_out,
    record,
)
from tests.running import run_stash
from tests.storage.made_records import made_photo

PLAYED = os.environ.get("STASH_POWER_CUTS", "some")  # some, all, or a command of the list below
ALL = PLAYED == "all"
SOME = 12  # moments of a command that a check plays, besides the last
SEED = 22

STRAY_NAME, STRAY = f"{'ab' * 32}.jpg", b"left by a broken-off logging"

Look = Callable[[Path], object]


def stash_in(place: Path) -> object:
    """Say all that the records of a stash say; it must be sound, with every file in its place."""
    home = place / "home"
    if not home.exists():
        return None
    store = open_store(home)
    try:
        # The oldest stashes hold a record that never could be read.
        found = [one.text for one in store.check() if one.kind not in ("orphan", "record")]
        assert found == [], found
        with store.database.reading() as connection:
            return json.dumps(dump(connection))
    finally:
        store.database.close()


def nothing_thrown_away_in(place: Path) -> object:
    """The same, and the file that nothing refers to is there or aside, with all its bytes."""
    said = stash_in(place)
    assert STRAY in [path.read_bytes() for path in (place / "home").rglob(STRAY_NAME)]
    return said


def restored_in(place: Path) -> object:
    """The same of a restore, which may be run once more where it was broken off."""
    with suppress(StorageError):
        if said := stash_in(place):
            store = open_store(place / "home")
            begun = bool(store.photos())
            store.database.close()
            if begun:
                return said
    shutil.rmtree(place / "again", ignore_errors=True)
    restore_backup(place / "kept.zip", place / "home")  # never refused for what it left itself
    assert stash_in(place)
    return None


def backup_in(place: Path) -> object:
    """Say what the newest backup and the one before hold; both must be whole."""
    kept = place / "kept" if (place / "kept").exists() else place / "kept.zip"
    if not kept.exists() or (kept.is_dir() and not (kept / "stash.zip").exists()):
        return None
    look_at_backup(kept)
    for one in earlier_backups(kept):
        look_at_backup(one)
    with open_backup(kept) as backup:
        return json.dumps(backup.sha256, sort_keys=True)


def repaired_in(place: Path) -> object:
    """A stash in need of repair may be repaired again; sound after it, nothing is missing."""
    with suppress(StashError, AssertionError):
        if said := stash_in(place):
            return len(json.loads(str(said))["scraps"])
    rebuild_stash(place / "home")
    assert len(json.loads(str(stash_in(place)))["scraps"]) == 9
    return None


def plain_in(place: Path) -> object:
    """A photo whose details came off half is told, and the same once more ends it."""
    store = open_store(place / "home")
    found = [one.kind for one in store.check() if one.kind != "orphan"]
    assert set(found) <= {"changed"}
    if found:
        store.details(take_off=True)
    store.database.close()
    return stash_in(place)


def _telling(place: Path) -> None:
    from tests.reliability.test_details_taken_off import _telling_photo

    _home(place)
    store = open_store(place / "home")
    made, data = made_photo(77), _telling_photo()
    store.log_photo(replace(made, data=data, sha256=hashlib.sha256(data).hexdigest()))
    store.database.close()


def _home(place: Path) -> None:
    store = open_store(place / "home")
    for seed in range(3):
        store.log_photo(made_photo(seed, size=2_000))
    store.database.close()


def _nothing(_place: Path) -> None:
    return


def _with_photo(place: Path) -> None:
    _home(place)
    run_stash("card", "add", "desk", "--kind", "chart24", "--pitch", "0.55", home=place / "home")


def _undone(place: Path) -> None:
    _home(place)
    run_stash("undo", home=place / "home")


def _in_bin(place: Path) -> None:
    _home(place)
    store = open_store(place / "home")
    for number in (4, 5, 6):
        store.delete_scrap(number, why="lost")
    store.database.close()


def _with_stray(place: Path) -> None:
    _home(place)
    (place / "home" / "photos" / STRAY_NAME).write_bytes(STRAY)


def _with_aside(place: Path) -> None:
    _with_stray(place)
    run_stash("verify", "--mend", home=place / "home")


def _backed_up(name: str) -> Callable[[Path], None]:
    def made(place: Path) -> None:
        _home(place)
        store = open_store(place / "home")
        for turn in range(3):
            store.log_photo(made_photo(50 + turn, scraps=1, size=1_000))
            store.backup(str(place / name), replace=True)
        store.log_photo(made_photo(9, size=2_000))
        store.database.close()

    return made


def _to_restore(place: Path) -> None:
    _backed_up("kept.zip")(place)
    shutil.rmtree(place / "home")


def _exported(place: Path) -> None:
    _home(place)
    open_store(place / "home").export(str(place / "open"), with_details=True)
    shutil.rmtree(place / "home")


def _damaged(place: Path) -> None:
    _home(place)
    store = open_store(place / "home")
    store.backup(str(place / "kept.zip"))
    store.database.close()
    data = bytearray((place / "home" / "stash.db").read_bytes())
    data[100:4096] = bytes(3996)
    (place / "home" / "stash.db").write_bytes(data)


def _old(place: Path) -> None:
    shutil.copytree(PHOTO.parents[1] / "old_stashes" / "version-3", place / "home")


@dataclass(frozen=True)
class Scene:
    """A command, what is there before it, and how its outcome is read."""

    words: tuple[str, ...]
    before: Callable[[Path], None] = _home
    look: Look = stash_in
    often: bool = False  # played in every check


PHOTO = Path(__file__).resolve().parents[2] / "fixtures" / "scenes" / "four_scraps.jpg"
SCENES = {
    "begin": Scene(("palette", "make", "sea", "--without", "pink"), _nothing),
    "card": Scene(("card", "add", "desk", "--kind", "chart24", "--pitch", "0.55")),
    "log": Scene(("log", str(PHOTO)), _with_photo),
    "edit": Scene(("scrap", "1", "--bin", "red tin"), often=True),
    "drop": Scene(("scrap", "2", "--delete")),
    "undo": Scene(("undo",)),
    "redo": Scene(("redo",), _undone),
    "twins": Scene(("twins", "--same", "1,5")),
    "empty": Scene(("bin", "--empty"), _in_bin, often=True),
    "mend": Scene(("verify", "--mend"), _with_stray, nothing_thrown_away_in, often=True),
    "aside": Scene(("aside", "--bring-back", "LAST"), _with_aside, nothing_thrown_away_in),
    "details": Scene(("details", "--take-off"), _telling, plain_in),
    "backup": Scene(("backup", "kept.zip"), look=backup_in),
    "again": Scene(("backup", "kept.zip", "--replace"), _backed_up("kept.zip"), backup_in),
    "folder": Scene(("backup", "kept"), look=backup_in),
    "grow": Scene(("backup", "kept", "--replace"), _backed_up("kept"), backup_in, often=True),
    "restore": Scene(("restore", "kept.zip"), _to_restore, restored_in),
    "import": Scene(("import", "open"), _exported),
    "repair": Scene(("repair",), _damaged, repaired_in),
    "upgrade": Scene(("scrap", "1", "--bin", "red tin"), _old),
}


@pytest.mark.parametrize(
    "name", [name for name, one in SCENES.items() if ALL or one.often or name == PLAYED]
)
def test_a_power_cut_at_any_moment_loses_nothing_acknowledged(tmp_path: Path, name: str) -> None:
    scene, place = SCENES[name], tmp_path / "place"
    place.mkdir()
    scene.before(place)
    words = [*scene.words, "--home", str(place / "home")]
    if "LAST" in words:
        words[words.index("LAST")] = next((place / "home" / "aside").iterdir()).name
    disk = Disk(place)
    try:
        calls, _ = record(words, place, tmp_path / "calls")
    except NotRecordableError as why:
        pytest.skip(str(why))
    assert {"write", "flush", "said"} <= {call.what for call in calls}
    player = _Player(scene.look, tmp_path)
    passed = [player.seen(disk.left("kill", 0))]
    begun = len(passed)
    tried = 0
    for call, moment in _moments(calls):
        disk.do(call)
        now = player.seen(disk.left("kill", 0))
        if now != passed[-1]:
            passed.append(now)
        if call.what == "said":
            begun = len(passed)
        if not moment:
            continue
        for turn, loss in enumerate(LOSSES[1:] + LOSSES[-1:] * (3 if ALL else 1)):
            left = player.seen(disk.left(loss, SEED + turn))
            tried += 1
            allowed = passed[begun - 1 :]
            assert left in allowed, f"{name}, {loss}, after {call.what} {call.path} {call.other}"
    assert len(passed) <= 3
    print(f"{name}: {len(calls)} calls, {tried} states, {player.opened} of them different")


def _moments(calls: list[Call]) -> Iterator[tuple[Call, bool]]:
    step = 1 if ALL else max(1, len(calls) // SOME)
    for number, call in enumerate(calls):
        yield call, number % step == 0 or call.what == "said"


class _Player:
    """Opens what was left, each different state once."""

    def __init__(self, look: Look, place: Path) -> None:
        self._look, self._place = look, place
        self._known: dict[bytes, object] = {}

    @property
    def opened(self) -> int:
        return len(self._known)

    def seen(self, left: dict[str, bytes | None]) -> object:
        key = hashlib.sha256(repr(sorted(left.items())).encode()).digest()
        if key not in self._known:
            with tempfile.TemporaryDirectory(dir=self._place) as place:
                lay_out(left, Path(place))
                self._known[key] = self._look(Path(place))
        return self._known[key]
