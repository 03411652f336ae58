"""Files that are no files, and names that no screen should obey, through a real process."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from stash.usecases.photos.manage_cards import add_chart
from stash.wiring import open_store
from tests.running import run_stash


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes with names")
def test_what_is_no_file_is_named_and_never_opened(tmp_path: Path) -> None:
    folder = tmp_path / "photos"
    (folder / "folder.jpg").mkdir(parents=True)
    (folder / "loop").symlink_to("..")
    (folder / "gone.jpg").symlink_to("nowhere.jpg")
    (folder / "self.jpg").symlink_to("self.jpg")
    os.mkfifo(folder / "pipe.jpg")
    (folder / "line\nbreak \x1b[2J\u202e.jpg").write_bytes(b"no photo")
    (folder / "._beside.jpg").write_bytes(b"what a Mac writes beside a photo")
    home = tmp_path / "stash"
    add_chart(open_store(home), "practice chart", 0.55)
    done = run_stash("log", folder, "/dev/zero", home=home)
    assert done.returncode == 1
    told = done.stdout.splitlines()
    for name, why in [
        ("folder.jpg", "it is a folder"),
        ("gone.jpg", "No such file"),
        ("self.jpg", "symbolic links"),
        ("pipe.jpg", "it is a pipe or a device"),
        ("zero", "it is a pipe or a device"),
        ("line\ufffdbreak \ufffd[2J\ufffd.jpg", "not a photo"),
    ]:
        assert any(line.startswith(f"{name}: not logged.") and why in line for line in told), name
    assert "6 not logged." in told[-1]
    assert "beside" not in done.stdout and "\x1b" not in done.stdout + done.stderr
