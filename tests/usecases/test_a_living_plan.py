"""A quilt from plan to last row: one count at every stage, growth, wishes, shared scraps.

A piece is a 4-inch square, cut 4 1/2. Washed cloth of w x h gives floor(w / 4.5) x floor(h / 4.5)
of them. A yard is 40 x 36 in and 38.8 x 34.92 after washing: 8 x 7 = 56. A fat quarter of
18 x 22 in is 17.46 x 21.34 after washing: 3 x 4 = 12.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon

from stash.colour.appearance import PrintKind
from stash.errors import NotFoundError, PlanError, SettingError
from stash.quilt.framing import Framed, framed
from stash.quilt.plan import Plan, Quilt
from stash.quilt.setting import setting_named, settings_of
from stash.shape.plane.outline import outline_of
from stash.shape.templates.template import families, make_template
from stash.storage.sqlite_store import FolderStore
from stash.usecases.matching.match_palette import MatchRequest, match
from stash.usecases.palettes.manage_palettes import PaletteRequest, make_palette, palette_named
from stash.usecases.pieces.fit_pieces import FitRequest, GivenScrap, fit_pieces
from stash.usecases.pieces.piece_counts import CutRule, usable_outline
from stash.usecases.quilts.change_quilt import (
    Wishes,
    change_quilt,
    copy_quilt,
    delete_quilt,
    record_sewn,
    record_spoilt,
    replan_quilt,
)
from stash.usecases.quilts.neighbours import could_join
from stash.usecases.quilts.plan_quilt import (
    QuiltRequest,
    cut_ring,
    make_quilt,
    pattern_of,
    place_names,
    quilt_named,
    set_aside,
)
from stash.usecases.quilts.quilt_allot import allot_quilt
from stash.usecases.quilts.quilt_counts import across_counter, row_counter
from stash.usecases.quilts.quilt_cut import cut_scraps, progress_of
from stash.usecases.quilts.quilt_enough import enough_for
from stash.usecases.quilts.quilt_layout import LayoutRequest, lay_out
from stash.usecases.quilts.quilt_stock import placements_on, stock_of
from tests.usecases.cloth import CREAM, NAVY, PINK, RED, SKY, TEAL, put

COLOURS = (NAVY, TEAL, SKY, CREAM, RED, PINK, "#4f6f3f", "#7a5a3a")
YARD, FAT_QUARTER = (40.0, 36.0), (18.0, 22.0)


def plan(store: FolderStore, rows: int, across: int, **more: object) -> Quilt:
    return make_quilt(store, replace(QuiltRequest("raffle", "square", "4"), rows=rows,
                                     across=across, **more))  # fmt: skip


def fabrics(store: FolderStore, count: int, size: tuple[float, float] = (5.0, 5.0)) -> None:
    for number in range(count):
        put(store, COLOURS[number % len(COLOURS)], size)


def missing(store: FolderStore, name: str = "raffle") -> int:
    quilt = quilt_named(store, name)
    return progress_of(store, quilt, len(pattern_of(quilt.plan).places)).missing


def at_places(quilt: Quilt) -> dict[str, tuple[int, object]]:
    """What lies where: scrap and place on it, by the name of the place."""
    names = place_names(quilt.plan)
    pieces = [quilt.pieces[piece] for piece in quilt.piece_at]
    return {name: (one.scrap, one.crop) for name, one in zip(names, pieces, strict=True)}


@pytest.fixture
def yards(store: FolderStore) -> FolderStore:
    """Two yards and six fat quarters: 2 x 56 + 6 x 12 = 184 squares in rows.

    A fat quarter can give 13: ten unit squares, some slanting, lie in a square of side 3.707 (from
    memory: F. Goebel 1979), and three in a row beside it; 3.707 x 4.707 is less than 3.88 x 4.74.
    Whether the search comes upon it hangs on the last digits of libraries.
    """
    for number, colour in enumerate(COLOURS):
        put(store, colour, YARD if number < 2 else FAT_QUARTER, washed=False)
    return store


def test_match_and_enough_count_the_same_squares(yards: FolderStore) -> None:
    colours = PaletteRequest("all", colours=COLOURS)
    make_palette(yards, colours)
    asked = MatchRequest(palette_named(yards, "all"), make_template("square", "4"), CutRule())
    lines = match(yards, asked).can_go_in
    *quarters, one, other = sorted(scrap.pieces for line in lines for scrap in line.scraps)
    assert (len(quarters), set(quarters) <= {12, 13}, one, other) == (6, True, 56, 56)
    there = sum(quarters) + 112
    plan(yards, 10, 10)
    answer = enough_for(yards, "raffle")
    assert (answer.enough.pieces_needed, answer.enough.pieces) == (100, there)
    assert (answer.rows.possible, answer.rows.pieces, answer.rows.most) == (True, 110, there // 10)
    assert (answer.across.possible, answer.across.most) == (True, there // 10)


def test_what_is_cut_and_what_there_is_are_the_same_number_at_every_stage(
    store: FolderStore,
) -> None:
    # 9 x 9 in give four, 14 x 9 six, 5 x 5 one: 4 + 4 + 6 + 1 + 1 = 16; strips beside are too
    # narrow for more.
    for number, size in enumerate(((9.2, 9.2), (9.2, 9.2), (13.9, 9.2), (5.0, 5.0), (5.0, 5.0))):
        put(store, COLOURS[number], size)
    plan(store, 5, 2)
    assert allot_quilt(store, "raffle").possible
    lay_out(store, "raffle", LayoutRequest())
    for scraps in ((), (1,), (2, 3, 4, 5)):
        if scraps:
            cut_scraps(store, "raffle", scraps)
        answer = enough_for(store, "raffle")
        assert answer.enough.possible
        assert answer.enough.pieces_cut + answer.enough.pieces == 16
        assert (answer.rows.possible, answer.rows.most) == (True, 8)
        assert missing(store) == 0
        before = at_places(quilt_named(store, "raffle"))
        assert at_places(allot_quilt(store, "raffle").quilt) == before
    assert answer.enough.pieces_cut == 10


def test_a_row_is_added_after_pieces_are_cut_and_rows_are_sewn(store: FolderStore) -> None:
    fabrics(store, 20)
    plan(store, 3, 4)
    allot_quilt(store, "raffle")
    lay_out(store, "raffle", LayoutRequest(pin=("3.2",)))
    cut_scraps(store, "raffle", [])
    before = at_places(record_sewn(store, "raffle", [1]))
    changed = change_quilt(store, "raffle", {"rows": 4})
    assert missing(store) == 4
    assert any("4 pieces are to be found" in effect for effect in changed.effects)
    grown = allot_quilt(store, "raffle").quilt
    after = at_places(grown)
    assert {name: after[name] for name in before} == before
    assert (len(grown.pieces), grown.cut_count, missing(store)) == (16, 12, 0)
    assert grown.pinned == ("3.2",)
    laid, _ = lay_out(store, "raffle", LayoutRequest(seed=5))
    assert {name: at_places(laid)[name] for name in before if name.startswith("1.")} == {
        name: place for name, place in before.items() if name.startswith("1.")
    }
    cut_scraps(store, "raffle", [])
    assert quilt_named(store, "raffle").cut_count == 16


def test_rows_taken_away_leave_cut_pieces_aside_and_sewn_rows_cannot_go(
    store: FolderStore,
) -> None:
    fabrics(store, 20)
    plan(store, 3, 4)
    allot_quilt(store, "raffle")
    lay_out(store, "raffle", LayoutRequest())
    cut_scraps(store, "raffle", [])
    changed = change_quilt(store, "raffle", {"rows": 2}).quilt
    assert (len(changed.pieces), changed.cut_count, len(changed.spare)) == (8, 8, 4)
    # Grown again, the four that lie aside are used before anything is cut.
    back = change_quilt(store, "raffle", {"rows": 3}).quilt
    assert (back.cut_count, len(back.spare), missing(store)) == (12, 0, 0)
    record_sewn(store, "raffle", [3])
    with pytest.raises(PlanError, match=r"Place 3\.1 is sewn"):
        change_quilt(store, "raffle", {"rows": 2})


def test_a_scrappy_quilt_uses_every_fabric_there_is(store: FolderStore) -> None:
    # 8 fabrics of four squares each and 11 pieces: every fabric once or twice. The least cloth
    # is opened by two fabrics of four and one of three.
    fabrics(store, 8, (9.0, 9.0))
    plan(store, 1, 11)
    answer = allot_quilt(store, "raffle")
    counts = Counter(piece.fabric for piece in answer.quilt.pieces)
    assert (answer.limit, len(counts), max(counts.values())) == (2, 8, 2)
    change_quilt(store, "raffle", {}, Wishes(many_fabrics=False))
    assert len({piece.fabric for piece in allot_quilt(store, "raffle").quilt.pieces}) == 3


@pytest.mark.parametrize(
    ("family", "size", "seed"),
    [("half-square-triangle", "3", 1), ("tumbler", "3", 2), ("apple-core", "3", 3)],
)
def test_whoever_asks_is_told_the_same_count(
    store: FolderStore, family: str, size: str, seed: int
) -> None:
    rng = np.random.default_rng(seed)
    for number in range(6):
        turns = np.sort(rng.uniform(0, 2 * np.pi, 7))
        reach = rng.uniform(2.0, 5.0, 2)
        ring = np.column_stack([reach[0] * np.cos(turns), reach[1] * np.sin(turns)])
        outline = outline_of(ring.tolist(), error_in=0.03)
        put(store, COLOURS[number % 4], outline, washed=bool(number % 2))
    make_palette(store, PaletteRequest("all", colours=COLOURS))
    template, rule = make_template(family, size), CutRule()
    answer = match(store, MatchRequest(palette_named(store, "all"), template, rule))
    lines = (*answer.can_go_in, *answer.look_twice)
    matched = {scrap.scrap: scrap.pieces for line in lines for scrap in line.scraps}
    assert matched
    measured = [GivenScrap(scrap.number, usable_outline(scrap, rule)) for scrap in store.scraps()]
    fit = {one.scrap.name: one.pieces for one in fit_pieces(measured, FitRequest(template))}
    assert matched == {number: count for number, count in fit.items() if count}
    quilt = make_quilt(store, QuiltRequest("raffle", family, size, rows=1, across=2))
    stock = {one.scrap: one.pieces for one in stock_of(store, quilt).free}
    assert stock == matched
    assert enough_for(store, "raffle").enough.pieces == sum(matched.values())
    for scrap in store.scraps():
        count = matched.get(scrap.number, 0)
        laid = placements_on(scrap, quilt.plan, count, one_way=False) if count else ()
        assert len(laid) == count
        (joins,) = [one for one in could_join(store, scrap) if one.kind == "quilt"]
        assert joins.fits == (count > 0)


def test_two_quilts_share_three_fat_quarters(store: FolderStore) -> None:
    # A 6-inch square is cut 6 1/2: two by three on 18 x 22 in of washed cloth, with 5 in and 2 1/2
    # in to spare for the knife. One of each of three for the first quilt: 3 x 5 = 15 are left.
    fabrics(store, 3, FAT_QUARTER)
    plan(store, 1, 3, size="6", charm=True)
    assert allot_quilt(store, "raffle").possible
    make_quilt(store, QuiltRequest("next", "square", "6", rows=3, across=5))
    answer = enough_for(store, "next")
    assert (answer.enough.possible, answer.enough.pieces) == (True, 15)
    allotted = allot_quilt(store, "next").quilt
    for number in (1, 2, 3):
        rings = [
            Polygon(cut_ring(quilt.plan, piece.crop))
            for quilt in (allotted, quilt_named(store, "raffle"))
            for piece in quilt.pieces
            if piece.scrap == number and piece.crop
        ]
        assert shapely.union_all(rings).area == pytest.approx(42.25 * len(rings), rel=1e-6)
    cut_scraps(store, "next", [])
    assert missing(store) == 0
    cut_scraps(store, "raffle", [])
    assert quilt_named(store, "raffle").cut_count == 3


def test_planned_anew_a_quilt_keeps_pieces_layout_and_pins(store: FolderStore) -> None:
    fabrics(store, 12)
    plan(store, 2, 3, charm=True)
    allot_quilt(store, "raffle")
    before = at_places(lay_out(store, "raffle", LayoutRequest(pin=("2.1",)))[0])
    asked = QuiltRequest("raffle", "square", "4", rows=3, across=3, charm=True)
    changed = replan_quilt(store, asked)
    after = at_places(changed.quilt)
    assert {name: after[name] for name in before} == before
    assert changed.quilt.pinned == ("2.1",)
    other = replan_quilt(store, replace(asked, size="3"))
    assert not other.quilt.pieces
    assert "let go, with layout and pins" in other.effects[0]


def test_a_spoilt_piece_is_replaced_by_its_like_and_all_else_stays(store: FolderStore) -> None:
    for colour in (NAVY, TEAL):
        put(store, colour, (9.0, 9.0))
    put(store, NAVY)
    plan(store, 1, 4, limit=3)
    allot_quilt(store, "raffle")
    lay_out(store, "raffle", LayoutRequest())
    cut_scraps(store, "raffle", [])
    before = at_places(quilt_named(store, "raffle"))
    family = {piece.scrap: piece.family for piece in quilt_named(store, "raffle").pieces}
    spoilt = next(name for name, (scrap, _) in before.items() if family[scrap])
    answer = record_spoilt(store, "raffle", [spoilt])
    assert answer.possible
    quilt = quilt_named(store, "raffle")
    assert (quilt.cut_count, len(quilt.spoilt), missing(store)) == (3, 1, 0)
    after = at_places(quilt)
    assert [name for name in before if before[name] != after[name]] == [spoilt]
    with pytest.raises(NotFoundError, match=r"9\.9"):
        record_spoilt(store, "raffle", ["9.9"])


def test_what_cannot_be_replaced_is_missing_and_enough_says_so(store: FolderStore) -> None:
    fabrics(store, 3)
    plan(store, 1, 3, charm=True)
    allot_quilt(store, "raffle")
    cut_scraps(store, "raffle", [])
    answer = record_spoilt(store, "raffle", ["#2"])
    assert not answer.possible
    assert missing(store) == 1
    told = enough_for(store, "raffle")
    assert (told.enough.possible, told.enough.short) == (False, 1)
    assert [buy.fabrics for buy in told.to_buy] == [1]


# Wishes.


def chosen(store: FolderStore) -> set[int]:
    answer = allot_quilt(store, "raffle")
    assert answer.possible
    return {piece.fabric for piece in answer.quilt.pieces}


def test_one_fabric_surely_and_another_never(store: FolderStore) -> None:
    for side in (5.0, 5.0, 5.0, 12.0):
        put(store, size=(side, side))
    plan(store, 1, 3, charm=True)
    assert chosen(store) == {1, 2, 3}  # the smallest scraps
    change_quilt(store, "raffle", {}, Wishes(surely=(4,), never=(1,)))
    assert chosen(store) == {2, 3, 4}
    assert quilt_named(store, "raffle").plan.surely == (4,)
    change_quilt(store, "raffle", {}, Wishes(free=(1, 4)))
    assert chosen(store) == {1, 2, 3}


def test_only_some_kinds_bins_and_values(store: FolderStore) -> None:
    for place, kind, colour in (
        ("blue tin", PrintKind.STRIPE, NAVY),
        ("blue tin", PrintKind.PLAIN, CREAM),
        ("drawer", PrintKind.PLAID, CREAM),
        ("drawer", PrintKind.PLAIN, NAVY),
    ):
        put(store, colour, place=place, kind=kind)
    plan(store, 1, 2, charm=True)
    for wishes, found in (
        (Wishes(kinds=("stripe", "plaid")), {1, 3}),
        (Wishes(kinds=(), bins=("blue tin",)), {1, 2}),
        (Wishes(bins=(), tones=("dark",)), {1, 4}),
        (Wishes(tones=("light",)), {2, 3}),
    ):
        change_quilt(store, "raffle", {}, wishes)
        assert chosen(store) == found


def test_amounts_are_ranges_of_families_and_values(store: FolderStore) -> None:
    for colour in (NAVY,) * 6 + (CREAM,) * 6:
        put(store, colour)
    plan(store, 1, 8, charm=True)
    change_quilt(store, "raffle", {}, Wishes(amounts={"cream": (0.25, 0.25)}))
    answer = allot_quilt(store, "raffle")
    assert answer.quilt.count_by("family") == {"blue": 6, "cream": 2}
    change_quilt(store, "raffle", {}, Wishes(amounts={"cream": None, "light": (0.625, 0.625)}))
    assert allot_quilt(store, "raffle").quilt.count_by("value")["light"] == 5


def test_scraps_come_before_yardage(store: FolderStore) -> None:
    # Two scraps of 200 square inches each, or a yard of 1,440 and none of them.
    for _ in range(2):
        put(store, NAVY, (20.0, 10.0))
    put(store, NAVY, (36.0, 11.0))
    plan(store, 1, 16)  # 8 from each scrap; 2 x 8 from the strip of 396 square inches
    change_quilt(store, "raffle", {}, Wishes(many_fabrics=False))
    assert chosen(store) == {3}
    change_quilt(store, "raffle", {}, Wishes(scraps_first=True))
    assert chosen(store) == {1, 2}
    change_quilt(store, "raffle", {"across": 18})
    answer = allot_quilt(store, "raffle")
    assert {piece.scrap for piece in answer.quilt.pieces} == {1, 2, 3}
    assert answer.reluctant == 0  # yardage is put off, not doubted for its colour


@pytest.mark.parametrize(
    ("wishes", "words"),
    [
        (Wishes(surely=(1,), never=(1,)), "surely and never"),
        (Wishes(surely=(1,), kinds=("stripe",)), "surely, and only the kind stripe"),
        (Wishes(surely=(1,), bins=("drawer",)), "surely, and only the bin drawer"),
        (Wishes(kinds=("checks",)), "no kind of print “checks”"),
        (Wishes(bins=("attic",)), "no bin “attic”"),
        (Wishes(amounts={"puce": (0.1, 0.2)}), "“puce” is no part"),
        (Wishes(amounts={"blue": (0.6, 0.8), "red": (0.5, 0.5)}), "110 % is wished of blue and"),
    ],
)
def test_wishes_that_contradict_are_named_and_nothing_is_kept(
    store: FolderStore, wishes: Wishes, words: str
) -> None:
    put(store, NAVY, place="tin")
    put(store, RED, place="drawer")
    before = plan(store, 1, 2)
    with pytest.raises(PlanError, match=words):
        change_quilt(store, "raffle", {}, wishes)
    assert quilt_named(store, "raffle") == before


def test_a_colour_frames_the_edge_and_its_pieces_are_chosen_for_it(store: FolderStore) -> None:
    # 4 x 5 places, of which 2 x 3 are not at the edge: 14 are. Navy gives 15, dearer than the rest.
    put(store, NAVY, (23.0, 14.0))
    for colour in (TEAL, CREAM, RED, PINK, "#4f6f3f", "#7a5a3a"):
        put(store, colour, (14.0, 9.2))
    plan(store, 4, 5)
    blue = stock_of(store, quilt_named(store, "raffle")).supplies[0].family
    changed = change_quilt(store, "raffle", {"frame": blue}).quilt
    assert allot_quilt(store, "raffle").possible
    quilt, _ = lay_out(store, "raffle", LayoutRequest())
    places = dict(zip(place_names(quilt.plan), quilt.piece_at, strict=True))
    edge = [name for name in places if name[0] in "14" or name[-1] in "15"]
    of_it = {name: quilt.pieces[places[name]].scrap == 1 for name in places}
    assert (len(edge), all(of_it[name] for name in edge)) == (14, True)
    assert sum(of_it.values()) in (14, 15)
    assert changed.plan.frame == quilt_named(store, "raffle").plan.frame == blue
    with pytest.raises(PlanError, match=r"along the edge, which has 14 of 20 places.* 50 %"):
        change_quilt(store, "raffle", {}, Wishes(amounts={blue: (0.1, 0.5)}))


def test_an_edge_that_cannot_be_framed_whole_stops_no_quilt(store: FolderStore) -> None:
    put(store, NAVY, (14.0, 9.2))  # six of the 14 there are places for
    for colour in (TEAL, CREAM, RED, PINK, "#4f6f3f", "#7a5a3a"):
        put(store, colour, (14.0, 9.2))
    plan(store, 4, 5)
    blue = stock_of(store, quilt_named(store, "raffle")).supplies[0].family
    change_quilt(store, "raffle", {"frame": blue})
    assert enough_for(store, "raffle").enough.possible
    chosen_pieces = allot_quilt(store, "raffle").quilt.pieces
    quilt, _ = lay_out(store, "raffle", LayoutRequest())
    found = framed(quilt, pattern_of(quilt.plan))
    here = sum(piece.family == blue for piece in chosen_pieces)
    assert here and found == Framed(14, here)


def test_a_fabric_of_the_kind_and_bin_wished_may_be_wished_surely(store: FolderStore) -> None:
    put(store, NAVY, place="tin")
    put(store, RED, place="drawer")
    plan(store, 1, 1)
    wishes = Wishes(surely=(2,), kinds=("plain",), bins=("drawer",))
    change_quilt(store, "raffle", {}, wishes)
    assert chosen(store) == {2}


def test_a_reserve_is_held_back_and_rows_grow_from_it(store: FolderStore) -> None:
    fabrics(store, 12)
    plan(store, 2, 3, charm=True)
    change_quilt(store, "raffle", {"reserve_rows": 1})
    answer = allot_quilt(store, "raffle")
    assert (answer.reserve_rows, len(answer.quilt.reserve)) == (1, 3)
    make_quilt(store, QuiltRequest("next", "square", "4", rows=1, across=12, charm=True))
    assert enough_for(store, "next").enough.pieces == 12 - 9
    held = {piece.scrap for piece in answer.quilt.held_pieces}
    change_quilt(store, "raffle", {"rows": 3, "reserve_rows": 0})
    assert {piece.scrap for piece in allot_quilt(store, "raffle").quilt.pieces} == held


def test_a_quilt_is_copied_set_aside_taken_away_and_brought_back(store: FolderStore) -> None:
    fabrics(store, 6)
    plan(store, 2, 3, charm=True)
    quilt = allot_quilt(store, "raffle").quilt
    assert copy_quilt(store, "raffle", "winter").plan == quilt.plan
    assert not quilt_named(store, "winter").pieces
    assert not enough_for(store, "winter").enough.possible
    delete_quilt(store, "raffle")
    assert enough_for(store, "winter").enough.possible
    assert store.undo() == "took the quilt raffle away"
    assert quilt_named(store, "raffle") == quilt
    set_aside(store, "raffle")
    assert enough_for(store, "winter").enough.possible


def test_pieces_are_counted_at_any_number_of_rows_without_laying_them_out() -> None:
    for family in families():
        for setting in settings_of(family):
            step = setting_named(family, setting.name).group
            for straight in (False, True):
                _check_counter(Plan(family, "3", setting.name, straight, 4, 4 * step))


def _check_counter(plan: Plan) -> None:
    for field, counter in (("rows", row_counter), ("across", across_counter)):
        pieces_in = counter(plan)
        for count in (7, 11, 12, 15):
            try:
                exact = len(pattern_of(replace(plan, **{field: count})).places)
            except SettingError:
                exact = None
            assert pieces_in(count) == exact, (plan, field, count)
