"""Layouts are checked against exact sums, small cases by brute force, and chance."""

from __future__ import annotations

import tracemalloc
from itertools import permutations

import numpy as np
import pytest

from stash.quilt.evenness import make_spread
from stash.quilt.kernels import make_kernels
from stash.quilt.layout import Cells, PieceColours, arrange, judge_layout, swap

NAVY, TEAL, SAND = (28.0, 5.0, -35.0), (48.0, -25.0, -10.0), (82.0, 3.0, 16.0)


def grid(rows: int, across: int) -> Cells:
    centres = [(3.0 * c, -3.0 * r) for r in range(rows) for c in range(across)]
    side = [(r * across + c, r * across + c + 1) for r in range(rows) for c in range(across - 1)]
    down = [(r * across + c, (r + 1) * across + c) for r in range(rows - 1) for c in range(across)]
    return Cells(np.array(centres), [*side, *down])


def scrappy(count: int, fabrics: int, seed: int) -> PieceColours:
    rng = np.random.default_rng(seed)
    family = rng.choice(["navy", "teal", "sand"], size=fabrics, p=[0.45, 0.35, 0.2])
    centre = {"navy": NAVY, "teal": TEAL, "sand": SAND}
    labs = np.array([centre[name] for name in family]) + rng.normal(0, 5, (fabrics, 3))
    fabric = np.arange(count) % fabrics
    values = np.where(labs[:, 0] < 38, "dark", np.where(labs[:, 0] < 65, "medium", "light"))
    return PieceColours(
        labs[fabric],
        fabric.tolist(),
        {"family": family[fabric].tolist(), "value": values[fabric].tolist()},
    )


def orders_that_differ(kinds: list[str]) -> list[tuple[int, ...]]:
    """One order for each way the kinds can lie; pieces of one kind are interchangeable."""
    seen = {tuple(kinds[piece] for piece in o): o for o in permutations(range(len(kinds)))}
    return list(seen.values())


def test_the_discrepancy_is_the_double_sum_of_its_definition() -> None:
    cells, pieces = grid(3, 4), ["a", "b", "b", "a", "c", "b", "b", "b", "a", "c", "b", "a"]
    spread = make_spread(cells.centres_in, {"family": pieces})
    order = np.random.default_rng(4).permutation(12)
    energies = spread.energies(order)
    for row, (_, name) in enumerate(spread.names):
        if not row:
            continue
        held = np.array([pieces[piece] == name for piece in order], dtype=float)
        surplus = held - held.mean()
        kernel = np.stack(
            [spread.kernels.seen_from(cell, spread.kernel_of[row]) for cell in range(len(order))]
        )
        by_hand = sum(surplus[i] * kernel[i, j] * surplus[j] for i in range(12) for j in range(12))
        assert energies[row] == pytest.approx(by_hand)


def test_chance_is_the_mean_over_every_order() -> None:
    cells, pieces = grid(2, 3), ["a", "a", "b", "b", "b", "c"]
    spread = make_spread(cells.centres_in, {"family": pieces})
    every = [spread.energies(np.array(order)) for order in permutations(range(6))]
    assert np.mean(every, axis=0) == pytest.approx(spread.chance)


@pytest.mark.parametrize("shape", [(2, 4), (1, 8)])
def test_no_order_lies_below_the_bound(shape: tuple[int, int]) -> None:
    pieces = ["a", "a", "a", "b", "b", "b", "b", "c"]
    spread = make_spread(grid(*shape).centres_in, {"family": pieces})
    least = np.min([spread.energies(np.array(o)) for o in orders_that_differ(pieces)], axis=0)
    assert (least >= spread.least - 1e-12).all()
    assert (spread.least >= 0).all()


def test_a_small_quilt_is_laid_as_well_as_by_trying_every_order() -> None:
    cells = grid(2, 4)
    labs = np.array([NAVY, NAVY, NAVY, NAVY, SAND, SAND, TEAL, TEAL])
    kinds = ["n", "n", "n", "n", "s", "s", "t", "t"]
    pieces = PieceColours(labs, list(range(8)), {"family": kinds})
    best = min(judge_layout(cells, pieces, order).cost for order in orders_that_differ(kinds))
    assert arrange(cells, pieces, seed=1).cost == pytest.approx(best)


def test_two_colours_in_equal_parts_become_a_chequerboard() -> None:
    cells = grid(6, 6)
    labs = np.array([NAVY] * 18 + [SAND] * 18)
    pieces = PieceColours(labs, list(range(36)), {"family": ["navy"] * 18 + ["sand"] * 18})
    laid = arrange(cells, pieces, seed=0)
    dark = np.array([piece < 18 for piece in laid.piece_at])
    assert all(dark[one] != dark[other] for one, other in cells.pairs)


def test_every_piece_is_laid_exactly_once() -> None:
    laid = arrange(grid(8, 9), scrappy(72, 30, 3), seed=2)
    assert sorted(laid.piece_at) == list(range(72))


def test_one_fabric_never_touches_itself() -> None:
    cells, pieces = grid(8, 9), scrappy(72, 12, 5)  # six pieces of each fabric
    laid = arrange(cells, pieces, seed=2)
    fabrics = [pieces.fabrics[piece] for piece in laid.piece_at]
    assert laid.same_fabric_pairs == 0
    assert all(fabrics[one] != fabrics[other] for one, other in cells.pairs)


def test_a_single_fabric_cannot_help_touching_itself_and_is_counted() -> None:
    cells = grid(2, 2)
    pieces = PieceColours(np.array([NAVY] * 4), [7] * 4, {"family": ["navy"] * 4})
    assert arrange(cells, pieces).same_fabric_pairs == len(cells.pairs)


def test_the_layout_beats_the_best_of_many_random_ones() -> None:
    cells, pieces = grid(10, 12), scrappy(120, 120, 8)
    laid = arrange(cells, pieces, seed=0)
    rng = np.random.default_rng(0)
    chance = [judge_layout(cells, pieces, rng.permutation(120)) for _ in range(200)]
    assert laid.evenness.score > max(one.evenness.score for one in chance)
    assert laid.cost < min(one.cost for one in chance)
    assert laid.evenness.bound <= laid.evenness.discrepancy


def test_the_same_seed_gives_the_same_layout_and_another_seed_another() -> None:
    cells, pieces = grid(6, 7), scrappy(42, 20, 1)
    first, again, other = (arrange(cells, pieces, seed=seed).piece_at for seed in (5, 5, 6))
    assert first == again
    assert first != other


def test_pinned_cells_keep_their_pieces_while_the_rest_is_shuffled() -> None:
    cells, pieces = grid(6, 7), scrappy(42, 42, 1)
    before = arrange(cells, pieces, seed=5)
    pinned = [0, 7, 20, 41]
    after = arrange(cells, pieces, seed=9, start=before.piece_at, fixed=pinned)
    assert all(after.piece_at[cell] == before.piece_at[cell] for cell in pinned)
    assert after.piece_at != before.piece_at
    assert sorted(after.piece_at) == list(range(42))


def test_cost_followed_swap_by_swap_equals_the_cost_measured_afresh() -> None:
    from stash.quilt.layout import _Measure, _Search

    cells, pieces = grid(5, 6), scrappy(30, 8, 2)
    measure = _Measure(cells, pieces)
    order = np.random.default_rng(3).permutation(30)
    search = _Search(measure, order.copy(), np.arange(30), np.random.default_rng(0))
    for one in (0, 13, 29):
        changes = search._changes(one)
        for other in range(30):
            swapped = swap(order, one, other)
            measured = judge_layout(cells, pieces, swapped).cost
            assert measured - measure.judge(order).cost == pytest.approx(changes[other], abs=1e-9)


def test_swapping_twice_gives_the_layout_back() -> None:
    assert swap(swap((3, 1, 0, 2), 0, 3), 0, 3) == (3, 1, 0, 2)


def test_many_cells_in_rows_have_the_kernels_of_the_definition() -> None:
    rows, across = 30, 40  # more than are kept as a table of all pairs
    centres = np.array(
        [(x * 2.5 + (y % 2) * 1.25, y * 3.0) for y in range(rows) for x in range(across)]
    )
    widths = np.array([4.0, 90.0])
    kernels = make_kernels(centres, widths)
    squared = ((centres - centres[217]) ** 2).sum(axis=1)
    for number, width in enumerate(widths):
        expected = np.exp(-squared / (2 * width))
        assert kernels.seen_from(217, number) == pytest.approx(expected, abs=1e-6)
        mixed = kernels.each_seen_from(217, np.full(len(centres), number), np.arange(len(centres)))
        assert mixed == pytest.approx(expected, abs=1e-6)
        ones = kernels.spread_out(number, np.arange(len(centres)) / 100)
        assert ones[217] == pytest.approx(
            (expected * np.arange(len(centres)) / 100).sum(), rel=1e-6
        )


def test_a_lone_accent_lies_where_thirds_cross_and_others_opposite() -> None:
    cells = grid(9, 9)
    families = ["navy"] * 79 + ["coral", "gold"]
    labs = np.random.default_rng(5).normal(50, 10, (81, 3))
    pieces = PieceColours(labs, list(range(81)), {"family": families})
    for seed in range(4):
        laid = arrange(cells, pieces, seed=seed)
        spots = [divmod(laid.piece_at.index(piece), 9) for piece in (79, 80)]
        assert all(1 < row < 7 and 1 < across < 7 for row, across in spots)
        (one, other), (third, fourth) = spots
        assert abs(one - third) + abs(other - fourth) >= 2
    pinned = arrange(cells, pieces, seed=1, start=list(range(80, -1, -1)), fixed={0})
    assert pinned.piece_at[0] == 80  # by hand it may lie at the rim


def test_memory_grows_no_faster_than_pieces_to_the_power_of_one_and_a_half() -> None:
    peaks = []
    for rows, across in ((24, 25), (50, 60)):
        labs = np.random.default_rng(6).normal(50, 10, (rows * across, 3))
        families = [("navy", "teal", "sand")[at % 3] for at in range(rows * across)]
        pieces = PieceColours(labs, [at // 2 for at in range(rows * across)], {"family": families})
        cells = grid(rows, across)
        tracemalloc.start()
        judge_layout(cells, pieces, range(rows * across))
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[1] <= peaks[0] * (3000 / 600) ** 1.5


def test_a_swap_and_a_part_shuffled_do_not_wait_for_the_lower_bound() -> None:
    def never(_kernels: object) -> np.ndarray:
        raise AssertionError("the bound was worked out")

    cells, pieces = grid(8, 9), scrappy(72, 72, 3)
    before = arrange(cells, pieces, seed=2, floors=never)
    part = set(range(20, 32))
    after = arrange(
        cells, pieces, seed=3, start=before.piece_at, fixed=set(range(72)) - part, floors=never
    )
    assert all(after.piece_at[cell] == before.piece_at[cell] for cell in set(range(72)) - part)
    swapped = judge_layout(cells, pieces, swap(after.piece_at, 1, 2), floors=never)
    assert swapped.cost > 0
    with pytest.raises(AssertionError, match="bound"):
        assert swapped.evenness.score


def test_a_part_is_shuffled_by_the_same_costs_as_the_whole() -> None:
    cells, pieces = grid(8, 9), scrappy(72, 30, 3)
    worse = arrange(cells, pieces, seed=2).piece_at
    part = list(range(20, 32))
    mixed = list(worse)
    for one, other in zip(part, np.random.default_rng(1).permutation(part).tolist(), strict=True):
        mixed[one] = worse[other]
    fixed = set(range(72)) - set(part)
    again = arrange(cells, pieces, seed=3, start=mixed, fixed=fixed)
    assert again.cost <= judge_layout(cells, pieces, mixed).cost
    assert again.cost == pytest.approx(judge_layout(cells, pieces, again.piece_at).cost)
    for one in part:  # no swap within the part makes it better
        for other in part:
            changed = judge_layout(cells, pieces, swap(again.piece_at, one, other))
            assert changed.cost >= again.cost - 1e-6


def test_neighbours_of_one_family_are_rare_where_others_are_at_hand() -> None:
    cells, pieces = grid(8, 9), scrappy(72, 72, 7)
    family = pieces.classes["family"]
    laid = arrange(cells, pieces, seed=1)
    met = np.mean([family[laid.piece_at[a]] == family[laid.piece_at[b]] for a, b in cells.pairs])
    chance = np.mean([a == b for k, a in enumerate(family) for b in family[:k]])
    assert met < chance / 4
