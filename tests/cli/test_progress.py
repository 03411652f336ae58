"""Progress is for whoever watches, and leaves the answer alone."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.running import REPO, answer_of

pty = pytest.importorskip("pty", reason="only POSIX has pretended terminals")


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    home = tmp_path_factory.mktemp("watched")
    answer_of("scrap", "add", "5 x 7", "--colour", "#1f3f7a", home=home)
    return home


def backed_up(home: Path, target: Path, *, watched: bool) -> tuple[str, str]:
    """Back up with standard error on a terminal, or in a file; gives both streams' texts."""
    ours, theirs = pty.openpty()
    with target.with_suffix(".err").open("w+b") as file:
        done = subprocess.run(
            [sys.executable, "-m", "stash", "backup", str(target), "--home", str(home)],
            cwd=REPO,
            env={**os.environ, "STASH_SETTINGS": os.devnull},
            stdout=subprocess.PIPE,
            stderr=theirs if watched else file,
            stdin=subprocess.DEVNULL,
            check=True,
            timeout=120,
        )
        os.close(theirs)
        file.seek(0)
        try:
            beside = os.read(ours, 65536) if watched else file.read()
        finally:
            os.close(ours)
    return done.stdout.decode(), beside.decode(errors="replace")


def test_the_bar_is_shown_on_a_terminal_alone_and_the_answer_is_the_same(home, tmp_path):
    answer, bar = backed_up(home, tmp_path / "a.zip", watched=True)
    same, nothing = backed_up(home, tmp_path / "b.zip", watched=False)
    assert "Backing up" in bar
    assert nothing == ""
    assert answer.replace("a.zip", "b.zip") == same
    assert "\x1b" not in answer
