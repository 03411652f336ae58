"""Progress is for whoever watches, and leaves the answer alone."""

import os
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path

import pytest

from stash.wiring import open_store
from tests.cli.in_process import Commands
from tests.running import REPO, answer_of
from tests.usecases.cloth import put

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


@pytest.mark.parametrize("question", ["enough raffle --count", "allot raffle"])
def test_counting_pieces_says_how_many_scraps_are_done_and_how_long_the_rest_takes(
    question, tmp_path, monkeypatch
):
    """More scraps than are counted at once, each for two pieces."""
    store = open_store(tmp_path)
    for number in range(45):
        put(store, size=(9 + number / 100, 4.6))
    commands = Commands(tmp_path)
    commands.said("quilt make raffle --template square --size 4 --rows 2 --across 5")

    heard: list[tuple[float, float | None]] = []

    @contextmanager
    def watched(_what):
        yield lambda done, of, _thing: heard.append((done, of))

    monkeypatch.setattr("stash.cli.quilt_commands.counted_work", watched)
    commands.said(f"quilt {question}")
    assert heard[-1] == (45, 45)
    assert [done for done, _ in heard] == sorted(done for done, _ in heard)
    assert 0 < heard[0][0] < 45  # told while it works, not only at the end
