"""Nothing pretends: what may be one cloth is counted, allotted and laid out as one until asked."""

from __future__ import annotations

from pathlib import Path

import pytest

from stash.cli.match_commands import match_body
from stash.colour.palette_words import palette_of_words
from stash.shape.plane.outline import outline_of
from stash.shape.templates.template import make_template
from stash.storage.sqlite_store import FolderStore
from stash.usecases.matching.match_palette import MatchRequest, match
from stash.usecases.pieces.piece_counts import CutRule
from stash.usecases.ports import ScrapToLog
from stash.usecases.quilts.neighbours import tally
from stash.usecases.quilts.plan_quilt import QuiltRequest, make_quilt, quilt_named
from stash.usecases.quilts.quilt_allot import allot_quilt
from stash.usecases.quilts.quilt_enough import enough_for
from stash.usecases.quilts.quilt_layout import LayoutRequest, lay_out
from stash.usecases.twins.answer_twins import Answers, answer_twins
from stash.usecases.twins.imprints import take_imprints
from stash.wiring import open_store
from tests.usecases.twin_cloth import checks, looks

SQUARE = outline_of([(0, 0), (4, 0), (4, 4), (0, 4)])
INKS = [(40, 60, 140), (40, 60, 140), (170, 40, 50), (170, 40, 50), (60, 120, 60), (90, 60, 30)]


@pytest.fixture
def store(tmp_path: Path) -> FolderStore:
    """Scraps 1 and 2 of one cloth, 3 and 4 of one, 5 and 6 each of its own."""
    made = open_store(tmp_path / "stash")
    for seed, ink in enumerate(INKS):
        to_log = ScrapToLog(
            SQUARE, looks(20.0 + 10 * seed), checks(ink, seed=seed), 60.0, top_in=4.0
        )
        made.add_scrap(to_log, why="added")
    take_imprints(made)
    return made


def quilt(store: FolderStore, pieces: int, *, charm: bool = True) -> str:
    request = QuiltRequest(
        name="raffle", template="square", size="2", rows=1, across=pieces, charm=charm
    )
    make_quilt(store, request)
    return "raffle"


def true_cloths(store: FolderStore, name: str) -> list[tuple[int, ...]]:
    return [INKS[piece.scrap - 1] for piece in quilt_named(store, name).pieces]


def test_a_charm_quilt_promises_four_of_six_and_says_what_is_not_decided(
    store: FolderStore,
) -> None:
    found = enough_for(store, quilt(store, 4)).enough
    assert found.possible
    assert (found.pieces, found.fabrics) == (4, 4)
    assert str(found.fabric_count) == "4 to 6 fabrics; 2 pairs not decided"


def test_suspected_twins_are_never_both_allotted_to_a_charm_quilt(store: FolderStore) -> None:
    answer = allot_quilt(store, quilt(store, 4))
    assert answer.possible
    assert len(set(true_cloths(store, "raffle"))) == 4


def test_a_plan_that_is_short_by_twins_says_which_answers_help(store: FolderStore) -> None:
    name = quilt(store, 5)
    answer = allot_quilt(store, name)
    assert not answer.possible
    helps = next(change for change in answer.changes if change.kind == "decide")
    assert helps.enough
    assert helps.scraps == (1, 2, 3, 4)
    answer_twins(store, Answers(same=((1, 2),), different=((3, 4),)))
    assert allot_quilt(store, name).possible


def test_answers_that_cannot_be_enough_say_so(store: FolderStore) -> None:
    helps = next(
        change
        for change in enough_for(store, quilt(store, 9)).enough.changes
        if change.kind == "decide"
    )
    assert not helps.enough
    assert helps.amounts == {"pieces": 2}


def test_suspected_twins_are_kept_apart_in_a_layout_and_told_where_they_cannot_be(
    store: FolderStore,
) -> None:
    name = quilt(store, 6, charm=False)
    answer_twins(store, Answers(different=((3, 4),)))
    assert allot_quilt(store, name).possible
    _, laid = lay_out(store, name, LayoutRequest(seed=1))
    assert laid.undecided_pairs == 0
    one, other = (
        next(at for at, piece in enumerate(laid.piece_at) if _scrap(store, piece) == scrap)
        for scrap in (1, 2)
    )
    beside = one + 1 if one < 5 else one - 1
    if other != beside:
        _, laid = lay_out(
            store, name, LayoutRequest(swaps=((f"1.{beside + 1}", f"1.{other + 1}"),), keep=True)
        )
    assert laid.undecided_pairs == 1


def _scrap(store: FolderStore, piece: int) -> int:
    return quilt_named(store, "raffle").pieces[piece].scrap


def test_a_quilt_knows_of_a_join_made_after_it_was_allotted(store: FolderStore) -> None:
    name = quilt(store, 6, charm=False)
    answer_twins(store, Answers(different=((1, 2), (3, 4))))
    allot_quilt(store, name)
    answer_twins(store, Answers(same=((1, 2),)))
    fabrics = {piece.scrap: piece.fabric for piece in quilt_named(store, name).pieces}
    assert fabrics[1] == fabrics[2]


def test_the_tally_counts_twins_once(store: FolderStore) -> None:
    counts = [one.count for one in tally(store)]
    assert sum(one.most for one in counts) == 6
    answer_twins(store, Answers(same=((1, 2), (3, 4))))
    assert sum(one.fabrics for one in tally(store)) == 4


def test_a_match_counts_what_may_be_one_cloth_once(store: FolderStore) -> None:
    palette = palette_of_words("x", "greys")
    answer = match(store, MatchRequest(palette, make_template("square", 1), CutRule()))
    assert len(answer.can_go_in) == 6
    assert match_body(answer)["fabrics"] == {"least": 4, "most": 6, "undecided_pairs": 2}
