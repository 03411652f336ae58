"""What may be one cloth: asked once, answered for ever, whatever the order of the answers."""

from __future__ import annotations

from itertools import permutations
from pathlib import Path

import pytest

from stash.errors import ChangedElsewhereError, NotFoundError, TwinsError
from stash.scrap import ScrapState, TwinWord
from stash.shape.plane.outline import outline_of
from stash.storage.sqlite_store import FolderStore
from stash.usecases.ports import ScrapToLog
from stash.usecases.scraps.correct_scraps import Correction, correct_scrap
from stash.usecases.twins.answer_twins import Answers, answer_twins
from stash.usecases.twins.imprints import not_compared, take_imprints
from stash.usecases.twins.one_cloth_questions import review
from stash.wiring import open_store
from tests.usecases.twin_cloth import checks, looks

SQUARE = outline_of([(0, 0), (4, 0), (4, 4), (0, 4)])


def add(store: FolderStore, picture: bytes, *, fabric: int | None = None) -> int:
    to_log = ScrapToLog(SQUARE, looks(), picture, px_per_in=60.0, top_in=4.0, fabric=fabric)
    return store.add_scrap(to_log, why="added").number


@pytest.fixture
def store(tmp_path: Path) -> FolderStore:
    """Scraps 1, 2, 3 of one blue check, 4 and 5 of one red check, 6 a large blue check."""
    made = open_store(tmp_path / "stash")
    for seed in (1, 2, 3):
        add(made, checks((40, 60, 140), seed=seed))
    for seed in (4, 5):
        add(made, checks((170, 40, 50), seed=seed))
    add(made, checks((40, 60, 140), seed=6, pitch_px=40))
    take_imprints(made)
    return made


def waiting(store: FolderStore) -> list[tuple[int, ...]]:
    return [group.scraps for group in review(store).waiting]


def fabrics(store: FolderStore) -> dict[int, int]:
    return {scrap.number: scrap.fabric for scrap in store.scraps()}


def test_pieces_of_one_cloth_wait_together_and_look_alikes_do_not(store: FolderStore) -> None:
    assert waiting(store) == [(1, 2, 3), (4, 5)]
    assert str(review(store).count) == "3 to 6 fabrics; 3 pairs not decided"


def test_a_joined_group_moves_whole_and_is_not_asked_again(store: FolderStore) -> None:
    answer_twins(store, Answers(same=((1, 2),)))
    answer_twins(store, Answers(same=((2, 3),)))
    assert len({fabrics(store)[number] for number in (1, 2, 3)}) == 1
    assert waiting(store) == [(4, 5)]
    assert (review(store).count.least, review(store).count.most) == (3, 4)


@pytest.mark.parametrize("order", list(permutations([(1, 2), (3, 2), (5, 1)])))
def test_joins_give_the_same_fabrics_in_any_order(
    store: FolderStore, order: tuple[tuple[int, int], ...]
) -> None:
    for pair in order:
        answer_twins(store, Answers(same=(pair,)))
    assert {fabrics(store)[number] for number in (1, 2, 3, 5)} == {1}
    assert fabrics(store)[4] == 4


@pytest.mark.parametrize("word", ["different", "not_sure"])
def test_what_was_answered_is_never_asked_again(store: FolderStore, word: str) -> None:
    answer_twins(store, Answers(**{word: ((4, 5),)}))
    assert waiting(store) == [(1, 2, 3)]
    add(store, checks((170, 40, 50), seed=9))
    take_imprints(store)
    assert not any({4, 5} == set(group) for group in waiting(store))


def test_not_sure_still_counts_once_and_different_counts_twice(store: FolderStore) -> None:
    answer_twins(store, Answers(same=((1, 2, 3),), not_sure=((4, 5),)))
    assert (review(store).count.least, review(store).count.most) == (3, 4)
    answer_twins(store, Answers(different=((4, 5),)))
    assert str(review(store).count) == "4 fabrics"


def test_a_new_outline_is_asked_about_anew_and_a_new_bin_is_not(store: FolderStore) -> None:
    answer_twins(store, Answers(different=((4, 5),)))
    correct_scrap(store, 4, Correction(place="bin 2"))
    take_imprints(store)
    assert (4, 5) not in waiting(store)
    smaller = outline_of([(0, 0), (3, 0), (3, 4), (0, 4)])
    correct_scrap(store, 4, Correction(outline=smaller))
    take_imprints(store)
    assert (4, 5) in waiting(store)
    store.undo()
    take_imprints(store)
    assert (4, 5) not in waiting(store)


def test_many_answers_are_one_change(store: FolderStore) -> None:
    before = fabrics(store)
    answer_twins(store, Answers(same=((1,),), different=((4, 5),)))
    assert waiting(store) == []
    store.undo()
    assert fabrics(store) == before
    assert waiting(store) == [(1, 2, 3), (4, 5)]
    store.redo()
    assert waiting(store) == []


def test_a_different_within_one_cloth_is_told_as_a_contradiction(store: FolderStore) -> None:
    answer_twins(store, Answers(different=((1, 3),)))
    before = fabrics(store)
    with pytest.raises(TwinsError) as told:
        answer_twins(store, Answers(same=((1, 2), (2, 3))))
    assert told.value.scraps == (1, 3)
    assert fabrics(store) == before
    with pytest.raises(TwinsError):
        answer_twins(store, Answers(same=((4, 5),), different=((5, 4),)))
    assert fabrics(store) == before
    answer_twins(store, Answers(same=((1, 3),)))  # the very pair, answered anew
    assert fabrics(store)[1] == fabrics(store)[3]


def test_a_parted_scrap_is_of_its_own_cloth_and_not_asked_about(store: FolderStore) -> None:
    answer_twins(store, Answers(same=((1, 2, 3),)))
    answer_twins(store, Answers(parted=(2,)))
    assert fabrics(store)[1] == fabrics(store)[3] != fabrics(store)[2]
    assert waiting(store) == [(4, 5)]


def test_two_said_to_be_different_are_parted_if_they_were_joined(store: FolderStore) -> None:
    answer_twins(store, Answers(same=((4, 5),)))
    answer_twins(store, Answers(different=((4, 5),)))
    assert fabrics(store)[4] != fabrics(store)[5]
    assert (4, 5) not in waiting(store)


def test_the_rest_is_answered_in_one_word(store: FolderStore) -> None:
    answer_twins(store, Answers(same=((1, 2, 3),), rest=TwinWord.DIFFERENT))
    assert waiting(store) == []
    assert str(review(store).count) == "4 fabrics"


def test_an_unknown_scrap_and_one_cut_up_are_refused_and_nothing_is_kept(
    store: FolderStore,
) -> None:
    before = fabrics(store)
    with pytest.raises(NotFoundError):
        answer_twins(store, Answers(same=((1, 2), (3, 99))))
    scrap = store.scrap(3)
    from dataclasses import replace

    store.change_scrap(replace(scrap, state=ScrapState.CUT_UP), seen=scrap, why="cut")
    with pytest.raises(TwinsError, match="cut up"):
        answer_twins(store, Answers(same=((1, 3),)))
    assert fabrics(store) == before


def test_a_group_that_another_window_answered_is_refused(store: FolderStore) -> None:
    answer_twins(store, Answers(different=((4, 5),)))
    with pytest.raises(ChangedElsewhereError):
        answer_twins(store, Answers(same=((4, 5),), as_seen=((4, 5),)))
    assert fabrics(store)[4] != fabrics(store)[5]


def test_answers_survive_export_and_import(store: FolderStore, tmp_path: Path) -> None:
    answer_twins(store, Answers(different=((4, 5),), not_sure=((1, 2),)))
    store.export(str(tmp_path / "open"))
    other = open_store(tmp_path / "other")
    other.take_in(str(tmp_path / "open"))
    assert other.twin_answers() == store.twin_answers()
    assert not_compared(other) == 6
    take_imprints(other)
    assert waiting(other) == waiting(store)


def test_answers_survive_backup_and_restore(store: FolderStore, tmp_path: Path) -> None:
    answer_twins(store, Answers(different=((4, 5),)))
    store.backup(str(tmp_path / "kept.zip"))
    from stash.storage.backup import bring_back

    bring_back(tmp_path / "kept.zip", tmp_path / "back")
    back = open_store(tmp_path / "back")
    assert back.twin_answers() == store.twin_answers()
    assert waiting(back) == waiting(store)
