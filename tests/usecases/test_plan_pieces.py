"""What a plan holds, frees and counts: facts told piece by piece, on cloth put in by hand.

A piece is a 4-inch square, cut 4 1/2 in wide: laid with its middle at (x, y) it reaches 2 1/4 in
to every side.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from stash.colour.spaces import lab_of_hex
from stash.errors import PlanError
from stash.quilt.plan import CropPlace, HeldCloth, Plan, Quilt, QuiltPiece
from stash.scrap import ScrapState
from stash.shape.templates.template import make_template
from stash.storage.sqlite_store import FolderStore
from stash.usecases.pieces.piece_counts import CutRule
from stash.usecases.pieces.what_scraps_give import gives_one
from stash.usecases.quilts.neighbours import range_words
from stash.usecases.quilts.plan_quilt import QuiltRequest, held_on_scraps, make_quilt, name_free
from stash.usecases.quilts.quilt_counts import next_count
from stash.usecases.quilts.quilt_cut import after_cutting, begun_of
from stash.usecases.quilts.quilt_enough import pieces_as_supplies
from stash.usecases.quilts.quilt_pieces import still_there
from stash.usecases.quilts.quilt_stock import growth_on
from tests.usecases.cloth import NAVY, put, rectangle

PLAN = Plan("square", "4", "straight", straight=True, rows=1, across=2)
BLUE = lab_of_hex(NAVY)


def piece(scrap: int, *, fabric: int = 1, at: float = 2.5, **more: object) -> QuiltPiece:
    """A piece with its lower left corner on a scrap at least a quarter inch from both borders."""
    made = QuiltPiece(scrap, fabric, BLUE, "blue", "dark", crop=CropPlace(at, 2.5, 0.0))
    return replace(made, **more)  # type: ignore[arg-type]


def keep(store: FolderStore, name: str, **held: object) -> Quilt:
    made = make_quilt(store, QuiltRequest(name, "square", "4", rows=1, across=2))
    return replace(made, **held)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("now", "found"),
    # Only counts of three are to be had, and none past 30.
    [(0, 3), (3, 6), (4, 6), (27, 30), (30, None), (29, 30)],
)
def test_the_next_count_is_the_first_larger_one_that_the_setting_has(now, found):
    assert next_count(lambda rows: rows if rows % 3 == 0 and rows <= 30 else None, now) == found


def test_a_next_count_is_looked_for_as_far_as_said_and_no_further():
    only_nine = {9: 81}.get
    assert next_count(only_nine, 4, within=5) == 9
    assert next_count(only_nine, 4, within=4) is None


def test_a_number_that_is_sure_is_told_without_its_bounds():
    assert (range_words(3, 3), range_words(2, 5)) == ("3", "2 to 5")


def test_unwashed_cloth_is_cut_larger_by_what_it_will_lose(store):
    washed, new = put(store), put(store, washed=False)
    assert growth_on(washed, PLAN) == 1.0
    assert growth_on(new, PLAN) == pytest.approx(1 / 0.97)  # loses 3 %
    assert growth_on(new, replace(PLAN, shrink_share=0.0)) == 1.0


def test_pieces_that_are_alike_count_together_and_others_apart():
    many = [piece(1), piece(2), piece(3, fabric=2), piece(4, amount="main")]
    counts = sorted((one.fabric, one.amount, one.pieces) for one in pieces_as_supplies(many))
    assert counts == [(1, "", 2), (1, "main", 1), (2, "", 1)]
    assert pieces_as_supplies([]) == ()


def test_a_chosen_piece_is_there_until_its_cloth_is_not(store):
    scraps = [put(store, size=(5, 5)) for _ in range(4)]
    quilt = Quilt("tide", PLAN, tuple(piece(scrap.number) for scrap in scraps))
    assert still_there(store, quilt) == quilt.pieces
    store.delete_scrap(scraps[0].number, why="lost")
    gone = replace(scraps[1], state=ScrapState.CUT_UP)
    store.change_scrap(gone, seen=scraps[1], why="cut up")
    trimmed = replace(scraps[2], outline=rectangle(4.6, 5))  # the piece reaches to 4 3/4 in
    store.change_scrap(trimmed, seen=scraps[2], why="trimmed")
    assert still_there(store, quilt) == quilt.pieces[3:]


def test_what_is_cut_or_still_to_find_is_not_among_what_can_be_cut(store):
    scrap = put(store, size=(5, 5))
    there = piece(scrap.number)
    pieces = (there, replace(there, cut=True), piece(0, crop=None))
    assert still_there(store, Quilt("tide", PLAN, pieces)) == (there,)


def test_a_scrap_with_nothing_left_is_cut_up_and_else_keeps_the_first_part(store):
    scrap = put(store, size=(9, 9))
    assert after_cutting(scrap, []).state is ScrapState.CUT_UP
    first, second = rectangle(4, 9), rectangle(2, 2)
    left = after_cutting(replace(scrap, state=ScrapState.RESERVED), [first, second])
    assert (left.number, left.outline, left.state) == (scrap.number, first, ScrapState.WHOLE)


def test_a_part_that_becomes_a_scrap_is_of_the_same_cloth_in_the_same_bin(store):
    scrap = put(store, size=(9, 9), place="tin", washed=False)
    part = begun_of(store, scrap, rectangle(2, 3))
    assert (part.fabric, part.place, part.washed) == (scrap.fabric, "tin", False)
    assert part.outline == rectangle(2, 3)
    assert (part.appearance, part.picture_jpeg) == (scrap.appearance, b"")


def test_a_quilt_name_is_kept_without_blanks_and_only_once(store):
    keep(store, "Tidewater")
    assert name_free(store, "  Low tide ") == "Low tide"
    with pytest.raises(PlanError, match="already"):
        name_free(store, " Tidewater ")
    with pytest.raises(PlanError, match="needs a name"):
        name_free(store, "  ")


def test_the_quilt_that_asks_finds_its_own_pieces_free_and_cloth_for_an_edge_taken(
    store, monkeypatch
):
    mine, other = (Quilt(name, PLAN, (piece(number),)) for name, number in (("A", 1), ("B", 2)))
    strip = HeldCloth("binding", 3, 3, (((0, 0), (2, 0), (2, 9)),), (9.0,), 2.0)
    mine = replace(mine, cloth=(strip,))
    monkeypatch.setattr("stash.usecases.quilts.plan_quilt.quilts", lambda _store: (mine, other))
    assert {number: one.quilts for number, one in held_on_scraps(store, but="A").items()} == {
        2: ("B",), 3: ("A",),
    }  # fmt: skip
    everyone = held_on_scraps(store)
    assert set(everyone) == {1, 2, 3}
    (ring,) = everyone[1].pieces
    assert min(x for x, _ in ring) == pytest.approx(2.5 - 2.25)
    more = held_on_scraps(store, also=(mine, [piece(2, at=9.0)]))
    assert len(more[2].pieces) == 2
    assert more[2].words == "B and A"


@pytest.mark.parametrize(
    ("side_in", "washed", "gives"),
    # 4 1/2 in are cut; of 4.6 in of new cloth 3 % may go: 4.462 are left.
    [(4.6, True, True), (4.4, True, False), (4.6, False, False), (4.7, False, True)],
)
def test_a_scrap_gives_a_piece_by_its_size_after_washing(store, side_in, washed, gives):
    scrap = put(store, size=(side_in, side_in), washed=washed)
    square = make_template("square", "4")
    assert [gives_one(store, square, CutRule(), scrap) for _ in range(2)] == [gives, gives]
