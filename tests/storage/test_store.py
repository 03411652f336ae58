"""What the store is told it keeps, exactly and undoably."""

from __future__ import annotations

import dataclasses
import random
from pathlib import Path

import pytest

from stash.errors import FileMissingError, NotFoundError, StashMissingError
from stash.scrap import Fabric, ScrapState
from stash.shape.plane.outline import outline_of
from stash.usecases.ports import Document, ScrapToLog, SizeKey
from stash.wiring import open_store
from tests.storage.made_records import made_photo, made_scrap


def test_a_logged_photo_reads_back_exactly_as_it_was_measured(tmp_path: Path) -> None:
    photo = made_photo(1)
    open_store(tmp_path).log_photo(photo)
    store = open_store(tmp_path)
    kept = store.scraps()
    assert [scrap.outline for scrap in kept] == [scrap.outline for scrap in photo.scraps]
    assert [scrap.appearance for scrap in kept] == [scrap.appearance for scrap in photo.scraps]
    assert [scrap.place for scrap in kept] == [scrap.place for scrap in photo.scraps]
    assert [scrap.washed for scrap in kept] == [scrap.washed for scrap in photo.scraps]
    logged = store.photo(photo.sha256)
    assert logged is not None
    assert (logged.card, logged.warnings) == (photo.card, photo.warnings)
    assert store.picture(photo.sha256) == photo.data
    for scrap, measured in zip(kept, photo.scraps, strict=True):
        assert scrap.picture is not None
        assert store.picture(scrap.picture.sha256) == measured.picture_jpeg
        assert scrap.picture.left_in == measured.left_in


def test_a_packed_outline_has_the_area_of_the_plain_one(tmp_path: Path) -> None:
    photo = made_photo(2)
    store = open_store(tmp_path)
    store.log_photo(photo)
    for scrap, measured in zip(store.scraps(), photo.scraps, strict=True):
        assert scrap.outline.area_sq_in == measured.outline.area_sq_in
        assert hash(scrap.outline) == hash(scrap.outline)
        assert measured.outline == scrap.outline
        assert dataclasses.replace(scrap.outline, error_in=0.5).points == measured.outline.points


def test_the_same_photo_twice_is_logged_once(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    first = store.log_photo(made_photo(3))
    second = store.log_photo(made_photo(3))
    assert first == second
    assert len(store.scraps()) == 3
    assert len(store.photos()) == 1


def test_asking_never_creates_a_folder(tmp_path: Path) -> None:
    home = tmp_path / "mistyped"
    store = open_store(home)
    assert store.scraps() == ()
    assert store.photo("0" * 64) is None
    assert not home.exists()
    with pytest.raises(StashMissingError, match="no stash in"):
        open_store(home, must_exist=True)
    assert not home.exists()


def test_a_store_opened_on_nothing_sees_what_it_then_logs(tmp_path: Path) -> None:
    store = open_store(tmp_path / "new" / "stash")
    assert store.scraps() == ()
    store.log_photo(made_photo(4))
    assert len(store.scraps()) == 3


def test_one_store_sees_what_another_wrote(tmp_path: Path) -> None:
    reader, writer = open_store(tmp_path), open_store(tmp_path)
    writer.log_photo(made_photo(5))
    assert len(reader.scraps()) == 3
    writer.delete_scrap(1, why="lost")
    assert [scrap.number for scrap in reader.scraps()] == [2, 3]


def test_every_field_of_a_scrap_can_be_changed_and_taken_back(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    before = store.log_photo(made_photo(6))[0]
    after = dataclasses.replace(
        before,
        place="drawer",
        washed=not before.washed,
        fibre="linen",
        notes="from an old shirt",
        grain_deg=12.5,
        state=ScrapState.RESERVED,
        outline=outline_of([(0, 0), (4, 0), (4, 3)], error_in=0.02),
    )
    store.change_scrap(after, seen=before, why="put right")
    assert store.scrap(before.number) == after
    assert store.undo() == "put right"
    assert store.scrap(before.number) == before


def test_undo_walks_back_through_every_kind_of_change(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    store.log_photo(made_photo(7))
    start = (store.scraps(), store.fabrics(), store.documents("palette"))
    store.change_fabric(Fabric(1, "blue ditsy", one_way=True), seen=Fabric(1), why="named")
    store.join_fabrics(1, 2, why="joined")
    store.add_scrap(made_scrap(random.Random(1), picture=False), why="added")
    store.delete_scrap(3, why="deleted")
    store.keep_document(Document("palette", "sea", {"colours": ["#1f3f7a"]}), why="palette")
    store.keep_document(Document("palette", "sea", {"colours": []}), why="palette again")
    store.delete_document("palette", "sea", why="palette gone")
    undone = [store.undo() for _ in range(7)]
    assert undone == [
        "palette gone", "palette again", "palette", "deleted", "added", "joined", "named",
    ]  # fmt: skip
    assert (store.scraps(), store.fabrics(), store.documents("palette")) == start


def test_undoing_a_log_lets_the_photo_be_logged_again(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    photo = made_photo(8)
    store.log_photo(photo)
    assert "table 8.jpg" in store.undo()
    assert store.scraps() == store.photos() == store.fabrics() == ()
    again = store.log_photo(photo)
    assert [scrap.number for scrap in again] == [4, 5, 6]  # numbers are never used twice


def test_nothing_left_to_undo_is_said(tmp_path: Path) -> None:
    with pytest.raises(NotFoundError, match="change"):
        open_store(tmp_path).undo()


def test_joined_fabrics_count_once(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    store.log_photo(made_photo(9))
    store.join_fabrics(1, 3, why="the same")
    assert [fabric.number for fabric in store.fabrics()] == [1, 2]
    assert [scrap.fabric for scrap in store.scraps()] == [1, 2, 1]


def test_named_records_keep_their_order_and_their_body(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    body = {"pitch_in": 0.1 + 0.2, "deep": {"list": [1, None, "ä"]}}
    store.keep_document(Document("card", "desk", body), why="card")
    store.keep_document(Document("card", "attic", {}), why="card")
    store.keep_document(Document("card", "desk", {**body, "more": 1}), why="card")
    assert [card.name for card in store.documents("card")] == ["desk", "attic"]
    assert store.document("card", "desk").body == {**body, "more": 1}
    with pytest.raises(NotFoundError, match="There are: desk, attic"):
        store.document("card", "desc")


@pytest.mark.parametrize(
    ("change", "forgotten"),
    [
        ({"outline": outline_of([(0, 0), (1, 0), (0, 1)])}, True),
        ({"washed": None}, True),
        ({"grain_deg": 45.0}, True),
        ({"place": "elsewhere"}, False),
    ],
)
def test_a_stored_largest_size_lasts_until_the_shape_changes(
    tmp_path: Path, change: dict[str, object], forgotten: bool
) -> None:
    store = open_store(tmp_path)
    scrap = store.log_photo(made_photo(10))[0]
    key = SizeKey("square", "any turn")
    store.keep_largest_sizes(key, {1: 3.25, 2: 4.5, 99: 1.0})
    store.keep_largest_sizes(key, {1: 3.5})
    assert store.largest_sizes(key) == {1: 3.5, 2: 4.5}
    assert store.largest_sizes(SizeKey("square", "grain")) == {}
    if "washed" in change:
        change = {"washed": not scrap.washed}
    store.change_scrap(dataclasses.replace(scrap, **change), seen=scrap, why="changed")  # type: ignore[arg-type]
    assert (1 in store.largest_sizes(key)) is not forgotten
    assert store.largest_sizes(key)[2] == 4.5


def test_unknown_numbers_are_told(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    store.log_photo(made_photo(11))
    for ask in (
        lambda: store.scrap(9),
        lambda: store.delete_scrap(9, why=""),
        lambda: store.join_fabrics(1, 9, why=""),
        lambda: store.change_fabric(Fabric(9), seen=Fabric(9), why=""),
        lambda: store.delete_document("card", "x", why=""),
    ):
        with pytest.raises(NotFoundError):
            ask()
    with pytest.raises(FileMissingError):
        store.picture("0" * 64)


def test_a_scrap_without_a_photo_is_a_scrap_like_any_other(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    measured = made_scrap(random.Random(3), picture=False)
    ruler: ScrapToLog = dataclasses.replace(measured, place="shelf")
    scrap = store.add_scrap(ruler, why="measured with a ruler")
    assert (scrap.photo, scrap.picture, scrap.place) == (None, None, "shelf")
    assert store.scraps() == (scrap,)


def test_how_the_table_was_seen_is_kept_with_the_photo(tmp_path):
    made = made_photo(4)
    store = open_store(tmp_path)
    store.log_photo(made)
    assert open_store(tmp_path).photo(made.sha256).view == made.view
