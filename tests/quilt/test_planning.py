"""From a stash to a cut quilt: enough, allot, layout, cutting, undo, set aside."""

from __future__ import annotations

import shutil
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from shapely.geometry import Polygon

from stash.errors import NotFoundError, PlanError, SettingError
from stash.quilt.plan import Quilt
from stash.scrap import ScrapState
from stash.usecases.palettes.manage_palettes import PaletteRequest, make_palette
from stash.usecases.ports import Store
from stash.usecases.quilts.change_quilt import replan_quilt
from stash.usecases.quilts.plan_quilt import (
    QuiltRequest,
    held_scraps,
    make_quilt,
    pattern_of,
    quilt_named,
    set_aside,
    template_of,
)
from stash.usecases.quilts.quilt_allot import allot_quilt
from stash.usecases.quilts.quilt_cut import cut_ring, cut_scraps, progress_of
from stash.usecases.quilts.quilt_enough import enough_for
from stash.usecases.quilts.quilt_layout import LayoutRequest, lay_out, layout_of
from stash.wiring import open_store
from tests.quilt.tidewater import tidewater

WORDS = "blues and teals, some sand, a touch of coral; no pinks, no purples"


@pytest.fixture(scope="module")
def full_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = tmp_path_factory.mktemp("tidewater")
    store = tidewater(home, 40, seed=3, twice=4)
    make_palette(store, PaletteRequest("tidewater", words=WORDS))
    return home


@pytest.fixture
def stash(full_folder: Path, tmp_path: Path) -> Store:
    return open_store(shutil.copytree(full_folder, tmp_path / "stash"))


@pytest.fixture(scope="module")
def laid_folder(full_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The stash with one quilt laid out: laid out once, copied for each test."""
    home = shutil.copytree(full_folder, tmp_path_factory.mktemp("laid") / "stash")
    made(open_store(home), charm())
    return home


@pytest.fixture
def laid(laid_folder: Path, tmp_path: Path) -> tuple[Store, Quilt]:
    store = open_store(shutil.copytree(laid_folder, tmp_path / "stash"))
    return store, quilt_named(store, "Tidewater")


@pytest.fixture(scope="module")
def shared_folder(full_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The stash with two quilts that share scraps."""
    home = shutil.copytree(full_folder, tmp_path_factory.mktemp("two") / "stash")
    store = open_store(home)
    for name in ("One", "Two"):
        made(store, charm(name, rows=5))
    return home


@pytest.fixture
def shared(shared_folder: Path, tmp_path: Path) -> tuple[Store, list[Quilt]]:
    store = open_store(shutil.copytree(shared_folder, tmp_path / "stash"))
    return store, [quilt_named(store, name) for name in ("One", "Two")]


def charm(name: str = "Tidewater", rows: int = 4, across: int = 6, **more: object) -> QuiltRequest:
    asked = QuiltRequest(name, "tumbler", "4", rows=rows, across=across, charm=True)
    return replace(asked, **more)  # type: ignore[arg-type]


def made(store: Store, request: QuiltRequest) -> Quilt:
    make_quilt(store, request)
    answer = allot_quilt(store, request.name)
    assert answer.possible
    return lay_out(store, request.name, LayoutRequest())[0]


def total_area(store: Store) -> float:
    usable = [scrap for scrap in store.scraps() if scrap.state is not ScrapState.CUT_UP]
    return sum(scrap.outline.area_sq_in for scrap in usable)


def test_a_charm_quilt_takes_each_fabric_once(stash: Store) -> None:
    quilt = made(stash, charm(palette="tidewater"))
    assert len(quilt.pieces) == 24
    assert max(Counter(piece.fabric for piece in quilt.pieces).values()) == 1


def test_every_piece_lies_inside_its_scrap_by_the_outline_error(stash: Store) -> None:
    quilt = made(stash, charm(rows=5))
    for piece in quilt.pieces:
        assert piece.crop is not None
        ring = Polygon(cut_ring(quilt.plan, piece.crop))
        assert stash.scrap(piece.scrap).outline.sure().buffer(1e-6).covers(ring)


def test_pieces_of_one_scrap_do_not_overlap(stash: Store) -> None:
    several = charm(rows=6, across=8, template="square", size="3", charm=False, limit=3)
    quilt = made(stash, several)
    rings = {}
    for piece in quilt.pieces:
        assert piece.crop is not None
        rings.setdefault(piece.scrap, []).append(Polygon(cut_ring(quilt.plan, piece.crop)))
    assert max(len(many) for many in rings.values()) > 1
    for many in rings.values():
        whole = shapely.union_all(many)
        assert whole.area == pytest.approx(sum(ring.area for ring in many), rel=1e-5)


def test_unwashed_scraps_give_larger_pieces(stash: Store) -> None:
    for scrap in stash.scraps():
        stash.change_scrap(replace(scrap, washed=False), seen=scrap, why="not washed after all")
    quilt = made(stash, charm(rows=2))
    crop = quilt.pieces[0].crop
    assert crop is not None
    # 3 % shrinkage each way: cut larger by 1 / 0.97 (computed: cut = finished / (1 - shrink)).
    area = Polygon(cut_ring(quilt.plan, crop)).area
    assert area == pytest.approx(template_of(quilt.plan).cut_polygon().area / 0.97**2)


def test_enough_counts_what_is_needed_and_what_there_is(stash: Store) -> None:
    make_quilt(stash, charm(rows=4))
    answer = enough_for(stash, "Tidewater")
    assert answer.enough.possible
    assert (answer.enough.pieces_needed, answer.enough.fabrics_needed) == (24, 24)
    assert answer.enough.fabrics == 40
    # 40 fabrics in rows of 6: six rows use 36, a seventh would need 42.
    assert (answer.rows.most, answer.most_pieces) == (6, 40)
    assert (answer.rows.possible, answer.rows.pieces) == (True, 30)
    # and in four rows: of ten pieces at most
    assert (answer.across.count, answer.across.possible, answer.across.most) == (7, True, 10)


def test_not_enough_says_what_would_make_it_possible(stash: Store) -> None:
    make_quilt(stash, charm(rows=8))
    answer = enough_for(stash, "Tidewater")
    assert not answer.enough.possible
    assert answer.enough.short == 48 - 40
    changes = {change.kind: change.amounts for change in answer.enough.changes}
    assert changes["buy"] == {"any": 8}
    assert changes["fewer"] == {"rows": 6, "pieces": 36}
    (buy,) = answer.to_buy
    # A 4 in tumbler is cut 4.5 in high and about 4.6 in wide: a washed 5 in square, 4.85 in, does.
    assert (buy.fabrics, buy.cut.name, buy.pieces_each) == (8, "5-inch square", 1)


def test_a_quilt_that_cannot_be_made_is_answered_and_holds_nothing(stash: Store) -> None:
    make_quilt(stash, charm(rows=8))
    answer = allot_quilt(stash, "Tidewater")
    assert not answer.possible
    assert answer.changes
    assert not held_scraps(stash)


def test_palette_amounts_are_kept(stash: Store) -> None:
    quilt = made(stash, charm(rows=5, palette="tidewater"))
    # main 6, main 6, some 3, touch 1: coral 1/16, at most one and a half times that of 30 pieces.
    shares = quilt.count_by("amount")
    assert 1 <= shares["coral"] <= 3
    assert shares["sand"] <= 30 * 3 / 16 * 1.5 + 1


def rings_by_scrap(quilts: list[Quilt]) -> dict[int, list[Polygon]]:
    found: dict[int, list[Polygon]] = {}
    for quilt in quilts:
        for piece in quilt.pieces:
            assert piece.crop is not None
            ring = Polygon(cut_ring(quilt.plan, piece.crop))
            found.setdefault(piece.scrap, []).append(ring)
    return found


def test_two_quilts_share_a_scrap_and_never_cloth(shared: tuple[Store, list[Quilt]]) -> None:
    stash, quilts = shared
    shared = quilts[0].held_scraps & quilts[1].held_scraps
    assert shared  # of 40 fabrics, 30 in each
    for number, rings in rings_by_scrap(quilts).items():
        sure = stash.scrap(number).outline.sure().buffer(1e-6)
        assert all(sure.covers(ring) for ring in rings)
        whole = shapely.union_all(rings)
        assert whole.area == pytest.approx(sum(ring.area for ring in rings), rel=1e-6)


def test_pieces_held_by_one_quilt_can_be_cut_after_another_has_cut_beside_them(
    shared: tuple[Store, list[Quilt]],
) -> None:
    stash, quilts = shared
    assert quilts[0].held_scraps & quilts[1].held_scraps
    cut_scraps(stash, "Two", [])
    rest = quilt_named(stash, "One")
    assert progress_of(stash, rest, 30).to_cut == 30
    cut_scraps(stash, "One", [])
    assert progress_of(stash, quilt_named(stash, "One"), 30).cut == 30


def test_setting_a_quilt_aside_frees_its_scraps_and_taking_it_up_needs_them(stash: Store) -> None:
    made(stash, charm("One", rows=6))
    set_aside(stash, "One")
    assert not held_scraps(stash)
    made(stash, charm("Two", rows=6))
    with pytest.raises(PlanError, match="another quilt"):
        set_aside(stash, "One", back=True)
    set_aside(stash, "Two")
    assert not set_aside(stash, "One", back=True).set_aside


def test_layout_is_kept_and_pins_stay(laid: tuple[Store, Quilt]) -> None:
    stash, quilt = laid
    names = [place.name for place in pattern_of(quilt.plan).places]
    changed, laid = lay_out(stash, "Tidewater", LayoutRequest(seed=4, pin=("1.1", "3.4")))
    for name in ("1.1", "3.4"):
        assert changed.piece_at[names.index(name)] == quilt.piece_at[names.index(name)]
    assert quilt_named(stash, "Tidewater") == changed
    again = layout_of(stash, changed)
    assert again is not None
    assert again.evenness.score == pytest.approx(laid.evenness.score)


def test_swapping_two_places_changes_only_those(laid: tuple[Store, Quilt]) -> None:
    stash, quilt = laid
    changed, _ = lay_out(stash, "Tidewater", LayoutRequest(swaps=(("1.1", "4.6"),)))
    moved = [a != b for a, b in zip(quilt.piece_at, changed.piece_at, strict=True)]
    assert sum(moved) == 2
    assert changed.piece_at[0] == quilt.piece_at[-1]


def test_shuffling_a_part_leaves_the_rest(laid: tuple[Store, Quilt]) -> None:
    stash, quilt = laid
    only = tuple(f"2.{number}" for number in range(1, 7))
    changed, _ = lay_out(stash, "Tidewater", LayoutRequest(seed=8, only=only))
    names = [place.name for place in pattern_of(quilt.plan).places]
    for at, name in enumerate(names):
        if name not in only:
            assert changed.piece_at[at] == quilt.piece_at[at]


def test_a_place_that_is_not_on_the_quilt_is_refused(laid: tuple[Store, Quilt]) -> None:
    stash, _ = laid
    with pytest.raises(PlanError, match=r"9\.9"):
        lay_out(stash, "Tidewater", LayoutRequest(pin=("9.9",)))


def test_cutting_takes_pieces_out_of_the_stash_and_keeps_what_is_left(
    laid: tuple[Store, Quilt],
) -> None:
    stash, quilt = laid
    before = total_area(stash)
    piece = template_of(quilt.plan).cut_polygon().area
    answer = cut_scraps(stash, "Tidewater", [])
    assert sum(one.pieces for one in answer.cut) == 24
    gone = before - total_area(stash)
    dropped = sum(one.dropped_sq_in for one in answer.cut)
    assert gone == pytest.approx(24 * piece + dropped, rel=1e-6)
    fabrics = {scrap.number: scrap.fabric for scrap in stash.scraps()}
    for one in answer.cut:
        assert all(fabrics[number] == one.fabric for number in one.left)
    assert not held_scraps(stash)


def test_a_piece_is_never_cut_twice(laid: tuple[Store, Quilt]) -> None:
    stash, quilt = laid
    scrap = quilt.pieces[0].scrap
    cut_scraps(stash, "Tidewater", [scrap])
    with pytest.raises(NotFoundError, match="cut already"):
        cut_scraps(stash, "Tidewater", [scrap])
    progress = progress_of(stash, quilt_named(stash, "Tidewater"), 24)
    assert (progress.cut, progress.to_cut, progress.missing) == (1, 23, 0)


def test_one_undo_takes_back_the_whole_cutting(laid: tuple[Store, Quilt]) -> None:
    stash, _ = laid
    before, record = stash.scraps(), quilt_named(stash, "Tidewater")
    cut_scraps(stash, "Tidewater", [])
    assert "24 pieces" in stash.undo()
    assert stash.scraps() == before
    assert quilt_named(stash, "Tidewater") == record


def test_leftovers_keep_their_picture_and_serve_the_next_quilt(laid: tuple[Store, Quilt]) -> None:
    stash, _ = laid
    cut_scraps(stash, "Tidewater", [])
    for scrap in stash.scraps():
        if scrap.state is ScrapState.CUT_UP:
            continue
        assert scrap.picture is not None
        assert stash.picture(scrap.picture.sha256)
    make_quilt(stash, QuiltRequest("Crumbs", "square", "1 1/2", rows=5, across=5, limit=2))
    assert enough_for(stash, "Crumbs").enough.possible


def test_a_scrap_corrected_after_allotting_is_not_cut_blindly(laid: tuple[Store, Quilt]) -> None:
    stash, quilt = laid
    scrap = stash.scrap(quilt.pieces[0].scrap)
    smaller = replace(
        scrap.outline, points=tuple((x * 0.5, y * 0.5) for x, y in scrap.outline.points)
    )
    stash.change_scrap(replace(scrap, outline=smaller), seen=scrap, why="measured again")
    with pytest.raises(PlanError, match="not as it was"):
        cut_scraps(stash, "Tidewater", [scrap.number])


def test_a_deleted_scrap_is_missing_from_the_quilt(laid: tuple[Store, Quilt]) -> None:
    stash, quilt = laid
    stash.delete_scrap(quilt.pieces[0].scrap, why="lost")
    progress = progress_of(stash, quilt, 24)
    assert (progress.to_cut, progress.missing) == (23, 1)
    assert progress.gone == (quilt.pieces[0].scrap,)


def test_a_bed_or_a_finished_size_gives_rows_and_pieces(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    lap = make_quilt(store, QuiltRequest("Lap", "square", "5", bed="lap"))
    # S29 of docs/sources.md: a lap quilt of 50 x 65 is 10 squares of 5 in by 13.
    assert (lap.plan.across, lap.plan.rows) == (10, 13)
    sized = make_quilt(store, QuiltRequest("Sized", "square", "5", finished_in=(51, 65)))
    assert (sized.plan.across, sized.plan.rows) == (11, 13)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"rows": None, "across": None}, "in one way"),
        ({"across": None}, "both the rows"),
        ({"bed": "lap"}, "in one way"),
        ({"limit": 3}, "each fabric once"),
        ({"charm": False, "limit": 0}, "one piece or more"),
        ({"name": " "}, "needs a name"),
        ({"rows": 500, "across": 500}, "250,000 pieces"),
        ({"shrink_share": 3.0}, "less than half"),
        ({"grain_tolerance_deg": 90.0}, "from 0 to 45"),
    ],
)
def test_a_plan_that_says_too_much_or_too_little_is_refused(
    tmp_path: Path, changes: dict[str, object], words: str
) -> None:
    with pytest.raises(PlanError, match=words):
        make_quilt(open_store(tmp_path), replace(charm(), **changes))  # type: ignore[arg-type]


def test_one_name_is_one_quilt(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    make_quilt(store, charm())
    with pytest.raises(PlanError, match="--replace"):
        make_quilt(store, charm())
    assert replan_quilt(store, charm(rows=9)).quilt.plan.rows == 9


def test_an_unknown_setting_is_refused_before_anything_is_kept(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    with pytest.raises(SettingError, match="interlocking"):
        make_quilt(store, charm(setting="brick"))
    assert not store.documents("quilt")
