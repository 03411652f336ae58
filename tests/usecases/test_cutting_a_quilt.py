"""What is allotted is held, cut, counted and laid out; areas and places worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from stash.errors import ChangedElsewhereError, NotFoundError, PlanError
from stash.quilt.plan import Quilt
from stash.quilt.regret import largest_square
from stash.scrap import ScrapState
from stash.shape.plane.outline import outline_of
from stash.storage.sqlite_store import FolderStore
from stash.usecases.papers.print_sheets import cut_list
from stash.usecases.quilts.change_quilt import replan_quilt
from stash.usecases.quilts.plan_quilt import (
    QuiltRequest,
    held_scraps,
    make_quilt,
    pattern_of,
    plan_record,
    quilt_named,
    quilts,
    set_aside,
)
from stash.usecases.quilts.quilt_allot import allot_quilt
from stash.usecases.quilts.quilt_cut import cut_ring, cut_scraps, progress_of
from stash.usecases.quilts.quilt_layout import LayoutRequest, lay_out, layout_of, move_pieces
from stash.usecases.scraps.correct_scraps import Correction, correct_scrap
from stash.usecases.scraps.review_scraps import words_for_fabrics
from tests.usecases.cloth import NAVY, SKY, TEAL, put, rectangle


def allotted(store: FolderStore, *, rows: int = 2, across: int = 3, name: str = "raffle") -> Quilt:
    """A quilt of 4-inch squares, cut 4 1/2, allotted."""
    make_quilt(store, QuiltRequest(name, "square", "4", rows=rows, across=across, charm=True))
    answer = allot_quilt(store, name)
    assert answer.possible
    return answer.quilt


def cloths(store: FolderStore, count: int, side_in: float = 5.0, **more: object) -> None:
    for _ in range(count):
        put(store, size=(side_in, side_in), **more)  # type: ignore[arg-type]


def test_cutting_takes_the_piece_off_the_scrap_and_keeps_the_largest_remainder(
    store: FolderStore,
) -> None:
    # 12 x 4 1/2 in less one 4 1/2-in square: 7 1/2 x 4 1/2 in are left, less 1/16 in on the new
    # edge for where the knife went.
    put(store, size=(12.0, 4.5))
    allotted(store, rows=1, across=1)
    answer = cut_scraps(store, "raffle", [])
    (line,) = answer.cut
    assert (line.scrap, line.pieces, line.left) == (1, 1, (1,))
    assert line.left_sq_in == pytest.approx((7.5 - 1 / 16) * 4.5, abs=0.05)
    assert line.dropped_sq_in == pytest.approx(4.5 / 16, abs=0.05)
    left = store.scrap(1)
    assert left.state is ScrapState.WHOLE
    assert left.outline.area_sq_in == pytest.approx(line.left_sq_in)
    assert store.undo() == "cut 1 piece for the quilt raffle"
    assert store.scrap(1).outline.area_sq_in == pytest.approx(54.0)
    assert quilt_named(store, "raffle").cut_count == 0


def test_the_last_large_square_of_a_fabric_is_told_before_it_is_cut_and_is_gone_after(
    store: FolderStore,
) -> None:
    # 7 x 7 in less a 4 1/2-in square from a corner: no 6, 5, 4 or 3 in square is left beside it.
    # Of the other fabric a second scrap of 7 x 7 in stays whole: nothing is lost.
    put(store, TEAL, rectangle(7.0, 7.0))
    twice = put(store, NAVY, rectangle(7.0, 7.0))
    put(store, NAVY, rectangle(7.0, 7.0), fabric=twice.fabric)
    allotted(store, rows=1, across=2)
    told = cut_list(store, "raffle", layers=6).regrets
    assert [(one.fabric, one.side_in, one.left_in) for one in told] == [(1, 6.0, 0.0)]
    called = words_for_fabrics(store)
    assert called[1]
    assert cut_scraps(store, "raffle", [], called=called).regrets == told
    for scraps, largest in (([1], 0.0), ([2, 3], 6.0)):
        assert largest_square([store.scrap(number).outline for number in scraps]) == largest


def test_a_scrap_that_leaves_nothing_worth_keeping_is_cut_up(store: FolderStore) -> None:
    # 5 x 5 in less a 4 1/2-in square: strips of half an inch.
    cloths(store, 1)
    allotted(store, rows=1, across=1)
    (line,) = cut_scraps(store, "raffle", [1]).cut
    assert (line.left, line.left_sq_in) == ((), 0.0)
    assert line.dropped_sq_in == pytest.approx(25 - 20.25)
    assert store.scrap(1).state is ScrapState.CUT_UP
    assert held_scraps(store) == {}


def test_a_leftover_is_kept_from_the_width_that_was_asked_for(store: FolderStore) -> None:
    # A strip of 2 in, less the knife's sixteenth, stays beside a piece on 6 1/2 x 4 1/2 in.
    for least_in, kept in ((1.5, 1), (2.5, 0)):
        put(store, size=(6.5, 4.5))
        allotted(store, rows=1, across=1, name=f"quilt {least_in}")
        (line,) = cut_scraps(store, f"quilt {least_in}", [], least_in=least_in).cut
        assert len(line.left) == kept


def test_what_falls_apart_becomes_scraps_of_the_same_fabric_and_bin(store: FolderStore) -> None:
    # A cross: the middle is the only place for the square, and four arms of 3 x 4 1/2 in are left.
    arm, core = 3.0, 4.5
    low, high = arm, arm + core
    side = low + high
    cross = [
        (low, 0), (high, 0), (high, low), (side, low), (side, high), (high, high),
        (high, side), (low, side), (low, high), (0, high), (0, low), (low, low),
    ]  # fmt: skip
    scrap = put(store, TEAL, outline_of(cross), place="tin", washed=True)
    make_quilt(store, QuiltRequest("raffle", "square", "4", rows=1, across=1, charm=True))
    quilt = allot_quilt(store, "raffle").quilt
    # Put in the middle by hand: the rule that keeps leftovers whole would lay it in an arm's end.
    middle = replace(quilt.pieces[0].crop, x=side / 2, y=side / 2, angle_deg=0.0)
    moved = replace(quilt, pieces=(replace(quilt.pieces[0], crop=middle),))
    from stash.usecases.quilts.plan_quilt import keep_quilt

    keep_quilt(store, moved, why="moved by a test")
    (line,) = cut_scraps(store, "raffle", [], least_in=1.0).cut
    assert line.left == (1, 2, 3, 4)
    arms = [store.scrap(number) for number in line.left]
    assert {(one.fabric, one.place, one.washed) for one in arms} == {(scrap.fabric, "tin", True)}
    for one in arms:
        assert one.outline.area_sq_in == pytest.approx((3 - 1 / 16) * 4.5, abs=0.05)
    assert [one.appearance for one in arms] == [scrap.appearance] * 4


def test_progress_adds_up_to_what_the_quilt_needs(store: FolderStore) -> None:
    cloths(store, 6)
    quilt = allotted(store)

    def told() -> tuple[int, int, int, int, tuple[int, ...]]:
        now = progress_of(store, quilt_named(store, "raffle"), 6)
        return now.needed, now.cut, now.to_cut, now.missing, now.gone

    assert told() == (6, 0, 6, 0, ())
    cut_scraps(store, "raffle", [1, 2])
    assert told() == (6, 2, 4, 0, ())
    store.delete_scrap(3, why="lost")
    assert told() == (6, 2, 3, 1, (3,))
    assert quilt.name == "raffle"


def test_only_scraps_that_still_have_a_piece_to_give_are_cut(store: FolderStore) -> None:
    cloths(store, 3)
    allotted(store, rows=1)
    assert [line.scrap for line in cut_scraps(store, "raffle", [2, 2]).cut] == [2]
    with pytest.raises(NotFoundError, match="takes nothing from it"):
        cut_scraps(store, "raffle", [2])
    assert [line.scrap for line in cut_scraps(store, "raffle", []).cut] == [1, 3]
    with pytest.raises(PlanError, match="Nothing is left to cut"):
        cut_scraps(store, "raffle", [])
    with pytest.raises(PlanError, match="cut already"):
        cut_list(store, "raffle", layers=1)


def test_a_scrap_that_was_trimmed_since_is_not_cut_by_the_old_plan(store: FolderStore) -> None:
    cloths(store, 1, 6.0)
    allotted(store, rows=1, across=1)
    crop = quilt_named(store, "raffle").pieces[0].crop
    assert crop is not None
    far = rectangle(4.6, 4.6, at=(crop.x + 3, crop.y + 3))
    correct_scrap(store, 1, Correction(outline=far))
    with pytest.raises(PlanError, match="not as it was"):
        cut_scraps(store, "raffle", [])
    assert quilt_named(store, "raffle").cut_count == 0


def test_a_quilt_set_aside_gives_its_scraps_free_and_is_not_cut(store: FolderStore) -> None:
    cloths(store, 3)
    allotted(store, rows=1)
    assert held_scraps(store) == dict.fromkeys((1, 2, 3), "raffle")
    assert held_scraps(store, but="raffle") == {}
    assert set_aside(store, "raffle").set_aside
    assert held_scraps(store) == {}
    with pytest.raises(PlanError, match="set aside"):
        cut_scraps(store, "raffle", [])
    assert not set_aside(store, "raffle", back=True).set_aside
    assert set(held_scraps(store)) == {1, 2, 3}


def test_a_quilt_whose_scraps_another_has_taken_is_not_taken_up_again(store: FolderStore) -> None:
    cloths(store, 3)
    allotted(store, rows=1)
    set_aside(store, "raffle")
    allotted(store, rows=1, name="cushion")
    with pytest.raises(PlanError, match="1, 2, 3"):
        set_aside(store, "raffle", back=True)
    set_aside(store, "cushion")
    store.delete_scrap(2, why="lost")
    with pytest.raises(PlanError, match="needs scrap 2,"):
        set_aside(store, "raffle", back=True)


def test_what_is_cut_stays_when_a_quilt_is_allotted_or_planned_anew(store: FolderStore) -> None:
    cloths(store, 4)
    allotted(store, rows=1)
    cut_scraps(store, "raffle", [1])
    assert allot_quilt(store, "raffle").quilt.pieces[0].cut
    asked = QuiltRequest("raffle", "square", "4", rows=1, across=4, charm=True)
    grown = replan_quilt(store, asked)
    assert (len(grown.quilt.pieces), grown.quilt.cut_count) == (4, 1)
    assert progress_of(store, grown.quilt, 4).missing == 1
    assert progress_of(store, allot_quilt(store, "raffle").quilt, 4).missing == 0
    with pytest.raises(PlanError, match="1 pieces of “raffle” are cut as square 4"):
        replan_quilt(store, replace(asked, size="3"))


def test_the_cut_list_names_every_piece_still_to_cut_by_bin_and_place(store: FolderStore) -> None:
    for colour, place in ((NAVY, "tin"), (SKY, "drawer"), (TEAL, "drawer")):
        put(store, colour, (6.0, 6.0), place=place, washed=colour != SKY)
    quilt, _ = (allotted(store, rows=1), lay_out(store, "raffle", LayoutRequest(seed=3)))
    cuts = cut_list(store, "raffle", layers=1)
    assert [(one.place, one.number) for one in cuts.scraps] == [
        ("drawer", 2), ("drawer", 3), ("tin", 1),
    ]  # fmt: skip
    laid = quilt_named(store, "raffle")
    names = [place.name for place in pattern_of(laid.plan).places]
    for one in cuts.scraps:
        (at,) = [
            k for k, piece in enumerate(laid.piece_at) if laid.pieces[piece].scrap == one.number
        ]
        assert one.places == (names[at],)
        (ring,) = one.pieces
        grown = 1.0 if one.washed else 1 / 0.97
        assert outline_of(ring).area_sq_in == pytest.approx((4.5 * grown) ** 2)
    cut_scraps(store, "raffle", [3])
    assert [one.number for one in cut_list(store, "raffle", layers=1).scraps] == [2, 1]
    assert quilt.cut_count == 0


def test_a_cut_list_wants_its_scraps_there(store: FolderStore) -> None:
    cloths(store, 3)
    make_quilt(store, QuiltRequest("bare", "square", "4", rows=1, across=1))
    with pytest.raises(PlanError, match="“bare” yet"):
        cut_list(store, "bare", layers=1)
    allotted(store, rows=1)
    store.delete_scrap(2, why="lost")
    with pytest.raises(PlanError, match="Scrap 2 is no longer there"):
        cut_list(store, "raffle", layers=1)


def test_a_piece_lies_turned_and_moved_where_the_plan_says(store: FolderStore) -> None:
    # A 4 x 2-in rectangle, cut 4 1/2 x 2 1/2, turned a quarter about its middle at 5, 7.
    cloths(store, 1)
    plan = make_quilt(store, QuiltRequest("r", "rectangle", "4x2", rows=1, across=1)).plan
    from stash.quilt.plan import CropPlace

    ring = cut_ring(plan, CropPlace(5.0, 7.0, 90.0))
    assert sorted((round(x, 6), round(y, 6)) for x, y in ring) == [
        (3.75, 4.75), (3.75, 9.25), (6.25, 4.75), (6.25, 9.25),
    ]  # fmt: skip


# Layout.


def scraps_at(quilt: Quilt) -> list[int]:
    return [quilt.pieces[piece].scrap for piece in quilt.piece_at]


def test_swapped_pieces_change_places_and_nothing_else_moves(store: FolderStore) -> None:
    cloths(store, 6)
    allotted(store)
    before, _ = lay_out(store, "raffle", LayoutRequest(seed=1))
    assert [place.name for place in pattern_of(before.plan).places] == [
        "1.1", "1.2", "1.3", "2.1", "2.2", "2.3",
    ]  # fmt: skip
    after, _ = lay_out(store, "raffle", LayoutRequest(swaps=(("1.1", "2.3"),)))
    was, now = scraps_at(before), scraps_at(after)
    assert now == [was[5], *was[1:5], was[0]]
    assert scraps_at(quilt_named(store, "raffle")) == now
    moved = move_pieces(store, "raffle", LayoutRequest(swaps=(("1.1", "2.3"),)))
    assert scraps_at(moved) == was


def test_pinned_pieces_stay_when_the_rest_is_shuffled(store: FolderStore) -> None:
    cloths(store, 12)
    allotted(store, rows=3, across=4)
    first, _ = lay_out(store, "raffle", LayoutRequest(seed=1))
    pinned, _ = lay_out(store, "raffle", LayoutRequest(keep=True, pin=("2.2", "1.1")))
    assert (pinned.pinned, scraps_at(pinned)) == (("1.1", "2.2"), scraps_at(first))
    for seed in (2, 3):
        again, _ = lay_out(store, "raffle", LayoutRequest(seed=seed))
        assert scraps_at(again)[0] == scraps_at(first)[0]
        assert scraps_at(again)[5] == scraps_at(first)[5]
        assert sorted(scraps_at(again)) == list(range(1, 13))
    loose, _ = lay_out(store, "raffle", LayoutRequest(keep=True, unpin=("1.1",)))
    assert loose.pinned == ("2.2",)


def test_only_the_places_named_are_shuffled(store: FolderStore) -> None:
    cloths(store, 12)
    allotted(store, rows=3, across=4)
    first, _ = lay_out(store, "raffle", LayoutRequest(seed=1))
    again, _ = lay_out(store, "raffle", LayoutRequest(seed=5, only=("1.1", "1.2", "1.3")))
    assert scraps_at(again)[3:] == scraps_at(first)[3:]
    assert sorted(scraps_at(again)[:3]) == sorted(scraps_at(first)[:3])


def test_a_layout_by_hand_wants_pieces_places_and_what_was_shown(store: FolderStore) -> None:
    cloths(store, 3)
    make_quilt(store, QuiltRequest("bare", "square", "4", rows=1, across=3))
    with pytest.raises(PlanError, match="no pieces to lay out"):
        lay_out(store, "bare", LayoutRequest())
    quilt = allotted(store, rows=1)
    assert layout_of(store, quilt) is None
    swap = LayoutRequest(swaps=(("1.1", "1.2"),))
    with pytest.raises(PlanError, match="not laid out yet"):
        move_pieces(store, "raffle", swap)
    laid, _ = lay_out(store, "raffle", LayoutRequest())
    with pytest.raises(PlanError, match=r"no place “9\.9”"):
        lay_out(store, "raffle", LayoutRequest(pin=("9.9",)))
    with pytest.raises(PlanError, match=r"no place “9\.9”"):
        lay_out(store, "raffle", LayoutRequest(keep=True, unpin=("9.9",)))
    seen = scraps_at(laid)
    with pytest.raises(ChangedElsewhereError):
        move_pieces(store, "raffle", swap, shown={"1.1": seen[1]})
    moved = move_pieces(store, "raffle", swap, shown={"1.1": seen[0], "1.2": seen[1]})
    assert scraps_at(moved) == [seen[1], seen[0], seen[2]]


def test_two_of_one_fabric_do_not_touch_where_they_need_not(store: FolderStore) -> None:
    # Two fabrics of two pieces each on 2 x 2: side by side only if they must; diagonals are free.
    make_quilt(store, QuiltRequest("raffle", "square", "4", rows=2, across=2, limit=2))
    for colour in (NAVY, SKY):
        put(store, colour, (9.0, 4.5))
    allot_quilt(store, "raffle")
    laid, told = lay_out(store, "raffle", LayoutRequest())
    fabrics = [laid.pieces[piece].fabric for piece in laid.piece_at]
    assert fabrics in ([1, 2, 2, 1], [2, 1, 1, 2])
    again = layout_of(store, laid)
    assert again is not None
    assert again.piece_at == told.piece_at


# Plans.


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"name": " "}, "needs a name"),
        ({"template": "starfish"}, "no setting"),
        ({"limit": 2}, "each fabric once"),
        ({"charm": False, "limit": 0}, "one piece or more"),
        ({"shrink_share": 0.5}, "less than half"),
        ({"shrink_share": -0.01}, "less than half"),
        ({"grain_tolerance_deg": 46.0}, "0 to 45"),
        ({"grain_tolerance_deg": -1.0}, "0 to 45"),
        ({"rows": None}, "both the rows"),
        ({"bed": "lap"}, "in one way"),
        ({"rows": None, "across": None}, "in one way"),
        ({"rows": None, "across": None, "bed": "hammock"}, "crib, lap"),
        ({"rows": None, "across": None, "finished_in": (0.0, 60.0)}, "at most 400"),
        ({"rows": None, "across": None, "finished_in": (60.0, 401.0)}, "at most 400"),
        ({"rows": 80, "across": 51}, "4,080 pieces"),
    ],
)
def test_a_plan_that_makes_no_sense_is_told_and_not_kept(
    store: FolderStore, changes: dict[str, object], words: str
) -> None:
    asked = QuiltRequest("raffle", "square", "4", rows=2, across=3, charm=True)
    with pytest.raises(PlanError, match=words):
        make_quilt(store, replace(asked, **changes))
    assert quilts(store) == ()


@pytest.mark.parametrize(
    "changes",
    [
        {"limit": 1}, {"shrink_share": 0.0}, {"shrink_share": 0.49}, {"grain_tolerance_deg": 45.0},
        {"grain_tolerance_deg": 0.0}, {"rows": 80, "across": 50}, {"bed": " LAP "} | {
            "rows": None, "across": None},
    ],
)  # fmt: skip
def test_a_plan_at_its_limits_is_kept(store: FolderStore, changes: dict[str, object]) -> None:
    asked = QuiltRequest("raffle", "square", "4", rows=2, across=3, charm=True)
    assert make_quilt(store, replace(asked, **changes)) == quilt_named(store, "raffle")


def test_a_lap_quilt_of_four_inch_squares_is_thirteen_across_and_seventeen_down(
    store: FolderStore,
) -> None:
    # 50 x 65 in: 12.5 and 16.25 squares of 4 in; the quilt is no smaller than asked for.
    quilt = make_quilt(store, QuiltRequest("lap", "square", "4", bed="lap"))
    record = plan_record(quilt, pattern_of(quilt.plan))
    assert (record["across"], record["rows"]) == (13, 17)
    assert (record["pieces"], record["part_pieces"]) == (221, 0)
    assert (record["width_in"], record["length_in"]) == (52.0, 68.0)


def test_a_name_is_taken_once_unless_the_plan_is_to_be_replaced(store: FolderStore) -> None:
    asked = QuiltRequest("raffle", "square", "4", rows=2, across=3)
    make_quilt(store, asked)
    with pytest.raises(PlanError, match="already"):
        make_quilt(store, asked)
    make_quilt(store, replace(asked, name="other"))
    assert replan_quilt(store, replace(asked, rows=5)).quilt.plan.rows == 5
    assert [one.name for one in quilts(store)] == ["raffle", "other"]
