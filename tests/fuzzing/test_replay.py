"""What the fuzzing starts from, and what it once found, must be answered or refused in words."""

from pathlib import Path

import pytest

from tests.fuzzing.seeds import seeds_of
from tests.fuzzing.targets import TARGETS, feed

FOUND = sorted(Path(__file__).with_name("corpus").iterdir())


@pytest.mark.parametrize("target", TARGETS)
def test_every_seed_is_read(target):
    if target == "arguments":  # most of them name something that is not there
        assert all(feed(target, seed) in (True, False) for seed in seeds_of(target))
        return
    refused = [number for number, seed in enumerate(seeds_of(target)) if not feed(target, seed)]
    # The third photo is a picture for a press without its profile: nobody can know its colours.
    assert refused == ([2] if target == "photo" else [])


@pytest.mark.parametrize("path", FOUND, ids=lambda path: path.name)
def test_what_fuzzing_once_found_is_answered_or_refused_in_words(path):
    feed(path.name.split("-")[0], path.read_bytes())


@pytest.mark.parametrize("target", TARGETS)
def test_a_seed_cut_off_or_spoiled_is_answered_or_refused_in_words(target):
    for seed in seeds_of(target):
        for share in (0.3, 0.7, 0.97):
            feed(target, seed[: int(share * len(seed))])
        for at in range(0, len(seed), max(1, len(seed) // 12)):
            feed(target, seed[:at] + bytes([seed[at] ^ 0x5A]) + seed[at + 1 :])
