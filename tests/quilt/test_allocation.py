"""Allotments are checked by hand, by brute force over small stashes, and by the rules."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stash.errors import PlanUndecidedError
from stash.quilt.allocation import allot
from stash.quilt.feasibility import largest_possible
from stash.quilt.one_cloth import Undecided
from stash.quilt.possible import Choices, largest_count, least_limit
from stash.quilt.smallest_changes import CutOnSale, smallest_changes, to_buy
from stash.quilt.supply import Share, Supply, Wish

GREY = (50.0, 0.0, 0.0)


def scrap(
    number: int, fabric: int, pieces: int = 1, area: float = 20.0, amount: str = "", held: str = ""
) -> Supply:
    return Supply(number, fabric, pieces, area, GREY, amount=amount, held_by=held)


def brute_force(supplies: list[Supply], wish: Wish) -> float | None:
    """The least opened area over every possible choice."""
    best = None
    for takes in product(*(range(supply.pieces + 1) for supply in supplies)):
        taken = list(zip(supplies, takes, strict=True))
        per_fabric: Counter[int] = Counter()
        for supply, count in taken:
            per_fabric[supply.fabric] += count
        if sum(takes) != wish.pieces:
            continue
        if wish.limit is not None and max(per_fabric.values()) > wish.limit:
            continue
        parts = [sum(c for s, c in taken if s.has(share)) for share in wish.shares]
        if any(
            not share.least_of(wish.pieces) <= part <= share.most_of(wish.pieces)
            for share, part in zip(wish.shares, parts, strict=True)
        ):
            continue
        area = sum(supply.area_sq_in for supply, count in taken if count)
        best = area if best is None else min(best, area)
    return best


def test_the_smallest_usable_scrap_is_cut_first() -> None:
    stash = [scrap(1, 1, area=400), scrap(2, 2, area=30), scrap(3, 3, area=25)]
    found = allot(stash, Wish(2, limit=1))
    assert found is not None
    assert dict(found.takes) == {2: 1, 3: 1}
    assert found.opened_sq_in == 55


def test_two_scraps_of_one_fabric_count_once_in_a_charm_quilt() -> None:
    stash = [scrap(1, 1), scrap(2, 1), scrap(3, 2)]
    assert allot(stash, Wish(2, limit=1)) is not None
    assert allot(stash, Wish(3, limit=1)) is None


def test_a_scrap_held_by_another_quilt_is_left_alone() -> None:
    stash = [scrap(1, 1, held="Breakwater"), scrap(2, 2)]
    assert allot(stash, Wish(2, limit=1)) is None
    changes = {change.kind: change for change in smallest_changes(stash, Wish(2, limit=1))}
    assert changes["release"].scraps == (1,)
    assert changes["release"].amounts == {"Breakwater": 1}


def test_shares_are_kept() -> None:
    stash = [scrap(n, n, amount="sand" if n < 6 else "teal") for n in range(12)]
    found = allot(stash, Wish(8, 1, (Share("amount", "sand", 0.25, 0.25),)))
    assert found is not None
    assert sum(number < 6 for number in found.takes) == 2


def test_too_few_sand_fabrics_ask_for_exactly_those_missing() -> None:
    # 4 sand of the 6 that 30 % of 20 pieces need: buy 2, or allow 2 fewer, or make 13 pieces:
    # a 13th asks for 3.9 sand, rounded in the quilter's favour; 14 would ask for 4.2.
    stash = [scrap(n, n, amount="sand" if n < 4 else "teal") for n in range(30)]
    wish = Wish(20, 1, (Share("amount", "sand", 0.3, 1), Share("amount", "teal", 0, 0.7)))
    assert allot(stash, wish) is None
    changes = {change.kind: change.amounts for change in smallest_changes(stash, wish)}
    assert changes["buy"] == {"sand": 2}
    assert changes["shares"] in ({"sand": -2, "teal": 2}, {"sand": 0, "teal": 2})
    assert largest_count(stash, wish) == changes["fewer"]["pieces"]
    most = largest_count(stash, wish)
    assert allot(stash, Wish(most, 1, wish.shares)) is not None
    assert allot(stash, Wish(most + 1, 1, wish.shares)) is None


def test_a_limit_that_is_too_low_is_answered_with_the_lowest_that_works() -> None:
    stash = [scrap(n, n, pieces=5) for n in range(10)]
    assert least_limit(stash, Wish(31)) == 4  # 10 fabrics give 30 pieces at 3 each
    changes = {change.kind: change.amounts for change in smallest_changes(stash, Wish(31, 2))}
    assert changes["limit"] == {"limit": 4}
    assert changes["buy"] == {"any": 6}  # 11 pieces are missing, 2 of each new fabric
    assert changes["fewer"] == {"pieces": 20}


def test_an_empty_stash_can_be_bought_whole() -> None:
    assert allot([], Wish(5, 1)) is None
    assert largest_count([], Wish(5, 1)) == 0
    (buy,) = smallest_changes([], Wish(5, 1))
    assert buy.amounts == {"any": 5}


@st.composite
def small_stashes(draw: st.DrawFn) -> list[Supply]:
    count = draw(st.integers(1, 5))
    return [
        scrap(
            number,
            draw(st.integers(1, 4)),
            draw(st.integers(1, 3)),
            float(draw(st.integers(10, 99))),
            draw(st.sampled_from(["sand", "teal"])),
        )
        for number in range(count)
    ]


@settings(deadline=None)  # the solver's time hangs on the machine
@given(small_stashes(), st.integers(1, 8), st.sampled_from([1, 2, None]), st.sampled_from([0, 0.3]))
def test_no_choice_of_scraps_opens_less(
    stash: list[Supply], pieces: int, limit: int | None, sand: float
) -> None:
    wish = Wish(pieces, limit, (Share("amount", "sand", sand, 0.8),))
    best = brute_force(stash, wish)
    found = allot(stash, wish)
    assert (found is None) == (best is None)
    if found is not None and best is not None:
        assert found.pieces == pieces
        assert found.opened_sq_in <= best * (1 + 2e-4)  # the solver's gap is 1e-4


@settings(deadline=None)  # the solver's time hangs on the machine
@given(small_stashes(), st.integers(1, 8), st.sampled_from([1, 2]))
def test_the_smallest_changes_make_the_quilt_possible(
    stash: list[Supply], pieces: int, limit: int
) -> None:
    wish = Wish(pieces, limit)
    if allot(stash, wish) is not None:
        return
    changes = {change.kind: change.amounts for change in smallest_changes(stash, wish)}
    more = [scrap(100 + n, 100 + n, limit) for n in range(sum(changes["buy"].values()))]
    assert allot([*stash, *more], wish) is not None
    assert allot([*stash, *more[1:]], wish) is None
    if "limit" in changes:
        assert allot(stash, Wish(pieces, changes["limit"]["limit"])) is not None
        assert allot(stash, Wish(pieces, changes["limit"]["limit"] - 1)) is None
    if "fewer" in changes:
        assert allot(stash, Wish(changes["fewer"]["pieces"], limit)) is not None


def rows_that_can_be(stash: list[Supply], wish: Wish, across: int) -> list[int]:
    """Every number of rows for which some choice of scraps exists, tried one by one."""
    most = sum(one.pieces for one in stash) + wish.done_pieces
    done = [replace(one, scrap=900 + at) for at, one in enumerate(wish.done)]
    found = []
    for rows in range(1, most // across + 1):
        # A cut piece is a scrap that must be used whole.
        asked = replace(wish, pieces=rows * across, done=())
        for takes in product(*(range(one.pieces + 1) for one in stash)):
            counts = [*takes, *(one.pieces for one in done)]
            if keeps(list(zip([*stash, *done], counts, strict=True)), asked):
                found.append(rows)
                break
    return found


def keeps(taken: list[tuple[Supply, int]], wish: Wish) -> bool:
    per_fabric: Counter[int] = Counter()
    for supply, count in taken:
        per_fabric[supply.fabric] += count
    if sum(count for _, count in taken) != wish.pieces:
        return False
    if wish.limit is not None and max(per_fabric.values()) > wish.limit:
        return False
    return all(
        share.least_of(wish.pieces)
        <= sum(count for supply, count in taken if supply.has(share))
        <= share.most_of(wish.pieces)
        for share in wish.shares
    )


@settings(deadline=None)  # the solver's time hangs on the machine
@given(
    small_stashes(),
    st.integers(1, 3),
    st.sampled_from([1, 2, None]),
    st.sampled_from([0, 0.3, 0.5]),
    st.lists(st.sampled_from([(7, "sand"), (8, "teal")]), max_size=1),
)
def test_the_longest_quilt_is_that_of_trying_every_number_of_rows(
    stash: list[Supply],
    across: int,
    limit: int | None,
    sand: float,
    cut: list[tuple[int, str]],
) -> None:
    done = tuple(scrap(0, fabric, 1, 0.0, amount) for fabric, amount in cut)
    wish = Wish(across, limit, (Share("amount", "sand", sand, 0.8),), done=done)
    can_be = [rows for rows in rows_that_can_be(stash, wish, across) if rows * across > len(cut)]
    choices = Choices(stash, wish)
    most = largest_possible(choices, lambda rows: rows * across, most=4000)
    if can_be:
        assert most == max(can_be)
    for rows in range(1, 8):
        if rows * across > len(cut):
            assert choices.possible(rows * across) == (rows in can_be)


CUTS = (CutOnSale("5-inch square", 1, 25.0), CutOnSale("fat quarter", 12, 378.0),
        CutOnSale("yard", 56, 1440.0))  # fmt: skip


@settings(deadline=None, max_examples=60)
@given(
    small_stashes(),
    st.integers(5, 120),
    st.sampled_from([1, 2, 9, None]),
    st.sampled_from([0, 0.2, 0.4]),
    st.sampled_from([0, 0.5]),
)
def test_with_what_is_bought_the_quilt_can_be_made_and_with_less_it_cannot(
    stash: list[Supply], pieces: int, limit: int | None, sand: float, dark: float
) -> None:
    shares = (
        Share("amount", "sand", sand, 0.8), Share("amount", "teal", 0.0, 1.0),
        Share("value", "dark", dark, 0.9), Share("value", "light", 0.0, 1.0),
    )  # fmt: skip
    wish = Wish(pieces, limit, shares)
    if allot(stash, wish) is not None:
        return
    bought = to_buy(Choices(stash, wish), CUTS)
    new = [one for one in bought for _ in range(one.fabrics)]
    more = [
        Supply(100 + at, 100 + at, one.cut.pieces, one.cut.area_sq_in, GREY,
               amount=one.part.split()[0], value=one.part.split()[1])
        for at, one in enumerate(new)
    ]  # fmt: skip
    assert allot([*stash, *more], wish) is not None
    assert allot([*stash, *more[1:]], wish) is None


def test_a_thousand_scraps_and_six_hundred_pieces_end_within_a_hundredth() -> None:
    rng = np.random.default_rng(7)
    stash = [
        Supply(
            n, int(rng.integers(400)), int(rng.integers(1, 9)), float(rng.uniform(20, 400)), GREY,
            amount=["navy", "teal", "sand", "coral"][n % 4],
        )
        for n in range(1000)
    ]  # fmt: skip
    shares = (Share("amount", "navy", 0.3, 0.5), Share("amount", "coral", 0.02, 0.1))
    found = allot(stash, Wish(600, 3, shares))
    assert found is not None
    assert found.pieces == 600
    assert found.gap <= 0.01  # proven; a busy machine may run into the time limit


@pytest.mark.parametrize(
    ("share", "pieces", "least", "most"),
    [(0.25, 8, 2, 2), (0.3, 20, 6, 6), (0.1, 25, 2, 3), (0.0, 9, 0, 0), (1.0, 9, 9, 9)],
)
def test_shares_round_in_the_quilters_favour(
    share: float, pieces: int, least: int, most: int
) -> None:
    part = Share("amount", "sand", share, share)
    assert (part.least_of(pieces), part.most_of(pieces)) == (least, most)


@pytest.mark.parametrize(("navy", "expected"), [(40, (24, 12, 4)), (20, (20, 16, 4))])
def test_mostly_is_not_whatever_corner_of_its_range_is_cheapest(
    navy: int, expected: tuple[int, int, int]
) -> None:
    # Main, some and a touch weigh 6 : 3 : 1, so of 40 pieces 24, 12 and 4; the cheapest choice by
    # area would be as little navy as is allowed. With 20 navy the rest is
    # teal, of which there is more.
    stash = [scrap(n, n, area=400, amount="navy") for n in range(navy)]
    stash += [scrap(n, n, area=20, amount="teal") for n in range(100, 160)]
    stash += [scrap(n, n, area=90, amount="coral") for n in range(200, 204)]
    shares = (
        Share("amount", "navy", 0.3, 1.0, 0.6),
        Share("amount", "teal", 0.15, 0.45, 0.3),
        Share("amount", "coral", 0.05, 0.15, 0.1),
    )
    found = allot(stash, Wish(40, 1, shares))
    assert found is not None
    taken = Counter("navy" if n < 100 else "teal" if n < 200 else "coral" for n in found.takes)
    assert (taken["navy"], taken["teal"], taken["coral"]) == expected


@pytest.mark.parametrize("names", [("navy", "teal", "sand"), ("sand", "teal", "navy")])
def test_of_amounts_equally_near_their_middle_the_first_named_has_its_own(
    names: tuple[str, str, str],
) -> None:
    # 0.35 of 11 is 3.85, so each should have 4 pieces; one must do with 3, and that is the last.
    stash = [
        scrap(100 * place + number, 100 * place + number, amount=name)
        for place, name in enumerate(("navy", "sand", "teal"))
        for number in range(9)
    ]
    shares = tuple(Share("amount", name, 0.1, 1.0, 0.35) for name in names)
    found = allot(stash, Wish(11, 1, shares))
    assert found is not None
    taken = Counter(("navy", "sand", "teal")[number // 100] for number in found.takes)
    assert [taken[name] for name in names] == [4, 4, 3]


def test_a_cloth_to_look_at_twice_is_not_taken_for_the_middle_of_a_range() -> None:
    stash = [scrap(n, n, amount="navy") for n in range(5)]
    stash += [replace(scrap(n, n, amount="navy"), reluctance=10_000.0) for n in range(5, 20)]
    stash += [scrap(n, n, amount="teal") for n in range(30, 40)]
    found = allot(stash, Wish(10, 1, (Share("amount", "navy", 0.2, 1.0, 0.8),)))
    assert found is not None
    assert sum(number < 20 for number in found.takes) == 5
    assert all(number < 5 or number >= 30 for number in found.takes)


def never_proven(_model: object) -> None:
    raise PlanUndecidedError


@pytest.mark.parametrize("seed", range(40))
def test_a_choice_that_could_not_be_proven_best_keeps_every_wish(
    monkeypatch: pytest.MonkeyPatch, seed: int
) -> None:
    drawn = random.Random(seed)
    stash = [
        scrap(number, drawn.randint(1, 9), drawn.randint(1, 4), drawn.uniform(5, 100),
              drawn.choice(["sand", "teal"]))
        for number in range(drawn.randint(5, 15))
    ]  # fmt: skip
    pairs = [(drawn.randint(1, 9), drawn.randint(1, 9)) for _ in range(drawn.randint(0, 4))]
    shares = (Share("amount", "sand", 0.2, 0.6),) if drawn.random() < 0.5 else ()
    wish = Wish(drawn.randint(1, 9), drawn.choice([1, 2, 3]), shares, Undecided.of(pairs))
    proven = allot(stash, wish)
    monkeypatch.setattr("stash.quilt.allocation._Model.solve", never_proven)
    found = allot(stash, wish)
    assert (found is None) == (proven is None)
    if found is None:
        return
    assert found.gap > 0  # nothing is promised
    assert found.pieces == wish.pieces
    assert all(count <= stash[number].pieces for number, count in found.takes.items())
    of_fabric: Counter[int] = Counter()
    for number, count in found.takes.items():
        of_fabric[stash[number].fabric] += count
    assert max(of_fabric.values()) <= wish.limit
    for one, other in wish.undecided.among(of_fabric).pairs:  # together no more than one cloth
        assert of_fabric[one] + of_fabric[other] <= wish.limit
    for share in shares:
        part = sum(count for number, count in found.takes.items() if stash[number].has(share))
        assert share.least_of(wish.pieces) <= part <= share.most_of(wish.pieces)
