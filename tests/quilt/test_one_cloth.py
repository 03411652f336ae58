"""Fabrics that may be one cloth are counted once, whatever hangs together with what."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stash.quilt.one_cloth import FabricCount, Undecided
from stash.quilt.twin_groups import beside_rivals, groups_of

PAIRS = st.lists(st.tuples(st.integers(1, 7), st.integers(1, 7)), max_size=10)


def test_the_sentence_gives_both_ends_and_the_pairs() -> None:
    pairs = Undecided.of([(1, 2), (2, 1), (3, 4), (4, 5), (3, 5)])
    assert str(pairs.count(range(1, 7))) == "3 to 6 fabrics; 3 pairs not decided"
    assert str(FabricCount(1, 1)) == "1 fabric"
    assert str(pairs.count([1, 3, 6])) == "3 fabrics"


def test_two_said_to_be_different_count_twice_beside_a_third_that_may_be_either() -> None:
    assert Undecided.of([(1, 3), (2, 3)]).count([1, 2, 3]).least == 2


@given(PAIRS)
def test_the_least_count_is_the_largest_choice_without_a_pair(
    pairs: list[tuple[int, int]],
) -> None:
    open_pairs = Undecided.of(pairs)
    fabrics = range(1, 8)
    best = max(
        len(choice)
        for size in range(1, 8)
        for choice in combinations(fabrics, size)
        if not any(open_pairs.may_be_one(*pair) for pair in combinations(choice, 2))
    )
    assert open_pairs.count(fabrics).least == best


@given(PAIRS)
def test_no_set_of_one_cloth_lies_within_another_and_all_pairs_are_in_one(
    pairs: list[tuple[int, int]],
) -> None:
    open_pairs = Undecided.of(pairs)
    sets = [set(one) for one in open_pairs.sets()]
    assert {pair for one in sets for pair in combinations(sorted(one), 2)} == set(open_pairs.pairs)
    assert not any(one < other for one in sets for other in sets)


def test_a_chain_of_look_alikes_is_no_group_but_close_ones_are() -> None:
    chain = {(1, 2): 0.9, (2, 3): 0.9}
    assert groups_of(chain) == ((1, 2),)
    close = {(1, 2): 0.3, (2, 3): 0.4, (1, 3): 1.2, (7, 9): 1.0, (8, 9): 1.3}
    assert groups_of(close) == ((1, 2, 3), (7, 9))


@pytest.mark.parametrize("turn", range(3))
def test_groups_do_not_depend_on_the_order_of_pairs(turn: int) -> None:
    apart = {(1, 2): 0.2, (2, 3): 0.5, (3, 4): 0.7, (1, 3): 0.6}
    turned = list(apart.items())[turn:] + list(apart.items())[:turn]
    assert groups_of(dict(turned)) == groups_of(apart)


def test_where_one_of_two_looks_more_like_a_third_they_are_moved_apart() -> None:
    apart = {(1, 2): 0.2, (1, 3): 0.9, (4, 5): 0.9, (3, 6): 1.4}
    beside = beside_rivals(apart)
    assert beside[1, 2] == 0.2  # each the other's nearest
    assert beside[4, 5] == 0.9  # nobody beside them
    assert beside[1, 3] == pytest.approx(0.9 + 0.6 * 0.7)
    assert beside[3, 6] == pytest.approx(1.4 + 0.6 * 0.5)


@given(
    st.dictionaries(
        st.sets(st.integers(1, 6), min_size=2, max_size=2).map(lambda two: tuple(sorted(two))),
        st.floats(0, 1.4),
    ),
    st.randoms(use_true_random=False),
)
def test_rivals_speak_alike_in_any_order_and_never_for_a_pair(apart, random) -> None:
    beside = beside_rivals(apart)
    turned = list(apart.items())
    random.shuffle(turned)
    assert beside_rivals(dict(turned)) == beside
    for pair, far in apart.items():
        thirds = [o for q, o in apart.items() if q != pair and set(q) & set(pair)]
        assert beside[pair] == pytest.approx(far + 0.6 * max([0, *(far - o for o in thirds)]))


@given(PAIRS)
def test_where_too_much_hangs_together_the_count_promises_no_more_than_there_is(
    pairs: list[tuple[int, int]],
) -> None:
    open_pairs = Undecided.of(pairs)
    exact = open_pairs.count(range(1, 8)).least
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("stash.quilt.one_cloth._SEARCHED", 1)
        chosen = open_pairs._largest_choice()
    unsure = {fabric for pair in open_pairs.pairs for fabric in pair}
    assert not any(open_pairs.may_be_one(*pair) for pair in combinations(chosen, 2))
    # Nothing could be added, and it is no more than the largest choice.
    assert all(
        any(open_pairs.may_be_one(one, kept) for kept in chosen) for one in unsure - {*chosen}
    )
    assert 7 - len(unsure) + len(chosen) <= exact
