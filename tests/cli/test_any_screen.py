"""Output on screens and in files that cannot show every letter."""

import json
import os
import subprocess
import sys

import pytest

from tests.running import REPO, answer_of

NAMES = {"place": "Grün ⅞ × 藍 🧵", "name": "голубой שלום"}


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    home = tmp_path_factory.mktemp("any-screen")
    words = ("scrap", "add", "5 7/8 x 9", "--colour", "#1f3f7a")
    answer_of(*words, "--bin", NAMES["place"], "--name", NAMES["name"], home=home)
    return home


def printed(home, encoding, *words):
    """Give the bytes that a command prints where the stream has this encoding."""
    done = subprocess.run(
        [sys.executable, "-m", "stash", *words],
        cwd=REPO,
        capture_output=True,
        check=False,
        env={
            **os.environ,
            "STASH_HOME": str(home),
            "PYTHONUTF8": "0",
            "PYTHONIOENCODING": encoding,
            "STASH_TRACE": "1",
        },
    )
    assert (done.returncode, done.stderr) == (0, b"")
    return done.stdout.decode(encoding)  # ASCII and code pages refuse what is not theirs


@pytest.mark.parametrize(
    ("encoding", "size", "place"),
    [
        ("ascii", "5 7/8 x 9", "Grun 7/8 x ? ?"),
        ("cp1252", "5 7/8 × 9", "Grün 7/8 × ? ?"),
        ("cp437", "5 7/8 x 9", "Grün 7/8 x ? ?"),
        ("utf-8", "5⅞ × 9", "Grün ⅞ × 藍 🧵"),
    ],
)
def test_what_a_screen_cannot_show_is_spelled_out(home, encoding, size, place):
    heads, row, count = printed(home, encoding, "scraps").splitlines()
    assert size in row
    assert row.index(place) == heads.index("bin")
    assert count == "1 scrap."


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "utf-8"])
def test_json_loses_no_letter_whatever_the_stream(home, encoding):
    scrap = json.loads(printed(home, encoding, "scraps", "--json"))["scraps"][0]
    assert {"place": scrap["bin"], "name": scrap["name"]} == NAMES


def test_help_can_be_read_in_ascii(home):
    assert "“" not in printed(home, "ascii", "palette", "make", "--help")
    assert '"blues mostly' in printed(home, "ascii", "palette", "make", "--help")
