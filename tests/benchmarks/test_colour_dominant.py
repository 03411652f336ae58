"""Dominant colours beside other libraries, in one run: quality first, then time."""

import pytest

from tests.benchmarks.dominant_quality import finders, prints_of, score

PRINTS = prints_of(10, fine=True, seed=21)
QUALITY = [("dE00", -1), ("missed %", -1), ("right number %", 1), ("EMD", -1)]
PEERS = finders()


@pytest.mark.parametrize("library", PEERS)
def test_time_and_quality(benchmark, library):
    finder, asked = PEERS[library]
    found = score(PRINTS, finder, asked)
    benchmark.extra_info.update(found)
    benchmark.group = "dominant colours of a 1-megapixel print"
    benchmark.pedantic(finder, (PRINTS[0].pixels_srgb, asked or 4), rounds=3, iterations=1)
    if library != "stash":
        ours = score(PRINTS, *PEERS["stash"])
        for figure, sign in QUALITY:
            if figure == "right number %" and asked is None:
                continue  # it was told the number
            assert sign * ours[figure] >= sign * found[figure], figure
