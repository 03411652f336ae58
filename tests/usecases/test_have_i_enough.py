"""Have I enough: counted by hand on scraps that give one piece each, or four.

Unless said otherwise a piece is a 4-inch square: 4 1/2 in cut, so that 5 x 5 in of washed cloth
give one of it and 9 x 9 in exactly four.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from stash.quilt.plan import Quilt
from stash.storage.sqlite_store import FolderStore
from stash.usecases.palettes.manage_palettes import PaletteRequest, make_palette
from stash.usecases.quilts.change_quilt import replan_quilt
from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt, quilt_named, set_aside
from stash.usecases.quilts.quilt_allot import allot_quilt
from stash.usecases.quilts.quilt_enough import enough_for
from tests.usecases.cloth import CREAM, NAVY, PINK, RED, SKY, TEAL, put

# Of the palette below "hardly in the palette": a purple that blue quilts can bear.
PURPLE = "#6a5acd"
BLUES = ("#1f3f7a", "#3f5fa0", "#2a4b8d", "#27405c", "#355c9a", "#1b2f66", "#4a6fb0", "#20386e")


def plan(store: FolderStore, *, rows: int = 2, across: int = 3, **more: object) -> Quilt:
    asked = QuiltRequest("raffle", "square", "4", rows=rows, across=across)
    return make_quilt(store, replace(asked, **more))


def again(store: FolderStore, **more: object) -> Quilt:
    asked = QuiltRequest("raffle", "square", "4", rows=2, across=3)
    return replan_quilt(store, replace(asked, **more)).quilt


def blues_and_teals(store: FolderStore, words: str = "blues and teals; no pinks") -> None:
    make_palette(store, PaletteRequest("tide", words=words))


@pytest.mark.parametrize(("fabrics", "more", "rows"), [(8, False, 2), (9, True, 3), (11, True, 3)])
def test_one_row_more_is_possible_once_there_are_three_fabrics_more(
    store: FolderStore, fabrics: int, more: bool, rows: int
) -> None:
    plan(store, charm=True)  # 2 rows of 3; a third row makes 9
    for _ in range(fabrics):
        put(store)
    answer = enough_for(store, "raffle")
    assert answer.enough.possible
    assert (answer.rows.count, answer.rows.possible, answer.rows.pieces) == (3, more, 9)
    assert (answer.rows.most, answer.most_pieces) == (rows, fabrics)
    # Two rows of four are 8 pieces, of five 10.
    assert (answer.across.count, answer.across.possible, answer.across.pieces) == (4, True, 8)
    assert answer.across.most == (5 if fabrics >= 10 else 4)


def test_two_scraps_of_one_fabric_count_once_in_a_charm_quilt(store: FolderStore) -> None:
    plan(store, charm=True)
    for _ in range(5):
        first = put(store)
    put(store, fabric=first.fabric)
    answer = enough_for(store, "raffle")
    assert not answer.enough.possible
    assert (answer.enough.pieces, answer.enough.fabrics, answer.enough.short) == (5, 5, 1)
    assert (answer.enough.pieces_needed, answer.enough.fabrics_needed) == (6, 6)


def test_without_a_rule_the_least_limit_that_works_is_taken(store: FolderStore) -> None:
    # Two fabrics of four pieces each, six wanted: three of each is as scrappy as it gets.
    plan(store)
    for colour in (NAVY, TEAL):
        put(store, colour, (9.0, 9.0))
    answer = allot_quilt(store, "raffle")
    assert (answer.possible, answer.limit) == (True, 3)
    assert [piece.fabric for piece in answer.quilt.pieces] == [1, 1, 1, 2, 2, 2]


def test_a_limit_that_was_asked_for_is_kept(store: FolderStore) -> None:
    plan(store, limit=2)
    for colour in (NAVY, TEAL, SKY, CREAM):
        put(store, colour, (9.0, 9.0))
    answer = allot_quilt(store, "raffle")
    assert answer.limit == 2
    fabrics = [piece.fabric for piece in answer.quilt.pieces]
    assert len(fabrics) == 6
    assert max(map(fabrics.count, fabrics)) == 2


def test_a_fabric_to_buy_comes_in_the_smallest_cut_that_gives_the_piece(
    store: FolderStore,
) -> None:
    # A 5-inch precut is 4.85 in after washing: a 4 1/2-in cut fits, a 5-in cut (4 1/2 finished)
    # does not, and the next larger cut is the 10-inch square.
    for size, cut in (("4", "5-inch square"), ("4 1/2", "10-inch square")):
        again(store, charm=True, size=size)
        (buy,) = enough_for(store, "raffle").to_buy
        assert (buy.fabrics, buy.cut.name, buy.pieces_each) == (6, cut, 1)
    # Taken as washed, 5 in stay 5 in.
    again(store, charm=True, size="4 1/2", shrink_share=0.0)
    assert enough_for(store, "raffle").to_buy[0].cut.name == "5-inch square"
    # A piece of 42 1/2 in fits on no cut of 40 in width.
    again(store, charm=True, size="42")
    (buy,) = enough_for(store, "raffle").to_buy
    assert (buy.fabrics, buy.cut.name) == (6, "")


def test_nothing_is_to_buy_where_there_is_enough(store: FolderStore) -> None:
    plan(store, charm=True)
    for _ in range(6):
        put(store)
    answer = enough_for(store, "raffle")
    assert (answer.to_buy, answer.substitutes) == ((), ())


def test_only_cloth_to_look_at_twice_of_the_same_value_stands_in(store: FolderStore) -> None:
    # Dark is short. The violet and the purple are hardly in the palette, the red and the pink are
    # not at all: what clashes is proposed for nothing, nor what is of another value.
    blues_and_teals(store)
    plan(store, charm=True, palette="tide", values={"dark": 1.0})
    for colour in BLUES[:3]:
        put(store, colour)
    for colour in (PINK, RED, "#5b3f8a", PURPLE):
        put(store, colour)
    answer = enough_for(store, "raffle")
    assert not answer.enough.possible
    dark = [one for one in answer.substitutes if one.part == "dark"]
    # CIEDE2000 from the mean of the two darkest blues by colour-science: violet 12.73.
    assert [one.fabric for one in dark] == [6]
    assert dark[0].distance_de00 == pytest.approx(12.73, abs=0.1)
    assert dark[0].why_not


def test_a_scrap_too_small_for_a_piece_stands_in_for_nothing(store: FolderStore) -> None:
    blues_and_teals(store)
    plan(store, charm=True, palette="tide", values={"dark": 1.0})
    put(store, NAVY)
    put(store, "#2a4b8d", (4.4, 4.4))  # belongs, but 4 1/2 in do not fit on it
    put(store, "#5b3f8a", (5.0, 5.0))
    assert {one.fabric for one in enough_for(store, "raffle").substitutes} == {3}


def test_only_cloth_that_belongs_is_counted(store: FolderStore) -> None:
    blues_and_teals(store)
    plan(store, charm=True, palette="tide")
    for colour in (NAVY, TEAL, RED, PINK, PURPLE):
        put(store, colour)
    answer = enough_for(store, "raffle")
    assert (answer.enough.pieces, answer.enough.fabrics) == (2, 2)


def test_a_borderline_fabric_is_the_last_resort(store: FolderStore) -> None:
    # The purple is far smaller than the blues: by cloth alone it would be cut first.
    blues_and_teals(store)
    plan(store, charm=True, palette="tide", borderline=True)
    small = put(store, PURPLE, (4.6, 4.6))
    for colour in BLUES[:6]:
        put(store, colour, (12.0, 12.0))
    answer = allot_quilt(store, "raffle")
    assert answer.reluctant == 0
    assert small.fabric not in {piece.fabric for piece in answer.quilt.pieces}


def test_a_borderline_fabric_comes_in_when_those_that_belong_run_out(store: FolderStore) -> None:
    blues_and_teals(store)
    plan(store, charm=True, palette="tide", borderline=True)
    small = put(store, PURPLE)
    for colour in BLUES[:5]:
        put(store, colour)
    answer = allot_quilt(store, "raffle")
    assert (answer.possible, answer.reluctant) == (True, 1)
    assert small.fabric in {piece.fabric for piece in answer.quilt.pieces}


def test_a_borderline_fabric_stays_out_unless_the_plan_takes_it(store: FolderStore) -> None:
    blues_and_teals(store)
    plan(store, charm=True, palette="tide")
    put(store, PURPLE)
    for colour in BLUES[:5]:
        put(store, colour)
    answer = allot_quilt(store, "raffle")
    assert not answer.possible
    assert not quilt_named(store, "raffle").pieces
    assert "buy" in {change.kind for change in answer.changes}


def test_the_smallest_scraps_that_do_are_cut_first(store: FolderStore) -> None:
    plan(store, charm=True, rows=1)
    sizes = (12.0, 4.6, 9.0, 4.7, 5.0, 20.0)
    for side in sizes:
        put(store, size=(side, side))
    answer = allot_quilt(store, "raffle")
    assert sorted(piece.scrap for piece in answer.quilt.pieces) == [2, 4, 5]
    assert answer.opened_sq_in == pytest.approx(4.6**2 + 4.7**2 + 5.0**2)


def test_unwashed_cloth_gives_a_piece_only_if_it_does_after_washing(store: FolderStore) -> None:
    # 4.6 in less 3 % are 4.46 in: short of the 4 1/2 in cut; 4.7 in are 4.559.
    plan(store, charm=True, rows=1, across=1)
    put(store, size=(4.6, 4.6), washed=False)
    assert enough_for(store, "raffle").enough.pieces == 0
    put(store, size=(4.7, 4.7), washed=False)
    assert enough_for(store, "raffle").enough.pieces == 1


def test_a_piece_on_unwashed_cloth_is_cut_larger_by_what_it_will_lose(store: FolderStore) -> None:
    plan(store, charm=True, rows=1, across=2)
    put(store, size=(6.0, 6.0), washed=False)
    put(store, size=(6.0, 6.0), washed=True)
    pieces = allot_quilt(store, "raffle").quilt.pieces
    growth = {piece.scrap: piece.crop.growth for piece in pieces if piece.crop}
    assert growth == pytest.approx({1: 1 / 0.97, 2: 1.0})


def test_scraps_another_quilt_holds_are_left_alone(store: FolderStore) -> None:
    plan(store, charm=True, rows=1)
    for _ in range(5):
        put(store)
    allot_quilt(store, "raffle")
    plan(store, charm=True, rows=1, name="cushion")
    answer = enough_for(store, "cushion")
    assert (answer.enough.possible, answer.enough.pieces) == (False, 2)
    release = next(one for one in answer.enough.changes if one.kind == "release")
    assert (dict(release.amounts), len(release.scraps)) == ({"raffle": 1}, 1)
    # Allotted again, a quilt may take what it held itself; set aside, it holds nothing.
    assert allot_quilt(store, "raffle").possible
    set_aside(store, "raffle")
    assert enough_for(store, "cushion").enough.possible


def test_values_are_those_by_which_fabrics_are_listed(store: FolderStore) -> None:
    plan(store, charm=True, rows=1)
    for colour in ("#101010", "#707070", "#f0f0f0"):
        put(store, colour)
    parts = {
        one.name: one.pieces
        for one in enough_for(store, "raffle").enough.parts
        if one.by == "value"
    }
    assert parts == {"dark": 1, "medium": 1, "light": 1}


def test_a_palette_of_amounts_is_met_part_by_part(store: FolderStore) -> None:
    # main : touch = 6 : 1, half to one and a half of 1/7 for the touch: at least one of seven
    # pieces is coral, and at most two.
    make_palette(store, PaletteRequest("tide", words="mostly blues, a touch of coral"))
    plan(store, rows=1, across=7, charm=True, palette="tide")
    for colour in BLUES[:7]:
        put(store, colour)
    answer = enough_for(store, "raffle")
    assert not answer.enough.possible
    short = [one.name for one in answer.enough.parts if one.by == "amount" and one.short]
    assert len(short) == 1
    assert {one.part for one in answer.to_buy} == set(short)
