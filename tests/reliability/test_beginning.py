"""Several processes may begin the same stash at the same moment."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest

from stash.wiring import open_store
from tests.storage.made_records import made_photo

pytestmark = [
    pytest.mark.skipif(not hasattr(os, "fork"), reason="starts processes by forking"),
    pytest.mark.filterwarnings("ignore:.*multi-threaded.*:DeprecationWarning"),
]


def _log_at(moment: float, home: Path, seed: int) -> int:
    """Fork a process that logs a photo at a moment; ends with 0 if that worked."""
    photo = made_photo(seed, scraps=1, size=1000)
    child = os.fork()
    if child:
        return child
    code = 1
    try:
        while time.time() < moment:
            pass
        open_store(home).log_photo(photo)
        code = 0
    finally:
        os._exit(code)


def test_all_who_begin_a_stash_at_once_are_heard(tmp_path: Path) -> None:
    # Before the wait in the switch to the write-ahead log, 1 of 240 was turned away.
    for turn in range(15):
        home = tmp_path / str(turn)
        moment = time.time() + 0.05
        children = [_log_at(moment, home, seed % 2) for seed in range(4)]
        assert [os.waitpid(child, 0)[1] for child in children] == [0, 0, 0, 0]
        store = open_store(home)
        assert len(store.photos()) == 2
        assert store.check() == ()
        store.database.close()
