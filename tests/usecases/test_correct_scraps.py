"""Every correction does what it says, is in the history and can be taken back."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from stash.colour.appearance import Appearance, ColourShare, PrintKind
from stash.errors import MeasureError, NotFoundError, PaletteError
from stash.shape.plane.outline import outline_of
from stash.storage.sqlite_store import FolderStore
from stash.usecases.ports import ScrapToLog
from stash.usecases.scraps.correct_scraps import (
    Correction,
    RuledScrap,
    add_ruled_scrap,
    appearance_of_hex,
    corners_from_words,
    correct_scrap,
    print_kind,
)
from stash.usecases.scraps.review_scraps import ScrapFilter, find_fabrics, find_scraps, view_scrap
from stash.wiring import open_store

SQUARE = outline_of([(0, 0), (10, 0), (10, 10), (0, 10)], error_in=0.05)


@pytest.fixture
def store(tmp_path: Path) -> FolderStore:
    store = open_store(tmp_path)
    for colour in ("#1f3f7a", "#f4f1ea", "#b0282f"):
        add_ruled_scrap(store, RuledScrap(SQUARE, (colour,)), words="10 x 10")
    return store


def test_each_correction_can_be_taken_back(store: FolderStore) -> None:
    before = store.scraps(), store.fabrics()
    correction = Correction(
        name="sea",
        one_way=True,
        place="drawer",
        washed=True,
        fibre="linen",
        notes="n",
        grain_deg=90.0,
        outline=outline_of([(0, 0), (8, 0), (0, 8)]),
        own_fabric=True,
    )
    done = correct_scrap(store, 1, correction)
    scrap, fabric = store.scrap(1), store.fabrics()[0]
    assert (scrap.place, scrap.washed, scrap.fibre, scrap.notes) == ("drawer", True, "linen", "n")
    assert (scrap.grain_deg, scrap.outline.area_sq_in) == (90.0, 32.0)
    assert (fabric.name, fabric.one_way) == ("sea", True)
    assert len(done) == 2  # the only scrap of its fabric is a fabric of its own already
    assert [store.undo() for _ in done] == list(reversed(done))
    assert (store.scraps(), store.fabrics()) == before


def test_a_correction_that_changes_nothing_leaves_no_trace(store: FolderStore) -> None:
    lines = len(store.history())
    assert correct_scrap(store, 1, Correction(place="", washed=False, same_as=1)) == ()
    assert len(store.history()) == lines


def test_a_name_put_on_a_split_scrap_names_the_new_fabric_only(store: FolderStore) -> None:
    correct_scrap(store, 1, Correction(same_as=2, name="white"))
    assert [f.name for f in store.fabrics()] == ["white", ""]
    correct_scrap(store, 1, Correction(own_fabric=True, name="blue"))
    assert {f.number: f.name for f in store.fabrics()} == {2: "white", 3: "", 4: "blue"}


def test_same_as_joins_the_whole_of_both_cloths_and_tells_where_a_number_went(
    store: FolderStore,
) -> None:
    third = add_ruled_scrap(store, RuledScrap(SQUARE, fabric=1), words="x")[0].number
    (why,) = correct_scrap(store, 1, Correction(same_as=2))
    assert {one.number: one.fabric for one in store.scraps()} == {1: 2, 2: 2, 3: 3, third: 2}
    assert str(third) in why and store.history()[0].why == why
    with pytest.raises(NotFoundError, match="counted to fabric 2 now"):
        correct_scrap(store, 2, Correction(same_as=1))
    store.undo()
    assert {one.number: one.fabric for one in store.scraps()} == {1: 1, 2: 2, 3: 3, third: 1}


def test_a_scrap_parted_and_joined_goes_alone(store: FolderStore) -> None:
    third = add_ruled_scrap(store, RuledScrap(SQUARE, fabric=1), words="x")[0].number
    correct_scrap(store, 1, Correction(same_as=2, own_fabric=True))
    assert {one.number: one.fabric for one in store.scraps()} == {1: 2, 2: 2, 3: 3, third: 1}


def test_a_fabric_that_is_not_there_is_told(store: FolderStore) -> None:
    with pytest.raises(NotFoundError, match="fabric “9”"):
        correct_scrap(store, 1, Correction(same_as=9))
    with pytest.raises(NotFoundError):
        add_ruled_scrap(store, RuledScrap(SQUARE, fabric=9), words="x")


def test_a_stain_is_cut_out_as_a_hole_or_a_notch(store: FolderStore) -> None:
    hole, notch = [(4, 4), (6, 4), (6, 6), (4, 6)], [(-1, 1), (2, 1), (2, 2), (-1, 2)]
    correct_scrap(store, 1, Correction(stains=(hole, notch)))
    outline = store.scrap(1).outline
    assert outline.area_sq_in == pytest.approx(100 - 4 - 2)
    assert len(outline.holes) == 1
    assert outline.error_in == 0.05


@pytest.mark.parametrize(
    "stain", [[(-1, 4), (11, 4), (11, 6), (-1, 6)], [(-1, -1), (11, -1), (11, 11), (-1, 11)]]
)
def test_a_stain_that_leaves_no_one_piece_is_told(store: FolderStore, stain: list) -> None:
    with pytest.raises(MeasureError, match="fall apart or be gone"):
        correct_scrap(store, 1, Correction(stains=(stain,)))
    assert store.scrap(1).outline == SQUARE


@pytest.mark.parametrize("words", ["", "1", "1,2,3", "a,b 1,2 3,4", "0,0 1,0"])
def test_corners_that_make_no_shape_are_told(words: str) -> None:
    with pytest.raises(MeasureError):
        outline_of(corners_from_words(words))


def test_a_typed_colour_is_kept_with_a_wide_error() -> None:
    look = appearance_of_hex(["#ffffff", "#000000"], kind=PrintKind.STRIPE)
    assert [round(colour.lab[0]) for colour in look.colours] == [100, 0]
    # The mean of white and black in linear light is Y = 0.5: L* = 116 * 0.5 ** (1/3) - 16.
    assert look.reads_as[0] == pytest.approx(116 * 0.5 ** (1 / 3) - 16, abs=0.01)
    assert look.error_de00 >= 4
    with pytest.raises(PaletteError):
        appearance_of_hex(["blueish"])
    with pytest.raises(PaletteError, match="plaid"):
        print_kind("chequered")


def test_a_scrap_without_looks_is_not_added(store: FolderStore) -> None:
    with pytest.raises(MeasureError, match="--colour"):
        add_ruled_scrap(store, RuledScrap(SQUARE), words="x")


def test_several_alike_are_scraps_of_one_fabric(store: FolderStore) -> None:
    added = add_ruled_scrap(store, RuledScrap(SQUARE, ("#2f8f8f",)), words="x", count=3)
    assert len({scrap.fabric for scrap in added}) == 1
    assert len(find_fabrics(store, ScrapFilter())) == 4


def test_a_box_is_measured_in_any_turn_and_after_washing(store: FolderStore) -> None:
    # A 3 x 4 rectangle along the directions (0.8, 0.6) and (-0.6, 0.8).
    turned = outline_of([(0.0, 0.0), (3.2, 2.4), (1.4, 4.8), (-1.8, 2.4)])
    correct_scrap(store, 1, Correction(outline=turned))
    view = view_scrap(store, 1)
    assert (view.short_in, view.long_in) == pytest.approx((3, 4))
    assert (view.washed_short_in, view.washed_long_in) == pytest.approx((2.91, 3.88))
    correct_scrap(store, 1, Correction(washed=True))
    assert view_scrap(store, 1).washed_long_in == pytest.approx(4)


@pytest.mark.parametrize(
    ("wanted", "numbers"),
    [
        (ScrapFilter(), [1, 2, 3]),
        (ScrapFilter(families=("blue",)), [1]),
        (ScrapFilter(families=("blue", "red")), [1, 3]),
        (ScrapFilter(values=("light",)), [2]),
        (ScrapFilter(values=("dark",)), [1, 3]),  # L* of #1f3f7a is 27, of #b0282f 39
        (ScrapFilter(kinds=("plaid",)), []),
        (ScrapFilter(washed=True), []),
        (ScrapFilter(state="whole"), [1, 2, 3]),
        (ScrapFilter(place="DRAWER"), [2]),
        (ScrapFilter(text="cott"), [2]),
        (ScrapFilter(text="%"), []),
        # 10 inches are 9.7 after washing.
        (ScrapFilter(least_short_in=9.7, least_long_in=9.7), [1, 2, 3]),
        (ScrapFilter(least_short_in=1, least_long_in=9.71), []),
    ],
)
def test_a_filter_lets_through_what_it_names(
    store: FolderStore, wanted: ScrapFilter, numbers: list[int]
) -> None:
    correct_scrap(store, 2, Correction(place="drawer", fibre="cotton"))
    assert [view.scrap.number for view in find_scraps(store, wanted)] == numbers


def test_an_unknown_word_in_a_filter_is_told(store: FolderStore) -> None:
    for wanted in (
        ScrapFilter(families=("navy",)),
        ScrapFilter(values=("bright",)),
        ScrapFilter(kinds=("dots",)),
    ):
        with pytest.raises(PaletteError, match="There are:"):
            find_scraps(store, wanted)


def test_a_scrap_by_ruler_takes_its_fabrics_looks_but_not_which_way_the_lines_run(
    store: FolderStore,
) -> None:
    lab = (40.0, 0.0, -30.0)
    look = Appearance(lab, (ColourShare(lab, 1.0),), PrintKind.STRIPE, direction_deg=30.0)
    first = store.add_scrap(ScrapToLog(SQUARE, look), why="logged")
    (second,) = add_ruled_scrap(store, RuledScrap(SQUARE, fabric=first.fabric), words="10 x 10")
    assert second.appearance == replace(look, direction_deg=None)
