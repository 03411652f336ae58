"""What may be one cloth is called alike until somebody has looked; a scrap keeps its name."""

from __future__ import annotations

from pathlib import Path

import pytest

from stash.scrap import Scrap
from stash.shape.plane.outline import outline_of
from stash.storage.sqlite_store import FolderStore
from stash.usecases.ports import ScrapToLog
from stash.usecases.scraps.review_scraps import (
    ScrapFilter,
    find_scraps,
    view_scrap,
    words_for_fabrics,
)
from stash.usecases.twins.answer_twins import Answers, answer_twins
from stash.usecases.twins.imprints import take_imprints
from stash.wiring import open_store
from tests.usecases.twin_cloth import checks, looks

SQUARE = outline_of([(0, 0), (4, 0), (4, 4), (0, 4)])


def add(store: FolderStore, lightness: float, seed: int, fabric: int | None = None) -> Scrap:
    """A piece of one blue check whose photo's light made it read as so light."""
    picture = checks((40, 60, 140), seed=seed)
    to_log = ScrapToLog(
        SQUARE, looks(lightness), picture, px_per_in=60.0, top_in=4.0, fabric=fabric
    )
    return store.add_scrap(to_log, why="added")


@pytest.fixture
def store(tmp_path: Path) -> FolderStore:
    """Two photos of one cloth, read so unlike that alone they would be called otherwise."""
    made = open_store(tmp_path / "stash")
    add(made, 30.0, 1)
    add(made, 80.0, 2)
    return made


def called(store: FolderStore) -> list[str]:
    return [view.colour for view in find_scraps(store, ScrapFilter())]


def test_two_photos_of_what_may_be_one_cloth_have_one_name_until_they_are_said_to_differ(
    store: FolderStore,
) -> None:
    alone = called(store)
    assert alone[0] != alone[1]
    take_imprints(store)
    assert called(store) == [alone[0], alone[0]]
    assert list(words_for_fabrics(store).values()) == [alone[0], alone[0]]
    answer_twins(store, Answers(different=((1, 2),)))
    assert called(store) == alone
    store.undo()
    answer_twins(store, Answers(same=((1, 2),)))
    assert called(store) == [alone[0], alone[0]]


def test_a_scrap_looked_at_by_itself_is_called_as_in_the_list(store: FolderStore) -> None:
    add(store, 95.0, 3, fabric=1)
    listed = called(store)
    assert listed[2] == listed[0] != listed[1]
    assert [view_scrap(store, number).colour for number in (1, 2, 3)] == listed
