"""How alike two fabrics are."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stash.colour.appearance import ColourShare
from stash.colour.difference import colour_difference
from stash.colour.likeness import earth_mover, likeness, most_alike
from stash.colour.spaces import lab_of_hex
from tests.colour.looks import look

CODES = st.integers(0, 0xFFFFFF).map(lambda n: f"#{n:06x}")
LOOKS = st.lists(CODES, min_size=1, max_size=4, unique=True).map(lambda codes: look(*codes))


def shares(*pairs):
    return [ColourShare(lab_of_hex(code), share) for code, share in pairs]


def test_moving_a_quarter_of_black_to_white_costs_a_quarter_of_the_way():
    # By hand: half and half against three quarters and one quarter; only 0.25 must move.
    way = colour_difference(lab_of_hex("#000000"), [lab_of_hex("#ffffff")])[0]
    found = earth_mover(
        shares(("#000000", 0.5), ("#ffffff", 0.5)), shares(("#000000", 0.75), ("#ffffff", 0.25))
    )
    assert found == pytest.approx(0.25 * way)


@given(LOOKS)
def test_a_fabric_is_wholly_like_itself(one):
    assert likeness(one, one) == pytest.approx(1, abs=1e-6)


@given(LOOKS, LOOKS)
def test_likeness_is_the_same_both_ways_and_within_0_and_1(one, other):
    assert likeness(one, other) == pytest.approx(likeness(other, one), abs=1e-9)
    assert 0 <= likeness(one, other) <= 1 + 1e-9


def test_the_same_fabric_comes_first():
    stash = [
        look("#1f3f7a"),
        look("#d9c7a3", "#1f3f7a"),
        look("#eda5b4"),
        look("#1f3f7a", "#ffffff"),
    ]
    found = most_alike(look("#213f78", "#fdfdfd"), stash, n=2)
    assert found[0][0] == 3
    assert found[0][1] > found[1][1]


def test_an_empty_stash_holds_nothing_alike():
    assert most_alike(look("#1f3f7a"), []) == ()
