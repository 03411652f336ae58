"""Finding what is missing only: all that is chosen and can still be cut stays as it is.

A piece is a 4-inch square, cut 4 1/2; a scrap of 5 x 5 in gives one.
"""

from __future__ import annotations

import pytest

from stash.quilt.plan import Quilt
from stash.storage.sqlite_store import FolderStore
from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt, quilt_named
from stash.usecases.quilts.quilt_allot import allot_quilt
from stash.usecases.quilts.quilt_layout import LayoutRequest, lay_out
from tests.usecases.cloth import CREAM, NAVY, PINK, RED, SKY, TEAL, put

COLOURS = (NAVY, TEAL, SKY, CREAM, RED, PINK)


def charm_of_four(store: FolderStore) -> Quilt:
    make_quilt(store, QuiltRequest("raffle", "square", "4", rows=2, across=2, charm=True))
    assert allot_quilt(store, "raffle").possible
    lay_out(store, "raffle", LayoutRequest())
    return quilt_named(store, "raffle")


def lies(quilt: Quilt) -> list[tuple[int, object]]:
    """Scrap and place on it of what lies in each place of the top."""
    pieces = [quilt.pieces[number] for number in quilt.piece_at]
    return [(piece.scrap, piece.crop) for piece in pieces]


def test_one_scrap_lost_changes_one_place(store: FolderStore) -> None:
    for colour in COLOURS:
        put(store, colour)
    before = lies(charm_of_four(store))
    lost = before[2][0]
    store.delete_scrap(lost, why="lost")
    answer = allot_quilt(store, "raffle", fill=True)
    assert answer.possible
    after = lies(answer.quilt)
    assert [at for at in range(4) if after[at] != before[at]] == [2]
    assert len({piece.fabric for piece in answer.quilt.pieces}) == 4


def test_a_charm_quilt_is_not_filled_with_a_fabric_it_has(store: FolderStore) -> None:
    for colour in COLOURS[:4]:
        put(store, colour)
    whole = charm_of_four(store)
    kept, lost = whole.pieces[0], whole.pieces[3]
    put(store, NAVY, fabric=kept.fabric)  # cloth there is, but of a fabric that is in the quilt
    store.delete_scrap(lost.scrap, why="lost")
    before = quilt_named(store, "raffle")
    answer = allot_quilt(store, "raffle", fill=True)
    assert not answer.possible
    assert quilt_named(store, "raffle") == before
    another = put(store, PINK)
    filled = allot_quilt(store, "raffle", fill=True)
    assert filled.possible
    new = {piece.scrap for piece in filled.quilt.pieces} - {one.scrap for one in whole.pieces}
    assert new == {another.number}


@pytest.mark.parametrize("fill", [False, True])
def test_a_whole_quilt_asked_again_stays_as_it_is(store: FolderStore, fill: bool) -> None:
    for colour in COLOURS:
        put(store, colour)
    before = lies(charm_of_four(store))
    assert lies(allot_quilt(store, "raffle", fill=fill).quilt) == before
