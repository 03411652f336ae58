"""What may be one cloth, asked of pairs that are put in by hand: no picture, no imprint taken.

Two scraps look like one cloth up to 1.0 apart (``twin_groups.ASKED``).
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from stash.colour.imprint.layout import RECIPE
from stash.errors import ChangedElsewhereError, NotFoundError, TwinsError
from stash.scrap import ScrapState, TwinWord
from stash.storage.sqlite_store import FolderStore
from stash.usecases.twins.answer_twins import Answers, answer_twins
from stash.usecases.twins.imprints import not_compared, take_imprints
from stash.usecases.twins.one_cloth_questions import count_fabrics, review, undecided
from stash.usecases.twins.same_fabric import alike_to
from stash.wiring import open_store
from tests.usecases.cloth import put


def alike(store: FolderStore, count: int, *pairs: tuple[int, int, float]) -> None:
    """So many scraps, each of a fabric of its own, and how far apart some of them look."""
    for _ in range(count):
        put(store)
    store.keep_imprints(RECIPE, dict.fromkeys(range(1, count + 1), b""), pairs)


def fabrics(store: FolderStore) -> list[int]:
    return [scrap.fabric for scrap in store.scraps()]


def waiting(store: FolderStore) -> list[tuple[int, ...]]:
    return [group.scraps for group in review(store).waiting]


def test_only_pairs_as_near_as_one_cloth_are_asked_about(store: FolderStore) -> None:
    alike(store, 6, (1, 2, 1.0), (3, 4, 1.01), (5, 6, 0.2))
    assert waiting(store) == [(1, 2), (5, 6)]
    assert undecided(store).pairs == {(1, 2), (5, 6)}
    count = review(store).count
    assert (count.least, count.most, count.undecided) == (4, 6, 2)
    assert count_fabrics(store, [1, 2, 3]).least == 2
    assert review(store).group_of(2) == review(store).waiting[0]
    assert review(store).group_of(3) is None


def test_a_middling_match_is_not_asked_about_beside_a_good_one_nor_brought_up_by_an_answer(
    store: FolderStore,
) -> None:
    alike(store, 3, (1, 2, 0.1), (2, 3, 0.9))
    assert waiting(store) == [(1, 2)]
    answer_twins(store, Answers(different=((1, 2),)))
    assert waiting(store) == []
    assert review(store).count.undecided == 0


def test_three_that_all_look_alike_are_one_question(store: FolderStore) -> None:
    alike(store, 4, (1, 2, 0.3), (2, 3, 0.3), (1, 3, 0.4))
    assert waiting(store) == [(1, 2, 3)]
    assert review(store).count.least == 2
    # A chain whose ends look nothing alike is no group of three.
    store.keep_imprints(RECIPE, {4: b""}, [(3, 4, 0.9)])
    assert (1, 2, 3) in waiting(store)


def test_the_same_become_one_fabric_under_the_name_that_was_given(store: FolderStore) -> None:
    alike(store, 4, (1, 2, 0.3), (3, 4, 0.3))
    fabric = store.fabrics()[1]
    store.change_fabric(replace(fabric, name="Harbour"), seen=fabric, why="t")
    assert answer_twins(store, Answers(same=((1, 2),))) == ("scraps 1 and 2 are one cloth",)
    assert fabrics(store) == [2, 2, 3, 4]
    assert waiting(store) == [(3, 4)]
    assert answer_twins(store, Answers(same=((3, 4),))) != ()
    assert fabrics(store) == [2, 2, 3, 3]  # without a name the lesser number is kept
    store.undo()
    assert fabrics(store) == [2, 2, 3, 4]


def test_joins_meet_over_a_third(store: FolderStore) -> None:
    alike(store, 4)
    answer_twins(store, Answers(same=((1, 2), (2, 3))))
    assert fabrics(store) == [1, 1, 1, 4]


def test_different_holds_between_all_scraps_of_both_fabrics(store: FolderStore) -> None:
    alike(store, 3, (1, 3, 0.3))
    put(store, fabric=1)
    store.keep_imprints(RECIPE, {4: b""}, [(3, 4, 0.3)])
    answer_twins(store, Answers(different=((1, 3),)))
    assert {(one.one, one.other, one.answer) for one in store.twin_answers()} == {
        (1, 3, "different"), (3, 4, "different"),
    }  # fmt: skip
    assert waiting(store) == []
    assert review(store).count.least == 3
    assert [group.state for group in review(store).answered] == ["different"]


def test_not_sure_is_not_asked_again_and_counts_once(store: FolderStore) -> None:
    alike(store, 2, (1, 2, 0.3))
    answer_twins(store, Answers(not_sure=((1, 2),)))
    assert waiting(store) == []
    assert review(store).count.least == 1
    answer_twins(store, Answers(different=((1, 2),)))
    assert review(store).count.least == 2


def test_a_number_alone_means_the_group_it_waits_in(store: FolderStore) -> None:
    alike(store, 4, (1, 2, 0.3), (2, 3, 0.3), (1, 3, 0.3))
    answer_twins(store, Answers(same=((2,),)))
    assert fabrics(store) == [1, 1, 1, 4]
    with pytest.raises(TwinsError, match="Nothing waits about scrap 4"):
        answer_twins(store, Answers(same=((4,),)))


def test_the_rest_is_answered_but_for_what_was_named(store: FolderStore) -> None:
    alike(store, 6, (1, 2, 0.3), (3, 4, 0.3), (5, 6, 0.3))
    answer_twins(store, Answers(different=((3, 4),), rest=TwinWord.SAME))
    assert fabrics(store) == [1, 1, 3, 4, 5, 5]
    assert waiting(store) == []


def test_a_scrap_is_parted_from_its_fabric(store: FolderStore) -> None:
    alike(store, 1)
    put(store, fabric=1)
    put(store, fabric=1)
    assert answer_twins(store, Answers(parted=(2,))) == ("scrap 2 parted",)
    assert fabrics(store)[0] == fabrics(store)[2] != fabrics(store)[1]
    assert waiting(store) == []
    with pytest.raises(TwinsError, match="of its own already"):
        answer_twins(store, Answers(parted=(2,)))
    with pytest.raises(TwinsError, match="in one go"):
        answer_twins(store, Answers(parted=(1,), same=((1, 2),)))


def test_the_two_of_one_fabric_said_to_be_different_are_parted(store: FolderStore) -> None:
    alike(store, 1)
    put(store, fabric=1)
    answer_twins(store, Answers(different=((1, 2),)))
    assert len(set(fabrics(store))) == 2
    put(store, fabric=1)
    put(store, fabric=1)
    # Of three no two can be told apart by a word about two of them.
    with pytest.raises(TwinsError, match="counted as one cloth"):
        answer_twins(store, Answers(different=((1, 3),)))


def test_what_was_said_to_be_different_is_not_joined_over_a_third(store: FolderStore) -> None:
    alike(store, 3)
    answer_twins(store, Answers(different=((1, 3),)))
    with pytest.raises(TwinsError) as told:
        answer_twins(store, Answers(same=((1, 2), (2, 3))))
    assert told.value.scraps == (1, 3)
    assert fabrics(store) == [1, 2, 3]
    # Looked at together they may be said to be the same after all.
    answer_twins(store, Answers(same=((1, 2, 3),)))
    assert fabrics(store) == [1, 1, 1]
    assert "different" not in {one.answer for one in store.twin_answers()}


def test_the_same_answer_twice_is_no_change(store: FolderStore) -> None:
    alike(store, 2, (1, 2, 0.3))
    answer_twins(store, Answers(different=((1, 2),)))
    before = len(store.history())
    assert answer_twins(store, Answers(different=((1, 2),))) == ()
    assert len(store.history()) == before


def test_a_scrap_cut_up_or_gone_is_not_answered_about(store: FolderStore) -> None:
    alike(store, 3, (1, 2, 0.3))
    left = put(store, fabric=1)
    scrap = store.scrap(1)
    store.change_scrap(replace(scrap, state=ScrapState.CUT_UP), seen=scrap, why="cut")
    with pytest.raises(TwinsError, match=f"scrap {left.number}"):
        answer_twins(store, Answers(same=((1, 2),)))
    with pytest.raises(NotFoundError):
        answer_twins(store, Answers(same=((2, 99),)))
    assert store.twin_answers() == ()
    alone = store.scrap(3)
    store.change_scrap(replace(alone, state=ScrapState.CUT_UP), seen=alone, why="cut")
    with pytest.raises(TwinsError) as told:
        answer_twins(store, Answers(same=((2, 3),)))
    assert "what is left" not in str(told.value)


def test_a_group_that_no_longer_waits_as_it_was_seen_is_told(store: FolderStore) -> None:
    alike(store, 3, (1, 2, 0.3))
    answer_twins(store, Answers(same=((2, 1),), as_seen=((2, 1),)))
    with pytest.raises(ChangedElsewhereError):
        answer_twins(store, Answers(different=((1, 3),), as_seen=((1, 2),)))


def test_look_alikes_of_fresh_scraps_are_told_the_nearest_first(store: FolderStore) -> None:
    alike(store, 5, (1, 2, 0.6), (1, 3, 0.2), (1, 4, 1.2), (1, 5, 0.5))
    answer_twins(store, Answers(different=((1, 5),)))
    told = alike_to(store, [store.scrap(1)])
    assert [(one.fabric, one.likeness) for one in told[1]] == [
        (3, pytest.approx(0.9)), (2, pytest.approx(0.7)),
    ]  # fmt: skip
    assert {scrap: [one.fabric for one in found] for scrap, found in alike_to(
        store, [store.scrap(2), store.scrap(4)]).items()} == {2: [1]}  # fmt: skip


def test_a_scrap_without_a_picture_has_no_imprint(store: FolderStore) -> None:
    put(store)
    assert take_imprints(store) == 0
    assert store.imprints(RECIPE) == {}
    assert not_compared(store) == 0


def test_two_said_to_be_different_never_stand_in_one_group_again(store: FolderStore) -> None:
    alike(store, 3, (1, 3, 0.1), (2, 3, 0.1), (1, 2, 0.15))
    assert waiting(store) == [(1, 2, 3)]
    answer_twins(store, Answers(different=((1, 2),)))
    assert waiting(store) == [(1, 3), (2, 3)]


def test_one_join_after_the_other_is_refused_like_both_at_once(store: FolderStore) -> None:
    alike(store, 3)
    answer_twins(store, Answers(different=((1, 2),)))
    answer_twins(store, Answers(same=((1, 3),)))
    with pytest.raises(TwinsError) as told:
        answer_twins(store, Answers(same=((2, 3),)))
    assert told.value.scraps == (1, 2)
    assert fabrics(store) == [1, 2, 1]
    # Both looked at and answered anew; it is told that this was said otherwise.
    said = answer_twins(store, Answers(same=((1, 2),)))
    assert said == ("scraps 1 and 2 are one cloth", "scraps 1 and 2 had been said to differ")
    assert fabrics(store) == [1, 1, 1]


@settings(max_examples=5, deadline=None, phases=[Phase.generate])
@given(
    st.lists(st.sets(st.integers(1, 5), min_size=2, max_size=2), min_size=2, max_size=4),
    st.sets(st.integers(1, 5), min_size=2, max_size=2),
    st.randoms(use_true_random=False),
)
def test_joins_come_to_the_same_in_any_order_or_are_all_refused(joins, different, random) -> None:
    """Whether in one command or one after the other, whatever was said to be different before."""
    joins = [one for one in joins if one != different]  # that pair itself may be answered anew
    turned = list(joins)
    random.shuffle(turned)
    ends = []
    for commands in ([joins], [turned], [[one] for one in turned]):
        with TemporaryDirectory() as folder:
            store = open_store(Path(folder))
            alike(store, 5)
            answer_twins(store, Answers(different=(tuple(different),)))
            try:
                for some in commands:
                    answer_twins(store, Answers(same=tuple(tuple(one) for one in some)))
                ends.append(tuple(fabrics(store)))
            except TwinsError:
                ends.append(())
    assert len(set(ends)) == 1, ends
