"""Killing a logging process at any moment loses nothing that was acknowledged."""

from __future__ import annotations

import os

import pytest

from tests.reliability import kill_stash_log
from tests.reliability.kill_while_logging import PHOTOS, kill_many

pytestmark = [
    pytest.mark.skipif(not hasattr(os, "fork"), reason="kills a forked process"),
    pytest.mark.filterwarnings("ignore:.*multi-threaded.*:DeprecationWarning"),
]


@pytest.mark.slow
def test_thirty_kills_lose_nothing_and_leave_nothing_half_logged() -> None:
    kills = 30
    tally = kill_many(kills, seed=11, longest_s=0.03)
    assert tally.faults == []
    assert tally.kills == kills
    # The kills must have hit in the middle, or nothing was tested.
    assert 0 < tally.acknowledged < kills * PHOTOS
    assert tally.finished_first < kills / 2


@pytest.mark.slow
def test_killing_the_real_command_loses_nothing_and_a_second_run_completes_it() -> None:
    tally = kill_stash_log.kill_many(2, seed=3, photo_count=2, runs_a_home=2)
    assert tally.faults == []
    assert tally.kills == 2
