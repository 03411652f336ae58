"""The backing between two scraps belongs to neither."""

import numpy as np
import pytest

from stash.photo.table.gap_between import without_gap

STEP = 60.0  # pixels an inch


@pytest.fixture
def close_scraps():
    """A scrap with stripes in the backing's colour, a gap of 1/8 in, a plain scrap.

    Returns what the two really are, the kinds they were split into (the gap with the first), and
    what is seen.
    """
    striped, plain, seen = (np.zeros((200, 300), dtype=bool) for _ in range(3))
    striped[20:180, 20:150] = True
    plain[20:180, 158:280] = True
    seen[20:180, 20:150] = (np.arange(160) % 16 < 8)[:, None]
    seen |= plain
    bridged = striped.copy()
    bridged[20:180, 150:158] = True
    return striped, plain, [bridged, plain], seen


def test_a_bridge_between_two_scraps_is_taken_off_both(close_scraps):
    striped, plain, kinds, seen = close_scraps
    left, right = without_gap(kinds, seen, STEP)
    # Between two stripes the border may sag by a fraction of their distance, not more.
    assert not (left & ~striped).any()
    assert (striped & ~left).sum() < 0.01 * striped.sum()
    assert np.array_equal(right, plain)


def test_stripes_in_the_colour_of_the_backing_stay_cloth(close_scraps):
    _, _, kinds, seen = close_scraps
    left, _ = without_gap(kinds, seen, STEP)
    assert left[28:172, 20:140].all()


def test_a_hole_cut_in_one_of_the_scraps_stays_a_hole(close_scraps):
    _, plain, kinds, seen = close_scraps
    for cloth in (plain, seen):
        cloth[90:110, 220:240] = False
    assert np.array_equal(without_gap(kinds, seen, STEP)[1], plain)
