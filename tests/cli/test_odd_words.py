"""Words no quilter types, names that would move a screen's cursor: a sentence, never a fault."""

from __future__ import annotations

import stat
import sys
from pathlib import Path

import pytest

from stash.errors import StorageError
from stash.wiring import open_store
from tests.running import run_stash
from tests.storage.made_records import made_photo

NOT_TEXT = "\udcff\udcfe"  # bytes of another encoding, as Python hands them over


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("odd") / "stash"
    store = open_store(place)
    store.log_photo(made_photo(1))
    store.database.close()
    return place


@pytest.mark.skipif(sys.platform != "linux", reason="other systems hand over words otherwise")
@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["scrap", "1", "--notes", NOT_TEXT], "no letters of any script"),
        (["card", "add", NOT_TEXT, "--kind", "chart24", "--pitch", "0.55"], "no letters"),
        (["scrap", "9" * 5000], "stash: "),
        (["uses", "9" * 30], "does not name scraps"),
        (["scraps", "--home", "x" * 300], "is no name a file can have"),
        (["backup", "x" * 300], "is no name a file can have"),
    ],
)
def test_an_odd_word_reads_as_one_sentence(home: Path, words: list[str], said: str) -> None:
    done = run_stash(*words, home=None if "--home" in words else home)
    assert done.returncode == 1
    assert said in done.stderr
    assert "Traceback" not in done.stderr


def test_a_number_that_no_database_holds_is_told_as_one(home: Path) -> None:
    with pytest.raises(StorageError, match="No number in a stash is that large"):
        open_store(home).scrap(10**30)


def test_a_name_never_moves_the_cursor(home: Path) -> None:
    name = "n\x1b]0;evil\x07"
    changed = run_stash("scrap", "1", "--name", name, home=home)
    history = run_stash("history", home=home)
    for done in (changed, history):
        assert done.returncode == 0
        assert "\x1b" not in done.stdout
        assert "\x07" not in done.stdout
        assert "evil" in done.stdout
    lines = run_stash("scrap", "1", "--bin", "red\nChanged: all", home=home).stdout.splitlines()
    assert sum(line.startswith("Changed: ") for line in lines) == 1


@pytest.mark.skipif(sys.platform == "win32", reason="permissions are set otherwise there")
def test_all_that_is_written_is_its_owners_alone(tmp_path: Path) -> None:
    home = tmp_path / "stash"
    card = run_stash("card", "add", "desk", "--kind", "chart24", "--pitch", "0.55", home=home)
    assert card.returncode == 0
    assert run_stash("backup", tmp_path / "kept.zip", home=home).returncode == 0
    modes = {path: stat.S_IMODE(path.stat().st_mode) for path in tmp_path.rglob("*")}
    assert [path for path, mode in modes.items() if mode & 0o077] == []
    home.chmod(0o755)  # as an older version left it
    run_stash("card", "add", "table", "--kind", "chart24", "--pitch", "0.55", home=home)
    assert stat.S_IMODE(home.stat().st_mode) == 0o700
